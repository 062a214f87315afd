"""Build -> Network: waters (nodes) and links (edges) with prepared parameters, under one choice of values.

    tank --drain--> chamber --plate--> chamber ... --pump line--> junction --return--> tank

Any number of each: tanks with overflow boxes beside them, sumps, pumps, headers that meet in rings. A network is frozen; a
scenario is another network, `changed` in some parameters. The solver's `System` is read off it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from hydro.elements.waters import Body
from hydro.quantities.arrays import Number
from hydro.quantities.uncertain import Uncertain
from hydro.solve.system import System

TANK, BOX, CHAMBER, JUNCTION, OUTSIDE = "tank", "box", "chamber", "junction", "outside"
UPPER = (TANK, BOX)
"""Waters that are filled from above and spill: what stands in them comes down when the pumps stop."""


@dataclass(frozen=True, slots=True)
class Water:
    """A body of water, a junction (no volume), or one whose level is given from outside."""

    name: str
    kind: str
    body: Body | None = None
    level: Number | None = None
    opening: Number | None = None


@dataclass(frozen=True, slots=True)
class Link:
    """One element that carries a flow from water `up` to water `down` (their places in the list of waters)."""

    name: str
    element: Any
    up: int
    down: int


@dataclass(frozen=True, slots=True)
class Closing:
    """What closes the balance: the total volume (m3), or the level (m) of one water."""

    node: int
    total: Number = 0.0
    level: Number | None = None


def only(places: tuple[int, ...]) -> int:
    """Return the only member; ValueError where there are several, or none: what is asked then has to name which."""
    (place,) = places
    return place


@dataclass(frozen=True, slots=True)
class Network:
    """Waters and links. `full` is the water in lines that are always full (m3); `used` every uncertain number that was used.

    `sumps` lists the places of each sump's chambers in `waters`, `pump_chamber` the chamber whose level or water closes the
    balance. `drains`, `barriers` (walls in a sump), `edges` (tank into box), `returns`, `runs` (pipes between headers or
    waters) and `pumps` are places in `links`. `tees` are what renews losses that depend on a split.
    """

    waters: tuple[Water, ...]
    links: tuple[Link, ...]
    full: Number = 0.0
    used: Mapping[str, Uncertain] = field(default_factory=dict)
    sumps: tuple[tuple[int, ...], ...] = ()
    pump_chamber: int = -1
    drains: tuple[int, ...] = ()
    barriers: tuple[int, ...] = ()
    edges: tuple[int, ...] = ()
    returns: tuple[int, ...] = ()
    runs: tuple[int, ...] = ()
    pumps: tuple[int, ...] = ()
    tees: tuple[Any, ...] = ()

    @property
    def tanks(self) -> tuple[int, ...]:
        """The tanks' places in `waters`, boxes left out."""
        return tuple(k for k, water in enumerate(self.waters) if water.kind == TANK)

    @property
    def uppers(self) -> tuple[int, ...]:
        """The places of all waters that are filled from above and spill: tanks and boxes."""
        return tuple(k for k, water in enumerate(self.waters) if water.kind in UPPER)

    @property
    def chambers(self) -> tuple[int, ...]:
        """The places of the chambers of all sumps."""
        return tuple(k for sump in self.sumps for k in sump)

    @property
    def tank(self) -> int:
        """The only tank's place; ValueError where there are several."""
        return only(self.tanks)

    @property
    def pump(self) -> int:
        """The only pump's place in `links`; ValueError where there are several."""
        return only(self.pumps)

    @property
    def spills(self) -> tuple[int, ...]:
        """The links over whose edge a tank or box spills: drains and edges of boxes."""
        return (*self.drains, *self.edges)

    def water(self, name: str) -> int:
        """Return the place of a water by name; KeyError if there is none."""
        for k, water in enumerate(self.waters):
            if water.name == name:
                return k
        raise KeyError(name)

    def sump_of(self, chamber: int) -> tuple[int, ...]:
        """Return the chambers of the sump that a chamber belongs to."""
        return next(sump for sump in self.sumps if chamber in sump)

    @property
    def sump_bottom(self) -> float:
        """The height of the bottom of the sump whose pump chamber closes the balance, m above the ground."""
        body = self.waters[self.sump_of(self.pump_chamber)[0]].body
        assert body is not None
        return float(body.bottom)

    def leaving(self, water: int, links: tuple[int, ...]) -> tuple[int, ...]:
        """Return those of some links that begin in a water."""
        return tuple(k for k in links if self.links[k].up == water)

    def place(self, name: str) -> int:
        """Return the place of a link by name; KeyError if there is none."""
        for k, link in enumerate(self.links):
            if link.name == name:
                return k
        raise KeyError(name)

    def changed(self, changes: Mapping[int, Mapping[str, Any]]) -> Network:
        """Return the network with parameters of some links' elements changed: place in `links` -> name -> value."""
        links = [replace(link, element=replace(link.element, **changes[k])) if k in changes else link
                 for k, link in enumerate(self.links)]
        return replace(self, links=tuple(links))

    def in_modes(self, modes: Mapping[int, str]) -> Network:
        """Return the network with links set into modes: place in `links` -> mode."""
        links = [replace(link, element=link.element.in_mode(modes[k])) if k in modes else link
                 for k, link in enumerate(self.links)]
        return replace(self, links=tuple(links))

    def system(self, closing: Closing | None) -> System:
        """Return the solver's view. `closing` is None where a water has a level given from outside."""
        fixed = {k: water.level for k, water in enumerate(self.waters) if water.level is not None}
        return System(
            links=tuple((link.element.residual, link.up, link.down) for link in self.links),
            stored=tuple(water.body.stored if water.body is not None else None for water in self.waters),
            held=tuple(getattr(link.element, "held", None) for link in self.links),
            fixed=fixed,
            closing=None if closing is None or fixed else closing.node,
            total=0.0 if closing is None else closing.total - self.full,
            level=None if closing is None else closing.level)

    def graph(self) -> Any:
        """Return the network as a networkx.MultiDiGraph: waters by name, links with their element."""
        import networkx

        graph = networkx.MultiDiGraph()
        for water in self.waters:
            graph.add_node(water.name, kind=water.kind, water=water)
        for link in self.links:
            graph.add_edge(self.waters[link.up].name, self.waters[link.down].name, key=link.name, element=link.element)
        return graph
