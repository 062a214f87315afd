"""An up-turned elbow on its bulkhead: where its lip is when it is turned away from upright by an angle a.

    middle of the lip   m(a) = R cos a                  over the bulkhead's centre, m
    its lowest point    l(a) = R cos a - (D/2) sin a

R the rise (bulkhead's centre to the lip of the upright elbow), D the rim's diameter, both m. Geometry alone. A tilted edge has
no law of its own here (`hydro.elements.rim` is level), so a setting counts as good only where the checks hold with the lip at
both heights: a level rim at m passes no more than the tilted one (the mean of h^1.5 round a tilted rim is no less than its
value in the middle), and after a power cut nothing runs below l. Range of validity: a up to 30 degrees (chosen here); beyond it
the elbow becomes a side outlet.

    >>> elbow = Elbow(rise=0.062, rim=0.050)
    >>> f"{1000 * elbow.middle(elbow.most):.1f} {1000 * elbow.lowest(elbow.most):.1f}"
    '53.7 41.2'
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from hydro.quantities.bisection import halved

MOST = math.radians(30.0)
"""Angle from upright beyond which a lip is not taken for a level rim (chosen here)."""


@dataclass(frozen=True, slots=True)
class Elbow:
    """Rise and rim in m, and the greatest angle from upright (radians) to which it can be turned."""

    rise: float
    rim: float
    most: float = MOST

    def middle(self, angle: float) -> float:
        """Return how far the middle of the lip stands over the bulkhead's centre, m."""
        return self.rise * math.cos(angle)

    def lowest(self, angle: float) -> float:
        """Return how far the lowest point of the lip stands over the bulkhead's centre, m."""
        return self.rise * math.cos(angle) - 0.5 * self.rim * math.sin(angle)

    def turned_to(self, lowest: float) -> float | None:
        """Return the angle at which the lowest point stands so far over the centre (m); None where it does not reach there."""
        if lowest > self.rise + 1e-9 or lowest < self.lowest(self.most) - 1e-9:
            return None
        return _root(lambda angle: self.lowest(angle) - lowest, self.most)

    def centres(self, low: float, high: float) -> tuple[float, float] | None:
        """Return the lowest and highest centre from which some angle keeps the whole lip between two heights; None if none.

        Upright gives the lowest; the highest is that of the greatest tilt that fits between the two.
        """
        if high < low:
            return None
        fits = math.asin(min(1.0, (high - low) / (0.5 * self.rim)))
        return low - self.rise, high - self.middle(min(self.most, fits))

    def setting(self, centre: float, low: float, high: float) -> float:
        """Return the angle at which the lip lies in the middle between two heights, as far as it can be turned."""
        return _root(lambda angle: self.lowest(angle) - low + self.middle(angle) - high + 2.0 * centre, self.most)


def turned_elbow(rise: float, rim: float, span: float | None = None) -> Elbow:
    """Return an elbow whose lip comes down by at most `span` (m) from upright; without one it turns as far as is counted."""
    whole = Elbow(rise, rim)
    angle = None if span is None else whole.turned_to(rise - span)
    return whole if angle is None else Elbow(rise, rim, angle)


def _root(falling: Callable[[float], float], most: float) -> float:
    low, high = 0.0, most
    if falling(low) <= 0.0:
        return low
    if falling(high) >= 0.0:
        return high
    return float(halved(low, high, lambda angle: falling(angle) > 0.0)[0])
