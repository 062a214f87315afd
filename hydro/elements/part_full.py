"""A round outlet that runs partly full: the most that a head can drive through it, at critical depth.

    q = A sqrt(g A/T),   E = y + A/(2 T)

y depth over the invert at the narrowest place, A water's section, T width of its surface, E energy head over the invert: the
level upstream, where the loss of entering is left out. In whole bores D, with half the angle of the wetted arc a:

    y/D = (1 - cos a)/2,   A/D^2 = (2a - sin 2a)/8,   T/D = sin a

q is the largest flow for a given E, so dq/dE = sqrt(g A T) exactly. Values and slopes at some depths make two tables of cubics
(flow by head; head by the root of the flow, in which it is nearly straight) that meet the closed form to 1e-4 of the flow and of
the head (tests/elements/test_part_full.py). Source: critical flow in circular sections, Chow, Open-Channel Hydraulics
(1959), chapter 4 and appendix A (from memory); the tables are computed here.

Range of validity: E > 0, a short outlet with its end free. Up to E = 1.52 D (y = 0.9 D) the surface is free. Above, it all but
touches the crown; the table goes to y = 0.98 D and on with the slope that it has there as a square root, which is within 1 %
of a full bore with no loss, q = pi/4 D^2 sqrt(2g (E - D)): nothing jumps, but a law with a loss has to take over before.

    >>> from hydro.elements.part_full import critical_flow, critical_head
    >>> f"{3.6e6 * critical_flow(bore=0.050, energy_head=0.034):.0f} L/h"
    '1487 L/h'
    >>> f"{1000 * critical_head(bore=0.050, q=1487 / 3.6e6)[0]:.1f} mm"
    '34.0 mm'
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hydro.quantities.arrays import GRAVITY, Number, lesser, piece, where
from hydro.quantities.interpolation import Row, evaluate, pieces

HIGHEST_DEPTH = 0.9
"""Depth, in bores, up to which the surface is surely free."""
REST = 1e-6
"""Flow over which the root of the flow is rounded, m3/s."""


@dataclass(frozen=True, slots=True)
class OpeningRating:
    """How an opening of bore 1 is rated: share s of flow against head x over the invert, in bores, s = x^2 times `rise` at rest.

    Tables of cubics with given slopes both ways, each C1; beyond their last point s^2 rises evenly with x, with the last slope.
    """

    heads: tuple[float, ...]
    by_head: tuple[Row, ...]
    roots: tuple[float, ...]
    by_root: tuple[Row, ...]
    tail: float

    @staticmethod
    def of(points: Sequence[tuple[float, float, float]], rise: float) -> OpeningRating:
        """Make both tables from points (x, s, ds/dx) with x rising from above 0."""
        heads, shares, slopes = zip(*points, strict=True)
        roots = [share ** 0.5 for share in shares]
        turned = [2.0 * root / slope for root, slope in zip(roots, slopes, strict=True)]
        heads, roots = (0.0, *heads), [0.0, *roots]
        dry: Row = (0.0, 0.0, 0.0, 0.0, 0.0)
        by_head = pieces(heads, [0.0, *shares], [0.0, *slopes])
        by_root = pieces(roots, heads, [rise ** -0.5, *turned])
        # Values at the last knot itself belong to the row behind it; the tail goes on from there.
        return OpeningRating(heads, (dry, *by_head, (heads[-1], shares[-1], slopes[-1], 0.0, 0.0)),
                      tuple(roots), (by_root[0], *by_root, (roots[-1], heads[-1], turned[-1], 0.0, 0.0)),
                      0.5 / (shares[-1] * slopes[-1]))

    def share(self, head: Number) -> Number:
        """Return the share s at a head x; nothing at and below 0."""
        inside = lesser(head, self.heads[-1] + 0.0 * head)
        share = evaluate(piece(self.heads, self.by_head, inside), inside)[0]
        return (share * share + (head - inside) / self.tail) ** 0.5

    def head(self, root: Number) -> tuple[Number, Number]:
        """Return the head x for a root of the share, s^0.5 >= 0, and its slope to that root."""
        inside = lesser(root, self.roots[-1] + 0.0 * root)
        head, slope = evaluate(piece(self.roots, self.by_root, inside), inside)
        more = self.tail * (root ** 4.0 - inside ** 4.0)
        return head + more, where(root > inside, 4.0 * self.tail * root ** 3.0, slope)


def rated_head(rating: OpeningRating, bore: Number, scale: Number, q: Number) -> tuple[Number, Number]:
    """Return the head over the invert (m) that q >= 0 needs and its slope (s/m2); `scale` is the flow at s = 1, m3/s."""
    square = q * q + REST * REST
    each = (scale * scale * square) ** -0.25
    head, slope = rating.head(q * each)
    return bore * head, bore * slope * each * (1.0 - q * q / (2.0 * square))


def critical_point(depth: float) -> tuple[float, float, float]:
    """Return E/D, q/sqrt(g D^5) and the slope between them at a critical depth in bores, more than 0."""
    a = math.acos(1.0 - 2.0 * depth)
    section, width = (2.0 * a - math.sin(2.0 * a)) / 8.0, math.sin(a)
    return depth + section / (2.0 * width), section * (section / width) ** 0.5, (section * width) ** 0.5


_DEPTHS = (0.04, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.78, 0.84, 0.88, 0.92, 0.95, 0.98)
CRITICAL = OpeningRating.of([critical_point(depth) for depth in _DEPTHS], 0.75 * (2.0 / 3.0) ** 0.5)
"""Critical flow in a round section; at rest it is that of a parabola, q = 0.75 sqrt(2/3) E^2."""
HIGHEST = critical_point(HIGHEST_DEPTH)[0]
"""Largest energy head with a surface that is surely free, in bores."""


def critical_scale(bore: Number) -> Number:
    """Return sqrt(g D^5), the flow in which the table counts, m3/s."""
    return (GRAVITY * bore) ** 0.5 * bore * bore


def critical_flow(bore: Number, energy_head: Number) -> Number:
    """Return the flow (m3/s) through a round outlet of a bore (m) at an energy head over its invert (m)."""
    return CRITICAL.share(energy_head / bore) * critical_scale(bore)


def critical_head(bore: Number, q: Number) -> tuple[Number, Number]:
    """Return the energy head over the invert (m) of q >= 0 at critical depth, and its slope (s/m2)."""
    return rated_head(CRITICAL, bore, critical_scale(bore), q)
