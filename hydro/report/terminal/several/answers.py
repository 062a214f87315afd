"""How high the line in the chamber that closes the balance, and what blocked drains do, where there are several of anything."""

from __future__ import annotations

import math

from hydro.checks import ONLY_JUST, Check, CheckKind
from hydro.checks.assessment import RunningLine
from hydro.checks.overflow import remote
from hydro.checks.pump import intake
from hydro.quantities.tape import floor_mark, tape, tape_below
from hydro.report.content.levels import brim_of, running_line, stated_line, sump_bottom
from hydro.report.content.view import View, called
from hydro.report.terminal.answers import CUP, HIGH, SAME, end_of, litres


def line_answer(view: View) -> list[str]:
    """Return where to draw the line, in which chamber, and how the line that the file states lies to it."""
    wanted, system = view.assessment.wanted_line, view.system
    where = f"in {view.chamber(view.network.pump_chamber)}"
    if wanted is None:
        return [f"No line can be given {where}: {view.assessment.answer.kind}."]
    if wanted.height is None:
        case = view.results.stopped[view.results.wanted_cut()]
        texts = [f"No line {where} is low enough: {litres(case.comes_down, system)} come down."]
    elif wanted.safe is None:
        texts = [f"No line {where} is surely low enough: {tape_below(wanted.height, system)} with every figure in its middle, "
                 f"none that all bands leave, most of it for {end_of(wanted.worst)}."]
    else:
        whose = view.sump(view.network.sump_of(view.network.pump_chamber))
        texts = [f"Draw it {where}, at most {tape_below(wanted.safe, system)} above the bottom of {whose}, {view.pumps} running."]
        if wanted.height - wanted.safe > SAME:
            texts.append(f"({tape_below(wanted.height, system)} with every figure in its middle; the lower one is what "
                         f"all bands leave, most of it for {end_of(wanted.worst)}.)")
    texts += [*_own_line(view, wanted), *_low_line(view, wanted), *_blocked_line(view, wanted), *_other_line(view, wanted)]
    return [texts[0], " ".join(texts[1:])]


def _height(wanted: RunningLine) -> float | None:
    return wanted.safe if wanted.safe is not None else wanted.height


def _own_line(view: View, wanted: RunningLine) -> list[str]:
    stated, runs = stated_line(view.assessment), running_line(view.assessment)
    own, bound = stated if stated is not None else runs, _height(wanted)
    if own is None or bound is None:
        return []
    whose = f"{'Yours' if stated is not None else 'With your water it runs'} at {tape(own, view.system)}"
    gap = floor_mark(bound - own, view.system)
    if 0.0 <= gap < SAME:
        return [f"{whose}: right at it."]
    return [f"{whose}: {tape(abs(gap), view.system)} {'below it' if gap > 0 else 'too high'}."]


def _low_line(view: View, wanted: RunningLine) -> list[str]:
    """Return the warning that an intake in that chamber is hardly under water at the line, of the pump that asks for most."""
    height, network, results = _height(wanted), view.network, view.results
    asked = []
    for k in network.pumps:
        if network.links[k].up == network.pump_chamber and float(results.element(k).running) > 0.5:
            at = float(results.element(k).intake) - sump_bottom(network)
            asked.append((at + intake(results, k).limit, at, network.links[k].name))
    if height is None or not asked or height >= max(asked)[0]:
        return []
    needed, at, name = max(asked)
    who = "the pump" if view.pumps == "pump" else name
    return [f"At {tape_below(height, view.system)} {who} may draw air: its intake, at {tape(at, view.system)}, asks for "
            f"{tape(needed - at, view.system)} of water over it."]


def _blocked_line(view: View, wanted: RunningLine) -> list[str]:
    """Return the line above which blocked drains send more water up than a tank has room for, where it is the lower one."""
    height, case = _height(wanted), view.results.all_blocked
    if height is None or case is None or remote(view.results, case.tank):
        return []
    limit = view.study.blocked_line
    over = -math.inf if limit is None else limit - sump_bottom(view.network)
    if over >= height:
        return []
    where = "even at the intake" if limit is None else f"above {tape_below(over, view.system)}"
    return [f"That line is for a power cut: {where} the {view.pumps} can bring up more than "
            f"{view.water(case.tank)} has room for with its drains blocked."]


def _other_line(view: View, wanted: RunningLine) -> list[str]:
    """Return the line that would do if the siphon breaks were counted on, where that is another one."""
    results = view.results
    if wanted.breaks or not any(results.element(k).end.break_at is not None for k in results.network.returns):
        return []
    other = next(line for line in view.assessment.lines if (line.breaks, line.holds) == (True, wanted.holds))
    if other.height is None or (wanted.height is not None and other.height - wanted.height < SAME):
        return []
    trust = "" if results.breaks_counted() else " (too small to be trusted)"
    return [f"If the siphon breaks{trust} work: at most {tape_below(other.height, view.system)}."]


def blocked_answer(view: View) -> list[str]:
    """Return what the worst single blocked drain of all does, and the worst tank with all its drains blocked."""
    check = view.worst(CheckKind.BLOCKED)
    if check is None:
        return ["Not worked out: there is no running state to block a drain in."]
    among = f", the worst of {len(check.stands_for)} x {check.subject}" if check.worst else ""
    why = f" ({check.because})" if check.verdict == ONLY_JUST and check.because else ""
    first = (f"{check.verdict.capitalize()}. Worst with '{check.worst or check.subject}' blocked{among}, its line kept "
             f"topped up: {_stands(view, check)}{why}.")
    return [first, _all_blocked(view)]


def _stands(view: View, check: Check) -> str:
    if check.water is None:
        return "no level can be given"
    who, brim = view.water(check.water), brim_of(view.results, check.water)
    if check.margin >= 0.0:
        return f"{who} stands {tape_below(check.margin, view.system)} below its {brim}"
    over = f", by {tape(-check.margin, view.system)} if it could" if -check.margin < HIGH else ""
    return f"{who} goes over its {brim}{over}"


def _all_blocked(view: View) -> str:
    case, system = view.results.all_blocked, view.system
    if case is None:
        return ""
    name, brim = view.network.waters[case.tank].name, brim_of(view.results, case.tank)
    group = view.folding.group_of.get(name)
    among = f" (the worst of {len(group.members)} x {group.name})" if group is not None else ""
    over = f": {litres(case.all - case.room, system)} go over its {brim}" if case.all - case.room > CUP else ""
    room = f"it has room for {litres(case.room, system)}{over}"
    if case.room < 0.0:
        room = f"it stands {tape(-_below(view, case.tank), system)} over its {brim} already"
    return (f"All drains of {called(name)} blocked at once{among}: the {view.pumps} can bring up {litres(case.all, system)} "
            f"more, and {room}.")


def _below(view: View, water: int) -> float:
    opening = view.network.waters[water].opening
    assert opening is not None
    return float(opening) - view.results.answer.highest_of(water)
