"""Rows of the test sheet with something out of order: the power off and on, breaks taped shut, drains blocked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from hydro.checks.assessment import Assessment
from hydro.elements.air_lock import LOCKED
from hydro.quantities.formatting import show
from hydro.quantities.tape import Band
from hydro.report.content.grouping import Grouping, few
from hydro.report.content.levels import bottom_of, spread_of
from hydro.report.content.sentences import DOWN, UP
from hydro.report.html.figures import both
from hydro.report.html.time_charts import settled
from hydro.report.html.trial_steps import Trial, amount_with_band, any_one_of, blocked, finite, height_with_band, spanned
from hydro.scenarios.results import OverflowCase, Results, opening_of
from hydro.shutdown import Shutdown
from hydro.steady.state import State
from hydro.study import Study
from hydro.transient.integrate import History

ESTIMATE = "an estimate; half to twice that"
MORE_THAN_ONCE = "Cut and restore the power three times in all; write down the worst of the three."


def power_steps(study: Study, state: State, system: str) -> Iterator[Trial]:
    """Yield the rows of the power cut, of the power's return, and of the cut with the siphon breaks taped shut."""
    assessment, found = study.assessment, study.courses()
    yield from _cut(assessment, (True, True), "Pull the plug of the pump and wait until nothing moves any more: what came down.",
                    system)
    if assessment.results.stopped[True, True].spare < 0.0:
        yield Trial("The power's return, three cuts in a row, the siphon breaks taped shut: once the row before is put right. "
                   "Describe the loop as it is then, and take a new sheet.")
        return
    if found.cut is not None:
        yield Trial("By the watch: from the plug until nothing moves.", show(found.cut.end.time, "time", system), ESTIMATE)
    if found.back is not None:
        yield from _back(assessment, state, found.back, system)
    else:
        yield Trial("Put the plug back: time until the levels stand still again; highest level in the tanks.",
                   f"not predicted here: {found.why}", "no water within two fingers of an opening")
    yield Trial(MORE_THAN_ONCE)
    holes = [(one.name, one) for one in assessment.build.returns if one.hole is not None]
    if holes:
        names = ", ".join(any_one_of(grouped) for grouped in Grouping.by(assessment.build).of("returns", holes))
        yield from _cut(assessment, (False, True), f"Tape the siphon-break holes shut ({names}) and pull the plug again: what "
                        "came down. Take the tape off afterwards and see that each hole is clear.", system)


def _back(assessment: Assessment, state: State, back: History, system: str) -> Iterator[Trial]:
    """Yield the rows of the power's return."""
    network = state.network
    yield Trial("Put the plug back: time until the levels stand still again.",
               show(settled(back, (*network.uppers, *network.chambers)), "time", system), ESTIMATE)
    level = {k: max(moment.levels[k] for moment in back.moments) for k in network.uppers}
    worst = min(network.uppers, key=lambda k: opening_of(network, k) - level[k])
    room = opening_of(network, worst) - level[worst]
    yield Trial(f"Meanwhile the highest level in '{network.waters[worst].name}': how far below its lowest opening.",
               both(room, "length", system, -1), "no less", warned=room < 0.0)
    chamber = network.pump_chamber

    def line(found: Results) -> float:
        return float(found.state.levels[chamber]) - found.network.sump_bottom

    again, between = height_with_band(spread_of(assessment, line), system)
    locked = [str(link.element.name) for link in back.end.network.links if getattr(link.element, "mode", "") == LOCKED]
    stays = both(back.end.levels[chamber] - network.sump_bottom, "length", system)
    caught = f"; {stays} as long as {few(locked)} keeps the air that the cut shut in" if locked else ""
    yield Trial(f"Then the line in '{network.waters[chamber].name}' again, up from the sump's bottom.",
               f"{again}{caught}", between)


def _cut(assessment: Assessment, case: tuple[bool, bool], do: str, system: str) -> Iterator[Trial]:
    """Yield the rows of a power cut: what comes down, where each sump and tank ends."""
    results = assessment.results
    here = results.stopped[case]
    if here.spare < 0.0:
        yield Trial(f"{do} By the figures {both(-here.spare, 'volume', system)} would go over the sump. Put that right first; "
                   "then try it with the sump's line lowered.", warned=True)
        return
    network = results.network

    def ends(ask: str, index: int) -> Band:
        def value(found: Results) -> float:
            stopped = found.stopped.get(case)
            return _ends(found, here if stopped is None else stopped, ask, index)
        return spread_of(assessment, value)

    yield Trial(do, *amount_with_band(ends("comes", 0), "volume", system))
    risk = any(case in shift.results.stopped and shift.results.stopped[case].spare < 0.0 for shift in assessment.shifts)
    more = " At the bad end of the bands it goes over: put the plug back in good time." if risk else ""
    for number, sump in enumerate(here.sumps):
        name = "the sump" if len(here.sumps) == 1 else network.waters[sump[0]].name
        predicted, between = height_with_band(ends("sump", number), system, UP)
        yield Trial(f"Then {name}, up from its bottom, in the chamber that stands highest.{more}", predicted, between)
    bands = [(network.waters[k].name, ends("tank", k)) for k in network.tanks]
    for grouped in Grouping.by(assessment.build).of("tanks", bands):
        yield Trial(f"And {any_one_of(grouped)}, down from the rim.", *spanned(grouped, system, DOWN))


def _ends(found: Results, stopped: Shutdown, ask: str, index: int) -> float:
    """Return a figure of a stopped loop: what comes down (m3), a sump's level above its bottom, a tank's below its rim (m)."""
    if ask == "comes":
        return stopped.comes_down
    if ask == "sump":
        sump = stopped.sumps[index]
        return stopped.sump_level_of(sump) - bottom_of(found.network, sump[0])
    body = found.network.waters[index].body
    assert body is not None
    return float(body.rim) - finite(stopped.levels[index], float(body.rim))


def blocked_steps(assessment: Assessment, system: str) -> Iterator[Trial]:
    """Yield the rows with each drain blocked, then with all wet ones of a tank that has a dry one."""
    results = assessment.results
    alone = [one for one in results.overflows if len(one.out) == 1]
    yield Trial("Top-up off and its reservoir shut for all rows of this table, so that no more comes than is in the loop.")
    yield from _each(assessment, alone, results.overflows, "", system)
    yield from _each(assessment, results.emergencies, results.emergencies, "all wet drains of one tank at once: ", system)
    yield Trial("Not on this sheet: every drain blocked at once. What that would do stands in the summary; do not try it.")


def _each(
    assessment: Assessment, cases: Iterable[OverflowCase], every: Iterable[OverflowCase], lead: str, system: str
) -> Iterator[Trial]:
    results = assessment.results
    network, listed = results.network, list(every)
    grouping = Grouping.by(assessment.build)
    group_of = grouping.group_of
    for case in cases:
        names = [network.links[k].name for k in case.out]
        mine = dict.fromkeys(group_of[name].name for name in names if name in group_of)
        groups = [f"{grouping.groups[group]} x {group}" for group in mine]
        also = f" (first; then any other of {' and '.join(groups)})" if groups else ""
        found = blocked(assessment, case, listed, emergencies=case in results.emergencies)
        who = network.waters[found.water].name
        do = f"Block {lead}{' and '.join(names)}{also}, pump running. '{who}', down from the rim, once it stands still."
        if found.below is None:
            yield Trial(f"{do} The figures could not be worked out.", warned=True)
        elif found.room < 0.0:
            yield Trial(f"{do} By the figures it goes over, with nothing topped up. Put that right first.", warned=True)
        else:
            predicted, between = height_with_band(found.below, system, DOWN)
            topped = both(found.below_topped_up, "length", system, -1)
            more = (" Topped up it would go over: keep your hand on the switch." if found.room_topped_up < 0.0
                    else f" (With the sump kept topped up: {topped}.)")
            yield Trial(f"{do}{more}", predicted, between)
