"""A drain that starts with its lower end under water: the air in its line has to go before the water can.

    locked   q <= q_J, the flow at J = 0.3, up to which a drain vents itself; more head does not bring more
    until    up - crest > down - end        the water over the lip outweighs the drowned depth and pushes the air out below

The condition is the one that a restart is checked by; J <= 0.3 as in `hydro.elements.drain` (Simpson 1968; Hills 1983). That
water and air pass each other in between is a coarse picture: what it says is whether the drain may stay short of its flow.
An inlet that lets no air out, turned down and without a vent that serves, is locked at nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from hydro.elements.drain import WITH_AIR, DrainLine, Guard
from hydro.quantities.arrays import GRAVITY, Number, greater, soft_positive

LOCKED = "air-locked"
BAR = 1e6
"""Resistance to more than the flow that vents itself, s/m2: 0.1 m of head pass 0.4 L/h more."""
SOFT = 1e-7


@dataclass(frozen=True)
class AirLocked:
    """A drain with air trapped in its line: it answers as the drain does but for the flow it carries and what frees the air."""

    drain: DrainLine

    def __getattr__(self, name: str) -> Any:
        return getattr(self.drain, name)

    @property
    def vents(self) -> Number:
        """The flow up to which air gets out past the water, m3/s."""
        bore = self.drain.full_bore
        flow = self.drain.quiet_at * math.pi / 4.0 * bore * bore * (GRAVITY * bore) ** 0.5
        return greater(flow * self.drain.inlet.air_out(flow), SOFT + 0.0 * flow)

    @property
    def mode(self) -> str:
        """The mode the drain is in."""
        return LOCKED

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return the drain's residual, with a high resistance to any flow above the one that vents itself."""
        r, r_q, r_up, r_down = self.drain.residual(q, up, down)
        over, slope = soft_positive(q - self.vents, SOFT)
        return r - BAR * over, r_q - BAR * slope, r_up, r_down

    def in_mode(self, mode: str) -> Any:
        """Return the drain in a mode, no longer air-locked unless that is the mode asked for."""
        return self if mode == LOCKED else self.drain.in_mode(mode)

    def guards(self, q: float, up: float, down: float) -> list[Guard]:
        """Return what keeps the air in: the drowned depth outweighs the head over the lip, m."""
        depth, head = down - float(self.drain.end), up - float(self.drain.inlet.crest)
        words = "pushes the air out of its line and runs" if head > 0.0 else "has its lower end free again"
        return [Guard(depth - head if head > 0.0 else depth, WITH_AIR, words)]
