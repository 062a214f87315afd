"""Which modes hold: the steady way a loop runs, or the reason why there is none.

A drain runs with air or as a siphon; the loop is solved for each combination of modes, and a combination is consistent when
every drain's guards hold at its solution. Modes are never switched inside an iteration. All with air comes first: that is what
a dry start reaches. Where none is consistent, the fewest possible drains flush: their level is held at the priming and at the
breaking head, and the loop solved for both bounds. Where that does not close either (drains that set each other off), the
bounds are the highest and the lowest tank of all combinations: in each of them the tank moves towards that one's level.

| answer | criterion |
|---|---|
| steady | every guard holds, every water balances |
| draws air | the pump chamber stands at the intake and the pump has head to spare |
| cannot lift that high | no flow, and the best head of the pump lies below what it must lift |
| runs backwards | the same, and from the running level the tank would siphon back through the pump |
| runs backwards | all that is lifted runs back through pumps that stand, and no water comes to a tank |
| two operating points | the curve droops: running, the pump has its head; at rest, shut-off head is below what it must lift |
| surges | no combination is consistent; bounds for every level |
| no steady state | nothing of all that |

With up to four drains that could change their mode all combinations are tried; with more, the most violated guard of each tank
is followed from the dry start: one reachable state. Guards that chase each other in a circle name the drains that flush.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from hydro.elements.drain import FLUSHING_HIGH, FLUSHING_LOW, SIPHON, WITH_AIR
from hydro.errors import SolveError
from hydro.network.model import Closing, Network
from hydro.network.paths import drawn_empty
from hydro.steady.back_flow import all_back
from hydro.steady.operating_point import DRAWS_AIR, NO_FLOW, NONE, STEADY, SURGES, OperatingPoint
from hydro.steady.pump_lift import drawn_down, loses_its_line, no_lift, second_point, solve_true
from hydro.steady.state import State

MOST_FREE = 4
MOST_PAIRED = 12
"""Most drains of which pairs are asked to flush."""
AT_INTAKE = 1e-3
"""A level this close to the intake is at it, m."""


def worst_margin(state: State) -> tuple[float, int, str]:
    """Return the smallest margin of all guards, the link it belongs to, and its words."""
    worst = (float("inf"), -1, "")
    for k in state.network.drains:
        for guard in state.network.links[k].element.guards(float(state.flows[k]), *map(float, state.ends(k))):
            if guard.margin < worst[0]:
                worst = (guard.margin, k, guard.words)
    return worst


def free_drains(network: Network) -> list[int]:
    """Return the drains that could run as a siphon at all: the pumps' largest flow is enough to keep their full pipe fed."""
    most = 1.5 * sum(float(pump.curve.flows[-1] * pump.speed) for pump in (network.links[k].element for k in network.pumps))
    free = []
    for k in network.drains:
        drain: Any = network.links[k].element
        if drain.blocked > 0.5:
            continue
        lowest = float(drain.breaking_head(0.0))
        ceiling = network.waters[network.links[k].down].body
        sump_rim = drain.end if ceiling is None else ceiling.rim
        if drain.line.loss(most)[0] > lowest + drain.inlet.crest - max(sump_rim, drain.end):
            free.append(k)
    return free


def find_steady(network: Network, closing: Closing, near: State | None = None, among: list[int] | None = None,
                ) -> tuple[list[State], State | None]:
    """Return the consistent states, and the first state solved (all with air) in case there is none; `among`: drains to try."""
    free = free_drains(network) if among is None else among
    found: list[State] = []
    dry: State | None = None
    for modes in _combinations(free):
        try:
            state = solve_true(network.in_modes(modes), closing, near=dry or near)
        except SolveError:
            continue
        dry = dry or state
        if worst_margin(state)[0] >= 0.0:
            found.append(state)
    return found, dry


def _combinations(free: list[int]) -> Iterator[dict[int, str]]:
    for modes in itertools.product((WITH_AIR, SIPHON), repeat=len(free)):
        yield dict(zip(free, modes, strict=True))


def follow(network: Network, closing: Closing, near: State | None = None) -> tuple[list[State], State | None]:
    """Follow the most violated guards from the dry start, for many drains; at most one reachable state comes back."""
    found, dry, moving, modes = _walk(network, closing, near)
    if found or dry is None or not moving:
        return found, dry
    beside = _beside(network, moving)
    return (find_steady(network.in_modes(modes), closing, dry, beside)[0] if len(beside) <= MOST_FREE else []), dry


def _beside(network: Network, moving: list[int]) -> list[int]:
    """Return the drains that could change in the tanks in which some do: the others stand as they are."""
    tanks = {network.links[k].up for k in moving}
    return [k for k in free_drains(network) if network.links[k].up in tanks]


def _walk(network: Network, closing: Closing, near: State | None = None,
          ) -> tuple[list[State], State | None, list[int], dict[int, str]]:
    """Return the state reached, the dry one, the drains that change to and fro where none is reached, and the last modes."""
    modes: dict[int, str] = {}
    seen: list[dict[int, str]] = []
    dry: State | None = None
    state: State | None = None
    while modes not in seen:
        seen.append(dict(modes))
        try:
            state = solve_true(network.in_modes(modes), closing, near=state or near)
        except SolveError:
            break
        dry = dry or state
        broken = _broken(state)
        if not broken:
            return [state], dry, [], modes
        for link in broken:
            modes[link] = SIPHON if modes.get(link, WITH_AIR) == WITH_AIR else WITH_AIR
    circle = seen[seen.index(modes):] if modes in seen else seen[-1:]
    moving = {k for one in circle for k in network.drains if one.get(k, WITH_AIR) != circle[0].get(k, WITH_AIR)}
    return [], dry, sorted(moving), modes


def _broken(state: State) -> list[int]:
    """Return the drain whose guard is most violated in each tank, where one is: tanks change on their own."""
    worst: dict[int, tuple[float, int]] = {}
    for k in state.network.drains:
        link = state.network.links[k]
        for guard in link.element.guards(float(state.flows[k]), *map(float, state.ends(k))):
            if guard.margin < min(0.0, worst.get(link.up, (0.0, -1))[0]):
                worst[link.up] = (guard.margin, k)
    return [k for _, k in worst.values()]


def flushing(network: Network, closing: Closing) -> tuple[State, State, list[int]] | None:
    """Return the low and the high bound with the fewest flushing drains, and which they are; None if that fails too.

    With more than four drains only those of tanks in which some drain switches to and fro are asked to flush, the others
    keep the mode they were left in; where that is too many still, only those that switch: one, two or all of them.
    """
    able = [k for k in network.drains if network.links[k].element.blocked <= 0.5]
    if len(able) <= MOST_FREE:
        found = _fewest(network, closing, able, free_drains(network), range(1, len(able) + 1))
        return found or _extremes(network, closing, able)
    _, _, moving, modes = _walk(network, closing)
    beside = _beside(network, moving)
    if 0 < len(beside) <= MOST_FREE:
        found = _fewest(network.in_modes(modes), closing, beside, beside, range(1, len(beside) + 1))
    else:
        asked = moving or able
        found = _fewest(network, closing, asked, [], sorted({1, min(2, len(asked)), len(asked)}))
    return found or _extremes(network, closing, able)


def _fewest(network: Network, closing: Closing, asked: list[int], free: list[int], counts: Iterable[int],
            ) -> tuple[State, State, list[int]] | None:
    """Return the bounds with the first of some counts of flushing drains that closes, the other free ones in any mode."""
    for count in counts:
        if count == 2 and len(asked) > MOST_PAIRED:
            continue
        for chosen in itertools.combinations(asked, count):
            for modes in _combinations([k for k in free if k not in chosen]):
                pair = _bounds(network, closing, chosen, modes)
                if pair is not None:
                    return (*pair, list(chosen))
    return None


def _extremes(network: Network, closing: Closing, able: list[int]) -> tuple[State, State, list[int]] | None:
    """Return the states with the lowest and the highest tank of all combinations, and the drains that some guard moves.

    Of several tanks only those in which drains switch to and fro are asked. With more than four drains: of all running with air
    (the highest) and all as siphons (the lowest).
    """
    if len(network.uppers) > 1:
        _, _, moving, modes = _walk(network, closing)
        tanks = {network.links[k].up for k in moving}
        network, able = network.in_modes(modes), [k for k in able if network.links[k].up in tanks] or able
    states: list[State] = []
    every = _combinations(able) if len(able) <= MOST_FREE else (dict.fromkeys(able, mode) for mode in (WITH_AIR, SIPHON))
    for modes in every:
        try:
            states.append(solve_true(network.in_modes(modes), closing, near=states[0] if states else None))
        except SolveError:
            return None
    moving = sorted({worst_margin(state)[1] for state in states})
    states.sort(key=water_above)
    return (states[0], states[-1], moving) if water_above(states[0]) < water_above(states[-1]) else None


def water_above(state: State) -> float:
    """Return the water in all tanks and boxes of a state, m3."""
    bodies = [(state.network.waters[k].body, state.levels[k]) for k in state.network.uppers]
    return sum(float(body.stored(level)[0]) for body, level in bodies if body is not None)


def _bounds(network: Network, closing: Closing, chosen: tuple[int, ...], modes: dict[int, str],
            ) -> tuple[State, State] | None:
    try:
        low = solve_true(network.in_modes({**modes, **dict.fromkeys(chosen, FLUSHING_LOW)}), closing)
        high = solve_true(network.in_modes({**modes, **dict.fromkeys(chosen, FLUSHING_HIGH)}), closing, near=low)
    except SolveError:
        return None
    for state in (low, high):
        for k in network.drains:
            if k in chosen:
                continue
            guards = state.network.links[k].element.guards(float(state.flows[k]), *map(float, state.ends(k)))
            if any(guard.margin < 0.0 for guard in guards):
                return None
    return (low, high) if all(surges_at(low, high, k) for k in chosen) else None


def surges_at(low: State, high: State, link: int) -> bool:
    """Whether a drain neither stays with air (at the high bound it primes) nor as a siphon (at the low bound it breaks)."""
    drain: Any = high.network.links[link].element
    flow = float(high.flows[link])
    with_air = drain.in_mode(WITH_AIR)
    primes = float(drain.air_holds(float(with_air.needed(max(flow, 0.0))[0]) + 1e-3, max(flow, 0.0))) <= 0.0
    flow = float(low.flows[link])
    breaks = float(drain.breaking_head(max(flow, 0.0)))
    return bool(primes) and float(drain.pipe_head(flow, float(low.ends(link)[1]))) < breaks


def operating_point(network: Network, closing: Closing, near: State | None = None) -> OperatingPoint:
    """Return how the loop runs with the water that `closing` gives; `near` is a state to start from."""
    many = len(free_drains(network)) > MOST_FREE
    found, dry = (follow if many else find_steady)(network, closing, near)
    if any(map(loses_its_line, found)):
        return _nothing(network, dry)
    if found:
        return _special(found, many)
    if dry is not None:
        bounds = flushing(network, closing)
        if bounds is not None:
            low, high, which = bounds
            names = ", ".join(network.links[k].name for k in which)
            tank = network.links[which[0]].up if which else network.uppers[0]
            return OperatingPoint(
                SURGES, low, (high,), f"{names}: too much water to run with air, too little to run as a siphon; "
                "it fills, flushes and gulps air in turn",
                {"lowest tank level": float(low.levels[tank]), "highest tank level": float(high.levels[tank]),
                 "lowest pump chamber level": min(drawn_down(low, high, closing), float(low.pump_level)),
                 "highest pump chamber level": max(float(high.pump_level), float(low.pump_level))})
    return _nothing(network, dry)


def _nothing(network: Network, dry: State | None) -> OperatingPoint:
    empty = ", ".join(network.waters[k].name for k in drawn_empty(network))
    if empty:
        return OperatingPoint(
            NONE, None, (), f"not all that is pumped out of {empty} need come back: it is drawn empty, or what is "
            "given does not say how much water each sump has")
    return OperatingPoint(NONE, dry, (), "no combination of modes holds" if dry else "the equations were not solved")


def _special(found: list[State], many: bool) -> OperatingPoint:
    """Name what is special about the first of the consistent states."""
    state, others = found[0], tuple(found[1:])
    network = state.network
    running = [k for k in network.pumps if float(network.links[k].element.running) > 0.5]
    for ask in (_no_flow, _air, second_point):
        for k in running:
            answer = ask(state, others, k)
            if answer is not None:
                name = f"{network.links[k].name}: " if len(network.pumps) > 1 else ""
                return replace(answer, reason=name + answer.reason)
    back = all_back(state, running)
    if back is not None:
        return back
    reason = "every part balances"
    if others:
        reason = "more than one way to run is consistent: which one, its history decides"
    return OperatingPoint(STEADY, state, others, reason, one_reachable=many)


def _no_flow(state: State, others: tuple[State, ...], k: int) -> OperatingPoint | None:
    """Return the answer for a pump that delivers nothing."""
    return no_lift(state, k) if float(state.flows[k]) < NO_FLOW else None


def _air(state: State, others: tuple[State, ...], k: int) -> OperatingPoint | None:
    """Return the answer for a pump that draws its chamber down to the intake."""
    pump: Any = state.network.links[k].element
    up, down = map(float, state.ends(k))
    spare = float(pump.spare_head(float(state.flows[k]), up, down))
    if up - float(pump.intake) >= AT_INTAKE or spare <= 0.0:
        return None
    return OperatingPoint(DRAWS_AIR, state, others, "the water in the system does not keep the pump chamber above the intake",
                  {"pump chamber level": up, "intake": float(pump.intake), "spare head": spare}, which=k)
