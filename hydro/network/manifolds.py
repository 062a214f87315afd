"""Header systems: the pipes that meet in junctions. Each fills and empties by itself; and which paths lead back out of it.

    pump A --+-- header --+-- return 1 --> tank 1         one system: what stands in it is one store
    pump B --+            +-- return 2 --> tank 2
    pump C ------------------ return 3 --> tank 3         another one

Out of a junction water can run back through a line without a valve that holds, through a pump that stands, and on through a
return into another tank whose water stands lower. Only the graph is read here and what is shut, no level and no flow.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from hydro.network.model import JUNCTION, UPPER, Network
from hydro.network.paths import has_check_valve, is_pipe
from hydro.network.paths import pipes_at as pipes_at
from hydro.quantities.reaching import reached


@dataclass(frozen=True, slots=True)
class HeaderSystem:
    """Pipes that meet in junctions: places of links, of pumps among them and of junctions, and the volume when full, m3."""

    links: tuple[int, ...]
    pumps: tuple[int, ...]
    nodes: frozenset[int]
    full: float


@dataclass(frozen=True, slots=True)
class ManifoldPath:
    """Where water that enters a mouth against the flow of a return may go.

    `chambers` are the places it reaches through pumps that stand, `mouths` pipes that lead into other tanks, each with its tank.
    `pressed`: a running pump delivers into it.
    """

    chambers: tuple[int, ...] = ()
    mouths: tuple[tuple[int, int], ...] = ()
    pressed: bool = False

    @property
    def certain(self) -> bool:
        """Whether water takes it whatever the heads: down into a chamber, against no running pump."""
        return bool(self.chambers) and not self.pressed

    def __bool__(self) -> bool:
        return bool(self.chambers or self.mouths)

    def past(self, water: int) -> ManifoldPath:
        """Return the path without the mouths in one water: a tank does not empty into itself."""
        return ManifoldPath(self.chambers, tuple(mouth for mouth in self.mouths if mouth[1] != water), self.pressed)


def header_systems(network: Network) -> tuple[HeaderSystem, ...]:
    """Return the header systems of a network, in the order of their first links."""
    system: dict[int, int] = {}
    met = pipes_at(network)
    pipes = [k for k in range(len(network.links)) if is_pipe(network, k)]
    found: list[HeaderSystem] = []
    for first in pipes:
        if first in system:
            continue
        links, waiting, nodes = {first}, [first], set()
        while waiting:
            link = network.links[waiting.pop()]
            for node in (link.up, link.down):
                if node in met and node not in nodes:
                    nodes.add(node)
                    new = [k for k in met[node] if k not in links]
                    links.update(new)
                    waiting.extend(new)
        system.update(dict.fromkeys(links, len(found)))
        full = sum(float(network.links[k].element.line.volume) for k in sorted(links))
        found.append(HeaderSystem(tuple(sorted(links)), tuple(k for k in network.pumps if k in links), frozenset(nodes), full))
    return tuple(found)


def is_shut(element: Any) -> bool:
    """Whether a link of a line is shut."""
    return float(getattr(element, "shut", 0.0)) > 0.5 or float(getattr(element, "driven", 0.0)) > 0.5


def runs(element: Any) -> bool:
    """Whether a link is a pump that is running."""
    return float(getattr(element, "running", 0.0)) > 0.5


def air_inlets(network: Network) -> list[int]:
    """Return the links that end in a mouth at which air may come in."""
    return [k for k, link in enumerate(network.links)
            if getattr(link.element, "end", None) is not None and hasattr(link.element.end, "stop")]


def way_from(network: Network, node: int, meets: dict[int, list[int]], without: Sequence[int] = ()) -> ManifoldPath:
    """Return where water may run from a node, leaving out what lies behind some links; check valves hold as they are set."""
    if network.waters[node].kind != JUNCTION:
        return ManifoldPath() if network.waters[node].kind in UPPER else ManifoldPath((node,))
    chambers: list[int] = []
    mouths: list[tuple[int, int]] = []
    seen, waiting, pressed = {node}, [node], False
    while waiting:
        here = waiting.pop()
        for k in meets.get(here, []):
            link = network.links[k]
            back = link.down == here
            pressed = pressed or runs(link.element)
            if k in without or is_shut(link.element) or runs(link.element) or (back and has_check_valve(link.element)):
                continue
            other = link.up if back else link.down
            kind = network.waters[other].kind
            if kind == JUNCTION:
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)
            elif kind in UPPER:
                mouths.append((k, other))
            else:
                chambers.append(other)
    return ManifoldPath(tuple(dict.fromkeys(chambers)), tuple(mouths), pressed)


def ways_back(network: Network, of: Iterable[int] | None = None) -> dict[int, ManifoldPath]:
    """Return for each link that ends in a mouth (or each one of `of`) where water may run that enters there, where it may at all.

    Nothing enters a link that is shut, whose valve holds, or that is pumped through.
    """
    meets = pipes_at(network)
    from_node: dict[int, ManifoldPath] = {}
    found: dict[int, ManifoldPath] = {}
    for k in air_inlets(network) if of is None else of:
        link = network.links[k]
        if is_shut(link.element) or runs(link.element) or has_check_valve(link.element):
            continue
        if link.up not in from_node:
            from_node[link.up] = way_from(network, link.up, meets)
        way = from_node[link.up].past(link.down)
        if way:
            found[k] = way
    return found


def pool_at(network: Network, start: int, meets: dict[int, list[int]]) -> set[int]:
    """Return the junctions that hang together with one over pipes without a valve that holds, shut or not."""
    def beside(node: int) -> list[int]:
        links = [network.links[k] for k in meets.get(node, []) if not has_check_valve(network.links[k].element)]
        return [end for link in links for end in (link.up, link.down) if network.waters[end].kind == JUNCTION]

    return reached([start], beside)


def downstream(network: Network, first: int) -> set[int]:
    """Return the places of a link and of all links that it feeds over junctions."""
    def onward(k: int) -> list[int]:
        node = network.links[k].down
        return [n for n, other in enumerate(network.links) if other.up == node] if network.waters[node].kind == JUNCTION else []

    return reached([first], onward)
