"""Lengths as they go to a wall: each as a metric tape and as an inch tape shows it, the owner's first."""

from __future__ import annotations

from hydro.quantities.tape import ceiling_mark, floor_mark, tape

SYSTEMS = {"metric": ("metric", "US")}
"""For a system of units the two in which a length is shown."""


def length(value: float, system: str = "metric", towards: int = 0) -> str:
    """Return a length in m in both systems; `towards` rounds each to its next mark down (-1), to the nearest (0), or up (1).

    >>> length(0.137), length(0.137, "US")
    ('137 mm (5 3/8 in)', '5 3/8 in (137 mm)')
    """
    first, second = (_one(value, which, towards) for which in SYSTEMS.get(system, ("US", "metric")))
    return f"{first} ({second})"


def _one(value: float, system: str, towards: int) -> str:
    moved = floor_mark(value, system) if towards < 0 else ceiling_mark(value, system) if towards else value
    return tape(moved, system).replace("-", " ").replace(" ", "-", 1) if moved < 0.0 else tape(moved, system).replace("-", " ")


def exact(value: float, system: str = "metric") -> str:
    """Return a small length with the tenth of a millimetre it is made to: a cutter, a thickness of glass."""
    inches = f"{value / 0.0254:.2f}".rstrip("0").rstrip(".")
    both = f"{round(1000.0 * value, 1):g} mm", f"{inches} in"
    first, second = both if system == "metric" else both[::-1]
    return f"{first} ({second})"


def rounded(value: float, system: str, towards: int) -> float:
    """Return a length moved to the next mark of the owner's tape, down (-1) or up (1), m."""
    return floor_mark(value, system) if towards < 0 else ceiling_mark(value, system)
