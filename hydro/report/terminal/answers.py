"""The three answers that a builder asks first: how high the line, what a power cut does, what a blocked drain does."""

from __future__ import annotations

import math

from hydro.checks import HOLDS, ONLY_JUST, Check, CheckKind
from hydro.checks.assessment import Assessment, RunningLine
from hydro.checks.check import gravity
from hydro.checks.flood import case_of_cut
from hydro.checks.overflow import remote
from hydro.quantities.formatting import show
from hydro.quantities.tape import floor_mark, tape, tape_above, tape_below
from hydro.report.content.levels import running_line, stated_line, sump_bottom, sump_opening
from hydro.scenarios.results import BREAKS
from hydro.shutdown import Shutdown
from hydro.steady.operating_point import DRAWS_AIR
from hydro.study import Study

SAME = 1e-3
"""Heights closer than this are one, m."""
HIGH = 0.3
"""A level this far over the brim is not worth a figure, m."""
CUP = 5e-5
"""Volumes below this are nothing, m3."""


def line_answer(study: Study, system: str) -> list[str]:
    """Return where to draw the line, and how the line that the file states lies to it."""
    assessment = study.assessment
    wanted = assessment.wanted_line
    if wanted is None:
        return [f"No line can be given: {assessment.answer.kind}."]
    if wanted.height is None:
        texts = [f"No line is low enough: {coming_down(assessment, system)}"]
    elif wanted.safe is None:
        texts = [f"No line is surely low enough: {tape_below(wanted.height, system)} with every figure in its middle, none "
                 f"that all bands leave, most of it for {end_of(wanted.worst)}."]
    else:
        texts = [f"Draw it at most {tape_below(wanted.safe, system)} above the sump's bottom, pump running."]
        if wanted.height - wanted.safe > SAME:
            texts.append(f"({tape_below(wanted.height, system)} with every figure in its middle; the lower one is what "
                         f"all bands leave, most of it for {end_of(wanted.worst)}.)")
    texts += _own_line(assessment, wanted, system) + _low_line(assessment, wanted, system)
    texts += _blocked_line(study, wanted, system)
    texts += _other_line(assessment, wanted, system)
    return [texts[0], " ".join(texts[1:])]


def end_of(worst: str) -> str:
    """Return the input that weighs most, in quotes, and its end."""
    name, _, end = worst.rpartition(" at its ")
    return f"'{name}' at its {end}"


def _own_line(assessment: Assessment, wanted: RunningLine, system: str) -> list[str]:
    stated, runs = stated_line(assessment), running_line(assessment)
    own = stated if stated is not None else runs
    if own is None or wanted.height is None:
        return []
    whose = f"{'Yours' if stated is not None else 'With your water it runs'} at {tape(own, system)}"
    bound = wanted.height if wanted.safe is None else wanted.safe
    gap = floor_mark(bound - own, system)
    if 0.0 <= gap < SAME:
        return [f"{whose}: right at it."]
    row = next(iter(assessment.of(CheckKind.INTAKE)), None)
    short = (assessment.answer.kind == DRAWS_AIR or row is None or row.margin < 0.0
             or (assessment.check(CheckKind.ALL_BLOCKED).margin < 0.0 and not remote(assessment.results)))
    below = "below it" if short else "below it, good"
    return [f"{whose}: {tape(abs(gap), system)} {below if gap > 0 else 'too high'}."]


def _low_line(assessment: Assessment, wanted: RunningLine, system: str) -> list[str]:
    """Return the warning that the pump's intake is hardly under water at that line."""
    height = wanted.safe if wanted.safe is not None else wanted.height
    if height is None:
        return []
    results = assessment.results
    intake = float(results.element(results.network.pump).intake) - sump_bottom(results.network)
    needed = assessment.check(CheckKind.INTAKE).limit
    if height >= intake + needed:
        return []
    return [f"At {tape_below(height, system)} the pump may draw air: its intake, at {tape(intake, system)}, asks for "
            f"{tape(needed, system)} of water over it."]


def _blocked_line(study: Study, wanted: RunningLine, system: str) -> list[str]:
    """Return the line above which blocked drains send more water up than the tank has room for, where it is the lower one."""
    height, results = wanted.safe if wanted.safe is not None else wanted.height, study.assessment.results
    if height is None or remote(results):
        return []
    limit = study.blocked_line
    who = "every drain" if len(results.network.drains) > 1 else "the only drain"
    over = -math.inf if limit is None else limit - sump_bottom(results.network)
    if over >= height:
        return []
    where = "even at the pump's intake" if limit is None else f"above {tape_below(over, system)}"
    return [f"That line is for a power cut: {where} the pump brings up more, {who} blocked, than the tank has room for."]


def _other_line(assessment: Assessment, wanted: RunningLine, system: str) -> list[str]:
    """Return the line that would do if the siphon breaks were counted on, where that is another one."""
    results = assessment.results
    if wanted.breaks or not any(results.element(k).end.break_at is not None for k in results.network.returns):
        return []
    other = next(line for line in assessment.lines if (line.breaks, line.holds) == (True, wanted.holds))
    if other.height is None or (wanted.height is not None and other.height - wanted.height < SAME):
        return []
    trust = "" if results.breaks_counted() else " (too small to be trusted)"
    return [f"If the siphon breaks{trust} work: at most {tape_below(other.height, system)}."]


def coming_down(assessment: Assessment, system: str) -> str:
    """Return what comes down in the case that has to fit, against the room."""
    case = assessment.results.stopped[assessment.results.wanted_cut()]
    room = case.comes_down + case.spare
    return (f"{show(case.comes_down, 'volume', system)} come down, and the sump has room for "
            f"{show(max(room, 0.0), 'volume', system)}.")


def counted_on(wanted: tuple[bool, bool]) -> str:
    """Return what a case of a power cut counts on."""
    names = [name for name, on in zip(("siphon breaks", "check valves"), wanted, strict=True) if on]
    return f"counting on the {' and the '.join(names)}" if names else "counting on no siphon break and no check valve"


def cut_answer(assessment: Assessment, system: str) -> list[str]:
    """Return what a power cut does in the case that has to fit, and what that rests on."""
    results = assessment.results
    if not results.stopped:
        return ["Not worked out: there is no running state to stop from."]
    wanted = results.wanted_cut()
    row = assessment.check(CheckKind.POWER_CUT)
    texts = [f"{row.verdict.capitalize()}, {counted_on(wanted)}.", where_it_ends(results.stopped[wanted], assessment, system)]
    if row.verdict != HOLDS:
        texts += [f"{reason[:1].upper()}{reason[1:]}." for reason in why_not(row, wanted)]
    other = results.stopped[True, wanted[1]]
    if not wanted[0] and results.stopped[wanted].comes_down - other.comes_down > 1e-4:
        texts.append("With siphon breaks that work: " + where_it_ends(other, assessment, system))
    if BREAKS in assessment.build.counts_on and not wanted[0]:
        texts.append("You count on the siphon breaks; one is missing or too small to be trusted, so they are taken as plugged.")
    return [texts[0] + " " + texts[1], " ".join(texts[2:])]


def why_not(cut: Check, wanted: tuple[bool, bool]) -> list[str]:
    """Return the reasons of a check on a power cut, without the case that it is of."""
    return [reason for reason in cut.reasons if reason != case_of_cut(*wanted)]


def where_it_ends(case: Shutdown, assessment: Assessment, system: str) -> str:
    """Return how much comes down and where the sump ends, or how much goes over."""
    network = assessment.results.network
    brim = "rim" if assessment.build.sump.lowest_opening is None else "lowest opening"
    comes = f"{show(case.comes_down, 'volume', system)} come down"
    if case.spare < 0.0:
        return f"{comes}; {show(-case.spare, 'volume', system)} of it go over the sump's {brim}."
    level = case.sump_level
    return (f"{comes}; the sump ends at {tape_above(level - sump_bottom(network), system)}, "
            f"{tape_below(sump_opening(network) - level, system)} below its {brim}.")


def blocked_answer(assessment: Assessment, system: str) -> list[str]:
    """Return what the worst single blocked drain does to the tank, and what all of them blocked do."""
    rows = assessment.of(CheckKind.BLOCKED)
    if not rows:
        return ["Not worked out: there is no running state to block a drain in."]
    worst = max(rows, key=gravity)
    name = worst.subject
    brim = "rim" if assessment.build.tank.lowest_opening is None else "lowest opening"
    several = len(assessment.results.network.drains) > 1
    who = f"Worst with '{name}' blocked" if several else f"'{name}' is the only drain; blocked"
    why = f" ({worst.because})" if worst.verdict == ONLY_JUST and worst.because else ""
    everything = assessment.check(CheckKind.ALL_BLOCKED)
    said = "All blocked at once" if several else "With only the water that is in it"
    over = f": {litres(-everything.margin, system)} go over its {brim}" if everything.margin < -CUP else ""
    room = f"has room for {litres(everything.limit, system)}{over}"
    if everything.limit < 0.0:
        room = f"stands over its {brim} already"
    return [f"{worst.verdict.capitalize()}. {who}, the sump kept topped up: the tank {_stands(worst, brim, system)}{why}.",
            f"{said}, the pump can bring up {litres(everything.value, system)} more, and the tank {room}."]


def _stands(row: Check, brim: str, system: str) -> str:
    if row.margin >= 0.0:
        return f"stands {tape_below(row.margin, system)} below its {brim}"
    over = f", by {tape(-row.margin, system)} if it could" if -row.margin < HIGH else ""
    return f"goes over its {brim}{over}"


def litres(volume: float, system: str) -> str:
    """Return a volume, nothing where it is less than a cup."""
    return show(volume if abs(volume) > CUP else 0.0, "volume", system)
