"""What is read off the states of a faulty loop: which vessel stands over its opening, what spills, comes down, is heard.

A vessel is a tank, a box or a sump; the one that stands highest over its lowest opening speaks for the loop.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from hydro.elements.drain import WITH_AIR
from hydro.elements.return_line import BreakHole
from hydro.errors import SolveError
from hydro.network.model import JUNCTION, Closing, Network
from hydro.shutdown import Shutdown, lowest_opening, shut_down
from hydro.steady.modes import operating_point
from hydro.steady.operating_point import NONE, SURGES, OperatingPoint
from hydro.steady.state import State
from hydro.transient.level_marks import vessels_by_name

QUIET, NOISY, SURGING = 0, 1, 2
DROP = 1e-6
"""Less than this is no water on the floor, m3."""
ABOVE_ALL = 1e4


def pumps_on(network: Network, lost: frozenset[int] = frozenset()) -> list[int]:
    """Return the pumps that run, but for those that are lost."""
    return [k for k in network.pumps if k not in lost and float(network.links[k].element.running) > 0.5]


def overtopped(network: Network, answer: OperatingPoint) -> tuple[float, str]:
    """Return by how much a level stands over the lowest opening of its vessel in the worst state (m), and which vessel."""
    vessels = vessels_by_name(network)
    highest = [max(float(state.levels[k]) for state in answer.states for k in waters) for _, waters in vessels]
    return max(((level - opening_or_above_all(network, waters[0]), name) for level, (name, waters) in
                zip(highest, vessels, strict=True)), key=lambda one: one[0])


def opening_or_above_all(network: Network, water: int) -> float:
    """Return the height of a water's lowest opening, m; above everything where it has none."""
    opening = network.waters[water].opening
    return ABOVE_ALL if opening is None else float(opening)


def over_intakes(network: Network, levels: Sequence[float], pumps: Sequence[int]) -> float:
    """Return how far the lowest of some pumps' chambers stands over the intake, m; infinite where they draw from none."""
    return min((float(levels[network.links[k].up]) - float(network.links[k].element.intake) for k in pumps
                if network.waters[network.links[k].up].kind != JUNCTION), default=float("inf"))


def solved_or_none(network: Network, closing: Closing, near: State | None) -> OperatingPoint:
    """Return how a network runs; NONE where it is not solved."""
    try:
        return operating_point(network, closing, near)
    except SolveError as error:
        return OperatingPoint(NONE, None, (), str(error))


def spilled(network: Network, total: float, answer: OperatingPoint) -> float:
    """Return the water that leaves over an opening until none stands over one, m3; `answer` is the loop with `total`."""
    above = overtopped(network, answer)[0]
    if above <= 0.0:
        return 0.0
    low, high, side, under = 0.0, total, 0, 0.0
    step = 0.02 * total
    while under >= 0.0 and high > step:
        low = high - step
        there = solved_or_none(network, Closing(network.pump_chamber, total=low), answer.state)
        if there.state is None or there.kind == NONE:
            return total - high
        under, step = overtopped(network, there)[0], 2.0 * step
        high, above = (low, under) if under >= 0.0 else (high, above)
    for _ in range(25):
        gap = above - under
        trial = (low * above - high * under) / gap if gap > 1e-12 else 0.5 * (low + high)
        there = solved_or_none(network, Closing(network.pump_chamber, total=trial), answer.state)
        value = overtopped(network, there)[0] if there.states else 1.0
        if value > 0.0:
            high, above, under, side = trial, value, under * (0.5 if side == 1 else 1.0), 1
        else:
            low, under, above, side = trial, value, above * (0.5 if side == -1 else 1.0), -1
        if high - low < 1e-6 or abs(value) < 1e-7:
            break
    return total - low


def for_stopping(network: Network) -> Network:
    """Return the network as a power cut meets it: the tank does not fall over blocked lips or into plugged holes."""
    plugged = {k: {"height": ABOVE_ALL} for k, link in enumerate(network.links)
               if isinstance(link.element, BreakHole) and float(link.element.plugged) > 0.5}
    able = tuple(k for k in network.drains if float(network.links[k].element.blocked) < 0.5)
    return replace(network.changed(plugged), drains=able)


def stopped_from(state: State) -> Shutdown:
    """Return the loop at rest after a power cut, siphon breaks working and check valves holding, as far as nothing is amiss.

    What stands over an opening has gone over it before.
    """
    network = for_stopping(state.network)
    levels = tuple(level if water.opening is None else min(float(level), float(water.opening))
                   for level, water in zip(state.levels, network.waters, strict=True))
    return shut_down(replace(state, network=network, levels=levels), True, True)


def after(answer: OperatingPoint) -> tuple[float, float]:
    """Return what goes on the floor when the power fails (m3) and the least height left under a sump's opening (m), at worst."""
    over, left = 0.0, float("inf")
    for state in answer.states:
        found = stopped_from(state)
        over = max(over, found.over)
        left = min([left, *(lowest_opening(state.network, sump) - found.sump_level_of(sump) for sump in found.sumps)])
    return over, left


def noise_of(answer: OperatingPoint, quiet: float) -> int:
    """Return how loud the drains are: all vent themselves, some carry air along, or the loop surges."""
    if answer.kind == SURGES:
        return SURGING
    for state in answer.states:
        for k in state.network.drains:
            drain = state.network.links[k].element
            if drain.mode == WITH_AIR and float(drain.air_number(max(float(state.flows[k]), 0.0))) > quiet:
                return NOISY
    return QUIET
