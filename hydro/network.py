"""Build -> Network: waters (nodes) and links (edges) with prepared parameters, under one choice of values.

    tank --drain--> chamber --plate--> chamber ... --pump line--> junction --return--> tank

A network is frozen; a scenario is another network, `changed` in some parameters. The solver's `System` is read off it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from hydro.elements.waters import Body
from hydro.ops import Number
from hydro.rough import Rough
from hydro.solve.system import System

TANK, CHAMBER, JUNCTION, OUTSIDE = "tank", "chamber", "junction", "outside"


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


@dataclass(frozen=True, slots=True)
class Network:
    """Waters and links. `full` is the water in lines that are always full (m3); `used` every rough number that was asked for.

    `tank`, `chambers`, `pump_chamber` are places in `waters`; `drains`, `returns`, `barriers`, `pump` places in `links`.
    """

    waters: tuple[Water, ...]
    links: tuple[Link, ...]
    full: Number = 0.0
    used: Mapping[str, Rough] = field(default_factory=dict)
    tank: int = 0
    chambers: tuple[int, ...] = ()
    pump_chamber: int = -1
    drains: tuple[int, ...] = ()
    barriers: tuple[int, ...] = ()
    returns: tuple[int, ...] = ()
    pump: int = -1

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
