"""Printing, complaining, and files that appear whole or not at all."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from hydro.errors import Complaint, HydroError, InputError

from .exits import BAD_INPUT, NO_SOLUTION
from .streams import say


def complain(problem: HydroError, file: str) -> int:
    """Print a problem on the error stream, one line for each complaint, and return its exit code."""
    from hydro.report.terminal.layout import clean

    if isinstance(problem, InputError):
        for complaint in problem.complaints:
            say(clean(str(complaint)))
        return BAD_INPUT
    say(clean(f"{file}: {problem}"))
    return NO_SOLUTION


def deliver(content: str | bytes, to: str | None) -> None:
    """Print a text, or write to a file; InputError where that file cannot be written."""
    if to is None:
        sys.stdout.write(str(content))
        return
    try:
        _write(Path(to), content if isinstance(content, bytes) else content.encode())
    except OSError as problem:
        raise InputError([Complaint(to, 0, "", f"cannot be written ({problem.strerror})",
                                    "a file in a folder that may be written to")]) from None


def keep_apart(read: Sequence[str | None], written: Sequence[str | None]) -> None:
    """InputError where a file to write to is one that is read, which it would replace, or another one written, or has no name."""
    taken = {os.path.realpath(file): "this file is read here, and would be lost" for file in read if file}
    for to in written:
        if to is None:
            continue
        if not to.strip():
            raise InputError([Complaint("--to", 0, "", "no name of a file", "the name of a file to write to")])
        place = os.path.realpath(to)
        if place in taken:
            raise InputError([Complaint(to, 0, "", taken[place], "another name for what is written")])
        taken[place] = "two things cannot be written to one file"


def _write(named: Path, content: bytes) -> None:
    """Write beside the target and put it in place in one step, so that nobody ever sees half of it.

    A link is followed. A device or a pipe is refused: it would be replaced by a file.
    """
    import tempfile

    target = Path(os.path.realpath(named))
    if target.is_dir():
        raise IsADirectoryError(21, "this is a folder")
    if target.exists() and not target.is_file():
        raise OSError(22, "this is a device or a pipe, no file")
    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, 0o666 & ~mask)
        os.replace(name, target)
    except BaseException:
        os.unlink(name)
        raise
