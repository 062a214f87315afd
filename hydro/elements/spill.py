"""Water over the edge of a vessel, onto the floor.

    q = (2/3) Cd sqrt(2g) b h^1.5          h the level over the lowest opening, m

Cd b is 0.31 m: half a metre of thin edge (chosen here). How wide the opening is rules how high the water stands over it, some
millimetres, and hardly how much goes over. Nothing comes back.

    >>> from hydro.elements.spill import Spill
    >>> f"{1000 * Spill('tank over its opening', edge=1.0).flow(1.01)[0]:.2f} L/s"
    '0.92 L/s'
"""

from __future__ import annotations

from dataclasses import dataclass

from hydro.quantities.arrays import GRAVITY, Number, soft_positive

STRENGTH = 0.31 * (2.0 / 3.0) * (2.0 * GRAVITY) ** 0.5
SOFT = 1e-4
"""Width over which the head comes up from nothing, m."""
SCALE = 10.0
"""Metres of residual for 1 m3/s."""


@dataclass(frozen=True, slots=True)
class Spill:
    """The lowest opening of a vessel as a way out; `edge` its height above the datum, m."""

    name: str
    edge: Number

    def flow(self, up: Number) -> tuple[Number, Number]:
        """Return the flow over the edge (m3/s) and its slope to the level (m2/s)."""
        head, rise = soft_positive(up - self.edge, SOFT)
        return STRENGTH * head * head ** 0.5, STRENGTH * 1.5 * head ** 0.5 * rise

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r = (flow - q) in metres, and its slopes."""
        value, slope = self.flow(up)
        return SCALE * (value - q), -SCALE + 0.0 * value, SCALE * slope, 0.0 * value
