"""What blocked drains do, one and all of a tank, and which of all single faults put water on the floor."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.checks import FAILS, Check, CheckKind
from hydro.checks.check import gravity
from hydro.checks.overflow import remote
from hydro.faults.levels import DROP
from hydro.faults.single import BLOCKED
from hydro.faults.table import FaultTable
from hydro.report.content.grouping import FEW
from hydro.report.content.levels import brim_of
from hydro.report.content.sentences import DOWN, UP, Figure, Sentence, height, joined_sentences, say
from hydro.report.content.verdict_answers import in_order
from hydro.report.content.view import View
from hydro.steady.operating_point import NONE

HIGH = 0.3
"""A level this far over the brim is not worth a figure, m."""
CUP = 5e-5
"""Volumes below this are nothing, m3."""
CUT = "a power cut on top"
UNLESS = " unless a drain siphons first"
"""Said of what goes over where the drains run with air, and not where they flush."""


def litres(volume: float) -> Figure:
    """Return a volume, nothing where it is less than a cup."""
    return Figure(volume if abs(volume) > CUP else 0.0, "volume")


def blocked_sentences(view: View) -> list[Sentence]:
    """Return what the worst single blocked drain of all does, and the worst tank with all its drains blocked."""
    check = view.worst(CheckKind.BLOCKED)
    if check is None:
        return [say("Not worked out: there is no running state to block a drain in.")]
    name = f"'{check.worst or check.subject}'"
    among = f", the worst of {len(check.stands_for)} x {check.subject}" if check.worst else ""
    goes_over = check.water is not None and check.margin < 0.0
    if check.water is None:
        stands = say("no level can be given")
    else:
        who, brim = view.water(check.water), brim_of(view.results, check.water)
        if not goes_over:
            stands = say("{who} stands {below} below its {brim}", who=who, below=height(check.margin, DOWN), brim=brim)
        else:
            over = say(", by {over} if it could", over=height(-check.margin, UP)) if -check.margin < HIGH else ""
            stands = say("{who} goes over its {brim}{over}", who=who, brim=brim, over=over)
    return [say("{verdict}. {who} blocked{among}, the sump kept topped up: {stands}{why}.",
                verdict=check.verdict.capitalize(), among=among, stands=stands,
                who=f"Worst with {name}" if len(view.network.drains) > 1 else f"{name} is the only drain;",
                why=f" ({check.because})" if check.because and not in_order(check) and not goes_over else ""),
            *(_all_blocked(view) if _too_much(view) else [])]


def blocked_details(view: View) -> list[Sentence]:
    """Return what all drains of the worst tank blocked do, where that goes well."""
    return [] if _too_much(view) else _all_blocked(view)


def _too_much(view: View) -> bool:
    """Whether the pumps can bring up more than some tank has room for, all its drains blocked."""
    case = view.results.all_blocked
    return case is not None and case.all - case.room > CUP


def _all_blocked(view: View) -> list[Sentence]:
    """Return what comes up into the tank that is worst off with all its drains blocked, against the room in it."""
    case = view.results.all_blocked
    if case is None:
        return []
    tank, brim = view.network.waters[case.tank], brim_of(view.results, case.tank)
    group = view.grouping.group_of.get(tank.name)
    over = say(": {over} go over its {brim}", over=Figure(case.all - case.room, "volume"), brim=brim) \
        if case.all - case.room > CUP else ""
    room = say("it has room for {room}{over}", room=litres(case.room), over=over)
    if case.room < 0.0:
        assert tank.opening is not None
        stands = view.results.answer.highest_of(case.tank) - float(tank.opening)
        room = say("it stands {stands} over its {brim} already", stands=height(stands, UP), brim=brim)
    alone, far = len(view.network.drains) == 1, remote(view.results, case.tank)
    top_up = say(", the top-up's {litres} with it", litres=litres(case.top_up)) if case.top_up > 0.0 else ""
    return [say("{drains} of {tank} blocked{once}{among}: the {pumps} can bring up {all} more{top_up}, and {room}{far}.",
                drains="The only drain" if alone else "All drains", tank=view.called(tank.name),
                once=", with only the water that is in it" if alone else ", the dry one too" if far else " at once",
                pumps=view.pumps, all=litres(case.all), top_up=top_up, room=room,
                far="; the verdict leaves that out" if far else "",
                among=f" (the worst of {len(group.members)} x {group.name})" if group is not None else "")]


def fault_sentences(view: View) -> list[Sentence]:
    """Return which single faults put water on the floor; nothing where there is no table, for the loop does not run.

    KeyboardInterrupt where Ctrl-C cut the table short: of a report's own questions none is answered by half.
    """
    found = view.study.faults
    if found is None:
        return []
    if found.stopped:
        raise KeyboardInterrupt
    said = say("Of {asked} single faults asked, every figure in its middle, {floods}.", asked=str(found.asked),
               floods=what_floods(view, found))
    return [joined_sentences([unsolved_rows(found), said, *_hoses_off(found), "(`sumpwright faults` has them all.)"])]


def what_floods(view: View, found: FaultTable) -> str:
    """Return what puts water on the floor, and what only does with the power cut; never 'none' beside a failing blocked drain."""
    worst, flooding = _worst_blocked(view), found.flooding
    if not flooding and worst is not None and worst.verdict == FAILS:
        return f"none but a {worst.kind.title}, above, puts water on the floor"
    if not flooding:
        return f"none puts water on the floor, nor with {CUT}{_beside_blocked(worst)}"
    count = sum(row.count for row in flooding)
    wet = [row for row in flooding if row.effect.over > DROP or row.effect.endless or row.effect.hose_off]
    running = [f"{row.names}{f',{UNLESS}' if row.effect.unless_siphons else ''}" for row in wet]
    cut = [row.names for row in flooding if row not in wet]
    if count == found.asked and cut:
        already = f"; already while it runs, {_listed_few(running)}" if running else ""
        return f"every one puts water on the floor with {CUT}{already}"
    names = _listed_few([*running, *(f"with {CUT}, {name}" if not n else name for n, name in enumerate(cut))])
    told = any(fault.words == BLOCKED for row in flooding for fault in row.effect.faults)
    return f"{count} put{'s' if count == 1 else ''} water on the floor: {names}{'' if told else _beside_blocked(worst)}"


def _hoses_off(found: FaultTable) -> list[Sentence]:
    """Return what the worst hose that comes off puts on the floor: no build holds against it, so it is told apart."""
    if not found.hoses:
        return []
    return [say("A loose hose is not among them: up to {litres}, whatever the build; clamp it twice.",
                litres=litres(found.hoses[0].effect.litres))]


def _listed_few(names: Sequence[str]) -> str:
    """Return the first names, the others by their number."""
    return "; ".join(names if len(names) <= FEW else [*names[:FEW - 1], f"{len(names) - FEW + 1} more"])


def unsolved_rows(found: FaultTable) -> str:
    """Return in how many rows nothing is known."""
    count = sum(row.effect.kind == NONE for row in found.rows)
    return f"Not solved in {count} {'row' if count == 1 else 'rows'}: nothing is said of them." if count else ""


def _worst_blocked(view: View) -> Check | None:
    """Return the worst check on blocked drains that does not hold: no list of single faults stands against it."""
    wanting = [check for check in view.assessment.of(CheckKind.BLOCKED, CheckKind.EMERGENCY_ALONE) if not in_order(check)]
    return max(wanting, key=gravity, default=None)


def _beside_blocked(worst: Check | None) -> str:
    return "" if worst is None else f"; but {worst.kind.title}, above: {worst.verdict}"
