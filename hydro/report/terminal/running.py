"""The tables of the running state: levels, drains, returns, walls, the pump on its curve and where its head goes."""

from __future__ import annotations

from typing import Any

from hydro.checks.assessment import Assessment
from hydro.network.model import TANK
from hydro.quantities.formatting import convert, show, unit_name
from hydro.quantities.tape import mark, rounded_band, seconds, tape_band
from hydro.report.content.buckets import BUCKETS
from hydro.report.content.flows import drain_runs, hole_runs, limits_when_full, return_name, return_runs, wall_runs
from hydro.report.content.head_budget import Path, paths, pump_head
from hydro.report.content.levels import levels, rim_of
from hydro.report.content.tuned import tuned_told
from hydro.report.terminal.layout import heading, paragraph, table
from hydro.steady.operating_point import STEADY, SURGES
from hydro.steady.state import State

SMALL = 1e-3
"""Parts that lose less head than this are shown together, m."""


def running(assessment: Assessment, system: str) -> list[str]:
    """Return the section on the running state, once for every way in which it may run."""
    states = assessment.answer.states
    lines = [*heading("Running"), *paragraph(f"How it runs: {assessment.answer.kind} ({assessment.answer.reason}).")]
    for number, state in enumerate(states):
        if len(states) > 1:
            kind = (("low", "high")[number % 2] + " bound of the surging" if assessment.answer.kind == SURGES
                    else f"way {number + 1} of {len(states)}")
            lines += ["", f"  * {kind}"]
        lines += _levels(assessment, state, system) + _drains(assessment, state, system)
        lines += _returns(assessment, state, system) + _walls(state, system)
    return lines + head_budget(assessment, states[0], system)


def _levels(assessment: Assessment, state: State, system: str) -> list[str]:
    unit = unit_name("length", system)
    rows = [["water", f"above its bottom, {unit}", "likely", f"below its rim, {unit}", "likely", f"below its opening, {unit}"]]
    for level in levels(assessment, state):
        over, under = tape_band(level.over_bottom, system), tape_band(level.under_rim, system)
        name = level.name if level.kind != TANK else "tank"
        rows.append([name, *over, *under, mark(level.under_opening, system)])
    network = assessment.results.network
    opening = network.waters[network.tank].opening
    same = opening is None or abs(float(opening) - rim_of(assessment.results, network.tank)) < 1e-6
    sump = assessment.build.sump.lowest_opening is None
    shown = [row[:-1] for row in rows] if same and sump else rows
    return ["", *table(shown)]


def _drains(assessment: Assessment, state: State, system: str) -> list[str]:
    rows = [["drain", f"flow, {unit_name('flow', system)}", "likely", f"speed, {unit_name('speed', system)}",
             f"over its lip, {unit_name('length', system)}", "J", "runs", "ruled by"]]
    for run in drain_runs(assessment, state):
        rows.append([run.name, *rounded_band(run.flow, "flow", system), f"{convert(run.speed, 'speed', system):.2g}",
                     mark(run.over_lip, system) if run.over_lip > 0.0 else "-", f"{run.air_number:.2f}", run.runs, run.ruled_by])
    return ["", *table(rows, words=(0, 6, 7)),
            *paragraph("J is the speed in the pipe over sqrt(g D), D its bore: up to 0.3 a drain vents itself quietly, up to 1 "
                       "it carries air along."),
            *paragraph(_ratings(state, system)), *(line for text in tuned_told(assessment) for line in paragraph(text))]


def _ratings(state: State, system: str) -> str:
    """Return what each drain can carry: with air before it primes, and full of water, as its inlet feeds it when it primes."""
    texts, limits = [], []
    for k in state.network.drains:
        drain: Any = state.network.links[k].element
        full, limit = drain.siphon_rating(float(state.ends(k)[1]))
        limits.append((drain.name, limit))
        texts.append(f"{drain.name} {show(drain.vented_rating(), 'flow', system, digits=2)} with air, "
                     f"{show(full, 'flow', system, digits=2)} full of water")
    return f"They can carry: {'; '.join(texts)}. Between the two an open drain flushes. {limits_when_full(limits)}"


def _returns(assessment: Assessment, state: State, system: str) -> list[str]:
    name, size = BUCKETS[system]
    rows = [["return", f"flow, {unit_name('flow', system)}", "likely", f"speed, {unit_name('speed', system)}",
             f"{name} take", "fastest in"]]
    for run in return_runs(assessment, state):
        low, middle, high = (0.0, 0.0, 0.0) if run.bucket is None else (size * time for time in run.bucket)
        rows.append([run.name, *rounded_band(run.flow, "flow", system), f"{convert(run.speed, 'speed', system):.2g}",
                     "-" if run.bucket is None else seconds((low, middle, high), system), run.where])
    lines = ["", *table(rows, words=(0, 5))]
    for hole in hole_runs(state):
        lines += paragraph(f"{hole.name}: its hole lets out {show(max(hole.flow, 0.0), 'flow', system, digits=2)} while running.")
    return lines


def _walls(state: State, system: str) -> list[str]:
    walls = wall_runs(state)
    if not walls:
        return []
    unit = unit_name("length", system)
    rows = [["wall in the sump", f"drop, {unit}", f"water over its top, {unit}"]]
    for run in walls:
        over = "-" if run.over_top is None or run.over_top <= 0.0 else mark(run.over_top, system)
        rows.append([run.name, mark(run.drop, system), over])
    return ["", *table(rows)]


def head_budget(assessment: Assessment, state: State, system: str) -> list[str]:
    """Return where the pump's head goes, part by part, for each return."""
    network = state.network
    pump: Any = network.links[network.pump].element
    flow, last = float(state.pump_flow), float(pump.curve.flows[-1]) * float(pump.speed)
    best = float(pump.curve.shutoff) * float(pump.speed) ** 2
    lines = heading("Where the pump's head goes")
    head, at = show(pump_head(state), "length", system), show(flow, "flow", system, digits=2)
    lines += paragraph(f"The pump gives {head} at {at}. Its curve starts at {show(best, 'length', system)} with no flow, and its "
                       f"last point is at {show(last, 'flow', system)}: it works at {flow / last:.0%} of that.")
    if assessment.answer.kind != STEADY or assessment.answer.others:
        lines += paragraph("(In the first of the ways to run listed above.)")
    found = paths(state)
    rows = [["part", f"head, {_unit(system)}", "share"]]
    for number, path in enumerate(found):
        name = return_name(assessment, network.returns[number])
        rows += _path(path, name, system, first=number == 0, alone=len(found) == 1)
    return [*lines, "", *table(rows)]


def _unit(system: str) -> str:
    return unit_name("length", system)


def _path(path: Path, name: str, system: str, first: bool, alone: bool) -> list[list[str]]:
    def row(words: str, head: float) -> list[str]:
        return [words, head_text(head, system), f"{head / path.head:.1%}" if path.head > 0.0 else "-"]

    rows: list[list[str]] = []
    if path.shared and first:
        rows += [row(label, head) for label, head in by_size(path.shared)]
    if not alone:
        rows.append([f"to {name}:", "", ""])
    indent = "" if alone else "- "
    if path.shared and not alone:
        rows.append(row(f"{indent}all parts before, as above", sum(head for _, head in path.shared)))
    upper = "the mouth, in the air" if path.free else "the tank's"
    rows.append(row(f"{indent}lift: from the pump chamber's water to {upper}", path.lift))
    rows += [row(f"{indent}{label}", head) for label, head in by_size(path.own)]
    if abs(path.left) > 5e-4:
        rows.append(row(f"{indent}not used: the pump draws air", path.left))
    rows.append(row(f"{indent}in all, what the pump gives", path.head))
    return rows


def head_text(head: float, system: str) -> str:
    """Return a head without its unit: whole millimetres, or tenths of an inch."""
    number = convert(head, "length", system)
    return f"{round(number) + 0:.0f}" if system == "metric" else f"{round(number, 1) + 0.0:.1f}"


def by_size(parts: tuple[tuple[str, float], ...]) -> list[tuple[str, float]]:
    """Return the parts, those too small to matter as one."""
    large = [part for part in parts if abs(part[1]) >= SMALL]
    small = [part for part in parts if 0.0 < abs(part[1]) < SMALL]
    return [*large, (f"{len(small)} small parts", sum(head for _, head in small))] if len(small) > 1 else large + small
