"""What a course of events comes to: a question in plain words, its answer in numbers.

    asked = ask(build, "power-cut")
    outcome_of(asked.course).over            what went over which opening, from when on

The running state is that of the middle of every band. A loop that surges is left alone from its lower bound on; where more than
one way to run is consistent, the first is taken, and for the power's return the one in which most drains are sealed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from hydro.description.build import Build
from hydro.elements import limits
from hydro.elements.feed import FLOW
from hydro.elements.spill import Spill
from hydro.errors import Complaint, InputError, SolveError
from hydro.network.loose_ends import loose_ends
from hydro.network.model import Network
from hydro.quantities.unit_table import nearest
from hydro.scenarios.placed_build import place, run_placed
from hydro.scenarios.results import BREAKS, VALVES
from hydro.shutdown import most_sealed, shut_down, worst_shutdown
from hydro.steady.modes import water_above
from hydro.steady.operating_point import NONE, SURGES, OperatingPoint
from hydro.steady.state import State
from hydro.transient.disturbances import (
    FLOOR,
    HOLDING,
    Disturbance,
    as_it_is,
    drains_blocked,
    power_cut,
    pump_stops,
    simulate,
    simulate_restart,
    top_up_stuck,
)
from hydro.transient.hose_off import hose_off, hose_off_at_pump
from hydro.transient.integrate import TOLERANCE, History
from hydro.transient.level_marks import DRY, vessels_by_name

POWER_CUT, POWER_BACK, PUMP, DRAIN, DRAINS, TOP_UP, HOSE, HOSE_AT_PUMP, AS_IS = (
    "power-cut", "power-back", "pump-stops", "drain-blocked", "drains-blocked", "top-up-stuck", "hose-off", "hose-off-at-pump",
    "as-is")
QUESTIONS = {
    POWER_CUT: "the power fails",
    POWER_BACK: "the power comes back after a cut that ran to its end",
    PUMP: "one pump stops while the others run; its name follows",
    DRAIN: "one drain blocks while the loop runs; its name follows",
    DRAINS: "all drains block at once",
    TOP_UP: "the top-up stays open until its reservoir is empty",
    HOSE: "a hose comes off outside the sump; its line's name follows",
    HOSE_AT_PUMP: "a pump's hose comes off in the sump; its name follows",
    AS_IS: "nothing is touched: what a surging loop does by itself"}
"""The words for what may happen, and what they mean."""
NAMED = (DRAIN, PUMP, HOSE, HOSE_AT_PUMP)
"""The words that a name follows."""
DROP = 1e-6
"""What does not count as going over, m3."""
LOOSE_HOSE = "a loose hose"
"""Stands in place of a vessel where water leaves through it."""


@dataclass(frozen=True, slots=True)
class Question:
    """A question with what comes of it: the happening, how the loop ran before, the cut that went before (if any).

    `counted_over` is what goes over in the power cut that has to fit, only what the owner counts on working, m3.
    """

    build: Build
    answer: OperatingPoint
    disturbance: Disturbance
    history: History
    cut: History | None = None
    counted_over: float = 0.0


@dataclass(frozen=True, slots=True)
class Over:
    """Water over the lowest opening of a vessel: since when (s), how much in all (m3)."""

    vessel: str
    since: float
    volume: float


@dataclass(frozen=True, slots=True)
class Turns:
    """Something that happens again and again: its words, how often it did, the time from one to the next (s, an estimate)."""

    words: str
    count: int
    period: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """What it comes to: water over openings, the time at which a pump first draws air (None: never), what repeats itself.

    `dry_pumps` are the pumps that draw air, each with the time from which it does, first come first.
    """

    over: tuple[Over, ...]
    dry: float | None
    turns: tuple[Turns, ...]
    dry_pumps: tuple[tuple[str, float], ...] = ()

    @property
    def on_the_floor(self) -> float:
        """All that went over, m3."""
        return sum(one.volume for one in self.over)


def outcome_of(history: History) -> Outcome:
    """Return what a course comes to."""
    vessels = [_over(history, *vessel) for vessel in vessels_by_name(history.end.network)]
    over = tuple(one for one in (*vessels, _poured(history)) if one is not None)
    dry = _dry(history)
    return Outcome(over, min(dry.values(), default=None), _turns(history), tuple(sorted(dry.items(), key=lambda one: one[1])))


def _dry(history: History) -> dict[str, float]:
    """Return the pumps that draw air with the first time at which they do, s."""
    network, found = history.end.network, dict[str, float]()
    for moment in history.moments:
        for flag in moment.flags:
            if flag.startswith(DRY):
                found.setdefault(flag.removeprefix(DRY).removeprefix(": ") or str(network.links[network.pump].element.name),
                                 moment.time)
    return found


def _over(history: History, vessel: str, waters: tuple[int, ...]) -> Over | None:
    spills = [k for k, link in enumerate(history.end.network.links) if isinstance(link.element, Spill) and link.up in waters]

    def gone(moment: int) -> float:
        return sum(history.moments[moment].entered[k] for k in spills)

    if gone(-1) < DROP:
        return None
    first = next(n for n in range(len(history.moments)) if gone(n) > DROP)
    before = [event.moment.time for event in history.events if event.words.startswith(f"{vessel} runs over")]
    return Over(vessel, min([history.moments[first].time, *before]), gone(-1))


def _poured(history: History) -> Over | None:
    """Return what left through a hose that came off, with what ran down out of lines behind it."""
    network = history.end.network
    floor = network.water(FLOOR)
    pours = [k for k, link in enumerate(network.links) if link.down == floor and not isinstance(link.element, Spill)]
    gone = sum(history.end.left[k] for k in pours) + history.end.came_down[floor]
    return Over(LOOSE_HOSE, 0.0, gone) if pours and gone > DROP else None


def _turns(history: History) -> tuple[Turns, ...]:
    """Return the drains that begin to siphon more than once; the first turn is left out of the time between."""
    times: dict[str, list[float]] = {}
    for event in history.events:
        if "begins to siphon" in event.words:
            times.setdefault(event.words.split(":")[0], []).append(event.moment.time)
    return tuple(Turns(name, len(when), (when[-1] - when[0]) / (len(when) - 1)) for name, when in times.items() if len(when) > 1)


def named_drain(network: Network, name: str, file: str) -> int:
    """Return the place of a drain by its name; InputError with the nearest one where there is none of that name."""
    return _named(network, network.drains, DRAIN, "drain", name, file)


def named_pump(network: Network, name: str, file: str) -> int:
    """Return the place of a pump by its name; InputError with the nearest one where there is none of that name."""
    return _named(network, network.pumps, PUMP, "pump", name, file)


def _named(network: Network, places: tuple[int, ...], what: str, noun: str, name: str, file: str) -> int:
    names = {str(network.links[k].element.name): k for k in places}
    if name in names:
        return names[name]
    raise InputError([Complaint(file, 0, what, f"no {noun} is called '{name}'" if name else f"the name of the {noun} is missing",
                                "one of " + ", ".join(names), nearest(name, names) if name else "")])


def reservoir(build: Build) -> float:
    """Return what the top-up's reservoir holds, m3; InputError where none is described."""
    uncertain = build.wishes.get(limits.TOP_UP.name)
    if uncertain is None or float(uncertain.at({})) <= 0.0:
        raise InputError([Complaint(build.file, 0, TOP_UP, "no top-up reservoir is described",
                                    "'wishes: {top-up reservoir: 10 L}' in the file")])
    return float(uncertain.at({}))


def ask(build: Build, what: str, name: str = "", breaks: bool = True, valves: str = HOLDING, locks: bool | None = None,
        whole_tail: bool = False, tolerance: float = TOLERANCE) -> Question:
    """Return what happens to a build: `what` is one of QUESTIONS, `name` that of a drain or pump.

    `locks` says of the power's return whether air stays in drains with drowned ends; None: in sealed ones.
    InputError for a name that is not there, SolveError where the loop does not run or a step is not solved.
    """
    if name and what not in NAMED:
        raise InputError([Complaint(build.file, 0, what, f"takes no name, and '{name}' stands behind it", f"'{what}' alone")])
    loop = place(build)
    network = loop.network()
    answer = run_placed(loop, network)
    if answer.state is None or answer.kind == NONE:
        raise SolveError("running", 0, float("nan"), "the loop", answer.reason)
    # A loop that surges may be caught with its tanks at their fullest, and then the most comes down.
    caught = what in (POWER_CUT, POWER_BACK) and answer.kind == SURGES
    state = max(answer.states, key=water_above) if caught else answer.state
    if what == POWER_BACK:
        state = state if caught else most_sealed(answer.states)
        cut, back = simulate_restart(state, breaks, valves, locks, tolerance)
        return Question(build, answer, Disturbance("power back", QUESTIONS[POWER_BACK], True, breaks, valves), back, cut)
    if what in (HOSE, HOSE_AT_PUMP):
        state, disturbance = _hose_off(build, state, what, name)
    else:
        disturbance = _happening(build, state, what, name, breaks, valves)
    wanted = BREAKS in build.counts_on, VALVES in build.counts_on
    over = 0.0 if what != POWER_CUT else worst_shutdown([shut_down(one, *wanted) for one in answer.states]).over
    return Question(build, answer, disturbance, simulate(state, disturbance, tolerance, whole_tail=whole_tail), None, over)


def _happening(build: Build, state: State, what: str, name: str, breaks: bool, valves: str) -> Disturbance:
    network = state.network
    makers: dict[str, Callable[[], Disturbance]] = {
        POWER_CUT: lambda: power_cut(breaks, valves),
        PUMP: lambda: pump_stops(network, (named_pump(network, name, build.file),), breaks, valves),
        DRAIN: lambda: drains_blocked(network, (named_drain(network, name, build.file),)),
        DRAINS: lambda: drains_blocked(network, network.drains),
        TOP_UP: lambda: top_up_stuck(reservoir(build), float((build.overrides.get(FLOW.name) or FLOW.uncertain()).at({}))),
        AS_IS: as_it_is}
    return makers[what]()


def _hose_off(build: Build, state: State, what: str, name: str) -> tuple[State, Disturbance]:
    """Return the loop with the first hose of a line off, outside the sump the end from which most can leave."""
    network = state.network
    if what == HOSE_AT_PUMP:
        found = hose_off_at_pump(state, _named(network, network.pumps, what, "pump", name, build.file))
    else:
        ends = list(loose_ends(network))
        with_hose = tuple(dict.fromkeys(end.link for end in ends))
        if not with_hose:
            raise InputError([Complaint(build.file, 0, what, "no line outside the sump has a hose", "a 'hose' in a line")])
        k = _named(network, with_hose, what, "line with a hose", name, build.file)
        found = hose_off(state, min((end for end in ends if end.link == k), key=lambda end: end.at_rim))
    if found is None:
        raise InputError([Complaint(build.file, 0, what, f"the line of '{name}' does not begin with a hose in its sump",
                                    f"'{HOSE}' for a hose elsewhere")])
    return found
