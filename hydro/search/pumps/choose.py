"""Each candidate in the place of one pump of a build: solved, set to the wanted flow, judged by every check, and ranked.

The order, first to last: no check fails before some check fails; the wanted flow is reached even by a pump as weak as its data
leave open, then only by one as its points say, then not; least energy a year for that flow, set by valve or speed (unknown
power counts as most); most room under the tank's lowest opening with the worst drain blocked; the name.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from hydro.checks import FAILS, Check, checks_of
from hydro.checks.check import RANK, verdict_at_stake
from hydro.checks.sensitivity import judged_over_bands, shifts
from hydro.elements import limits
from hydro.elements.limits import limit_of, water_density
from hydro.errors import HydroError, SolveError
from hydro.scenarios.placed_build import PlacedBuild, closing_of, run_placed
from hydro.scenarios.results import Results, least_room, results_of
from hydro.search.pumps.candidate import CONTROLS, SPEED, THROTTLE, Candidate, with_pump
from hydro.search.pumps.duty import Duty, PumpGoals, duty
from hydro.search.pumps.point import flow_for_turnover, operate, point_of, turnovers
from hydro.search.pumps.setting import ENDS, PumpSetting, setting_for
from hydro.steady.operating_point import NONE
from hydro.steady.state import State

if TYPE_CHECKING:
    from hydro.search.pumps.curves import Curves

REACHED, JUST, SHORT = "reached", "only just reached", "not reached"
RULE = ("Order: pumps with which no check fails come first; then those that reach the wanted flow even if they are as weak as "
        "their data leave open, then those that reach it as their points say, then those that do not; then the least energy a "
        "year for that flow, set by {how} (unknown power last); then the most room in the tank with the worst drain blocked.")
HOW = {THROTTLE: "the valve", SPEED: "the speed"}


@dataclass(frozen=True, slots=True)
class Wanted:
    """The flow that the pump should bring, m3/s, and where the figure is from; None where nothing tells."""

    flow: float | None
    origin: str
    turnover: float | None = None


@dataclass(frozen=True, slots=True)
class Choice:
    """What is said of one candidate.

    `full` is the pump as it comes, all on; `weak` and `strong` its flow at the ends of what is known of it, m3/s. `turnover`
    of the tank that turns over least, 1/s. `room` under the lowest opening with all drains and `blocked` with the worst one
    out, named `drain`, the pump at its best, m; None where nothing is left to carry the water. `settings` bring it to the
    wanted flow; `run` is the duty in the one it is judged in (`setting`, None: as it comes), and `checks` those of it, with every
    band. `full_verdict` is that of the middle figures, all on. `problem` says why there is nothing else, '' where there is.
    `brought` says that settings were looked for.
    """

    candidate: Candidate
    full: Duty | None = None
    weak: float | None = None
    strong: float | None = None
    reached: str = SHORT
    turnover: float | None = None
    room: float | None = None
    blocked: float | None = None
    drain: str = ""
    settings: tuple[PumpSetting, ...] = ()
    set_duties: tuple[Duty, ...] = ()
    setting: PumpSetting | None = None
    run: Duty | None = None
    checks: tuple[Check, ...] = ()
    full_verdict: str = FAILS
    results: Results | None = None
    problem: str = ""
    brought: bool = False

    @property
    def unset(self) -> tuple[str, ...]:
        """The ways in which a pump that reaches the wanted flow could not be brought down to it."""
        kinds = [one.kind for one in self.settings]
        return tuple(kind for kind in CONTROLS if kind not in kinds) if self.reached != SHORT and self.brought else ()

    @property
    def verdict(self) -> str:
        """The worst verdict where the floor or the pump is at stake."""
        return verdict_at_stake(self.checks) if self.checks else FAILS

    @property
    def order(self) -> tuple[int, int, float, float, str]:
        """What the candidates are sorted by."""
        yearly = float("inf") if self.run is None or self.run.yearly is None else self.run.yearly
        room = float("-inf") if self.blocked is None else self.blocked
        failing = 2 if self.full is None else int(RANK[self.verdict] == RANK[FAILS])
        # Rounded far below what anybody can tell apart: the last digits of a solution decide nothing.
        return (failing, (REACHED, JUST, SHORT).index(self.reached), float(f"{yearly:.4g}"), -round(room, 4),
                self.candidate.name)


@dataclass(frozen=True)
class Choices:
    """All candidates in order. `base` is the loop as described, `state` one in which it runs (None: in none), `pump` the name
    of the one whose place is asked about. `complete` is False where Ctrl-C ended it after `done` of `asked_for`.
    """

    loop: PlacedBuild
    pump: str
    asked: PumpGoals
    wanted: Wanted
    state: State | None
    rows: tuple[Choice, ...]
    done: int
    asked_for: int
    complete: bool

    @property
    def rule(self) -> str:
        """The order in words."""
        ways = sorted({row.candidate.control or self.asked.control for row in self.rows}, key=CONTROLS.index)
        return RULE.format(how=" or ".join(HOW[way] for way in ways) or HOW[self.asked.control])

    @cached_property
    def curves(self) -> Curves:
        """Every pump's curve over the system curve, solved for when it is first asked for."""
        from hydro.search.pumps.curves import curves_of

        return curves_of(self)

    @property
    def suited(self) -> tuple[Choice, ...]:
        """Those with which no check fails and the wanted flow is reached."""
        return tuple(row for row in self.rows if row.order[0] == 0 and (row.reached != SHORT or self.wanted.flow is None))


def choose(loop: PlacedBuild, pump: str, candidates: Sequence[Candidate], asked: PumpGoals,
           progress: Callable[[int, int], None] = lambda done, count: None) -> Choices:
    """Return every candidate in the place of the pump of a name, in order; Ctrl-C ends it with what was found by then."""
    state = _any_state(loop, pump, candidates)
    wanted = _wanted(loop, pump, asked, state)
    found: list[Choice] = []
    complete = True
    try:
        for candidate in candidates:
            found.append(_choice(loop, pump, candidate, asked, wanted))
            progress(len(found), len(candidates))
    except KeyboardInterrupt:
        complete = False
    return Choices(loop, pump, asked, wanted, state, tuple(sorted(found, key=lambda one: one.order)), len(found), len(candidates),
                   complete)


def with_candidate(loop: PlacedBuild, pump: str, candidate: Candidate) -> PlacedBuild:
    """Return the loop with a candidate in the place of a pump: heights that were measured stay where they are."""
    place = next(one for one in loop.build.pumps if one.name == pump)
    return PlacedBuild(with_pump(loop.build, pump, candidate.instead_of(place)), loop.tank_water)


def _any_state(loop: PlacedBuild, pump: str, candidates: Sequence[Candidate]) -> State | None:
    """Return a state in which the loop runs: with the pump described, else with the first candidate that makes it run."""
    for tried in (loop, *(with_candidate(loop, pump, candidate) for candidate in candidates)):
        try:
            answer = run_placed(tried, tried.network())
        except SolveError:
            continue
        if answer.state is not None and answer.kind != NONE:
            return answer.state
    return None


def _wanted(loop: PlacedBuild, pump: str, asked: PumpGoals, state: State | None) -> Wanted:
    if asked.flow is not None:
        return Wanted(asked.flow, "asked for")
    wishes = loop.build.wishes
    least, most = limit_of(loop.build, limits.LEAST_TURNOVER), limit_of(loop.build, limits.MOST_TURNOVER)
    turnover, origin = float(least.middle), f"the least turnover; {least.source}"
    if {limits.LEAST_TURNOVER.name, limits.MOST_TURNOVER.name} <= wishes.keys():
        turnover, origin = 0.5 * (turnover + float(most.middle)), "the middle of the turnover wished for"
    elif limits.MOST_TURNOVER.name in wishes:
        return Wanted(None, "only a most turnover is wished for")
    elif limits.LEAST_TURNOVER.name in wishes:
        origin = "the least turnover wished for"
    flow = None if state is None else flow_for_turnover(state, state.network.place(pump), turnover)
    return Wanted(flow, origin, turnover)


def _choice(base: PlacedBuild, name: str, candidate: Candidate, asked: PumpGoals, wanted: Wanted) -> Choice:
    """Return what is said of one candidate; never raises for one that does not fit."""
    try:
        return _told(with_candidate(base, name, candidate), name, candidate, asked, wanted)
    except HydroError as problem:
        return Choice(candidate, problem=str(problem))


def _told(loop: PlacedBuild, name: str, candidate: Candidate, asked: PumpGoals, wanted: Wanted) -> Choice:
    middle = results_of(loop)
    k = middle.network.place(name)
    point = point_of(middle.answer, k)
    if point is None or middle.answer.state is None:
        return Choice(candidate, checks=tuple(checks_of(middle)), results=middle, problem=middle.answer.reason)
    weak, strong = (_flow_at(loop, name, end, middle.answer.state) for end in ("low", "high"))
    reached = _reached(wanted, point.flow, weak)
    brought = _brought(loop, name, candidate, asked, wanted.flow if reached != SHORT else None, middle.answer.state)
    kind = candidate.control or asked.control
    used = next((n for n, (one, _) in enumerate(brought) if one.kind == kind), None)
    judged = middle if used is None else results_of(brought[used][0].loop)
    room, blocked, drain = _rooms(middle)
    turned = turnovers(middle.answer.state, k) or turnovers(middle.answer.state)
    full = duty(candidate, point, float(middle.element(k).speed), asked, water_density(loop.build))
    setting, run = (None, full) if used is None else brought[used]
    settings, duties = tuple(one for one, _ in brought), tuple(one for _, one in brought)
    return Choice(candidate, full, weak, strong, reached, min(turned.values(), default=None), room, blocked, drain, settings,
                  duties, setting, run, _judged(judged, asked.bands), verdict_at_stake(checks_of(middle)), judged,
                  brought=wanted.flow is not None)


def _judged(found: Results, bands: bool) -> tuple[Check, ...]:
    if not bands or found.answer.state is None or not found.stopped:
        return tuple(checks_of(found))
    return tuple(judged_over_bands(found, list(shifts(found.loop, found))))


def _flow_at(loop: PlacedBuild, name: str, end: str, near: State) -> float | None:
    sample = ENDS[end]
    network = loop.network(sample)
    try:
        _, point = operate(network, closing_of(loop, network, sample), network.place(name), near)
    except SolveError:
        return None
    return None if point is None else point.flow


def _reached(wanted: Wanted, flow: float, weak: float | None) -> str:
    if wanted.flow is None or (weak is not None and weak >= 0.999 * wanted.flow):
        return REACHED
    return JUST if flow >= 0.999 * wanted.flow else SHORT


def _brought(loop: PlacedBuild, name: str, candidate: Candidate, asked: PumpGoals, flow: float | None, near: State,
             ) -> list[tuple[PumpSetting, Duty]]:
    """Return the settings that bring a pump to a flow (m3/s), each with what it then draws; a way that fails is left out."""
    found: list[tuple[PumpSetting, Duty]] = []
    for kind in CONTROLS if flow is not None else ():
        setting = setting_for(loop, name, kind, flow or 0.0, near)
        if setting is None:
            continue
        network = setting.loop.network()
        k = network.place(name)
        try:
            _, point = operate(network, closing_of(setting.loop, network), k, near)
        except SolveError:
            continue
        if point is not None:
            speed = float(network.links[k].element.speed)
            found.append((setting, duty(candidate, point, speed, asked, water_density(loop.build))))
    return found


def _rooms(found: Results) -> tuple[float | None, float | None, str]:
    """Return the room with all drains, and with the worst one blocked (and its name), the pump at its best, m."""
    network: Any = found.network
    room: float | None = None
    worst: tuple[float, float | None, str] | None = None
    for case in found.overflows:
        # With nothing left that carries water away a level is only where the pump's head ends: no figure to tell.
        bare = bool(case.out) and not set(network.leaving(network.links[case.out[0]].up, network.drains)) - set(case.out)
        left = None if case.with_air is None or bare else least_room(case.with_air)[0]
        if not case.out:
            room = left
            continue
        rank = float("-inf") if left is None else left
        if worst is None or rank < worst[0]:
            worst = (rank, left, network.links[case.out[0]].name)
    return (room, None, "") if worst is None else (room, worst[1], worst[2])
