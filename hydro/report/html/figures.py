"""Figures in both systems of units: '142 mm (5 9/16 in)' on every number that a tape, a bucket or a watch will meet.

The system that was asked for comes first.
"""

from __future__ import annotations

import math

from hydro.quantities.formatting import convert, show, unit_name
from hydro.quantities.tape import Band, ceiling_mark, floor_mark, mark, rounded_band

FINE = 0.010
"""Lengths below this are shown to a tenth of a millimetre, m."""
SIXTEENTH = 0.0254 / 16


def other(system: str) -> str:
    """Return the system that stands in brackets."""
    return "US" if system == "metric" else "metric"


def both(value: float, dimension: str, system: str = "metric", towards: int = 0) -> str:
    """Return an SI value in the system asked for and in the other one; one figure where both are the same.

    Lengths are as a tape shows them: whole mm and sixteenths of an inch. `towards` rounds them to the next mark downward
    (-1: must not be passed), to the nearest (0) or upward (1: water reaches it).

    >>> both(0.142, "length"), both(0.142, "length", "US"), both(75.0, "power")
    ('142 mm (5 9/16 in)', '5 9/16 in (142 mm)', '75 W')
    """
    first, second = (one(value, dimension, which, towards) for which in (system, other(system)))
    return first if first == second else f"{first} ({second})"


def one(value: float, dimension: str, system: str, towards: int = 0) -> str:
    """Return an SI value in one system, lengths as on a tape."""
    if dimension != "length" or not math.isfinite(value):
        return show(value, dimension, system)
    if system == "metric" and abs(value) < FINE and not towards:
        return f"{round(value * 1e3, 1):g} mm"
    if system != "metric" and 0.0 < abs(value) < SIXTEENTH and not towards:
        return f"{convert(value, 'length', system):.2f} in"
    moved = floor_mark(value, system) if towards < 0 else ceiling_mark(value, system) if towards else value
    shown = mark(abs(moved), system).replace("-", " ")
    return f"{'-' if moved < 0.0 and shown != '0' else ''}{shown} {unit_name('length', system)}"


def both_band(band: Band, dimension: str, system: str = "metric") -> str:
    """Return a figure with its band in both systems: '4900 L/h (1290 US gph), likely 4700 to 5100 L/h (1240 to 1350 US gph)'."""
    made = []
    for which in (system, other(system)):
        shown, likely = rounded_band(band, dimension, which)
        unit = unit_name(dimension, which)
        made.append((f"{shown} {unit}", f"{likely} {unit}" if likely else ""))
    (first, ends), (second, other_ends) = made
    if first == second:
        return f"{first}, likely {ends}" if ends else first
    return f"{first} ({second})" + (f", likely {ends} ({other_ends})" if ends else "")
