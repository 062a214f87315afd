"""The standard streams, also where they are closed, full, or read by nobody."""

import os
import sys


def open_streams() -> None:
    """Make both streams fit to print to.

    A closed one has its place taken, or the next file opened would get its number: printing then fails as on a full disk, and
    what is said on the error stream goes nowhere. A terminal that cannot show '²' shows '?' for it; no reason to stop.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_WRONLY if number == 2 else os.O_RDONLY)
    sys.stdout = sys.stdout or os.fdopen(1, "w", encoding="utf-8", closefd=False)
    sys.stderr = sys.stderr or os.fdopen(2, "w", encoding="utf-8", closefd=False)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def say(line: str) -> None:
    """Print a line on the error stream, where that can be done."""
    try:
        print(line, file=sys.stderr, flush=True)
    except OSError:
        drop(2)


def print_now(text: str) -> None:
    """Print what is known by now, without waiting for the rest; OSError where the output cannot be printed."""
    sys.stdout.write(text)
    sys.stdout.flush()


def flush() -> None:
    """Print what is still in the buffers; OSError where the output cannot be printed."""
    try:
        sys.stderr.flush()
    except OSError:
        drop(2)
    sys.stdout.flush()


def drop(number: int) -> None:
    """Send whatever is still in the buffer of a stream nowhere; else Python complains once more on its way out."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), number)
