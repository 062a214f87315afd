"""One instant of a loop that is on its way: levels and flows, and every litre with its place.

    all the water = in vessels + in drains' lines + in the pump's lines + on its way down out of them

Volumes are what is carried from step to step; levels are read off them, so that nothing is lost.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hydro.network import Network
from hydro.state import State


@dataclass(frozen=True, slots=True)
class Moment:
    """Time (s), levels (m) and volumes (m3) of the waters, flows (m3/s) in the links, m3 held in them.

    `lines` is the water that stands in the pump's lines, `falling` what runs back out of them, at most at the flow
    `fall_flow`. While `filling`, the pump's lines take all that it moves. `entered` and `left` are what each link took and
    passed on since the start, `let_down` what came out of the lines. `flags` name the notes that stand.
    """

    network: Network
    time: float
    levels: tuple[float, ...]
    volumes: tuple[float, ...]
    flows: tuple[float, ...]
    held: tuple[float, ...]
    lines: float
    falling: float
    fall_flow: float
    filling: bool
    entered: tuple[float, ...]
    left: tuple[float, ...]
    let_down: float
    flags: frozenset[str] = frozenset()

    @property
    def total(self) -> float:
        """All the water, m3."""
        return sum(self.volumes) + sum(self.held) + self.lines + self.falling

    @property
    def tank_level(self) -> float:
        """The tank's level, m."""
        return self.levels[self.network.tank]

    @property
    def pump_level(self) -> float:
        """The pump chamber's level, m."""
        return self.levels[self.network.pump_chamber]

    def ends(self, link: int) -> tuple[float, float]:
        """Return the levels at the upper and the lower end of a link."""
        return self.levels[self.network.links[link].up], self.levels[self.network.links[link].down]

    def gaining(self, water: int) -> float:
        """Return what a water gains at this instant through its links, m3/s, contents of lines left out."""
        return (sum(q for link, q in zip(self.network.links, self.flows, strict=True) if link.down == water)
                - sum(q for link, q in zip(self.network.links, self.flows, strict=True) if link.up == water))

    def named(self, name: str) -> float:
        """Return the volume of a water by its name, m3; 0 where there is none of that name."""
        return sum(volume for water, volume in zip(self.network.waters, self.volumes, strict=True) if water.name == name)


def holds_volume(element: Any) -> bool:
    """Whether a link's own contents change: a drain with a line."""
    return hasattr(element, "held") and float(element.line.volume) > 0.0


def volumes_at(network: Network, levels: tuple[float, ...]) -> tuple[float, ...]:
    """Return the volumes of the waters at levels, m3; junctions hold none."""
    return tuple(0.0 if water.body is None else float(water.body.stored(level)[0])
                 for water, level in zip(network.waters, levels, strict=True))


def moment_of(state: State, network: Network | None = None, levels: tuple[float, ...] = (), flows: tuple[float, ...] = (),
              ) -> Moment:
    """Return the instant at which a running state is left alone; `network` has waters and links added at its end.

    `levels` and `flows` are those of what was added.
    """
    wider = network or state.network
    heads = (*map(float, state.levels), *levels)
    going = (*map(float, state.flows), *flows)
    held = tuple(float(link.element.held(max(q, 0.0))[0]) if holds_volume(link.element) else 0.0
                 for link, q in zip(wider.links, going, strict=True))
    nothing = (0.0,) * len(wider.links)
    return Moment(wider, 0.0, heads, volumes_at(wider, heads), going, held, float(wider.full), 0.0, 0.0, False,
                  nothing, nothing, 0.0)
