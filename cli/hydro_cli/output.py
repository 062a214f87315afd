"""Printing, complaining, and files that appear whole or not at all."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from hydro.errors import Complaint, HydroError, InputError

from .exits import BAD_INPUT, NO_SOLUTION
from .own_files import keep_what_is_not_ours
from .streams import say

MOST_COMPLAINTS, MOST_LETTERS = 50, 300
"""So many complaints are shown of one input, each in so many letters: a screen that can be read."""


def complain(problem: HydroError, file: str) -> int:
    """Print a problem on the error stream, one line for each complaint, and return its exit code."""
    from hydro.report.terminal.layout import clean

    if isinstance(problem, InputError):
        for complaint in problem.complaints[:MOST_COMPLAINTS]:
            say(clean(short(complaint)))
        more = len(problem.complaints) - MOST_COMPLAINTS
        if more > 0:
            say(f"sumpwright: and {more} more")
        return BAD_INPUT
    say(clean(f"{file}: {problem}"))
    return NO_SOLUTION


def short(complaint: Complaint) -> str:
    """Return a complaint in at most `MOST_LETTERS`: what stands there is cut first, then the list of what is expected."""
    found = re.sub(r"[0-9]{30,}", lambda digits: f"{digits[0][:10]}...", complaint.found)
    if len(text := str(replace(complaint, found=found))) <= MOST_LETTERS:
        return text
    found, end = _cut(found, 120), f"; did you mean '{_cut(complaint.nearest, 60)}'?" if complaint.nearest else ""
    whole = str(replace(complaint, file=_cut(complaint.file, -100), key=_cut(complaint.key, 60), found=found, nearest=""))
    return _cut(whole, MOST_LETTERS - len(end)) + end


def _cut(text: str, most: int) -> str:
    """Return the first letters of a text that is too long, or the last ones where `most` is below zero, with dots."""
    if len(text) <= abs(most):
        return text
    return f"{text[:most - 3]}..." if most > 0 else f"...{text[most + 3:]}"


def deliver(files: Sequence[tuple[str, str | bytes]]) -> None:
    """Write files, all of them or none; InputError where one cannot be written.

    Each is written beside its target first, and they are put in place only when all are written: nobody ever sees half of one,
    nor a page without its template.
    """
    ready = list[tuple[str, str, Path]]()
    try:
        for to, content in files:
            try:
                target = _target(to)
                ready.append((to, _beside(target, content if isinstance(content, bytes) else content.encode()), target))
            except OSError as problem:
                raise _unwritten(to, problem) from None
        while ready:
            to, written, target = ready[0]
            try:
                os.replace(written, target)
            except OSError as problem:
                raise _unwritten(to, problem) from None
            ready.pop(0)
    finally:
        for _, written, _ in ready:
            os.unlink(written)


def keep_apart(read: Sequence[str | None], written: Mapping[str, str | None], force: bool) -> None:
    """InputError where a file to write to must not be: one that is read, another one written, one without a name, another's.

    `written` has each file by its option; with `force` what stands there is replaced whoever wrote it.
    """
    taken = {_place(file): "this file is read here, and would be lost" for file in read if file}
    for option, to in written.items():
        if to is None:
            continue
        if not to.strip():
            raise InputError([Complaint(option, 0, "", "no name of a file", "the name of a file to write to")])
        place = _place(to)
        if place in taken:
            raise InputError([Complaint(to, 0, option, taken[place], "another name for what is written")])
        taken[place] = f"two things cannot be written to one file ({option} names it too)"
        if not force:
            keep_what_is_not_ours(option, to)


def _place(file: str) -> str:
    """Return where a file really is; InputError where the folder one is in has been deleted."""
    try:
        return os.path.realpath(file)
    except FileNotFoundError:
        raise InputError([Complaint(file, 0, "", "the folder this was called from is no longer there",
                                    "a folder that is there ('cd' to one)")]) from None


def _unwritten(to: str, problem: OSError) -> InputError:
    return InputError([Complaint(to, 0, "", f"cannot be written ({problem.strerror})",
                                 "a file in a folder that may be written to")])


def _target(to: str) -> Path:
    """Return the file to write, behind any link; OSError where a folder, a device or a pipe stands there."""
    target = Path(os.path.realpath(to))
    if target.is_dir():
        raise IsADirectoryError(21, "this is a folder")
    if target.exists() and not target.is_file():
        raise OSError(22, "this is a device or a pipe, no file")
    if not target.parent.is_dir():
        raise FileNotFoundError(2, f"there is no folder '{target.parent}'")
    return target


def _beside(target: Path, content: bytes) -> str:
    """Write beside a target; return the name of what is written."""
    import tempfile

    handle, name = tempfile.mkstemp(prefix=f".{target.name[:100]}.", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, 0o666 & ~mask)
    except BaseException:
        os.unlink(name)
        raise
    return name
