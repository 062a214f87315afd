"""The first screen of a build of several: what is special, the line, the power cut, blocked drains, flows, the verdict."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.checks import Check, CheckKind
from hydro.quantities.formatting import show
from hydro.quantities.tape import mark, tape
from hydro.report.content.grouping import few
from hydro.report.content.levels import bottom_of, brim_of, sump_bottom
from hydro.report.content.view import View
from hydro.report.terminal.abnormal import IN_SUMP, SAID
from hydro.report.terminal.faults import single_faults
from hydro.report.terminal.layout import clean, labelled, wrap
from hydro.report.terminal.several.answers import blocked_answer, line_answer
from hydro.report.terminal.several.cut import cut_answer
from hydro.report.terminal.several.expect import expected
from hydro.report.terminal.summary import verdict
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, DRAWS_AIR, STEADY, SURGES

SWING = 1e-3
"""A level that moves less than this stands, m."""


def first_screen(view: View) -> list[str]:
    """Return the answers that come before all tables."""
    build, answer = view.assessment.build, view.assessment.answer
    lines = wrap(build.title or "A build", 80)[:3]
    if build.file:
        lines.append(clean(build.file))
    lines.append("")
    if answer.kind != STEADY or answer.others:
        lines += labelled("Attention", *special(view))
    lines += labelled("Attention", *runs_over(view))
    lines += labelled("Felt-pen line", *line_answer(view))
    lines += labelled("Power cut", *cut_answer(view))
    lines += labelled("Blocked drain", *blocked_answer(view))
    if answer.runs:
        lines += labelled("Single faults", *single_faults(view.study.faults))
    lines += labelled("Expect", *expected(view))
    return lines + labelled("Verdict", *verdict(view.assessment, lambda checks: topics(view, checks)))


def topics(view: View, checks: Sequence[Check]) -> list[str]:
    """Return short names of checks, those of one kind together, what is folded by what it is called."""
    found: dict[str, list[str]] = {}
    for check in checks:
        found.setdefault(check.kind.title, []).append(view.folding.called(check.subject) if check.worst else check.subject)
    return [title + (f" ({few(subjects)})" if any(subjects) else "") for title, subjects in found.items()]


def special(view: View) -> list[str]:
    """Return what is special about the way it runs: the reason, naming pump or drains, and the figures that it rests on."""
    answer = view.assessment.answer
    texts = [f"{SAID[answer.kind]}: {view.folding.told(answer.reason)}."]
    if answer.kind == SURGES:
        texts += _swings(view)
    else:
        figures = [f"{name} {_figure(view, name, value)}" for name, value in answer.figures.items()]
        texts += [f"{'; '.join(figures)}."] if figures else []
    if answer.kind == STEADY and answer.others:
        texts += _swings(view, "may stand at", " or ")
    if answer.kind in (DRAWS_AIR, CANNOT_LIFT, BACKWARDS):
        texts.append("Mend that first: what follows is for the build as it stands.")
    if answer.one_reachable:
        texts.append("With so many drains this is one state that a dry start reaches; there may be others.")
    return texts


def _figure(view: View, name: str, value: float) -> str:
    """Return a figure of the answer with its unit; levels in the sump are counted from its bottom."""
    if name not in IN_SUMP:
        return show(value, "flow" if "flow" in name else "length", view.system)
    network, which = view.network, view.assessment.answer.which
    drawn = network.pump_chamber if which is None else network.links[which].up
    sump = network.sump_of(drawn) if drawn in network.chambers else network.sump_of(network.pump_chamber)
    return f"{tape(value - bottom_of(network, sump[0]), view.system)} above the bottom of {view.sump(sump)}"


def _swings(view: View, verb: str = "swings between", joint: str = " and ") -> list[str]:
    """Return between which levels each tank, and the pump chamber, moves: of many alike the one that moves most."""
    states, network = view.assessment.answer.states, view.network
    moving = []
    for k in network.uppers:
        levels = [float(state.levels[k]) - bottom_of(network, k) for state in states]
        if max(levels) - min(levels) > SWING:
            moving.append((network.waters[k].name, (min(levels), max(levels))))
    texts = []
    for fold in view.folding.of("tanks", moving):
        name, (low, high) = fold.most(lambda ends: ends[1] - ends[0])
        among = "" if fold.alone else f", the widest of {fold.called},"
        texts.append(f"{name}{among} {verb} {mark(low, view.system)}{joint}{tape(high, view.system)} above its bottom.")
    figures = view.assessment.answer.figures
    lowest, highest = figures.get("lowest pump chamber level"), figures.get("highest pump chamber level")
    if lowest is not None and highest is not None and highest - lowest > SWING:
        bottom = sump_bottom(network)
        texts.append(f"The water in {view.chamber(network.pump_chamber)} swings between {mark(lowest - bottom, view.system)} and "
                     f"{tape(highest - bottom, view.system)}.")
    return texts


def runs_over(view: View) -> list[str]:
    """Return a warning for each vessel that runs over while nothing is amiss; such levels cannot stand, they are wanted."""
    texts = []
    for check in view.assessment.of(CheckKind.TANK_ROOM, CheckKind.SUMP_ROOM):
        water = check.water
        if check.margin >= 0.0 or water is None:
            continue
        who = view.water(water) if check.kind is CheckKind.TANK_ROOM else view.sump(view.network.sump_of(water))
        among = f" (the worst of {len(check.stands_for)} x {check.subject})" if check.worst else ""
        texts.append(f"{who[:1].upper()}{who[1:]}{among} runs over with nothing blocked: its water would have to stand "
                     f"{tape(-check.margin, view.system)} above its {brim_of(view.results, water)}.")
    return [*texts, "Mend that first: what follows is for water that cannot stand so high."] if texts else []
