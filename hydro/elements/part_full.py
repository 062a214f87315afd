"""A round outlet that runs partly full: the most that a head can drive through it, at critical depth.

    q = A sqrt(g A/T),   E = y + A/(2 T)

y depth over the invert at the narrowest place, A water's section, T width of its surface, E energy head over the invert: the
level upstream, where the loss of entering is left out. In whole bores D, with half the angle of the wetted arc a:

    y/D = (1 - cos a)/2,   A/D^2 = (2a - sin 2a)/8,   T/D = sin a

q is the largest flow for a given E, so dq/dE = sqrt(g A T) exactly; values and slopes at 18 depths make a table of cubics that
meets the closed form to 1e-4 of the flow (tests/test_elements_part_full.py). Source: critical flow in circular
sections, Chow, Open-Channel Hydraulics (1959), chapter 4 and appendix A (from memory); the table is computed here.

Range of validity: 0 < E/D <= 1.52 (y/D <= 0.9), a short outlet with its end free. At 0.9 the surface is about to touch the
crown; above it the last slope goes on, so that nothing jumps, and an orifice law has to take over. Below E = 0 nothing flows.

    >>> from hydro.elements.part_full import critical_flow
    >>> f"{3.6e6 * critical_flow(bore=0.050, energy_head=0.034):.0f} L/h"
    '1487 L/h'
"""

from __future__ import annotations

import math

from hydro.curve import Row, evaluate, pieces
from hydro.ops import GRAVITY, Number, piece

DEEPEST = 0.9
"""Largest depth of the table, in bores."""
_STEPS = 18


def _critical(depth: float) -> tuple[float, float, float]:
    """Return E/D, q/sqrt(g D^5) and the slope between them at a critical depth in bores, more than 0."""
    a = math.acos(1.0 - 2.0 * depth)
    section, width = (2.0 * a - math.sin(2.0 * a)) / 8.0, math.sin(a)
    return depth + section / (2.0 * width), section * (section / width) ** 0.5, (section * width) ** 0.5


def _table() -> tuple[tuple[float, ...], tuple[Row, ...]]:
    """Return knots in E/D and the row of cubic coefficients before, between and after them."""
    points = [(0.0, 0.0, 0.0), *(_critical(DEEPEST * k / _STEPS) for k in range(1, _STEPS + 1))]
    heads, flows, slopes = zip(*points, strict=True)
    dry: Row = (0.0, 0.0, 0.0, 0.0, 0.0)
    full: Row = (heads[-1], flows[-1], slopes[-1], 0.0, 0.0)
    return heads, (dry, *pieces(heads, flows, slopes), full)


_KNOTS, _ROWS = _table()
HIGHEST = _KNOTS[-1]
"""Largest energy head of the table, in bores."""


def critical_flow(bore: Number, energy_head: Number) -> Number:
    """Return the flow (m3/s) through a round outlet of a bore (m) at an energy head over its invert (m)."""
    share = energy_head / bore
    return evaluate(piece(_KNOTS, _ROWS, share), share)[0] * (GRAVITY * bore) ** 0.5 * bore * bore
