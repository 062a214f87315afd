"""The one way in which a command runs: each case answered, mistakes told, files written, an exit code."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
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
Files = Callable[[argparse.Namespace], Sequence[str | None]]


def run(options: argparse.Namespace) -> int:
    """Run the command that was parsed; return the highest exit code of its cases."""
    try:
        keep_apart(options.reads(options), options.writes(options))
        return _run(options)
    except HydroError as problem:
        return complain(problem, str(options.to))


def _run(options: argparse.Namespace) -> int:
    """Answer case after case. Texts are printed as they come; a file is left alone where any case has no answer."""
    code, complete, unanswered, shown = FINE, True, False, list[object]()
    at_once = options.to is None and not options.json
    for case in options.cases:
        try:
            answer = options.answer(case, options)
            for file, content in answer.files:
                deliver(content, file)
        except HydroError as problem:
            code, unanswered = max(code, complain(problem, case)), True
            continue
        code, complete = max(code, answer.code), complete and answer.complete
        if answer.shown is None:
            continue
        if at_once:
            deliver((options.between if shown else "") + answer.shown, None)
        shown.append(answer.shown)
    if shown and not at_once and not (unanswered and options.to is not None):
        deliver(_json(shown, len(options.cases)) if options.json else options.between.join(map(str, shown)), options.to)
    if not complete:
        say("sumpwright: stopped; this is what was found by then")
        return INTERRUPTED
    return code


def _json(found: Sequence[object], asked: int) -> str:
    """Return one object for one case, a list for several."""
    from hydro.report.json.assessment import dumps

    return dumps(found[0] if asked == 1 else found)
