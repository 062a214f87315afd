"""A drain that flushes empties its tank faster than the pump fills it: how high the sump's chambers stand while that comes down.

    q of the drain    full of water, its inlet at the priming head     what its edge feeds and its pipe carries, the lesser
    open water        as it stands while a drain siphons, and what that drain's line lets go when its siphon breaks
    chamber           the level at which its wall passes all that comes into it and into those behind it, at q
    at most           what stands over the breaking head, and what the lines let go, all at once in the first chamber

Steady at the highest flow, which lasts for seconds: on the safe side. The wall's lower side stands as the flush leaves it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hydro.elements.drain import FLUSHING_HIGH, SIPHON, WITH_AIR
from hydro.network.manifolds import downstream
from hydro.network.model import CHAMBER, JUNCTION, Network
from hydro.shutdown.sumps import Sump, open_water, outward
from hydro.steady.operating_point import SURGES, OperatingPoint
from hydro.steady.state import State


def flushing_drains(answer: OperatingPoint | None) -> list[int]:
    """Return the drains that flush in a loop that surges; none in one that does not."""
    if answer is None or answer.kind != SURGES or answer.state is None:
        return []
    drains, networks = answer.state.network.drains, [state.network for state in answer.states]
    flush = [k for k in drains if any(float(network.links[k].element.surging) > 0.5 for network in networks)]
    return flush or [k for k in drains if any(network.links[k].element.mode == SIPHON for network in networks)]


def highest_in_a_flush(answer: OperatingPoint | None, sump: Sump) -> float:
    """Return the highest level of any chamber of a sump while drains flush, m; minus infinity where none does."""
    which = flushing_drains(answer)
    if not which or answer is None or answer.state is None:
        return float("-inf")
    network = answer.state.network
    most = {k: max(float(state.flows[k]) for state in answer.states) for k in network.drains}
    for k in which:
        down = min(float(state.ends(k)[1]) for state in answer.states)
        element: Any = network.links[k].element
        most[k] = max(most[k], element.siphon_rating(down, float(element.in_mode(FLUSHING_HIGH).surge_head))[0])
    stands = {k: max(float(state.levels[k]) for state in answer.states) for k in sump}
    pool = open_water(network, sump)
    body: Any = network.waters[pool].body
    surface = float(body.stored(stands[pool])[1])
    let_go = [sum(_coming(network, _let_go(state, which)).get(k, 0.0) for k in sump) for state in answer.states]
    stands[pool] = max(float(state.levels[pool]) + out / surface for state, out in zip(answer.states, let_go, strict=True))
    return max(_levels(network, sump, _coming(network, most), stands, _freed(answer, which) + max(let_go)).values())


def _let_go(state: State, which: list[int]) -> dict[int, float]:
    """Return the water (m3) that the line of each flushing drain holds more as a siphon, where it is one, than with air."""
    lines: list[tuple[int, Any]] = [(k, state.network.links[k].element) for k in which]
    return {k: float(line.held(state.flows[k])[0]) - float(line.in_mode(WITH_AIR).held(state.flows[k])[0]) for k, line in lines}


def _coming(network: Network, flows: Mapping[int, float]) -> dict[int, float]:
    """Return what comes into each chamber when drains bring `flows` (m3/s or m3); a shared pipe's into any of its ends."""
    into: dict[int, float] = {}
    for k, flow in flows.items():
        down = network.links[k].down
        ends = {down} if network.waters[down].kind != JUNCTION else {network.links[n].down for n in downstream(network, k)}
        for end in ends:
            if network.waters[end].kind == CHAMBER:
                into[end] = into.get(end, 0.0) + flow
    return into


def _freed(answer: OperatingPoint, which: list[int]) -> float:
    """Return the water that the tanks of flushing drains hold between the bounds, m3."""
    def held(state: State, water: int) -> float:
        body: Any = state.network.waters[water].body
        return float(body.stored(float(state.levels[water]))[0])

    amounts = {water: [held(state, water) for state in answer.states]
               for water in {answer.states[0].network.links[k].up for k in which}}
    return sum(max(values) - min(values) for values in amounts.values())


def _levels(network: Network, sump: Sump, into: Mapping[int, float], stands: Mapping[int, float],
            freed: float) -> dict[int, float]:
    """Return the level of each chamber when so much comes into them (m3/s), m; `stands` as they stand between flushes."""
    pool = open_water(network, sump)
    levels, through = {pool: stands[pool]}, {k: into.get(k, 0.0) for k in sump}
    walls = outward(network, sump)
    for beyond, nearer, _ in reversed(walls):
        through[nearer] += through[beyond]
    for beyond, nearer, wall in walls:
        body: Any = network.waters[beyond].body
        low, high = stands[beyond], stands[beyond] + freed / float(body.stored(stands[beyond])[1])
        while high - low > 1e-5:
            middle = 0.5 * (low + high)
            passes = float(wall.flow(middle, levels[nearer])[0])
            low, high = (middle, high) if passes < through[beyond] else (low, middle)
        levels[beyond] = high
    return levels
