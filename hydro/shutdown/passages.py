"""The ways water can leave each water once all pumps stand still: over edges, through drains, through pipes full of water.

A `Passage` leads from one water over a sill to another. Pipes that a holding check valve does not bar hang together in a
`Pool`, from port to port: what stands over one port's `stop` can leave through any other that lies lower. A holding valve
between two pools, or at a port, leaves the way with the flow; against it nothing passes.

On the safe side: every such pipe counts as full of water, however high it climbs. Air that enters at one mouth breaks that
mouth's siphon alone, not that of another on the same header. Where a pool ends in a chamber the water goes down there. A
valve or return that stands shut is not counted on to stay so; a blocked drain takes nothing. A drain into a header, or into a
water that can stand over its lip, also gives: water comes back over the lip where no check valve bars it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from hydro.elements.fittings import Closed
from hydro.elements.line import NO_OUTLET
from hydro.elements.return_line import BreakHole
from hydro.network.model import CHAMBER, JUNCTION, UPPER, Network
from hydro.network.paths import has_check_valve, is_pipe
from hydro.quantities.reaching import reached

NOWHERE = float("-inf")


@dataclass(frozen=True, slots=True)
class Passage:
    """A way from one water over a sill (m) into another, with the words for what ends the fall of the water it leaves."""

    down: int
    sill: float
    words: str


@dataclass(frozen=True, slots=True)
class Port:
    """Where a water meets a pool: it gives what stands over `stop` (m). `pumped` marks the pump's end of a pump's line."""

    pool: int
    stop: float
    words: str
    pumped: bool = False


@dataclass(slots=True)
class Pool:
    """Pipes that hang together. `outs` are (water, lowest point of the mouth) through which they give, further pools' with them.

    `chambers` and `tanks` are the two kinds of them, lowest first. `aired` says that air can come in from a tank, a box or a
    drain, here or in a pool that leads here.
    """

    outs: list[tuple[int, float]] = field(default_factory=list)
    chambers: list[tuple[int, float]] = field(default_factory=list)
    tanks: list[tuple[int, float]] = field(default_factory=list)
    onward: set[int] = field(default_factory=set)
    aired: bool = False


@dataclass(slots=True)
class Passages:
    """All ways out: `direct` and `ports` by water, `pool_of` by header, `pool_in` by pipe. `floor` is the place of the floor."""

    direct: list[list[Passage]]
    ports: list[list[Port]]
    pools: list[Pool]
    pool_of: dict[int, int]
    pool_in: dict[int, int]
    floor: int

    def ways(self, water: int) -> list[tuple[int, float, str]]:
        """Return the ways out of a water by heights alone, of each pool the lowest: (where to, sill, words)."""
        found = [(passage.down, passage.sill, passage.words) for passage in self.direct[water]]
        for port in self.ports[water]:
            pool = self.pools[port.pool]
            outs = [out for out in pool.chambers[:2] if out[0] != water] or [out for out in pool.tanks[:2] if out[0] != water]
            found += [(down, max(port.stop, low), port.words) for down, low in outs[:1]]
        return found


def drain_stop(drain: Any, breaks: bool) -> float:
    """Return the level (m) to which a drain draws its tank when the flow stops; `breaks` says whether a vent is counted on."""
    stops_at = getattr(drain, "stops_at", None)
    return float(drain.inlet.crest if stops_at is None else stops_at(breaks))


def passages_of(network: Network, breaks: bool, holds: bool) -> Passages:
    """Return all ways out of all waters; siphon breaks and vents work or not, check valves hold or not."""
    found = _pools(network, holds)
    _edges(network, found)
    _drains(network, found, breaks)
    for k, link in enumerate(network.links):
        if is_pipe(network, k):
            _pipe(network, found, k, breaks, holds)
        elif isinstance(link.element, BreakHole):
            stop = float(link.element.height) - float(link.element.hole) / 2.0
            _port(network, found, link.down, Port(found.pool_of[link.up], stop, f"siphon break of {link.element.name}"))
    _close(network, found)
    return found


def held_by_check_valve(element: Any, holds: bool) -> bool:
    """Whether a check valve that holds keeps water from running back through a pipe."""
    return holds and has_check_valve(element)


def _shut_both_ways(element: Any, holds: bool) -> bool:
    return (holds and any(isinstance(valve, Closed) for valve in element.line.check_valves)) or \
        float(getattr(element, "primed", 1.0)) < 0.5


def _pools(network: Network, holds: bool) -> Passages:
    """Return the headers gathered into pools: those that pipes without a holding valve join."""
    leads = {k: k for k, water in enumerate(network.waters) if water.kind == JUNCTION}

    def lead(node: int) -> int:
        while leads[node] != node:
            leads[node] = leads[leads[node]]
            node = leads[node]
        return node

    for k, link in enumerate(network.links):
        if link.up in leads and link.down in leads and is_pipe(network, k) and not held_by_check_valve(link.element, holds) \
                and not _shut_both_ways(link.element, holds):
            leads[lead(link.up)] = lead(link.down)
    numbers: dict[int, int] = {}
    pool_of = {node: numbers.setdefault(lead(node), len(numbers)) for node in leads}
    count = len(network.waters)
    return Passages([[] for _ in range(count + 1)], [[] for _ in range(count + 1)], [Pool() for _ in numbers],
                    pool_of, {}, count)


def _bottom(network: Network, water: int) -> float:
    body = network.waters[water].body
    return NOWHERE if body is None else float(body.bottom)


def _direct(network: Network, found: Passages, up: int, down: int, sill: float, words: str) -> None:
    found.direct[up].append(Passage(down, max(sill, _bottom(network, up)), words))


def _port(network: Network, found: Passages, water: int, port: Port) -> None:
    """Let a water give into a pool."""
    found.ports[water].append(Port(port.pool, max(port.stop, _bottom(network, water)), port.words, port.pumped))
    if network.waters[water].kind in UPPER:
        found.pools[port.pool].aired = True


def _edges(network: Network, found: Passages) -> None:
    """Add walls in sumps, edges of boxes, and the rims of what stands above."""
    for k in (*network.barriers, *network.edges):
        link = network.links[k]
        sill = float(link.element.crest if k in network.edges else link.element.holds)
        for up, down in ((link.up, link.down), (link.down, link.up)):
            _direct(network, found, up, down, sill, f"lip of {link.name}")
    for k in network.uppers:
        water = network.waters[k]
        if water.opening is not None:
            _direct(network, found, k, found.floor, float(water.opening), f"rim of {water.name}")


def _drains(network: Network, found: Passages, breaks: bool) -> None:
    for k in network.drains:
        link = network.links[k]
        drain = link.element
        if float(getattr(drain, "blocked", 0.0)) > 0.5:
            continue
        crest, stop = float(drain.inlet.crest), drain_stop(drain, breaks)
        words = f"{'mouth' if stop < crest else 'lip'} of {link.name}"
        if network.waters[link.down].kind == JUNCTION:
            _port(network, found, link.up, Port(found.pool_of[link.down], stop, words))
            if not drain.keeps_out():
                found.pools[found.pool_of[link.down]].outs.append((link.up, max(crest, float(drain.end))))
        else:
            _direct(network, found, link.up, link.down, max(stop, min(crest, float(drain.end))), words)
            if not drain.keeps_out():
                _direct(network, found, link.down, link.up, max(crest, float(drain.end)), words)


def _upper_mouth(element: Any) -> tuple[float, float]:
    """Return for the end a pipe begins with: the level it draws its water down to, and its lowest point as a way out, m."""
    start = getattr(element, "start", None)
    if start is not None:
        return float(start), float(start)
    return float(getattr(element, "intake", NOWHERE)), NOWHERE


def _lower_mouth(element: Any, breaks: bool) -> tuple[float, float, str]:
    """Return for the end a pipe ends with: the level it siphons its water down to, its lowest point, and what stops it."""
    finish, end = getattr(element, "finish", None), getattr(element, "end", None)
    if finish is not None:
        return float(finish), float(finish), f"mouth of {element.name}"
    if end is not None:
        stop = float(end.stop(breaks))
        by_hole = end.break_at is not None and stop == float(end.break_at)
        return stop, float(end.lowest), f"{'siphon break' if by_hole else 'mouth'} of {end.name}"
    outlet = float(getattr(element, "outlet", NO_OUTLET))
    # Which way such a mouth points is not said: sideways, it goes on until the lowest point of its bore is dry.
    height = outlet - float(element.line.bore) / 2.0 if outlet > NO_OUTLET else NOWHERE
    return height, height, f"mouth of {element.name}"


def _pipe(network: Network, found: Passages, k: int, breaks: bool, holds: bool) -> None:
    """Add a full pipe: its ports, or where a valve holds the way with the flow alone."""
    link = network.links[k]
    element: Any = link.element
    if _shut_both_ways(element, holds):
        return
    one_way = held_by_check_valve(element, holds)
    pumped = hasattr(element, "intake")
    draws, gives = _upper_mouth(element)
    stop, low, words = _lower_mouth(element, breaks)
    up_pool, down_pool = found.pool_of.get(link.up), found.pool_of.get(link.down)
    if up_pool is None and down_pool is None:
        if one_way:
            _direct(network, found, link.up, link.down, max(draws, low), f"mouth of {link.name}")
            return
        found.pools.append(Pool())
        up_pool = down_pool = len(found.pools) - 1
    elif up_pool is not None and down_pool is not None:
        if one_way:
            found.pools[up_pool].onward.add(down_pool)
        else:
            found.pool_in[k] = up_pool
        return
    pool = up_pool if up_pool is not None else down_pool
    assert pool is not None
    if not one_way:
        found.pool_in[k] = pool
    if link.up not in found.pool_of:
        _port(network, found, link.up, Port(pool, draws, f"mouth of {link.name}", pumped))
        if not one_way:
            found.pools[pool].outs.append((link.up, gives))
    if link.down not in found.pool_of:
        found.pools[pool].outs.append((link.down, low))
        if not one_way:
            _port(network, found, link.down, Port(pool, stop, words))


def _close(network: Network, found: Passages) -> None:
    """Give each pool the ways out of the pools it leads to, each water once by its lowest mouth, and pass the air on."""
    own = [pool.outs for pool in found.pools]
    aired = [k for k, pool in enumerate(found.pools) if pool.aired]
    reach = [reached([k], lambda pool: found.pools[pool].onward) for k in range(len(found.pools))]
    for k in aired:
        for other in reach[k]:
            found.pools[other].aired = True
    for pool, others in zip(found.pools, reach, strict=True):
        lowest: dict[int, float] = {}
        for other in others:
            for water, low in own[other]:
                lowest[water] = min(low, lowest.get(water, float("inf")))
        pool.outs = sorted(lowest.items(), key=lambda out: (out[1], network.waters[out[0]].name))
        pool.chambers = [out for out in pool.outs if network.waters[out[0]].kind == CHAMBER]
        pool.tanks = [out for out in pool.outs if network.waters[out[0]].kind != CHAMBER]
