"""The one way in which a command runs: each case answered, mistakes told, files written, an exit code."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from hydro.errors import HydroError

from .exits import FINE, INTERRUPTED
from .output import complain, deliver, keep_apart
from .streams import say


@dataclass(frozen=True, slots=True)
class Answer:
    """What a command answers to one case: its exit code, and what is printed or goes to --to.

    `shown` is a text, plain data for --json, or None; `files` are further files and their contents; `complete` is False where
    Ctrl-C left only a part of it.
    """

    code: int
    shown: object = None
    files: tuple[tuple[str, str | bytes], ...] = ()
    complete: bool = True


Answering = Callable[[str, argparse.Namespace], Answer]
Read = Callable[[argparse.Namespace], Sequence[str | None]]
Written = Callable[[argparse.Namespace], Mapping[str, str | None]]


def run(options: argparse.Namespace) -> int:
    """Run the command that was parsed; return the highest exit code of its cases."""
    try:
        keep_apart(options.reads(options), options.writes(options), options.force)
        return _run(options)
    except HydroError as problem:
        return complain(problem, str(options.to))


def _run(options: argparse.Namespace) -> int:
    """Answer case after case. Texts are printed as they come; a file is left alone where any case has no answer.

    All files of a command are written together, so that one which cannot be written leaves none of the others.
    """
    code, complete, unanswered, shown = FINE, True, False, list[object]()
    files = list[tuple[str, str | bytes]]()
    at_once = options.to is None and not options.json
    for case in options.cases:
        try:
            answer = options.answer(case, options)
            if options.to is None:
                deliver(answer.files)
            else:
                files += answer.files
        except HydroError as problem:
            code, unanswered = max(code, complain(problem, case)), True
            continue
        code, complete = max(code, answer.code), complete and answer.complete
        if answer.shown is None:
            continue
        if at_once:
            sys.stdout.write((options.between if shown else "") + str(answer.shown))
        shown.append(answer.shown)
    if shown and not at_once:
        content = _json(shown, len(options.cases)) if options.json else options.between.join(map(str, shown))
        if options.to is None:
            sys.stdout.write(content)
        elif not unanswered:
            deliver([*files, (options.to, content)])
    if not complete:
        say("sumpwright: stopped; this is what was found by then")
        return INTERRUPTED
    return code


def _json(found: Sequence[object], asked: int) -> str:
    """Return one object for one case, a list for several."""
    from hydro.report.json.assessment import dumps

    return dumps(found[0] if asked == 1 else found)
