"""Everything that one choice of values says about a build: running, stopped, each drain blocked. Numbers only, no verdicts."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from hydro.description.build import Build
from hydro.elements.drain import SIPHON
from hydro.elements.limits import limit_of
from hydro.elements.registry import Default
from hydro.elements.return_line import RATIO
from hydro.errors import SolveError
from hydro.network.model import Closing, Network
from hydro.quantities.uncertain import Sample
from hydro.scenarios.all_drains_blocked import AllBlocked, drains_of, line_when_blocked, raised_in_every_tank
from hydro.scenarios.placed_build import (
    PlacedBuild,
    at_speed_of,
    closing_of,
    greatest_inflows,
    held_at,
    slowed,
    with_air_only,
    with_drains_blocked,
)
from hydro.shutdown import Shutdown, shut_down, worst_shutdown
from hydro.steady.modes import MOST_FREE, find_steady, follow, free_drains, operating_point
from hydro.steady.operating_point import SURGES, OperatingPoint
from hydro.steady.pump_lift import tank_crest
from hydro.steady.state import State

BREAKS, VALVES = "siphon breaks", "check valves"
COMBINATIONS = ((True, True), (True, False), (False, True), (False, False))
"""Siphon breaks working, check valves holding."""
DRY = 1e-6
"""Flow below which a drain counts as dry, m3/s (3.6 L/h)."""


@dataclass(frozen=True, slots=True)
class OverflowCase:
    """The drains with the pump chamber held at its line and the pump at its best; `out` lists the drains that are blocked.

    Of several tanks it is the worst over what each one may be given (`greatest_inflows`).

    `with_air` is the state with all drains running with air, None where the equations were not solved; `siphons` the lowest
    level of a consistent state in which some drain siphons, asked for only where the level with air is over the lowest opening,
    None without one; `flushes` where there is none the highest level of the cycle of a drain that flushes; `closed` how the
    loop runs with only the water that is in the system. Levels in m above the datum, of the tank or box with the least room.
    `full_speed`: whether pumps run at full speed, whatever speed is stated for them.
    """

    out: tuple[int, ...]
    with_air: State | None
    siphons: float | None
    closed: OperatingPoint | None
    flushes: float | None = None
    full_speed: bool = True

    @property
    def water(self) -> int | None:
        """The place of the tank or box that stands nearest to its lowest opening, None where nothing was solved."""
        return None if self.with_air is None else least_room(self.with_air)[1]

    @property
    def room(self) -> tuple[float, float]:
        """How far it stands below its opening, where a drain siphons or flushes with that; and with all running with air, m."""
        if self.with_air is None:
            return float("-inf"), float("-inf")
        air, water = least_room(self.with_air)
        level = self.siphons if self.siphons is not None else self.flushes
        return air if level is None else opening_of(self.with_air.network, water) - level, air

    @property
    def level(self) -> float:
        """Its level with all drains running with air, m."""
        return float("inf") if self.with_air is None or self.water is None else float(self.with_air.levels[self.water])


@dataclass(frozen=True, slots=True)
class Results:
    """What was found under `sample`. `emergencies` have every wet drain of a tank blocked at once, where a dry one stands by.

    `blocked_tanks` has every drain of each tank blocked in turn.
    """

    loop: PlacedBuild
    sample: Sample
    network: Network
    answer: OperatingPoint
    stopped: dict[tuple[bool, bool], Shutdown] = field(default_factory=dict)
    overflows: tuple[OverflowCase, ...] = ()
    blocked_tanks: tuple[AllBlocked, ...] = ()
    emergencies: tuple[OverflowCase, ...] = ()

    @property
    def build(self) -> Build:
        """The build."""
        return self.loop.build

    @property
    def all_blocked(self) -> AllBlocked | None:
        """The tank with the least room for what comes up while its drains are blocked; None without a running state."""
        return max(self.blocked_tanks, key=lambda case: case.all - case.room, default=None)

    def limit(self, default: Default) -> tuple[float, str]:
        """Return a limit and its origin: the owner's wish, an override, or the default."""
        uncertain = limit_of(self.build, default)
        return float(uncertain.at(self.sample)), uncertain.source

    @property
    def state(self) -> State:
        """The running state; SolveError where there is none."""
        if self.answer.state is None:
            raise SolveError("running", 0, float("nan"), "the loop", self.answer.reason)
        return self.answer.state

    def element(self, k: int) -> Any:
        """Return the element of a link."""
        return self.network.links[k].element

    def breaks_counted(self) -> bool:
        """Whether every siphon break is large enough to be counted as working; one of unknown bore is taken at its word.

        A return whose mouth lies no lower than the lowest lip of its tank cannot siphon below it and needs none.
        """
        least, _ = self.limit(RATIO)
        lips = {tank: tank_crest(self.network, tank) for tank in self.network.tanks}
        ends = [self.element(k).end for k in self.network.returns
                if float(self.element(k).end.lowest) < lips.get(self.network.links[k].down, float("inf"))]
        return all(end.break_at is not None and (end.ratio is None or float(end.ratio) >= least) for end in ends)

    def wanted_cut(self) -> tuple[bool, bool]:
        """Return the case of a power cut that has to fit: only what the owner counts on works."""
        return BREAKS in self.build.counts_on and self.breaks_counted(), VALVES in self.build.counts_on


def results_of(loop: PlacedBuild, sample: Sample | None = None, near: Results | None = None) -> Results:
    """Return what a choice of values says; `near` is a neighbouring one, from whose states the solver starts."""
    sample = sample or {}
    network = loop.network(sample)
    closing = closing_of(loop, network, sample)
    answer = operating_point(network, closing, near.answer.state if near else None)
    if not answer.runs:
        return Results(loop, sample, network, answer)
    stopped = {case: worst_shutdown([shut_down(state, *case) for state in answer.states]) for case in COMBINATIONS}
    blocked_tanks = tuple(max(cases, key=lambda found: found.all - found.room) for cases in
                          zip(*(raised_in_every_tank(loop, sample, state) for state in answer.states), strict=True))
    return Results(loop, sample, network, answer, stopped, _overflows(loop, sample, answer, near), blocked_tanks,
                    _emergencies(loop, sample, answer, near))


def _overflows(loop: PlacedBuild, sample: Sample, answer: OperatingPoint, near: Results | None) -> tuple[OverflowCase, ...]:
    """Judge the drains together and with each one out, the pump at its best unless a pick asks for another end of it.

    A drain that stands dry is out at the speed that is stated: a controller that forgets it is a second fault.
    """
    assert answer.state is not None
    running, network = answer.state, answer.state.network
    made = _Made(loop, network)
    line = max(float(state.pump_level) for state in answer.states)
    closed = Closing(network.pump_chamber, total=max(float(state.total) for state in answer.states))
    ready = {overflow.out: overflow.with_air for overflow in near.overflows} if near else {}
    outs = [one.out for one in near.overflows] if near else [(), *((k,) for k in asked_of(loop.build, answer, network.drains))]
    wet = {(), *((k,) for k in wet_drains(answer, network.drains))}
    full = {one.out: one.full_speed for one in near.overflows} if near else {
        out: out in wet or not slowed(loop.build) for out in outs}

    def judged(out: tuple[int, ...], picks: Sample) -> OverflowCase:
        best = made(picks) if full[out] else at_speed_of(network, made(picks))
        return replace(_overflow(with_drains_blocked(best, out), out, held_at(best, line), None if near else closed,
                                 ready.get(out) or running), full_speed=full[out])

    return tuple(min((judged(out, picks) for picks in greatest_inflows(loop.build, sample, network, out)),
                     key=lambda case: case.room) for out in outs)


class _Made:
    """Networks under picks, each made once, with tuned valves as they stand in the running one."""

    def __init__(self, loop: PlacedBuild, running: Network) -> None:
        self.loop, self.running = loop, running
        self.known: list[tuple[Sample, Network]] = []

    def __call__(self, picks: Sample) -> Network:
        for before, network in self.known:
            if before == picks:
                return network
        self.known.append((picks, self.loop.network(picks, self.running)))
        return self.known[-1][1]


def asked_of(build: Build, answer: OperatingPoint, links: tuple[int, ...]) -> list[int]:
    """Return the links that are asked about, one by one: of drains built several times over, those that are worst off.

    That is the one with the most flow and the one whose tank has the least room.
    """
    assert answer.state is not None
    state = answer.state
    network = state.network
    names = {network.links[k].name: k for k in links}
    grouped: set[int] = set()
    asked: set[int] = set()
    for group in build.groups:
        members = [names[name] for name in group.members if name in names]
        if len(members) > 1:
            grouped.update(members)
            asked.add(max(members, key=lambda k: float(state.flows[k])))
            asked.add(min(members, key=lambda k: room_of(state, network.links[k].up)))
    return [k for k in links if k in asked or k not in grouped]


def opening_of(network: Network, water: int) -> float:
    """Return the height of a water's lowest opening, m; infinite where it has none."""
    opening = network.waters[water].opening
    return float("inf") if opening is None else float(opening)


def room_of(state: State, water: int) -> float:
    """Return how far a water stands below its lowest opening in a state, m."""
    return opening_of(state.network, water) - float(state.levels[water])


def least_room(state: State) -> tuple[float, int]:
    """Return the least room (m) that a tank or box has below its lowest opening in a state, and which one it is."""
    return min((room_of(state, k), k) for k in state.network.uppers)


def wet_drains(answer: OperatingPoint, drains: tuple[int, ...]) -> tuple[int, ...]:
    """Return the drains that carry water in some way the loop may run."""
    return tuple(k for k in drains if any(abs(float(state.flows[k])) >= DRY for state in answer.states))


def emergency_outs(build: Build, answer: OperatingPoint, near: Results | None) -> list[tuple[int, ...]]:
    """Return the wet drains of each tank that has several, and a dry one besides.

    Under other picks the drains that are wet in the middle come first, so that the same is asked at every end; behind them
    those of tanks where another drain gets wet there.
    """
    assert answer.state is not None
    network = answer.state.network
    wet, asked = set(wet_drains(answer, network.drains)), set(asked_of(build, answer, network.drains))
    stations = [drains for tank in network.tanks if asked & set(drains := drains_of(network, tank))]
    outs = [(tuple(k for k in drains if k in wet), len(drains)) for drains in stations]
    middle = [] if near is None else [one.out for one in near.emergencies]
    return [*middle, *(out for out, drains in outs if 2 <= len(out) < drains and out not in middle)]


def _emergencies(loop: PlacedBuild, sample: Sample, answer: OperatingPoint, near: Results | None) -> tuple[OverflowCase, ...]:
    """Judge the dry drains of each tank with all its wet ones out: one cause may block what hangs in the same water."""
    assert answer.state is not None
    running, network = answer.state, answer.state.network
    made = _Made(loop, network)
    line = max(float(state.pump_level) for state in answer.states)
    ready = {one.out: one.with_air for one in near.emergencies} if near is not None else {}

    def judged(out: tuple[int, ...], picks: Sample) -> OverflowCase:
        best = made(picks)
        return _overflow(with_drains_blocked(best, out), out, held_at(best, line), None, ready.get(out) or running)

    return tuple(min((judged(out, picks) for picks in greatest_inflows(loop.build, sample, network, out)),
                     key=lambda case: case.room) for out in emergency_outs(loop.build, answer, near))


def _overflow(network: Network, out: tuple[int, ...], held: Closing, closed: Closing | None, near: State) -> OverflowCase:
    try:
        air = with_air_only(network, held, near)
    except SolveError:
        air = None
    siphons = flushes = None
    if air is None or least_room(air)[0] < 0.0:
        many = len(free_drains(network)) > MOST_FREE
        found, _ = (follow if many else find_steady)(network, held, near)
        water = least_room(air)[1] if air is not None else network.tanks[0]
        rooms = [least_room(state)[0] for state in found
                 if any(state.network.links[k].element.mode == SIPHON for k in network.drains)]
        siphons = opening_of(network, water) - max(rooms) if rooms else None
        flushes = None if rooms else top_of_cycle(network, held, water, near)
    return OverflowCase(out, air, siphons, None if closed is None else operating_point(network, closed, near), flushes)


def top_of_cycle(network: Network, held: Closing, water: int, near: State | None = None) -> float | None:
    """Return the highest level (m) of the cycle of drains that flush, told as one of `water`; None where none flushes."""
    answer = operating_point(network, held, near)
    if answer.kind != SURGES:
        return None
    return max(opening_of(network, water) - least_room(state)[0] for state in answer.states)


def blocked_line(results: Results) -> float | None:
    """Return the highest pump-chamber level (m) from which nothing goes over the tank with every drain blocked; None if none."""
    case = results.all_blocked
    tank = results.network.tanks[0] if case is None else case.tank
    return line_when_blocked(results.loop, results.sample, results.network, results.answer.state, tank)
