"""Where the pumps' head goes, part by part, on the way of the water from a chamber to a mouth.

    sum of the pumps' heads = (mouth's level - level drawn from) + losses on the way + what is left

A pipe that is passed against its flow gives back what the flow loses in it: heads at a header are one, whichever way one goes.
What is left is the rounding of the equations (micrometres), or, where a pump draws air, the head that it cannot use.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from hydro.elements.break_above import open_end
from hydro.elements.line import REST, lifted_to
from hydro.network.model import JUNCTION, Network
from hydro.network.paths import fed_by
from hydro.steady.operating_point import NO_FLOW
from hydro.steady.state import State

PAID, REGAINED = "velocity head, paid before the siphon break", "velocity head, regained behind the siphon break"
AT_BREAK = 1e-7
"""More than this between a line and its parts is the velocity head at a siphon break, m."""
Passed = tuple[str, tuple[tuple[str, float], ...]]
"""A link by its name, and its parts (label, head lost), m."""


@dataclass(frozen=True, slots=True)
class Way:
    """The way to a mouth: the pumps on it with their heads, the lift to the mouth, and each link's parts (label, head lost), m.

    `name` is the return's link, `free` says that its mouth stands in the air above the tank's water.
    """

    link: int
    start: str
    heads: tuple[tuple[str, float], ...]
    lift: float
    links: tuple[Passed, ...]
    free: bool

    @property
    def head(self) -> float:
        """What all pumps on the way give, m."""
        return sum(head for _, head in self.heads)

    @property
    def parts(self) -> tuple[tuple[str, float], ...]:
        """All parts passed, in order."""
        return tuple(part for _, parts in self.links for part in parts)

    @property
    def left(self) -> float:
        """Head that neither lifts nor is lost, m."""
        return self.head - self.lift - sum(head for _, head in self.parts)


def parts_of(state: State, k: int) -> list[tuple[str, float]]:
    """Return where the head goes along a pipe, part by part: (label, m)."""
    element, flow = state.network.links[k].element, state.flows[k]
    parts = [(str(label), float(head)) for label, head in element.budget(flow, *state.ends(k))]
    extra = float(element.line.loss(flow)[0] - REST * flow) - sum(float(part.loss(flow)[0]) for part in element.line.parts)
    return [*parts, (PAID if extra > 0.0 else REGAINED, extra)] if abs(extra) > AT_BREAK else parts


def pump_head_of(state: State, k: int) -> float:
    """Return the head of a pump at its flow, on its curve, m."""
    pump: Any = state.network.links[k].element
    return float(pump.curve.head(state.flows[k], pump.speed)[0])


def tail(network: Network, last: int, meets: Mapping[int, Sequence[int]]) -> list[int]:
    """Return the links in a row that end in a return and serve it alone; a pump only where it is that return's own link."""
    way = [last]
    while len(way) <= len(network.links):
        node = network.links[way[0]].up
        before = [k for k in meets.get(node, ()) if k != way[0]]
        if len(before) != 1 or network.links[before[0]].down != node or before[0] in network.pumps:
            break
        way.insert(0, before[0])
    return way


def ways_to(state: State) -> dict[int, tuple[int, ...]]:
    """Return for each return the links on the shortest way of the water there, from the pump that draws from a water."""
    network = state.network
    found: dict[int, tuple[int, ...]] = {}
    for pump in network.pumps:
        if network.waters[network.links[pump].up].kind == JUNCTION or float(state.flows[pump]) < NO_FLOW:
            continue
        for end, links in fed_by(network, pump).items():
            still = any(k in network.pumps and float(state.flows[k]) < NO_FLOW for k in links)
            if not still and (end not in found or len(links) < len(found[end])):
                found[end] = links
    return found


def lift_to(state: State, last: int, start: int) -> float:
    """Return how high a return's mouth, or the water over it, stands above the water at the start, m."""
    link = state.network.links[last]
    level = float(state.levels[link.down])
    return float(lifted_to(link.element, float(state.flows[last]), level)) - float(state.levels[start])


def way_of(state: State, links: Sequence[int]) -> Way:
    """Return where the pumps' head goes along a way that ends in a return."""
    network = state.network
    last = network.links[links[-1]]
    outlet, level = float(open_end(last.element.outlet, last.element.hole)), float(state.levels[last.down])
    node = network.links[links[0]].up
    start = node
    passed = []
    for k in links:
        link = network.links[k]
        sign = 1.0 if link.up == node else -1.0
        node = link.down if link.up == node else link.up
        passed.append((link.name, tuple((label, sign * head) for label, head in parts_of(state, k))))
    heads = tuple((network.links[k].name, pump_head_of(state, k)) for k in links if k in network.pumps)
    return Way(links[-1], network.waters[start].name, heads, lift_to(state, links[-1], start),
               tuple(passed), outlet > level)
