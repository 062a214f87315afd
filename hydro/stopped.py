"""The pump has stopped: what comes down, where it goes, by volumes.

Every path of full pipe from a water to a lower one is a siphon until air gets in. For each tank the level falls to the lowest
of: the crests of its drains, and for each return that is not held back the level at which air gets in (its hole, or with the
hole plugged its mouth's lowest point). What comes down:

    tank's area x fall  +  water held in the drains  +  contents of the returns that are not held

A siphon-break hole below the mouth, or with the check valve behind it, lets water in instead of air and counts as a mouth.

It fills the sump from the levels its chambers had while running; walls hold back what stands below their crests, and go under
when the water tops them. A chamber that no water passed, standing below its wall's crest, takes none until that happens.
Water in the drains is counted whole, also the part below the receiving level: the safe side.
Not modelled: the film on walls, the swing of levels while it settles (some millimetres).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Any

from hydro.elements.fittings import SHUT
from hydro.elements.return_line import Hole
from hydro.network import JUNCTION, TANK, Network
from hydro.state import State

RESTS = 1e-7
"""Flow below which the pump delivers nothing, m3/s (0.36 L/h)."""


@dataclass(frozen=True, slots=True)
class Stopped:
    """The state after a power cut. Volumes in m3, levels in m above the datum.

    `breaks` and `holds` say what was counted on: siphon breaks working, check valves holding. `items` is what comes down,
    by words. `chambers` are the final levels, `sump_level` the highest of them; `spare` is the room left up to the lowest
    opening (negative: that much goes over).
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
        """The highest of the chambers' final levels: all of them stand there where the walls are under water, m."""
        return max(self.chambers)


def holds_back(link: Any) -> bool:
    """Whether a link's check valve keeps water from running back."""
    return any(float(valve.back) >= SHUT for valve in link.element.line.check_valves)


def runs_back(network: Network, node: int, holds: bool) -> bool:
    """Whether water at a node can run back over junctions and the pump into a chamber; a check valve that holds bars it."""
    open_links: dict[int, list[int]] = {}
    for link in network.links:
        if hasattr(link.element, "line") and not hasattr(link.element, "inlet") and not (holds and holds_back(link)):
            open_links.setdefault(link.down, []).append(link.up)
    reached, waiting = set(), deque([node])
    while waiting:
        node = waiting.popleft()
        if node in reached:
            continue
        reached.add(node)
        if network.waters[node].kind == JUNCTION:
            waiting.extend(open_links.get(node, []))
    return any(network.waters[node].kind not in (JUNCTION, TANK) for node in reached)


def siphon_paths(network: Network, holds: bool) -> list[int]:
    """Return the returns through which water can run back: from their mouth over junctions and the pump into its chamber.

    A holding check valve takes out the paths that lead through it; two returns on one header of the same tank end together.
    """
    return [k for k in network.returns if not (holds and holds_back(network.links[k]))
            and runs_back(network, network.links[k].up, holds)]


def open_holes(network: Network, holds: bool) -> list[int]:
    """Return the siphon-break holes, drilled along a line, from which water could run back, whatever bars their mouth."""
    return [k for k, link in enumerate(network.links)
            if isinstance(link.element, Hole) and runs_back(network, link.up, holds)]


def tank_stop(network: Network, breaks: bool, holds: bool) -> tuple[float, str]:
    """Return the level at which the tank comes to rest, and what ends it."""
    level, words = min(((float(network.links[k].element.inlet.crest), f"lip of {network.links[k].name}")
                        for k in network.drains), default=(float("inf"), ""))
    for k in siphon_paths(network, holds):
        end = network.links[k].element.end
        stop = float(end.stop(breaks))
        if stop < level:
            by_hole = end.break_at is not None and stop == float(end.break_at)
            level, words = stop, f"{'siphon break' if by_hole else 'mouth'} of {end.name}"
    for k in open_holes(network, holds):
        hole = network.links[k].element
        stop = float(hole.height) - float(hole.hole) / 2.0
        if stop < level:
            level, words = stop, f"siphon break of {hole.name}"
    return level, words


def crests_held(network: Network) -> list[float]:
    """Return for each chamber the level that the walls between it and the pump chamber hold back, m (pump chamber: -inf)."""
    held = {network.pump_chamber: float("-inf")}
    waiting = [network.pump_chamber]
    while waiting:
        node = waiting.pop()
        for k in network.barriers:
            link = network.links[k]
            for here, beyond in ((link.up, link.down), (link.down, link.up)):
                if here == node and beyond not in held:
                    held[beyond] = max(float(link.element.holds), held[node])
                    waiting.append(beyond)
    return [held[k] for k in network.chambers]


def chamber_levels(network: Network, level: float, was: list[float]) -> list[float]:
    """Return the chambers' levels at rest when the open water of the sump stands at `level`; `was` are their running levels."""
    return [level if level > held else min(before, held)
            for held, before in zip(crests_held(network), was, strict=True)]


def sump_volume(network: Network, levels: list[float]) -> float:
    """Return the water in the sump at given chamber levels, m3."""
    total = 0.0
    for k, level in zip(network.chambers, levels, strict=True):
        body = network.waters[k].body
        assert body is not None
        total += float(body.stored(level)[0])
    return total


def level_for(network: Network, volume: float, was: list[float]) -> float:
    """Return the level of the sump's open water at rest when it holds `volume` (m3), by bisection to 1 nm."""
    bottoms = [float(network.waters[k].body.bottom) for k in network.chambers]  # type: ignore[union-attr]
    low, high = min(bottoms) - 1.0, max(bottoms) + 1.0
    while sump_volume(network, chamber_levels(network, high, was)) < volume:
        high += high - low
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if sump_volume(network, chamber_levels(network, middle, was)) < volume else (low, middle)
    return 0.5 * (low + high)


def stop(state: State, breaks: bool, holds: bool) -> Stopped:
    """Return where everything stands after the pump has stopped, from a running state."""
    network = state.network
    level, words = tank_stop(network, breaks, holds)
    tank = network.waters[network.tank].body
    assert tank is not None
    begins = tank_begins(state)
    level = min(level, begins)
    items = {"tank": float(tank.stored(begins)[0]) - float(tank.stored(level)[0]),
             "drains": drains_run_out(state),
             "returns": returns_come_down(network, holds)}
    was = [float(state.levels[k]) for k in network.chambers]
    before = sump_volume(network, was)
    rest = level_for(network, before + sum(items.values()), was)
    chambers = tuple(chamber_levels(network, rest, was))
    return Stopped(breaks, holds, level, words, items, chambers, room_at_rest(network, was) - before - sum(items.values()))


def tank_begins(state: State) -> float:
    """Return the tank's level when the power fails, m.

    A pump that delivers nothing leaves it open where the tank stands, if a line is all that is known of the water: somebody
    filled it to its lip.
    """
    level = float(state.tank_level)
    if float(state.pump_flow) > RESTS or state.closing is None or state.closing.level is None:
        return level
    network = state.network
    return max(level, min((float(network.links[k].element.inlet.crest) for k in network.drains), default=level))


def drains_run_out(state: State) -> float:
    """Return the water that the drains' lines let go when the pump stops, m3."""
    network = state.network
    return sum(float(network.links[k].element.runs_out(float(state.flows[k]), float(state.ends(k)[1]))) for k in network.drains)


def returns_come_down(network: Network, holds: bool) -> float:
    """Return the contents of the lines between a mouth and the pump that nothing holds back, m3.

    A check valve holds all that stands above it; the little below it comes down but is counted as held.
    """
    if not siphon_paths(network, holds) and not open_holes(network, holds):
        return 0.0
    return float(network.full)


def lowest_opening(network: Network) -> float:
    """Return the height of the sump's lowest opening, m."""
    opening = network.waters[network.chambers[0]].opening
    assert opening is not None
    return float(opening)


def room_at_rest(network: Network, was: list[float]) -> float:
    """Return the most that the sump holds at rest before its lowest opening spills, m3.

    A chamber behind a wall higher than the opening takes no more than it held while running.
    """
    opening = lowest_opening(network)
    return sump_volume(network, [opening if opening > held else min(before, opening)
                                 for held, before in zip(crests_held(network), was, strict=True)])


def still_volume(network: Network, level: float) -> float:
    """Return all the water when the pump chamber stands at `level` with the pump off, m3.

    Siphon breaks are counted as working and check valves as holding: so the person saw it who measured that level.
    """
    tank = network.waters[network.tank].body
    assert tank is not None
    rest, _ = tank_stop(network, True, True)
    chambers = [max(level, held) for held in crests_held(network)]
    held = float(network.full) - returns_come_down(network, True)
    return float(tank.stored(rest)[0]) + sump_volume(network, chambers) + held
