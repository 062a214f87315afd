"""Paths of water through the pipes: which mouths a pump feeds, which waters are connected, which headers are dead ends.

Only the graph is read here, no level and no flow.
"""

from __future__ import annotations

from collections import deque
from typing import Any

from hydro.elements.fittings import SHUT
from hydro.network.model import JUNCTION, Network
from hydro.quantities.reaching import reached


def is_pipe(network: Network, link: int) -> bool:
    """Whether a link is a full pipe: a pump's line, a return, a run between headers."""
    element = network.links[link].element
    return hasattr(element, "line") and not hasattr(element, "inlet")


def pipes_at(network: Network) -> dict[int, list[int]]:
    """Return the pipes that meet in each junction."""
    found: dict[int, list[int]] = {}
    for k, link in enumerate(network.links):
        if is_pipe(network, k):
            for node in (link.up, link.down):
                if network.waters[node].kind == JUNCTION:
                    found.setdefault(node, []).append(k)
    return found


def has_check_valve(element: Any) -> bool:
    """Whether a check valve on a link keeps water from running back."""
    return any(float(valve.back) >= SHUT for valve in element.line.check_valves)


def fed_by(network: Network, pump: int) -> dict[int, tuple[int, ...]]:
    """Return the returns that a pump can reach, each with the links on the way there, the pump's own first.

    A way leads forward over headers, through pumps behind this one, and either way through the runs of a manifold.
    """
    runs = set(network.runs)
    leaving: dict[int, list[int]] = {}
    for k in range(len(network.links)):
        if is_pipe(network, k):
            leaving.setdefault(network.links[k].up, []).append(k)
            if k in runs:
                leaving.setdefault(network.links[k].down, []).append(k)
    found: dict[int, tuple[int, ...]] = {}
    ends = set(network.returns)
    if pump in ends:
        return {pump: (pump,)}
    seen = {network.links[pump].up, network.links[pump].down}
    waiting: deque[tuple[int, tuple[int, ...]]] = deque([(network.links[pump].down, (pump,))])
    while waiting:
        node, way = waiting.popleft()
        for k in leaving.get(node, []):
            link = network.links[k]
            other = link.down if link.up == node else link.up
            if k in ends:
                found.setdefault(k, (*way, k))
            if other not in seen and network.waters[other].kind == JUNCTION:
                seen.add(other)
                waiting.append((other, (*way, k)))
    return found


def components(network: Network) -> list[list[int]]:
    """Return the groups of waters that links connect, each in the order of the network."""
    meets: dict[int, list[int]] = {}
    for link in network.links:
        meets.setdefault(link.up, []).append(link.down)
        meets.setdefault(link.down, []).append(link.up)
    seen: set[int] = set()
    groups = []
    for start in range(len(network.waters)):
        if start in seen:
            continue
        group = reached([start], lambda water: meets.get(water, []))
        seen |= group
        groups.append(sorted(group))
    return groups


def dead_ends(network: Network) -> list[int]:
    """Return the dead ends: headers that only one pipe meets, so that no water passes."""
    met = [0] * len(network.waters)
    for link in network.links:
        met[link.up] += 1
        met[link.down] += 1
    return [k for k, water in enumerate(network.waters) if water.kind == JUNCTION and met[k] < 2]


def drawn_empty(network: Network) -> list[int]:
    """Return the chambers that a running pump draws from, of sumps that lose water to where nothing brings it back from.

    Water goes the way of drains, walls and pumps, either way through runs and through pumps that stand.
    """
    links, runs = network.links, set(network.runs)
    onward: dict[int, list[int]] = {}
    backward: dict[int, list[int]] = {}
    for k, link in enumerate(links):
        both = k in runs or (k in network.pumps and float(links[k].element.running) < 0.5)
        for up, down in ((link.up, link.down), *(((link.down, link.up),) if both else ())):
            onward.setdefault(up, []).append(down)
            backward.setdefault(down, []).append(up)
    losing = []
    for k in network.pumps:
        if float(links[k].element.running) < 0.5 or links[k].up not in network.chambers:
            continue
        comes_back = reached(network.sump_of(links[k].up), lambda water: backward.get(water, []))
        if not reached([links[k].up], lambda water: onward.get(water, [])) <= comes_back:
            losing.append(links[k].up)
    return list(dict.fromkeys(losing))


def spilling_into(network: Network, water: int) -> set[int]:
    """Return the tanks and boxes whose drains lead to a tank or box, one over the other or by a pipe they share; itself too."""
    def beside(node: int) -> list[int]:
        above = [network.links[k].up for k in network.spills if network.links[k].down == node]
        shared = [network.links[k].down for k in network.leaving(node, network.spills)]
        return above + [down for down in shared if network.waters[down].kind == JUNCTION]

    return {node for node in reached([water], beside) if network.waters[node].kind != JUNCTION}
