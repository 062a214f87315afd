"""The whole report on a build of several, as text for a terminal of 80 columns: the answers first, then the tables."""

from __future__ import annotations

from hydro.checks import Check
from hydro.checks.check import RANK
from hydro.report.content.grouping import MANY
from hydro.report.content.view import View
from hydro.report.terminal.basis import asked_back, assumptions, moves_most
from hydro.report.terminal.check_table import check_rows
from hydro.report.terminal.layout import heading, paragraph
from hydro.report.terminal.not_judged import beyond
from hydro.report.terminal.several.loose import loose
from hydro.report.terminal.several.passages import edge_table, pipe_table, wall_table
from hydro.report.terminal.several.pumps import head_table, pump_table
from hydro.report.terminal.several.screen import first_screen
from hydro.report.terminal.several.stopping import stopping
from hydro.report.terminal.several.tables import drain_table, level_table, return_table
from hydro.steady.operating_point import SURGES


def text(view: View) -> list[str]:
    """Return the lines of the report."""
    assessment, system, folding = view.assessment, view.system, view.folding
    lines = [*first_screen(View.of(view.study, system)), *checks(view)]
    if assessment.answer.state is not None:
        lines += running(view)
    if assessment.results.stopped:
        lines += stopping(view)
    return [*lines, *loose(view), *asked_back(assessment, folding), *assumptions(assessment, system, folding),
            *moves_most(assessment, system), *beyond(assessment, system, folding)]


def checks(view: View) -> list[str]:
    """Return the table of checks; of more than a few on the same thing, not folded already, the worst one stays."""
    kept: list[Check] = []
    notes = []
    alike: dict[str, list[Check]] = {}
    for check in view.assessment.checks:
        alike.setdefault(check.kind.title, []).append(check)
    for topic, rows in alike.items():
        if view.folding.each or len(rows) <= MANY:
            continue
        notes.append(f"{topic}: {len(rows) - 1} more")
        alike[topic] = [max(rows, key=lambda row: (RANK[row.verdict], -row.margin))]
    told = {id(row) for rows in alike.values() for row in rows}
    kept += [check for check in view.assessment.checks if id(check) in told]
    lines = check_rows(view.assessment, view.system, kept)
    return lines + (paragraph(f"Not shown, none of them worse: {'; '.join(notes)}.") if notes else [])


def running(view: View) -> list[str]:
    """Return the section on the running state, once for every way in which it may run."""
    answer = view.assessment.answer
    reason = view.folding.told(answer.reason)
    lines = [*heading("Running"), *paragraph(f"How it runs: {answer.kind} ({reason}).")]
    for number, state in enumerate(answer.states):
        if len(answer.states) > 1:
            kind = (("low", "high")[number % 2] + " bound of the surging" if answer.kind == SURGES
                    else f"way {number + 1} of {len(answer.states)}")
            lines += ["", f"  * {kind}"]
        lines += [*level_table(view, state), *edge_table(view, state), *drain_table(view, state), *pump_table(view, state),
                  *return_table(view, state), *pipe_table(view, state), *wall_table(view, state)]
    return lines + head_table(view, answer.states[0])
