"""A pump that might be bought, as a table, a box label or a typed list of points describes it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hydro.description.build import Build, Pump
from hydro.quantities.uncertain import Uncertain

THROTTLE, SPEED = "throttle", "speed"
CONTROLS = (THROTTLE, SPEED)
"""How a pump is brought down to a wanted flow: a valve behind it, or fewer revolutions."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A pump: `points` (flow m3/s, head m), or `most_flow` and `most_height` where only its box is known.

    `watts` are (flow m3/s, electric power W) along the curve, `rated` the one figure on the label, W. `price` is in
    `currency`, as written. `control` is one of `CONTROLS`, '' where nothing is said. `source` says where it was read. `own` is
    set for the pump that the build already has.
    """

    name: str
    points: tuple[tuple[float, float], ...] = ()
    most_flow: float | None = None
    most_height: float | None = None
    watts: tuple[tuple[float, float], ...] = ()
    rated: float | None = None
    price: float | None = None
    currency: str = ""
    control: str = ""
    source: str = ""
    own: bool = False

    def instead_of(self, pump: Pump) -> Pump:
        """Return the pump that stands where another one stood: same place, same line; new, at full speed, running."""
        if self.own:
            return replace(pump, off=False)
        box = [None if value is None else Uncertain.exact(value) for value in (self.most_flow, self.most_height)]
        return replace(pump, curve=self.points, most_flow=box[0], most_height=box[1], tests=(), speed=None, off=False,
                       power=None if self.rated is None else Uncertain.exact(self.rated))


def own_pump(pump: Pump) -> Candidate:
    """Return the pump that the build already has as a candidate among the others."""
    return Candidate(f"{pump.name} (in the file)", pump.curve,
                     None if pump.most_flow is None else pump.most_flow.middle,
                     None if pump.most_height is None else pump.most_height.middle,
                     rated=None if pump.power is None else pump.power.middle, source="the case file", own=True)


def with_pump(build: Build, name: str, pump: Pump) -> Build:
    """Return the build with another pump in the place of the one of a name."""
    return replace(build, pumps=tuple(pump if one.name == name else one for one in build.pumps))
