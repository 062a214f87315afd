"""The section of the pump: its curve over what the loop asks for, where it works, and where its head goes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from markupsafe import Markup

from hydro.checks.assessment import Assessment
from hydro.checks.sensitivity import band
from hydro.report.content.grouping import Grouping
from hydro.report.content.head_budget import pump_head_of
from hydro.report.content.pump_points import PumpRun, pump_runs
from hydro.report.html.figures import both, both_band
from hydro.report.html.head_bars import Split, bar, head_rows, splits
from hydro.report.html.markup import PageSection, join, page_figure, page_paragraph, page_table, subheading
from hydro.report.html.plotting import Axis, Chart, ChartCurve, ChartMark, Point, draw
from hydro.scenarios.results import Results
from hydro.steady.operating_point import NO_FLOW, STEADY
from hydro.steady.state import State
from hydro.study import Study
from hydro.study.system_curve import most_flow

STEPS = 48
"""Points of a pump's curve."""
MOST_PUMPS, MOST_BARS = 3, 4


def pump_section(study: Study, system: str) -> PageSection | None:
    """Return the pump's section, None where the loop does not run."""
    assessment = study.assessment
    state = assessment.answer.state
    if state is None:
        return None
    network = state.network
    running = [k for k in network.pumps if float(network.links[k].element.running) > 0.5 and float(state.flows[k]) > NO_FLOW]
    runs = {run.name: run for run in pump_runs(assessment, state)}
    body: list[Markup] = []
    if assessment.answer.kind != STEADY or assessment.answer.others:
        body.append(page_paragraph(f"How it runs: {assessment.answer.kind}. What stands here is the first of the ways to run."))
    for k in running[:MOST_PUMPS]:
        body += _pump(study, state, k, runs[network.links[k].name], system)
    still = [run for run in runs.values() if network.place(run.name) not in running]
    body += [page_paragraph(f"{run.name}: {run.company}.") for run in still]
    if len(running) > MOST_PUMPS:
        body.append(page_paragraph(f"{len(running) - MOST_PUMPS} more pumps run; the report in text has them all."))
    title = "The pump over its system curve" if len(network.pumps) == 1 else "The pumps over their system curves"
    return PageSection("pump", title, join([*body, *_budget(assessment, state, system)]))


def _pump(study: Study, state: State, link: int, run: PumpRun, system: str) -> list[Markup]:
    pump: Any = state.network.links[link].element
    point = (run.flow[1], pump_head_of(state, link))
    most = most_flow(state, link)
    flows = [most * k / STEPS for k in range(STEPS + 1)]
    curve = [(q, float(pump.curve.head(q, pump.speed)[0])) for q in flows]
    asked = study.system_curve(link)
    edges = _edges(study.assessment, link, flows)
    high = 1.06 * max(*(head for _, head in curve), *(head for _, head in edges[1]), point[1])
    told = _sentence(run, point[1], asked, system)
    chart = Chart(f"{run.name}: head against flow", told, f"pump-{link}", Axis("flow", "flow", 0.0, most, system),
                  Axis("head", "head", 0.0, high, system),
                  [ChartCurve("pump", [p for p in curve if p[1] >= 0.0], 0, band=edges),
                   ChartCurve("what the loop asks for", [p for p in asked if p[1] <= high], 1, 3.0)],
                  [ChartMark("works here", point)], high=300.0)
    known = page_paragraph("The shaded band is what is not known of the pump; the loop's curve has its own, which is not drawn.",
                           class_="note")
    return [page_figure(draw(chart), told, class_="chart"), known]


def _sentence(run: PumpRun, head: float, asked: Sequence[Point], system: str) -> str:
    """Return where a pump works, in words."""
    words = (f"{run.name[:1].upper()}{run.name[1:]} works at {both_band(run.flow, 'flow', system)}, against "
             f"{both(head, 'length', system)} of head, at {run.flow[1] / run.last:.0%} of the last flow of its curve. With no "
             f"flow it gives {both(run.shutoff, 'length', system)}")
    return f"{words}; before anything flows the loop asks for {both(asked[0][1], 'length', system)}." if asked else f"{words}."


def _edges(assessment: Assessment, link: int, flows: list[float]) -> tuple[list[Point], list[Point]]:
    """Return the lower and the upper edge of the pump's curve under all bands."""
    def head_at(found: Results, flow: float) -> float:
        pump: Any = found.element(link)
        return float(pump.curve.head(flow, pump.speed)[0])

    bands = [(q, band(assessment.results, assessment.shifts, partial(head_at, flow=q))) for q in flows]
    return [(q, max(low, 0.0)) for q, (low, _, _) in bands], [(q, max(high, 0.0)) for q, (_, _, high) in bands]


def _budget(assessment: Assessment, state: State, system: str) -> list[Markup]:
    """Return bar and table for each return, those built alike by the one whose way costs most."""
    found = splits(assessment, state)
    grouped_all = Grouping.by(assessment.build).of("returns", [(split.name, split) for split in found])
    shown = [(grouped, grouped.most(lambda split: split.head - split.by_kind["lift"])[1]) for grouped in grouped_all][:MOST_BARS]
    if not shown:
        return []
    made: list[Markup] = [subheading("Where the head goes")]
    longest = max(split.head for _, split in shown)
    for number, (grouped, split) in enumerate(shown):
        name = split.name if grouped.alone else f"{grouped.called}; shown: {split.name}, on whose way most is lost"
        made += [page_figure(bar(split, longest, f"head-{number}", system), f"On the way to {name}.", class_="chart"),
                 _table(split, name, system)]
    if len(grouped_all) > MOST_BARS:
        made.append(page_paragraph(f"{len(grouped_all) - MOST_BARS} more returns are left out here."))
    return [*made,
            page_paragraph("The exit is the velocity head that is lost where the water leaves the line. Part by part it stands "
                           "in the report in text.", class_="note")]


def _table(split: Split, name: str, system: str) -> Markup:
    where = "the mouth, in the air" if split.free else "the tank's water"
    caption = f"{name}: {both(split.flow, 'flow', system)}; the lift goes up to {where}"
    return page_table(caption, ("share of the head", "head", "of all"), head_rows(split, system))
