"""Printing, complaining, and files that appear whole or not at all."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from hydro.errors import Complaint, HydroError, InputError
from hydro.report.terminal.layout import clean

FINE, FAILED, BAD_INPUT, NO_SOLUTION = 0, 1, 2, 3


def complain(problem: HydroError, file: str) -> int:
    """Print a problem on the error stream, one line for each complaint, and return its exit code."""
    if isinstance(problem, InputError):
        for complaint in problem.complaints:
            print(clean(str(complaint)), file=sys.stderr)
        return BAD_INPUT
    print(clean(f"{file}: {problem}"), file=sys.stderr)
    return NO_SOLUTION


def deliver(text: str, to: str | None) -> None:
    """Print a text, or write it to a file; InputError where that file cannot be written."""
    if to is None:
        sys.stdout.write(text)
        return
    try:
        _write(Path(to), text)
    except OSError as problem:
        raise unwritable(to, str(problem.strerror)) from None


def spare_the_cases(cases: Sequence[str], to: str | None) -> None:
    """InputError where the file to write to is one of the case files, which it would replace, or has no name."""
    if to is None:
        return
    if not to.strip():
        raise InputError([Complaint("--to", 0, "", "no name of a file", "the name of a file to write to")])
    for case in cases:
        if os.path.realpath(case) == os.path.realpath(to):
            raise InputError([Complaint(to, 0, "", "this is the case file itself, and would be lost", "another name for the "
                                        "report")])


def unwritable(to: str, why: str) -> InputError:
    """Return the complaint about a file that cannot be written."""
    return InputError([Complaint(to, 0, "", f"cannot be written ({why})", "a file in a folder that may be written to")])


def _write(named: Path, text: str) -> None:
    """Write beside the target and put it in place in one step, so that nobody ever sees half of it.

    A link is followed. A device or a pipe is refused: it would be replaced by a file.
    """
    target = Path(os.path.realpath(named))
    if target.is_dir():
        raise IsADirectoryError(21, "this is a folder")
    if target.exists() and not target.is_file():
        raise OSError(22, "this is a device or a pipe, no file")
    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, 0o666 & ~mask)
        os.replace(name, target)
    except BaseException:
        os.unlink(name)
        raise
