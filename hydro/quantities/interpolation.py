"""Curves through given points: monotone pieces of cubics, written out as tables for `ops.piece`.

Slopes by Fritsch and Butland (1984; the weighted harmonic mean, with the three-point end rule as in Moler's 'Numerical
Computing with MATLAB'): no wiggle between the points, and a rising or falling set stays so. The same method as
scipy.interpolate.PchipInterpolator, which the tests compare it with; written here because scipy's module costs more time to
import than a whole run of one loop.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from hydro.quantities.arrays import Number, where

Row = tuple[Number, Number, Number, Number, Number]
"""Start x0 and coefficients: value = a + y (b + y (c + y d)) with y = x - x0."""


def slopes(xs: Sequence[Number], ys: Sequence[Number]) -> list[Number]:
    """Return the slope at each of at least two points; xs must rise strictly."""
    widths = [b - a for a, b in pairwise(xs)]
    steps = [(b - a) / w for a, b, w in zip(ys, ys[1:], widths, strict=False)]
    if len(xs) == 2:
        return [steps[0], steps[0]]
    inner = []
    for w0, w1, d0, d1 in zip(widths, widths[1:], steps, steps[1:], strict=False):
        u, v = 2.0 * w1 + w0, w1 + 2.0 * w0
        same = d0 * d1 > 0.0
        safe0, safe1 = where(same, d0, 1.0 + 0.0 * d0), where(same, d1, 1.0 + 0.0 * d1)
        inner.append(where(same, (u + v) / (u / safe0 + v / safe1), 0.0 * d0))
    return [_end(widths[0], widths[1], steps[0], steps[1]), *inner,
            _end(widths[-1], widths[-2], steps[-1], steps[-2])]


def _end(w0: Number, w1: Number, d0: Number, d1: Number) -> Number:
    slope = ((2.0 * w0 + w1) * d0 - w0 * d1) / (w0 + w1)
    turned = slope * d0 <= 0.0
    steep = (d0 * d1 < 0.0) & (abs(slope) > abs(3.0 * d0))
    return where(turned, 0.0 * slope, where(steep, 3.0 * d0, slope))


def pieces(xs: Sequence[Number], ys: Sequence[Number], given: Sequence[Number] | None = None) -> list[Row]:
    """Return one row for each interval between the points, with the slopes at the points where they are given."""
    ds = slopes(xs, ys) if given is None else given
    rows: list[Row] = []
    for x0, x1, y0, y1, d0, d1 in zip(xs, xs[1:], ys, ys[1:], ds, ds[1:], strict=False):
        w = x1 - x0
        step = (y1 - y0) / w
        rows.append((x0, y0, d0, (3.0 * step - 2.0 * d0 - d1) / w, (d0 + d1 - 2.0 * step) / (w * w)))
    return rows


def evaluate(row: Sequence[Number], x: Number) -> tuple[Number, Number]:
    """Return value and slope of one piece at x."""
    x0, a, b, c, d = row
    y = x - x0
    return a + y * (b + y * (c + y * d)), b + y * (2.0 * c + 3.0 * d * y)
