"""The pump has stopped: what comes down, where it goes, by volumes.

Every path of full pipe from a water to a lower one is a siphon until air gets in. For each tank the level falls to the lowest
of: the crests of its drains, and for each return that is not held back the level at which air gets in (its hole, or with the
hole plugged its mouth's lowest point). What comes down:

    tank's area x fall  +  water held in the drains  +  contents of the returns that are not held

It fills the sump from the levels its chambers had while running; walls hold back what stands below their crests, and go under
when the water tops them. Water in the drains is counted whole, also the part below the receiving level: the safe side.
Not modelled: the film on walls, the swing of levels while it settles (some millimetres).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Any

from hydro.elements.fittings import SHUT
from hydro.network import JUNCTION, Network
from hydro.state import State


@dataclass(frozen=True, slots=True)
class Stopped:
    """The state after a power cut. Volumes in m3, levels in m above the datum.

    `breaks` and `holds` say what was counted on: siphon breaks working, check valves holding. `items` is what comes down,
    by words. `chambers` are the final levels, `sump_level` the highest of them that stands open to the pump chamber;
    `spare` is the room left up to the lowest opening (negative: that much goes over).
    """

    breaks: bool
    holds: bool
    tank_level: float
    ends_by: str
    items: dict[str, float]
    chambers: tuple[float, ...]
    spare: float

    @property
    def comes_down(self) -> float:
        """All that comes down, m3."""
        return sum(self.items.values())

    @property
    def sump_level(self) -> float:
        """The pump chamber's final level, which is the sump's where the walls are under water, m."""
        return max(self.chambers)


def holds_back(link: Any) -> bool:
    """Whether a link's check valve keeps water from running back."""
    return any(float(valve.back) >= SHUT for valve in link.element.line.check_valves)


def siphon_paths(network: Network, holds: bool) -> list[int]:
    """Return the returns through which water can run back: from their mouth over junctions and the pump into its chamber.

    A holding check valve takes out the paths that lead through it; two returns on one header of the same tank end together.
    """
    open_links: dict[int, list[int]] = {}
    for k, link in enumerate(network.links):
        if hasattr(link.element, "line") and not hasattr(link.element, "inlet") and not (holds and holds_back(link)):
            open_links.setdefault(link.down, []).append(k)
    paths = []
    for k in network.returns:
        if k not in open_links.get(network.links[k].down, []):
            continue
        reached, waiting = set(), deque([network.links[k].up])
        while waiting:
            node = waiting.popleft()
            if node in reached:
                continue
            reached.add(node)
            if network.waters[node].kind == JUNCTION:
                waiting.extend(network.links[n].up for n in open_links.get(node, []))
        if any(network.waters[node].kind != JUNCTION and node != network.tank for node in reached):
            paths.append(k)
    return paths


def tank_stop(network: Network, breaks: bool, holds: bool) -> tuple[float, str]:
    """Return the level at which the tank comes to rest, and what ends it."""
    level, words = min(((float(network.links[k].element.inlet.crest), f"lip of {network.links[k].name}")
                        for k in network.drains), default=(float("inf"), ""))
    for k in siphon_paths(network, holds):
        end = network.links[k].element.end
        stop = float(end.stop(breaks))
        if stop < level:
            by_hole = breaks and end.break_at is not None and float(end.break_at) > float(end.lowest)
            level, words = stop, f"{'siphon break' if by_hole else 'mouth'} of {network.links[k].name}"
    return level, words


def crests_held(network: Network) -> list[float]:
    """Return for each chamber the level that its walls hold back when all flow has stopped, m (the pump chamber: -inf)."""
    walls = {network.links[k].up: network.links[k].element for k in network.barriers}
    held: list[float] = []
    for k in reversed(network.chambers):
        wall = walls.get(k)
        below = held[-1] if held else float("-inf")
        held.append(below if wall is None else max(float(wall.holds), below))
    return held[::-1]


def chamber_levels(network: Network, level: float) -> list[float]:
    """Return the chambers' levels at rest when the open water of the sump stands at `level`."""
    return [max(level, held) for held in crests_held(network)]


def sump_volume(network: Network, levels: list[float]) -> float:
    """Return the water in the sump at given chamber levels, m3."""
    total = 0.0
    for k, level in zip(network.chambers, levels, strict=True):
        body = network.waters[k].body
        assert body is not None
        total += float(body.stored(level)[0])
    return total


def level_for(network: Network, volume: float) -> float:
    """Return the level of the sump's open water at rest when it holds `volume` (m3), by bisection to 1 nm."""
    bottoms = [float(network.waters[k].body.bottom) for k in network.chambers]  # type: ignore[union-attr]
    low, high = min(bottoms) - 1.0, max(bottoms) + 1.0
    while sump_volume(network, chamber_levels(network, high)) < volume:
        high += high - low
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if sump_volume(network, chamber_levels(network, middle)) < volume else (low, middle)
    return 0.5 * (low + high)


def stop(state: State, breaks: bool, holds: bool) -> Stopped:
    """Return where everything stands after the pump has stopped, from a running state."""
    network = state.network
    level, words = tank_stop(network, breaks, holds)
    tank = network.waters[network.tank].body
    assert tank is not None
    level = min(level, float(state.tank_level))
    items = {"tank": float(tank.stored(state.tank_level)[0]) - float(tank.stored(level)[0]),
             "drains": sum(float(network.links[k].element.held(state.flows[k])[0]) for k in network.drains),
             "returns": returns_come_down(network, holds)}
    before = sump_volume(network, [float(state.levels[k]) for k in network.chambers])
    rest = level_for(network, before + sum(items.values()))
    chambers = tuple(chamber_levels(network, rest))
    return Stopped(breaks, holds, level, words, items, chambers,
                   room_to(network, lowest_opening(network)) - before - sum(items.values()))


def returns_come_down(network: Network, holds: bool) -> float:
    """Return the contents of the lines between a mouth and the pump that nothing holds back, m3.

    A check valve holds all that stands above it; the little below it comes down but is counted as held.
    """
    if not siphon_paths(network, holds):
        return 0.0
    return float(network.full)


def lowest_opening(network: Network) -> float:
    """Return the height of the sump's lowest opening, m."""
    opening = network.waters[network.chambers[0]].opening
    assert opening is not None
    return float(opening)


def room_to(network: Network, level: float) -> float:
    """Return the volume of the sump up to a level, m3."""
    return sump_volume(network, [level] * len(network.chambers))


def still_volume(network: Network, level: float) -> float:
    """Return all the water when the pump chamber stands at `level` with the pump off, m3.

    Siphon breaks are counted as working and check valves as holding: so the person saw it who measured that level.
    """
    tank = network.waters[network.tank].body
    assert tank is not None
    rest, _ = tank_stop(network, True, True)
    held = 0.0 if siphon_paths(network, True) else float(network.full)
    return float(tank.stored(rest)[0]) + sump_volume(network, chamber_levels(network, level)) + held
