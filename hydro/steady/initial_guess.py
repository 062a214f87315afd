"""First guesses of levels and flows, and the order in which a solution is sought from them.

The pumps move a share of their largest flow; a tank's drains share evenly what comes into it, returns of one header as their
losses have it. Newton's first full step makes all flows balance, so a guess only has to be of the right size.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from typing import Any

from hydro.network.model import JUNCTION, Closing, Network
from hydro.quantities.arrays import Number, first, greater, lesser

LADDER = ((0.7, 0.03), (0.0, 0.0), (0.2, 0.03), (0.05, 0.005))
"""Starts to try in turn: the pumps' flow as a share of their last points (0: at rest), and the head over each edge, m."""
STILL = 1e-13
"""Reversed flow from which a loop at rest is started, m3/s: on the side of each law that keeps water from running back."""
CASCADE = 4
"""How often what comes into a water is passed on: a tank above a tank above a box above a sump."""


def initial_guesses(network: Network, closing: Closing | None) -> Iterator[tuple[list[Number], list[Number]]]:
    """Yield first guesses of levels and flows, likeliest first."""
    for share, head in LADDER:
        flows = guessed_flows(network, share)
        levels = guessed_levels(network, closing, head)
        for k, water in enumerate(network.waters):
            if water.level is not None:
                levels[k] = water.level + 0.0 * levels[k]
        if share:
            _fill(network, levels, flows)
        _heads(network, levels, flows)
        yield levels, flows


def guessed_flows(network: Network, share: float) -> list[Number]:
    """Return a flow in every link with the pumps at a share of their largest flow, none through a siphon-break hole."""
    links = network.links
    zero: Number = 0.0
    for k in network.pumps:
        zero = zero + 0.0 * links[k].element.speed
    flows: list[Number] = [zero - STILL if not share and k not in network.runs else zero for k in range(len(links))]
    if not share:
        return flows
    for k in network.pumps:
        pump: Any = links[k].element
        flows[k] = share * pump.curve.flows[-1] * pump.speed * pump.running + zero
    _spread_over_returns(network, flows, zero)
    _pass_on(network, flows, zero)
    return flows


def _spread_over_returns(network: Network, flows: list[Number], zero: Number) -> None:
    """Give each return its part of what the pumps that stand in a chamber move, by how easily it flows there."""
    links, waters = network.links, network.waters
    drawn = [k for k in network.pumps if waters[links[k].up].kind != JUNCTION]
    total = sum((flows[k] for k in drawn), zero)
    before = {link.down: k for k, link in enumerate(links) if waters[link.down].kind == JUNCTION and k not in network.pumps
              and k not in network.runs and k not in network.drains and hasattr(link.element, "line")}
    ways = [[k, *([before[links[k].up]] if links[k].up in before else [])] for k in network.returns if k not in network.pumps]
    direct = sum((flows[k] for k in network.returns if k in network.pumps), zero)
    if not ways:
        return
    even = abs(total) / len(network.returns)
    ease = [(1e-9 + sum(abs(links[n].element.line.loss(even)[0]) for n in way)) ** -0.5 for way in ways]
    for way, one in zip(ways, ease, strict=True):
        for k in way:
            flows[k] = (total - direct) * one / sum(ease)
    for k in network.runs:
        flows[k] = even + zero


def _pass_on(network: Network, flows: list[Number], zero: Number) -> None:
    """Let the tanks, boxes and chambers pass on what they get."""
    links = network.links
    into: dict[int, list[int]] = {}
    for k, link in enumerate(links):
        into.setdefault(link.down, []).append(k)
    ways = spills_by_water(network)
    for _ in range(CASCADE):
        for node, leaving in ways.items():
            comes = sum((flows[k] for k in into.get(node, [])), zero)
            for k in leaving:
                flows[k] = comes / len(leaving)
    for _ in network.barriers:
        for k in network.barriers:
            drawn = sum((flows[n] for n in network.pumps if links[n].up == links[k].up), zero)
            flows[k] = sum((flows[n] for n in into.get(links[k].up, []) if n != k), zero) - drawn


def spills_by_water(network: Network) -> dict[int, list[int]]:
    """Return the drains and edges of each tank and box that has any, by its place."""
    ways: dict[int, list[int]] = {}
    for k in network.spills:
        ways.setdefault(network.links[k].up, []).append(k)
    return ways


def guessed_levels(network: Network, closing: Closing | None, head: float) -> list[Number]:
    """Return levels with `head` (m) over every edge, pump chambers at the line or a little over the intake."""
    links = network.links
    crests = {node: [crest_of(links[k].element) for k in ways] for node, ways in spills_by_water(network).items()}
    lowest = min((crest for found in crests.values() for crest in found), key=first, default=0.0)
    levels: list[Number] = [lowest + head] * len(network.waters)
    for node, found in crests.items():
        levels[node] = min(found, key=first, default=lowest) + head
    walls = {links[b].up: links[b].element for b in network.barriers}
    drawn: dict[int, Number] = {}
    for k in network.pumps:
        drawn.setdefault(links[k].up, links[k].element.intake + 0.1)
    if closing is not None and closing.level is not None:
        drawn[closing.node] = closing.level
    for sump in network.sumps:
        below = next((drawn[k] for k in reversed(sump) if k in drawn), 0.0)
        for k in reversed(sump):
            if k in drawn:
                levels[k] = below = drawn[k]
                continue
            crest = getattr(walls.get(k), "crest", None)
            below = crest + head if crest is not None and first(crest) > first(below) else below + 0.01
            levels[k] = below
    return levels


def crest_of(element: Any) -> Number:
    """Return the height of the edge that a drain or the edge of a box begins to pass water at, m."""
    return element.inlet.crest if hasattr(element, "inlet") else element.crest


def _fill(network: Network, levels: list[Number], flows: Sequence[Number]) -> None:
    """Bring tanks, boxes and chambers near the levels at which inlets, edges and walls pass the flows guessed."""
    taken = set(network.drains)
    for node, ways in spills_by_water(network).items():
        drains = [k for k in ways if k in taken and first(network.links[k].element.blocked) < 0.5]
        stands = [network.links[k].element.inlet.crest + network.links[k].element.needed(flows[k])[0] for k in drains]
        levels[node] = min(stands, key=first, default=levels[node])
    for k in (*network.edges, *reversed(network.barriers)):
        link = network.links[k]
        for _ in range(3):
            passes, by_up, _ = link.element.flow(levels[link.up], levels[link.down])
            more = (flows[k] - passes) / by_up
            levels[link.up] = levels[link.up] + greater(lesser(more, 0.05), -0.05)


def _heads(network: Network, levels: list[Number], flows: Sequence[Number]) -> None:
    """Give the junctions heads, outward from the waters: pumps' lift less what is lost on the way."""
    links, waters = network.links, network.waters
    pumps, back = set(network.pumps), {*network.runs}
    meets: dict[int, list[int]] = {}
    for k in (*network.pumps, *(k for k, link in enumerate(links) if hasattr(link.element, "line") and k not in pumps)):
        meets.setdefault(links[k].up, []).append(k)
        if k in back:
            meets.setdefault(links[k].down, []).append(k)
    waiting = deque([*dict.fromkeys(links[k].up for k in network.pumps if waters[links[k].up].kind != JUNCTION),
                     *(k for k, water in enumerate(waters) if water.kind != JUNCTION)])
    known = {k for k, water in enumerate(waters) if water.kind != JUNCTION}
    while waiting:
        node = waiting.popleft()
        for k in meets.get(node, []):
            link = links[k]
            lift = link.element.curve.head(flows[k], link.element.speed, true=False)[0] * link.element.running \
                if k in pumps else 0.0
            change = lift - link.element.line.loss(flows[k])[0]
            other, head = (link.down, levels[node] + change) if node == link.up else (link.up, levels[node] - change)
            if other not in known:
                levels[other] = head
                known.add(other)
                waiting.append(other)
