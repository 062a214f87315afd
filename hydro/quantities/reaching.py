"""What can be reached from some places, one step after the other.

    >>> sorted(reached([1], lambda place: [place + 2] if place < 6 else []))
    [1, 3, 5, 7]
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

Place = TypeVar("Place", bound=Hashable)


def reached(starts: Iterable[Place], beside: Callable[[Place], Iterable[Place]]) -> set[Place]:
    """Return every place that can be reached from some, these among them; `beside` gives those that are one step from one."""
    found = set(starts)
    waiting = list(found)
    while waiting:
        new = [place for place in beside(waiting.pop()) if place not in found]
        found.update(new)
        waiting += new
    return found
