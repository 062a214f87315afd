"""The text of a file that somebody names: of ordinary files only, and never more of one than a table or a case can hold.

A device or a pipe may never end, so it is refused before it is opened; the standard input, where a caller takes it, is read up to
the same bound. A case may come from somebody else: what it names lies in its own folder, or it is not opened (`beside`).
"""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import NoReturn

from hydro.errors import Complaint, InputError

MOST_BYTES = 1_000_000
STANDARD_INPUT = "/dev/stdin"


def refuse_file(file: str, line: int, found: str, expected: str, key: str = "") -> NoReturn:
    """Raise an InputError with one complaint."""
    raise InputError([Complaint(file, line, key, found, expected)])


def read_text_of(path: Path, what: str, suffix: str, standard_input: bool = False) -> str:
    """Return the text of a file of at most `MOST_BYTES`; InputError where there is none, or where it is large or not text.

    `what` says what the file should be and `suffix` how its name ends, for the complaint; `standard_input` lets it pass.
    """
    file = str(path)
    try:
        if not (standard_input and file == STANDARD_INPUT):
            mode = os.stat(path).st_mode
            if stat.S_ISDIR(mode):
                refuse_file(file, 0, "this is a folder", f"the name of {what} ({suffix})")
            if not stat.S_ISREG(mode):
                refuse_file(file, 0, "this is a device or a pipe, no file", f"the name of {what} ({suffix})")
        with path.open("rb") as stream:
            content = stream.read(MOST_BYTES + 1)
    except (FileNotFoundError, NotADirectoryError):
        refuse_file(file, 0, "there is no such file", f"the name of {what} ({suffix})")
    except (OSError, ValueError) as problem:
        refuse_file(file, 0, f"the file cannot be opened ({getattr(problem, 'strerror', None) or problem})",
                    f"{what} that may be read")
    if len(content) > MOST_BYTES:
        refuse_file(file, 0, f"the file has more than {MOST_BYTES / 1e6:g} MB", f"{what} of at most {MOST_BYTES / 1e6:g} MB")
    return decode(content, file)


def decode(content: bytes, file: str) -> str:
    """Return the text in some bytes (UTF-8, with or without a byte order mark); InputError where they are not text."""
    if b"\0" in content:
        refuse_file(file, 0, "the file is binary", "plain text in UTF-8")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = content.count(b"\n", 0, problem.start) + 1
        refuse_file(file, line, "a byte that is not UTF-8 text", "plain text in UTF-8 (choose that when saving)")


def beside(folder: Path, name: str) -> Path:
    """Return the path of a file that a case names; InputError where it does not lie in the case's folder or under it.

    Links are followed first. Otherwise a case from a stranger could have any file of its reader opened.
    """
    path = folder / name
    try:
        inside = Path(os.path.realpath(path)).is_relative_to(os.path.realpath(folder))
    except (OSError, ValueError):
        inside = False
    if not inside:
        refuse_file(name, 0, "this lies outside the folder of the case file",
                    "a file beside the case file or in a folder under it: copy it there")
    return path
