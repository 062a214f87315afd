"""A top-up that stays open: a reservoir of a fixed amount runs into the pump chamber until it is empty.

    q = q0 s(y/Y)          y water left in the reservoir over its bottom, Y 10 mm, s = 3t^2 - 2t^3 up to 1

q0 depends on hose and float valve, which nobody describes: 'top-up flow', from a drip to an open hose (from memory, no
source). It moves when the reservoir is empty, not what it does then.
"""

from __future__ import annotations

from dataclasses import dataclass

from hydro.elements.registry import Default, register_defaults
from hydro.quantities.arrays import Number, smooth_step

FLOW = Default("top-up flow", 60.0 / 3.6e6, 300.0 / 3.6e6, 1200.0 / 3.6e6, "flow",
               "a top-up stuck open, by gravity through a thin hose; from memory, no source: fill a bucket", divides=True)
SHALLOW = 0.01
"""Depth over which the flow fades as the reservoir runs empty, m."""
SCALE = 10.0


@dataclass(frozen=True, slots=True)
class Feed:
    """The way from a reservoir, its bottom at `bottom` (m), into a chamber, with the flow while there is water (m3/s)."""

    name: str
    bottom: Number
    most: Number

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r = (flow - q) in metres, and its slopes."""
        share, rise = smooth_step((up - self.bottom) / SHALLOW)
        return SCALE * (self.most * share - q), -SCALE + 0.0 * share, SCALE * self.most * rise / SHALLOW, 0.0 * share


register_defaults(FLOW)
