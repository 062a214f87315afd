"""The tables of the running state, things built several times over as 'lowest .. highest': levels, drains, returns."""

from __future__ import annotations

from collections import Counter

from hydro.network.model import CHAMBER
from hydro.quantities.formatting import convert
from hydro.quantities.tape import Band, mark, seconds, tape_band
from hydro.report.content.buckets import BUCKETS
from hydro.report.content.flows import DrainRun, ReturnRun, drain_runs, hole_runs, limits_when_full, return_runs
from hydro.report.content.grouping import Grouped
from hydro.report.content.levels import Level, levels
from hydro.report.content.sentences import DOWN, UP, least_to_most, range_of_heights, without_unit, written
from hydro.report.content.tuned import tuned_told
from hydro.report.content.view import View, which
from hydro.report.terminal.layout import heading, noted, paragraph, table
from hydro.report.terminal.passage_tables import edge_table, pipe_table, wall_table
from hydro.report.terminal.pump_tables import head_section, pump_table
from hydro.steady.operating_point import SURGES
from hydro.steady.state import State

STILL = 1e-4
"""A speed below this is no flow, m/s."""


def running_section(view: View) -> list[str]:
    """Return the section on the running state, once for every way in which it may run; nothing where it does not."""
    answer = view.assessment.answer
    if answer.state is None:
        return []
    lines = [*heading("Running"), *paragraph(f"How it runs: {answer.kind} ({view.grouping.reason(answer.reason)}).")]
    for number, state in enumerate(answer.states):
        if len(answer.states) > 1:
            kind = (("low", "high")[number % 2] + " bound of the surging" if answer.kind == SURGES
                    else f"way {number + 1} of {len(answer.states)}")
            lines += ["", f"  * {kind}"]
        for table_of in (level_table, edge_table, drain_table, pump_table, return_table, pipe_table, wall_table):
            lines += table_of(view, state)
    return lines + head_section(view, answer.states[0])


def level_table(view: View, state: State) -> list[str]:
    """Return where each water stands, over its bottom and below its rim and opening."""
    found = levels(view.assessment, state)
    unit = view.unit("length")
    opened = any(abs(level.opening - level.rim) > 1e-6 for level in found)
    head = ["water", f"above its bottom, {unit}", "likely", f"below its rim, {unit}", "likely"]
    rows = [head + ([f"below its opening, {unit}"] if opened else [])]
    notes = []
    for grouped in _waters(view, found):
        over, under = _heights(view, grouped, False), _heights(view, grouped, True)
        free = range_of_heights(grouped.ends(lambda level: level.under_opening), DOWN)
        opening = [without_unit(free, view.system)[0]] if opened else []
        rows.append([grouped.called, *over, *under, *opening])
        notes.append(which(grouped, lambda level: level.height - level.bottom, rows[-1][1]))
    return ["", *table(rows), *noted(notes)]


def _waters(view: View, found: list[Level]) -> list[Grouped[Level]]:
    """Return the waters as they are told: tanks, boxes and chambers each among their own kind."""
    kinds = {level.kind: "chambers" if level.kind == CHAMBER else "boxes" if level.kind == "box" else "tanks" for level in found}
    return [grouped for kind, words in kinds.items()
            for grouped in view.grouping.of(words, [(level.name, level) for level in found if level.kind == kind])]


def _heights(view: View, grouped: Grouped[Level], under: bool) -> tuple[str, str]:
    """Return the heights of things alike and all their bands together: over the bottom rounded up, under the rim down."""
    towards = DOWN if under else UP

    def ask(level: Level) -> Band:
        return level.under_rim if under else level.over_bottom

    if grouped.alone:
        return tape_band(ask(grouped.all[0]), view.system, towards)
    bands = [ask(level) for level in grouped.all]
    low, high = min(band[0] for band in bands), max(band[2] for band in bands)
    likely = tape_band((low, bands[0][1], high), view.system)[1] if any(band[0] < band[2] for band in bands) else ""
    return without_unit(range_of_heights(grouped.ends(lambda level: ask(level)[1]), towards), view.system)[0], likely


def drain_table(view: View, state: State) -> list[str]:
    """Return what each drain carries and how it runs, alone also how fast and by what ruled; of alike ones how many run how."""
    system = view.system
    grouped_all = view.grouping.of("drains", [(run.name, run) for run in drain_runs(view.assessment, state)])
    alone = all(grouped.alone for grouped in grouped_all)
    rows = [["drain", f"flow, {view.unit('flow')}", "likely", *([f"speed, {view.unit('speed')}"] if alone else []),
             f"over its lip, {view.unit('length')}", "J", "runs", *(["ruled by"] if alone else [])]]
    notes = []
    for grouped in grouped_all:
        speed = [grouped.between(lambda run: run.speed, lambda one: f"{convert(one, 'speed', system):.2g}")] if alone else []
        rows.append([grouped.called, *view.bands(grouped, lambda run: run.flow, "flow"), *speed,
                     grouped.between(lambda run: run.over_lip, lambda one: mark(one, system) if one > 0.0 else "-"),
                     grouped.between(lambda run: run.air_number, lambda one: f"{one:.2f}"), ways_counted(grouped),
                     *([grouped.all[0].ruled_by] if alone else [])])
        notes.append(which(grouped, lambda run: run.flow[1], rows[-1][1]))
    return ["", *table(rows, words=(0, 6, 7) if alone else (0, 5)), *noted(notes),
            *paragraph("J is the speed in the pipe over sqrt(g D), D its bore: up to 0.3 a drain vents itself quietly, up to 1 "
                       "it carries air along."), *paragraph(_ratings(view, state)),
            *(line for text in tuned_told(view.assessment) for line in paragraph(text))]


def ways_counted(grouped: Grouped[DrainRun]) -> str:
    """Return how drains alike run: 'quiet', or '10 quiet, 2 carries air'."""
    count = Counter(run.runs for run in grouped.all)
    return next(iter(count)) if len(count) == 1 else ", ".join(f"{number} {words}" for words, number in count.most_common())


def _ratings(view: View, state: State) -> str:
    """Return what drains can carry: with air before they prime, and full of water, as their inlets feed them when they prime."""
    pairs, limits = [], {}
    for k in state.network.drains:
        drain = state.network.links[k].element
        full, limits[drain.name] = drain.siphon_rating(float(state.ends(k)[1]))
        pairs.append((drain.name, (float(drain.vented_rating()), full)))
    texts, limited = [], []
    for grouped in view.grouping.of("drains", pairs):
        vented, full_of = (written(least_to_most(*grouped.ends(lambda pair, n=n: pair[n]), "flow", 2), view.system)  # type: ignore[misc]
                           for n in (0, 1))
        texts.append(f"{grouped.called} {vented} with air, {full_of} full of water")
        limited += [(grouped.called, limits[name]) for name, _ in grouped.members]
    return f"They can carry: {'; '.join(texts)}. Between the two an open drain flushes. {limits_when_full(limited)}"


def return_table(view: View, state: State) -> list[str]:
    """Return what each return delivers, how fast, and how long a bucket takes at its mouth."""
    name, size = BUCKETS[view.system]
    rows = [["return", f"flow, {view.unit('flow')}", "likely", f"speed, {view.unit('speed')}", f"{name} take", "fastest in"]]
    notes = []
    for grouped in view.grouping.of("returns", [(run.name, run) for run in return_runs(view.assessment, state)]):
        fastest = grouped.most(lambda run: run.speed)[1]
        rows.append([grouped.called, *view.bands(grouped, lambda run: run.flow, "flow"),
                     grouped.between(lambda run: run.speed if run.speed > STILL else 0.0,
                                     lambda one: f"{convert(one, 'speed', view.system):.2g}"),
                     _bucket(view, grouped, size), fastest.where])
        notes.append(which(grouped, lambda run: run.flow[1], rows[-1][1]))
    lines = ["", *table(rows, words=(0, 5)), *noted(notes)]
    for hole in view.grouping.of("siphon breaks", [(hole.name, hole) for hole in hole_runs(state)]):
        leaks = written(least_to_most(*hole.ends(lambda run: max(run.flow, 0.0)), "flow", 2), view.system)
        lines += paragraph(f"{hole.called}: its hole lets out {leaks} while running.")
    return lines


def _bucket(view: View, grouped: Grouped[ReturnRun], size: float) -> str:
    """Return the time for a bucket; of many alike from the quickest at its best to the slowest at its worst."""
    bands = [run.bucket for run in grouped.all if run.bucket is not None]
    if not bands:
        return "-"
    low, middle, high = min(band[0] for band in bands), bands[0][1], max(band[2] for band in bands)
    return seconds((size * low, size * middle, size * high), view.system) + ("" if len(bands) == len(grouped.all) else " or none")
