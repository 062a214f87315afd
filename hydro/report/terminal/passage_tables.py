"""Pipes between headers or waters, edges of overflow boxes, and walls in the sumps, while it runs."""

from __future__ import annotations

from hydro.quantities.formatting import convert
from hydro.quantities.tape import mark
from hydro.report.content.flows import wall_runs
from hydro.report.content.pipe_flows import edge_runs, pipe_runs
from hydro.report.content.view import View, which
from hydro.report.terminal.layout import noted, table
from hydro.steady.state import State


def pipe_table(view: View, state: State) -> list[str]:
    """Return what each run between headers or waters carries; nothing where there is none."""
    runs = pipe_runs(view.assessment, state)
    if not runs:
        return []
    rows = [["pipe", "from", "to", f"flow, {view.unit('flow')}", "likely", f"speed, {view.unit('speed')}"]]
    notes = []
    for grouped in view.grouping.of("pipes", [(run.name, run) for run in runs]):
        shown, likely = view.bands(grouped, lambda run: run.flow, "flow")
        rows.append([grouped.called, grouped.all[0].start, grouped.all[-1].finish, shown, likely if grouped.alone else "",
                     grouped.between(lambda run: run.speed, lambda one: f"{convert(one, 'speed', view.system):.2g}")])
        notes.append(which(grouped, lambda run: run.flow[1], rows[-1][3]))
    back = any(run.flow[1] < 0.0 for run in runs)
    return ["", *table(rows, words=(0, 1, 2)), *noted(notes), *noted(["A flow below zero goes the other way"] if back else [])]


def edge_table(view: View, state: State) -> list[str]:
    """Return what goes over the edge of each overflow box; nothing where there is none."""
    runs = edge_runs(view.assessment, state)
    if not runs:
        return []
    rows = [["edge of a box", f"flow, {view.unit('flow')}", "likely", f"water over it, {view.unit('length')}"]]
    notes = []
    for grouped in view.grouping.of("edges", [(run.name, run) for run in runs]):
        rows.append([grouped.called, *view.bands(grouped, lambda run: run.flow, "flow"),
                     grouped.between(lambda run: run.over, lambda one: mark(one, view.system) if one > 0.0 else "-")])
        notes.append(which(grouped, lambda run: run.flow[1], rows[-1][1]))
    return ["", *table(rows), *noted(notes)]


def wall_table(view: View, state: State) -> list[str]:
    """Return what each wall in the sumps does; nothing where there is none."""
    runs = wall_runs(state)
    if not runs:
        return []
    unit = view.unit("length")
    rows = [["wall in a sump", f"drop, {unit}", f"water over its top, {unit}"]]
    for grouped in view.grouping.of("walls", [(run.name, run) for run in runs]):
        rows.append([grouped.called, grouped.between(lambda run: run.drop, lambda one: mark(one, view.system)),
                     grouped.between(lambda run: run.over_top or 0.0, lambda one: mark(one, view.system) if one > 0.0 else "-")])
    return ["", *table(rows)]
