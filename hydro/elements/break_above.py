"""A siphon-break hole that lies above the tank's water: the line has to lift to it.

    hole at the start of a line       head before it = max(level + lost, height)      beyond it the line takes air, half empty
    anywhere else, taken at its end   head before it = max(level, height) + lost      max rounded over 0.2 mm

`level` is the head at the mouth. Where level + lost is below the hole the pressure there is below the air's: it sucks air all
the time; where it is above, water sprays (`hydro.elements.return_line`). A hole in the air lets nothing siphon back. How much air
goes in, and what a small hole (bore below 0.3 of the pipe's) lets through as froth, is left out: a full line then carries more.
Source: Bernoulli; the air's pressure at the hole.

    >>> from hydro.elements.break_above import HoleAbove, over_hole
    >>> f"{over_hole(1e-3, 1.50, 0.02, HoleAbove(1.60, at_start=True))[0]:.3f} m"
    '1.600 m'
"""

from __future__ import annotations

from dataclasses import dataclass

from hydro.quantities.arrays import Number, greater, smooth_max

HOLE = 2e-4
"""Width over which a line passes from lifting to its mouth to lifting to its hole, m."""
RUNS = 1e-6
"""Flow from which on a line runs, m3/s (3.6 L/h)."""
SLOPE = 1e-3
"""Resistance beyond a hole that sucks air, s/m2: keeps the law's slope from vanishing."""
SPRAYS = 1e-3
"""Head over a hole from which on it sprays, m."""


@dataclass(frozen=True, slots=True)
class HoleAbove:
    """The height of a siphon-break hole's centre, m; `at_start` where the line begins there, else it is taken at its end."""

    height: Number
    at_start: bool = False


def over_hole(q: Number, level: Number, lost: Number, hole: HoleAbove | None) -> tuple[Number, Number, Number, Number]:
    """Return the head that a line works against, losses included, m, and its slopes to level, loss and flow (own)."""
    if hole is None:
        return level + lost, 1.0 + 0.0 * q, 1.0 + 0.0 * q, 0.0 * q
    if hole.at_start:
        head, full, aired = smooth_max(level + lost, hole.height + SLOPE * q, HOLE)
        return head, full, full, aired * SLOPE
    head, full, _ = smooth_max(level, hole.height, HOLE)
    return head + lost, full, 1.0 + 0.0 * full, 0.0 * full


def open_end(outlet: Number, hole: HoleAbove | None) -> Number:
    """Return the height at which air gets into the end of a line, m: its mouth's, or that of a hole where it is higher."""
    return outlet if hole is None else greater(outlet, hole.height)


def hole_notes(name: str, hole: HoleAbove | None, q: float, up: float, level: float) -> list[str]:
    """Return in words what a siphon-break hole above the water does while its line runs; `up` is the head at the line's start."""
    if hole is None or q < RUNS or float(hole.height) <= level:
        return []
    over = f"the siphon-break hole of {name} lies {1e3 * (float(hole.height) - level):.0f} mm above the water"
    if hole.at_start and up > float(hole.height) + SPRAYS:
        return [f"{over} and sprays all the time"]
    return [f"{over}, and the pressure in the pipe there is below the air's: it sucks air all the time; the line must lift to it"]
