"""Figures in both systems of units: '142 mm (5 9/16 in)' on every number that a tape, a bucket or a watch will meet.

The system that was asked for comes first.
"""

from __future__ import annotations

from hydro.quantities.tape import Band
from hydro.report.content.sentences import Figure, banded, written


def both(value: float, dimension: str, system: str = "metric", towards: int = 0) -> str:
    """Return an SI value in the system asked for and in the other one; one figure where both are the same.

    Lengths are as a tape shows them: whole mm and sixteenths of an inch. `towards` rounds them to the next mark downward
    (-1: must not be passed), to the nearest (0) or upward (1: water reaches it).

    >>> both(0.142, "length"), both(0.142, "length", "US"), both(75.0, "power")
    ('142 mm (5 9/16 in)', '5 9/16 in (142 mm)', '75 W')
    """
    return written(Figure(value, dimension, towards), system, both=True)


def both_band(band: Band, dimension: str, system: str = "metric") -> str:
    """Return a figure with its band in both systems: '4900 L/h (1290 US gph), likely 4700 to 5100 L/h (1240 to 1350 US gph)'."""
    return written(banded(band, dimension), system, both=True)
