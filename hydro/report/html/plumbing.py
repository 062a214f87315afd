"""The section of the plumbing: what each tank's drains do together, every line as it is built up, with flow and speed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from markupsafe import Markup

from hydro.checks.assessment import Assessment
from hydro.checks.drain_layouts import layout
from hydro.report.content.flows import (
    EDGE,
    FLUSHES,
    FULL,
    NARROW,
    NOTHING,
    PIPE,
    THROAT,
    DrainRun,
    ReturnRun,
    drain_runs,
    return_runs,
)
from hydro.report.content.grouped_text import grouped_lines
from hydro.report.content.grouping import Grouped, Grouping
from hydro.report.content.pump_points import pump_runs
from hydro.report.content.sentences import least_to_most, written
from hydro.report.html.figures import both_band
from hydro.report.html.lines_in_words import inlet_in_words, line_in_words
from hydro.report.html.markup import PageSection, heads, items, join, page_paragraph, page_table, strong, subheading
from hydro.steady.state import State
from hydro.study import Study

RUNS = {FULL: "as a siphon, full", FLUSHES: "fills and flushes in turn", "dry": "stands dry", "quiet": "with air, quiet",
        "carries air": "with air, which it carries along", "much air": "with much air"}
DRAINS = {"drain": 6.0, "flow": 10.0, "speed": 5.0, "over its lip": 5.0, "runs": 6.0, "ruled by": 6.0}
PUMPS = {"pump": 6.0, "flow": 10.0, "head": 6.0, "in company": 6.0}
RETURNS = {"return": 6.0, "flow": 10.0, "highest speed": 6.0, "in": 7.0}
BETWEEN = {"pipe": 6.0, "flow": 9.0, "highest speed": 6.0}
"""Columns with their least widths."""
RULES = {EDGE: "its edge", THROAT: "its throat", NARROW: "a narrow place in the line", PIPE: "the full pipe", NOTHING: "-"}


def plumbing_section(study: Study, system: str) -> PageSection | None:
    """Return the section; flows are left out where the loop does not run."""
    assessment = study.assessment
    state = assessment.answer.state
    body: list[Markup] = []
    if state is not None:
        body += _layouts(assessment, state)
        if assessment.answer.others:
            body.append(page_paragraph(f"How it runs: {assessment.answer.kind}. What stands here is the first of the ways "
                                       f"to run."))
    body += [subheading("Drains"), *(_drain_table(assessment, state, system) if state is not None else []),
             _built(assessment, _drains(assessment, system))]
    body += [subheading("Pump lines and returns"), *(_pressure_tables(assessment, state, system) if state is not None else []),
             _built(assessment, _pressure(assessment, system))]
    return PageSection("plumbing", "The plumbing, line by line", join(body))


def _layouts(assessment: Assessment, state: State) -> list[Markup]:
    """Return what the drains of each tank do together."""
    network = state.network
    told = [(network.waters[k].name, layout(network, assessment.answer, k) or "no name: they flush, or there are none")
            for k in network.tanks]
    if len(told) == 1:
        return [page_paragraph(f"The drains together: {told[0][1]}.")]
    return [page_paragraph("The drains of each tank together:"), items(grouped_lines(assessment.build, told))]


def _span(grouped: Grouped[Any], ask: Callable[[Any], float], dimension: str, system: str) -> str:
    """Return a figure of one thing, or the least and the most of several; '-' where there is nothing."""
    ends = grouped.ends(ask)
    return written(least_to_most(*ends, dimension), system, both=True) if any(ends) else "-"


def _likely(grouped: Grouped[Any], system: str) -> str:
    """Return the flow with its band, of several the least and the most."""
    if grouped.alone and max(grouped.all[0].flow) > 0.0:
        return both_band(grouped.all[0].flow, "flow", system)
    return _span(grouped, lambda run: float(run.flow[1]), "flow", system)


def _each(grouped: Grouped[Any], ask: Callable[[Any], str]) -> str:
    """Return in words what all of several do, each different one once."""
    return ", ".join(dict.fromkeys(map(ask, grouped.all)))


def _drain_table(assessment: Assessment, state: State, system: str) -> list[Markup]:
    grouped_all: list[Grouped[DrainRun]] = Grouping.by(assessment.build).of("drains", [(run.name, run) for run in
                                                                                       drain_runs(assessment, state)])
    rows = [(grouped.called, _likely(grouped, system), _span(grouped, lambda run: run.speed, "speed", system), _over(grouped,
                                                                                                                     system),
             _each(grouped, lambda run: RUNS.get(run.runs, run.runs)),
             _each(grouped, lambda run: RULES.get(run.ruled_by, run.ruled_by)))
            for grouped in grouped_all]
    if not rows:
        return []
    return [page_table("Drains while it runs", heads(DRAINS), rows, (0, 4, 5)),
            page_paragraph("'Ruled by' says what the level in the tank hangs on at this drain: change that, and the level moves.",
                           class_="note")]


def _over(grouped: Grouped[DrainRun], system: str) -> str:
    wet = [run.over_lip for run in grouped.all if run.over_lip > 0.0]
    return written(least_to_most(min(wet), max(wet), "length"), system, both=True) if wet else "-"


def _drains(assessment: Assessment, system: str) -> list[tuple[str, str]]:
    return [(one.name, f"{inlet_in_words(one, system)}; {line_in_words(one.line, system)}; ends in '{one.into}'")
            for one in assessment.build.drains]


def _pressure(assessment: Assessment, system: str) -> list[tuple[str, str]]:
    build = assessment.build
    told = [(one.name, f"draws from '{one.chamber}'; {line_in_words(one.line, system)}") for one in build.pumps]
    told += [(one.name, f"{line_in_words(one.line, system)}; ends in {one.tank}, pointing {one.points}") for one in build.returns]
    return told + [(one.name, f"from {one.start} to {one.finish}; {line_in_words(one.line, system)}") for one in build.runs]


def _built(assessment: Assessment, told: Sequence[tuple[str, str]]) -> Markup:
    made = (line.partition(": ") for line in grouped_lines(assessment.build, told))
    return items((join((strong(name), colon, text)) for name, colon, text in made), class_="lines")


def _pressure_tables(assessment: Assessment, state: State, system: str) -> list[Markup]:
    grouping = Grouping.by(assessment.build)
    pumps = grouping.of("pumps", [(run.name, run) for run in pump_runs(assessment, state)])
    made = [page_table("Pumps while they run", heads(PUMPS),
                       [(grouped.called, _likely(grouped, system), _span(grouped, lambda run: run.head, "length", system),
                         _each(grouped, lambda run: run.company)) for grouped in pumps], (0, 3))]
    returns: list[Grouped[ReturnRun]] = grouping.of("returns", [(run.name, run) for run in return_runs(assessment, state)])
    made.append(page_table("Returns while they run", heads(RETURNS),
                           [(grouped.called, _likely(grouped, system), _span(grouped, lambda run: run.speed, "speed", system),
                             grouped.most(lambda run: run.speed)[1].where) for grouped in returns], (0, 3)))
    links = [(run.name, state.network.place(run.name)) for run in assessment.build.runs
             if any(link.name == run.name for link in state.network.links)]
    if links:
        made.append(page_table("Pipes between while it runs", heads(BETWEEN),
                               [(grouped.called, _span(grouped, lambda k: abs(float(state.flows[k])), "flow", system),
                                 _span(grouped, lambda k: _fastest(state, k), "speed", system))
                                for grouped in grouping.of("pipes", links)]))
    return made


def _fastest(state: State, link: int) -> float:
    element: Any = state.network.links[link].element
    return float(element.line.fastest(abs(float(state.flows[link])))[0])
