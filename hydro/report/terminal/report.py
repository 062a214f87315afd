"""The whole report as text for a terminal of 80 columns: the answers first, then the tables."""

from __future__ import annotations

from hydro.checks.assessment import Assessment
from hydro.report.content.view import View
from hydro.report.terminal.basis import asked_back, assumptions, moves_most
from hydro.report.terminal.check_table import check_rows
from hydro.report.terminal.not_judged import beyond
from hydro.report.terminal.running import running
from hydro.report.terminal.several.terminal import text as several
from hydro.report.terminal.stopping import stopping
from hydro.report.terminal.summary import first_screen
from hydro.study import Study


def text(found: Study | Assessment, units: str | None = None, each: bool = False) -> str:
    """Return the report on a study, or on an assessment by itself.

    `units` is 'metric', 'US' or 'imperial', by default what the build asks for. Of several tanks, sumps or pumps those built
    alike are told as one, unless `each` asks for every one of them.
    """
    study = Study.of(found)
    assessment = study.assessment
    system = units or assessment.build.units
    if not assessment.build.one:
        return "\n".join(several(View.of(study, system, each))) + "\n"
    lines = first_screen(study, system) + check_rows(assessment, system)
    if assessment.answer.state is not None:
        lines += running(assessment, system)
    if assessment.results.stopped:
        lines += stopping(assessment, system)
    lines += asked_back(assessment)
    lines += assumptions(assessment, system) + moves_most(assessment, system) + beyond(assessment, system)
    return "\n".join(lines) + "\n"
