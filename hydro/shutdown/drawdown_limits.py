"""What ends the fall of a tank: which of its mouths water can run back through, and the lowest height that lets it leave."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from hydro.elements.return_line import BreakHole
from hydro.network import paths as ways
from hydro.network.model import JUNCTION, UPPER, Network
from hydro.quantities.reaching import reached
from hydro.shutdown.passages import Passages, passages_of

LEVEL = 1e-6
"""How near a water must stand to a sill to be said to have ended at it, m."""


def holds_back(link: Any) -> bool:
    """Whether a link's check valve keeps water from running back."""
    return ways.has_check_valve(link.element)


def headers_running_back(network: Network, holds: bool) -> set[int]:
    """Return the headers at which water can run back, over others and a pump, into a chamber; and the chambers themselves."""
    meets: dict[int, list[int]] = {}
    runs = set(network.runs)
    for k, link in enumerate(network.links):
        if ways.is_pipe(network, k) and not (holds and ways.has_check_valve(link.element)):
            meets.setdefault(link.up, []).append(link.down)
            if k in runs:
                meets.setdefault(link.down, []).append(link.up)
    return reached((k for k, water in enumerate(network.waters) if water.kind not in (JUNCTION, *UPPER)),
                   lambda node: (other for other in meets.get(node, ()) if network.waters[other].kind == JUNCTION))


def runs_back(network: Network, node: int, holds: bool) -> bool:
    """Whether water at a node can run back over headers and the pump into a chamber; a check valve that holds bars it."""
    return node in headers_running_back(network, holds)


def siphon_paths(network: Network, holds: bool) -> list[int]:
    """Return the returns through which water can run back: from their mouth over headers and the pump into its chamber.

    A holding check valve takes out the paths that lead through it; two returns on one header of the same tank end together.
    """
    reached = headers_running_back(network, holds)
    return [k for k in network.returns if not (holds and holds_back(network.links[k])) and network.links[k].up in reached]


def open_holes(network: Network, holds: bool) -> list[int]:
    """Return the siphon-break holes, drilled along a line, from which water could run back, whatever bars their mouth."""
    reached = headers_running_back(network, holds)
    return [k for k, link in enumerate(network.links) if isinstance(link.element, BreakHole) and link.up in reached]


def lowest_way(passages: Passages, water: int) -> tuple[float, str, int]:
    """Return the lowest sill over which water can leave (m), what it is, and where it leads; infinite where there is none."""
    return min(((sill, words, down) for down, sill, words in passages.ways(water)), default=(float("inf"), "", -1),
               key=lambda way: (way[0], _order(way)))


def tank_stop(network: Network, breaks: bool, holds: bool, tank: int | None = None) -> tuple[float, str]:
    """Return the level (m) at which a tank comes to rest if all that it gives finds room below, and what ends its fall."""
    return lowest_way(passages_of(network, breaks, holds), network.tank if tank is None else tank)[:2]


def ended_by(network: Network, passages: Passages, levels: Sequence[float], water: int) -> str:
    """Return in words what ended the fall of a water: a sill at its level, a water that stands level with it, its lowest sill."""
    level = levels[water]
    ways = [(sill, words, down) for down, sill, words in passages.ways(water) if down != passages.floor]
    at_sill = [way for way in ways if abs(way[0] - level) <= LEVEL]
    if at_sill:
        return min(at_sill, key=_order)[1]
    under = {down for sill, _, down in ways if sill < level}
    for port in passages.ports[water]:
        if port.stop < level and not passages.pools[port.pool].chambers:
            under |= {down for down, low in passages.pools[port.pool].tanks if low < level}
    beside = [network.waters[down].name for down in under if down != water and abs(levels[down] - level) <= LEVEL]
    return f"level with {min(beside)}" if beside else lowest_way(passages, water)[1]


def _order(way: tuple[float, str, int]) -> tuple[bool, str]:
    return not way[1].startswith("lip"), way[1]
