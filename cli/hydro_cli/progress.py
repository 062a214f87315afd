"""Progress on the error stream of a terminal."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from .streams import say

PATIENCE = 1.0
"""Seconds before progress is shown, and between two showings of it."""


def progress(patience: float | None = None) -> Callable[..., None]:
    """Return what tells how many of how many are done, and of what, at most once in so many seconds; silent off a terminal."""
    pause = PATIENCE if patience is None else patience
    last = time.monotonic()

    def show(done: int, asked: int, what: str = "") -> None:
        nonlocal last
        now = time.monotonic()
        if now - last >= pause and sys.stderr.isatty():
            last = now
            say(f"sumpwright: {done} of {asked}{what}")
    return show
