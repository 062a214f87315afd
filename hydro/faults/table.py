"""The fault table: every single fault and pair, what it comes to, worst first, identical ones folded.

Order: litres on the floor; then water that goes over for as long as the sump is topped up; then loops that were not solved; the
pump dry; noise; time. Rows of elements of one kind with one outcome are one row ('either drain', 'any of 3 drains').
All rows are at rest (`hydro.faults.effects`); a row near a limit, or asked for, is followed through time as well, and so is one
pump of several without power. Of pairs no more than `MOST_PAIRS` are asked: those of the faults that do most harm alone.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from hydro.elements.drain import WITH_AIR
from hydro.elements.feed import FLOW
from hydro.errors import SolveError
from hydro.faults.effects import Effect, Sound, effect_of, sound, water_of
from hydro.faults.hoses import hoses_off
from hydro.faults.levels import DROP, solved_or_none
from hydro.faults.single import Fault, faulty, pairs, single_faults
from hydro.scenarios.histories import outcome_of
from hydro.scenarios.placed_build import PlacedBuild, held_at
from hydro.shutdown import most_sealed
from hydro.steady.operating_point import NONE
from hydro.steady.state import State
from hydro.transient.disturbances import Disturbance, power_cut, simulate, simulate_restart

NEAR = 0.010
"""A level this close to an opening, or to the intake, is near a limit, m: static figures are followed through time."""
LONGEST = 2 * 3600.0
"""Longest time that is looked at, s."""
MOST_PAIRS = 2000
"""Most pairs of faults that are asked."""
AT_REST, IN_TIME = "at rest", "through time"

Progress = Callable[[int, int], None]
"""Told how many of how many choices of faults are done, and after that how many rows were followed through time."""


@dataclass(frozen=True, slots=True)
class FaultRow:
    """One row: what goes wrong, for how many choices of faults it stands, the worst of their effects, how it was found.

    `time` is when water first goes over an opening, or else the pump first draws air, s (None: never, or not followed);
    `timed` the litres that then went over within two hours (m3).
    """

    names: str
    count: int
    effect: Effect
    method: str = AT_REST
    time: float | None = None
    timed: float | None = None

    @property
    def order(self) -> tuple[float, ...]:
        """Its place in the table: the smaller, the worse."""
        effect = self.effect
        return (-round(effect.litres, 6), -effect.endless, -(effect.kind == NONE), -effect.dry, -effect.noise,
                float("inf") if self.time is None else self.time)


@dataclass(frozen=True, slots=True)
class FaultTable:
    """The table. `faults` is every single fault, `done` of `asked` choices of them were looked at (fewer where stopped).

    `left_out` is how many pairs were not asked, for there are too many. `hoses` are those that come off outside the sump: no
    build holds against them, so they are counted apart (`hydro.faults.hoses`).
    """

    base: Sound
    faults: tuple[Fault, ...]
    rows: tuple[FaultRow, ...]
    done: int
    asked: int
    stopped: bool = False
    left_out: int = 0
    hoses: tuple[FaultRow, ...] = ()

    @property
    def complete(self) -> bool:
        """Whether every choice of faults was looked at, and followed through time where it had to be."""
        return self.done == self.asked and not self.stopped

    @property
    def flooding(self) -> tuple[FaultRow, ...]:
        """The rows of single faults that put water on the floor."""
        return tuple(row for row in self.rows if len(row.effect.faults) == 1 and row.effect.floods)


def effects(base: Sound, faults: Sequence[Fault], couples: int) -> Iterator[Effect]:
    """Yield the effect of each single fault, then of so many pairs of them, of the worst ones where not all are asked."""
    alone: list[Effect] = []
    for fault in faults:
        alone.append(effect_of(base, (fault,)))
        yield alone[-1]
    every = pairs(faults)
    if couples < sum(1 for _ in pairs(faults)):
        worst = sorted(range(len(alone)), key=lambda k: (FaultRow("", 1, alone[k]).order, -alone[k].above, alone[k].left))
        every = worst_first([faults[k] for k in worst])
    for pair in itertools.islice(every, couples):
        yield effect_of(base, pair)


def worst_first(faults: Sequence[Fault]) -> Iterator[tuple[Fault, Fault]]:
    """Yield every two faults that can be true at once, those among the first of them before those with later ones."""
    return ((faults[k], fault) for n, fault in enumerate(faults) for k in range(n) if not faults[k].excludes(fault))


def fault_table(loop: PlacedBuild, with_pairs: bool = False, through_time: bool | None = False,
                progress: Progress = lambda done, asked: None) -> FaultTable:
    """Return the table of a loop. Ctrl-C (KeyboardInterrupt) ends it with what was found by then.

    `through_time` follows every single fault that puts water on the floor or runs the pump dry, not only those near a limit;
    None follows none at all. SolveError where the loop does not run with nothing wrong.
    """
    base = sound(loop)
    assert base.answer.state is not None
    faults = tuple(single_faults(loop.build, base.network, base.wet, [float(q) for q in base.answer.state.flows]))
    found: list[Effect] = []
    every = sum(1 for _ in pairs(faults)) if with_pairs else 0
    couples = min(every, MOST_PAIRS)
    asked = len(faults) + couples
    rows: list[FaultRow] = []
    stopped = False
    try:
        for effect in effects(base, faults, couples):
            found.append(effect)
            progress(len(found), asked)
    except KeyboardInterrupt:
        stopped = True
    rows = grouped_effects(found, faults)
    try:
        waiting = [k for k, row in enumerate(rows) if not stopped and to_be_timed(row.effect, through_time)]
        for number, k in enumerate(waiting, 1):
            rows[k] = timed(base, rows[k])
            progress(number, len(waiting))
    except KeyboardInterrupt:
        stopped = True
    return FaultTable(base, faults, tuple(sorted(rows, key=lambda row: row.order)), len(found), asked, stopped, every - couples,
                      hose_rows(base))


def hose_rows(base: Sound) -> tuple[FaultRow, ...]:
    """Return the rows of hoses that come off outside the sump, the most water first."""
    found = list(hoses_off(base))
    rows = grouped_effects(found, [fault for effect in found for fault in effect.faults])
    return tuple(sorted(rows, key=lambda row: row.order))


def near_limit(effect: Effect) -> bool:
    """Whether a level comes within 10 mm of an opening, or the pump chamber within 10 mm of the intake without being dry.

    So is a sealed drain whose end is drowned, when the power comes back, by what the room over its lip is, within 10 mm.
    """
    return min(abs(effect.above), abs(effect.left), effect.nearly) < NEAR or 0.0 < effect.lowest - NEAR / 10.0 < NEAR


def to_be_timed(effect: Effect, asked_for: bool | None) -> bool:
    """Whether a row is followed through time: single faults near a limit, or asked for where they do harm (None: none)."""
    if asked_for is None:
        return False
    single = len(effect.faults) == 1
    able = single and effect.kind != NONE and not effect.in_time
    return able and (near_limit(effect) or (asked_for and (effect.floods or effect.dry)))


def timed(base: Sound, row: FaultRow) -> FaultRow:
    """Return a row followed through time: the fault in the running loop; where it holds while running, the power cut on top.

    The water that is in the loop counts, and the reservoir where the top-up is stuck; not what somebody tops up by hand. A
    row whose steps are not solved stays as it was.
    """
    effect = row.effect
    if any(fault.restarts for fault in effect.faults):
        return _restarted_in_time(row, most_sealed(base.answer.states))
    state = base.answer.state
    network = faulty(base.network, effect.faults)
    if any(fault.over > 0.0 for fault in effect.faults):
        state = solved_or_none(base.network, held_at(base.network, water_of(base, effect.faults)[1]), state).state
    cut_only = effect.power_lost or not (effect.over > DROP or effect.dry or effect.endless or abs(effect.above) < NEAR)
    if cut_only and effect.answer is not None:
        state = effect.answer.state
    if state is None:
        return row
    if cut_only:
        disturbance = power_cut()
    else:
        blocked = {k: {"blocked": 1.0} for k in network.drains if float(network.links[k].element.blocked) > 0.5}
        flow = float((base.loop.build.overrides.get(FLOW.name) or FLOW.uncertain()).at({}))
        disturbance = Disturbance("fault", row.names, changes=blocked, modes=dict.fromkeys(blocked, WITH_AIR),
                              top_up=sum(fault.top_up for fault in effect.faults), top_up_flow=flow)
    try:
        outcome = outcome_of(simulate(replace(state, network=network), disturbance, longest=LONGEST, whole_tail=False))
    except SolveError:
        return row
    first = min((one.since for one in outcome.over), default=outcome.dry)
    return replace(row, method=IN_TIME, time=first, timed=outcome.on_the_floor)


def _restarted_in_time(row: FaultRow, state: State) -> FaultRow:
    """Return the row of a power cut and the power's return, followed through time from a running state."""
    try:
        cut, back = map(outcome_of, simulate_restart(state, longest=LONGEST))
    except SolveError:
        return row
    times = [one.since for one in (*cut.over, *back.over)]
    return replace(row, method=IN_TIME, time=min(times, default=back.dry), timed=cut.on_the_floor + back.on_the_floor)


def signature(effect: Effect) -> tuple[object, ...]:
    """Return what has to be the same for effects to be told in one row: litres to 0.1 L, and everything said in words."""
    return (tuple((fault.noun, fault.words) for fault in effect.faults), effect.where, round(effect.over * 1e4),
            round(effect.cut * 1e4), effect.kind == NONE, effect.endless, effect.unless_siphons, effect.dry,
            effect.noise, near_limit(effect))


def grouped_effects(found: Sequence[Effect], faults: Sequence[Fault]) -> list[FaultRow]:
    """Return effects as rows, those with one signature folded; the worst of a group stands for it."""
    groups: dict[tuple[object, ...], list[Effect]] = {}
    for effect in found:
        groups.setdefault(signature(effect), []).append(effect)
    return [_row(_names(group, faults), len(group), max(group, key=lambda one: (one.litres, one.above, -one.left)))
            for group in groups.values()]


def _row(names: str, count: int, worst: Effect) -> FaultRow:
    """Return a row; where it was followed through time from the start it says so."""
    if not worst.in_time:
        return FaultRow(names, count, worst)
    return FaultRow(names, count, worst, IN_TIME, worst.first, worst.over)


def _names(group: Sequence[Effect], faults: Sequence[Fault]) -> str:
    """Return what goes wrong in a group of effects, in words."""
    chosen = [effect.faults for effect in group]
    kinds = [(fault.noun, fault.words) for fault in chosen[0]]
    if len(kinds) == 2 and kinds[0] == kinds[1]:
        parts = dict.fromkeys(fault.who for pair in chosen for fault in pair)
        every = len(chosen) == len(parts) * (len(parts) - 1) // 2
        who = (" and ".join(parts) if len(chosen) == 1 else f"any 2 of {len(parts)} {kinds[0][0]}s" if every
               else f"2 of {len(parts)} {kinds[0][0]}s, {len(chosen)} ways")
        return f"{who}: {fault_in_words(chosen[0][0])}"
    told = []
    for place, kind in enumerate(kinds):
        parts = dict.fromkeys(pair[place].who for pair in chosen)
        like = [fault for fault in faults if (fault.noun, fault.words) == kind]
        told.append(f"{_who(list(parts), len(like), kind[0])}: {fault_in_words(chosen[0][place])}")
    return "; ".join(told)


def _who(parts: Sequence[str], like: int, noun: str) -> str:
    if len(parts) == 1:
        return parts[0]
    if len(parts) == like:
        return f"either {noun}" if like == 2 else f"any of {like} {noun}s"
    return " or ".join(parts) if len(parts) == 2 else f"any of {len(parts)} {noun}s (of {like})"


def fault_in_words(fault: Fault) -> str:
    """Return the words of a fault without the name of its part."""
    return fault.words.removeprefix(f"{fault.part}: ").replace(": ", " ")
