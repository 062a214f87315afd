"""One instant of a loop that is on its way: levels and flows, and every litre with its place.

    all the water = in vessels + in drains' lines + in each header system's lines + on its way down out of them

Volumes are what is carried from step to step; levels are read off them, so that nothing is lost.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hydro.elements.holding import Filling
from hydro.network.manifolds import HeaderSystem, header_systems
from hydro.network.model import Network
from hydro.steady.state import State


@dataclass(frozen=True, slots=True)
class Store:
    """The water (m3) in the lines of one header system: what stands there, and what runs down out of them.

    `falling` runs at most at `flow` (m3/s) down into the water at the place `into`. While `filling`, the lines take all that
    their pumps move.
    """

    system: HeaderSystem
    lines: float
    falling: float = 0.0
    flow: float = 0.0
    into: int = -1
    filling: bool = False


@dataclass(frozen=True, slots=True)
class TransientState:
    """Time (s), levels (m) and volumes (m3) of the waters, flows (m3/s) in the links, m3 held in them.

    `stores` is the water in the lines of each header system. `entered` and `left` are what each link took and passed on since
    the start, `came_down` what each water got out of the lines. `flags` name the notes that stand. `fillings` are kept from step
    to step: how the drains' lines fill.
    """

    network: Network
    time: float
    levels: tuple[float, ...]
    volumes: tuple[float, ...]
    flows: tuple[float, ...]
    held: tuple[float, ...]
    stores: tuple[Store, ...]
    entered: tuple[float, ...]
    left: tuple[float, ...]
    came_down: tuple[float, ...]
    flags: frozenset[str] = frozenset()
    fillings: tuple[Filling | None, ...] = ()

    @property
    def lines(self) -> float:
        """The water that stands in all header systems, m3."""
        return sum(store.lines for store in self.stores)

    @property
    def falling(self) -> float:
        """The water that runs back out of them, m3."""
        return sum(store.falling for store in self.stores)

    @property
    def filling(self) -> bool:
        """Whether the lines of some pump still fill."""
        return any(store.filling for store in self.stores)

    @property
    def let_down(self) -> float:
        """What came out of the lines since the start, m3."""
        return sum(self.came_down)

    @property
    def total(self) -> float:
        """All the water, m3."""
        return sum(self.volumes) + sum(self.held) + self.lines + self.falling

    @property
    def tank_level(self) -> float:
        """The only tank's level, m."""
        return self.levels[self.network.tank]

    @property
    def pump_level(self) -> float:
        """The level of the chamber that closes the balance, m."""
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

    def store_of(self, link: int) -> int:
        """Return the place in `stores` of the header system that a link belongs to, -1 where it belongs to none."""
        node = self.network.links[link].up
        return next((n for n, store in enumerate(self.stores) if link in store.system.links or node in store.system.nodes), -1)


def holds_volume(element: Any) -> bool:
    """Whether a link's own contents change: a drain with a line."""
    return hasattr(element, "held") and float(element.line.volume) > 0.0


def volumes_at(network: Network, levels: tuple[float, ...]) -> tuple[float, ...]:
    """Return the volumes of the waters at levels, m3; junctions hold none."""
    return tuple(0.0 if water.body is None else float(water.body.stored(level)[0])
                 for water, level in zip(network.waters, levels, strict=True))


def full_stores(network: Network) -> tuple[Store, ...]:
    """Return the header systems of a network, every one of them full of water."""
    return tuple(Store(system, system.full) for system in header_systems(network))


def moment_of(state: State, network: Network | None = None, levels: tuple[float, ...] = (), flows: tuple[float, ...] = (),
              ) -> TransientState:
    """Return the instant at which a running state is left alone; `network` has waters and links added at its end.

    `levels` and `flows` are those of what was added.
    """
    wider = network or state.network
    heads = (*map(float, state.levels), *levels)
    going = (*map(float, state.flows), *flows)
    held = tuple(float(link.element.held(max(q, 0.0))[0]) if holds_volume(link.element) else 0.0
                 for link, q in zip(wider.links, going, strict=True))
    return TransientState(wider, 0.0, heads, volumes_at(wider, heads), going, held, full_stores(wider),
                  *nothing_yet(wider))


def nothing_yet(network: Network) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Return what links have taken and passed on, and what waters got out of the lines, at a start."""
    links, waters = (0.0,) * len(network.links), (0.0,) * len(network.waters)
    return links, links, waters
