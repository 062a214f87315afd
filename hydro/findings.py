"""Everything that one choice of values says about a build: running, stopped, each drain blocked. Numbers only, no verdicts."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from hydro import limits
from hydro.answer import NONE, Answer
from hydro.build import Build
from hydro.elements.drain import SIPHON
from hydro.elements.registry import Default
from hydro.elements.return_line import RATIO
from hydro.errors import SolveError
from hydro.network import Closing, Network
from hydro.regimes import MOST_FREE, find_steady, follow, free_drains, run
from hydro.rough import Picks, Rough
from hydro.scenarios import Loop, at_its_best, blocked, closing_of, held_at, with_air_only
from hydro.state import State
from hydro.stopped import Stopped, crests_held, drains_run_out, lowest_opening, stop, sump_volume

BREAKS, VALVES = "siphon breaks", "check valves"
COMBINATIONS = ((True, True), (True, False), (False, True), (False, False))
"""Siphon breaks working, check valves holding."""
DRY = 1e-6
"""Flow below which a drain counts as dry, m3/s (3.6 L/h)."""


@dataclass(frozen=True, slots=True)
class Overflow:
    """The drains with the pump chamber held at its line and the pump at its best; `out` lists the drains that are blocked.

    `with_air` is the state with all drains running with air, None where the equations were not solved; `siphons` the lowest
    tank level of a consistent state in which some drain siphons, asked for only where the level with air is over the tank's
    lowest opening, None without one; `closed` how the loop runs with only the water that is in the system. Levels in m above
    the datum.
    """

    out: tuple[int, ...]
    with_air: State | None
    siphons: float | None
    closed: Answer | None

    @property
    def level(self) -> float:
        """The tank's level with all drains running with air, m."""
        return float("inf") if self.with_air is None else float(self.with_air.tank_level)


@dataclass(frozen=True, slots=True)
class AllBlocked:
    """Every drain blocked: water the pump can still bring up (with the top-up reservoir) against the tank's dry room, m3.

    `comes_up` stands in the sump, `held` runs into it from the blocked drains' lines.
    """

    comes_up: float
    top_up: float
    room: float
    held: float = 0.0

    @property
    def all(self) -> float:
        """All that can come up, m3."""
        return self.comes_up + self.held + self.top_up


@dataclass(frozen=True, slots=True)
class Findings:
    """What was found under `picks`. `emergency` has every wet drain blocked at once; None without two of them and a dry one."""

    loop: Loop
    picks: Picks
    network: Network
    answer: Answer
    stopped: dict[tuple[bool, bool], Stopped] = field(default_factory=dict)
    overflows: tuple[Overflow, ...] = ()
    all_blocked: AllBlocked | None = None
    emergency: Overflow | None = None

    @property
    def build(self) -> Build:
        """The build."""
        return self.loop.build

    def limit(self, default: Default) -> tuple[float, str]:
        """Return a limit and its origin: the owner's wish, an override, or the default."""
        rough = limit_of(self.build, default)
        return float(rough.at(self.picks)), rough.source

    @property
    def state(self) -> State:
        """The running state; SolveError where there is none."""
        if self.answer.state is None:
            raise SolveError("running", 0, float("nan"), "the loop", self.answer.reason)
        return self.answer.state

    def element(self, k: int) -> Any:
        """Return the element of a link."""
        return self.network.links[k].element

    @property
    def tank_opening(self) -> float:
        """Height of the tank's lowest opening, m."""
        opening = self.network.waters[self.network.tank].opening
        return float(opening) if opening is not None else float("inf")

    def breaks_counted(self) -> bool:
        """Whether every siphon break is large enough to be counted as working; one of unknown bore is taken at its word.

        A return whose mouth lies no lower than the lowest lip cannot siphon below it and needs none.
        """
        least, _ = self.limit(RATIO)
        lip = min(float(self.element(k).inlet.crest) for k in self.network.drains)
        ends = [end for end in (self.element(k).end for k in self.network.returns) if float(end.lowest) < lip]
        return all(end.break_at is not None and (end.ratio is None or float(end.ratio) >= least) for end in ends)

    def wanted_cut(self) -> tuple[bool, bool]:
        """Return the case of a power cut that has to fit: only what the owner counts on works."""
        return BREAKS in self.build.counts_on and self.breaks_counted(), VALVES in self.build.counts_on


def limit_of(build: Build, default: Default) -> Rough:
    """Return a limit with its band: the owner's wish, an override, or the default."""
    return build.wishes.get(default.name) or build.overrides.get(default.name) or default.rough()


def find(loop: Loop, picks: Picks | None = None, near: Findings | None = None) -> Findings:
    """Return what a choice of values says; `near` is a neighbouring one, from whose states the solver starts."""
    picks = picks or {}
    network = loop.network(picks)
    closing = closing_of(loop, network, picks)
    answer = run(network, closing, near.answer.state if near else None)
    if answer.state is None or answer.kind == NONE:
        return Findings(loop, picks, network, answer)
    stopped = {case: max((stop(state, *case) for state in answer.states), key=lambda found: -found.spare)
               for case in COMBINATIONS}
    return Findings(loop, picks, network, answer, stopped, _overflows(loop, picks, answer, near),
                    max((_all_blocked(loop, picks, state) for state in answer.states), key=lambda found: found.all - found.room),
                    _emergency(loop, picks, answer, near))


def _overflows(loop: Loop, picks: Picks, answer: Answer, near: Findings | None) -> tuple[Overflow, ...]:
    """Judge the drains together and with each one out, the pump at its best unless a pick asks for another end of it."""
    assert answer.state is not None
    network = loop.network(at_its_best(loop.build, picks))
    line = max(float(state.pump_level) for state in answer.states)
    closed = Closing(network.pump_chamber, total=max(float(state.total) for state in answer.states))
    ready = {overflow.out: overflow.with_air for overflow in near.overflows} if near else {}
    outs: list[tuple[int, ...]] = [(), *((k,) for k in network.drains)]
    return tuple(_overflow(blocked(network, out), out, held_at(network, line), None if near else closed,
                           ready.get(out) or answer.state) for out in outs)


def wet_drains(answer: Answer, drains: tuple[int, ...]) -> tuple[int, ...]:
    """Return the drains that carry water in some way the loop may run."""
    return tuple(k for k in drains if any(float(state.flows[k]) >= DRY for state in answer.states))


def _emergency(loop: Loop, picks: Picks, answer: Answer, near: Findings | None) -> Overflow | None:
    """Judge the dry drains with all wet ones out: one cause may block what hangs in the same water.

    Under other picks the drains that are wet in the middle are out, so that the same is asked at every end.
    """
    network = loop.network(at_its_best(loop.build, picks))
    wet = wet_drains(answer, network.drains)
    if near is not None:
        wet = () if near.emergency is None else near.emergency.out
    if len(wet) < 2 or len(wet) == len(network.drains):
        return None
    line = max(float(state.pump_level) for state in answer.states)
    start = near.emergency.with_air if near is not None and near.emergency is not None else answer.state
    assert answer.state is not None
    return _overflow(blocked(network, wet), wet, held_at(network, line), None, start or answer.state)


def _overflow(network: Network, out: tuple[int, ...], held: Closing, closed: Closing | None, near: State) -> Overflow:
    try:
        air = with_air_only(network, held, near)
    except SolveError:
        air = None
    opening = network.waters[network.tank].opening
    siphons = None
    if air is None or opening is None or float(air.tank_level) > float(opening):
        many = len(free_drains(network)) > MOST_FREE
        found, _ = (follow if many else find_steady)(network, held, near)
        siphons = min((float(state.tank_level) for state in found
                       if any(state.network.links[k].element.mode == SIPHON for k in network.drains)), default=None)
    return Overflow(out, air, siphons, None if closed is None else run(network, closed, near))


def blocked_line(findings: Findings, rounds: int = 4) -> float | None:
    """Return the highest pump-chamber level (m) from which nothing goes over the tank with every drain blocked; None if none.

    What stands over the intake and over the walls' crests comes up. By volumes from a running state, solved again at the
    line so found until it stays: the tank stands a little higher over a higher line.
    """
    state, limit = findings.answer.state, None
    for _ in range(rounds):
        before = limit
        if state is None:
            break
        limit = _line_with_room(_all_blocked(findings.loop, findings.picks, state), state)
        if limit is None or (before is not None and abs(limit - before) < 2e-4):
            break
        try:
            state = run(findings.network, held_at(findings.network, max(limit, _intake(state) + 1e-3)), state).state
        except SolveError:
            break
    return limit


def _intake(state: State) -> float:
    return float(state.network.links[state.network.pump].element.intake)


def _line_with_room(case: AllBlocked, state: State) -> float | None:
    """Return the line from which what comes up fills the tank's room just as it is in a state, m; None if none does."""
    network = state.network
    held = [max(level, _intake(state)) for level in crests_held(network)]

    def over(line: float) -> float:
        levels = [line if k == network.pump_chamber else max(float(state.levels[k]), line) for k in network.chambers]
        rest = [min(level, kept) for level, kept in zip(levels, held, strict=True)]
        return sump_volume(network, levels) - sump_volume(network, rest) + case.held + case.top_up - case.room
    low, high = _intake(state), lowest_opening(network)
    if over(low) > 0.0 or over(high) <= 0.0:
        return None if over(low) > 0.0 else high
    while high - low > 1e-5:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if over(middle) <= 0.0 else (low, middle)
    return low


def _all_blocked(loop: Loop, picks: Picks, state: State) -> AllBlocked:
    """Return what the pump can still bring up when nothing comes down, against the room in the tank."""
    network = state.network
    held = [max(level, _intake(state)) for level in crests_held(network)]
    before = sump_volume(network, [float(state.levels[k]) for k in network.chambers])
    after = sump_volume(network, [min(float(state.levels[k]), level)
                                  for k, level in zip(network.chambers, held, strict=True)])
    tank = network.waters[network.tank]
    assert tank.body is not None
    assert tank.opening is not None
    room = float(tank.body.stored(tank.opening)[0]) - float(tank.body.stored(state.tank_level)[0])
    return AllBlocked(before - after, float(limit_of(loop.build, limits.TOP_UP).at(picks)), room, drains_run_out(state))
