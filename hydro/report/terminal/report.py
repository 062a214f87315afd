"""The report as text for a terminal of 80 columns: the answers, and in full the tables they rest on."""

from __future__ import annotations

from hydro.checks.assessment import Assessment
from hydro.report.content.view import View
from hydro.report.terminal.basis import asked_back, assumptions, moves_most
from hydro.report.terminal.check_table import check_section
from hydro.report.terminal.first_screen import first_screen
from hydro.report.terminal.not_judged import beyond
from hydro.report.terminal.running_tables import running_section
from hydro.report.terminal.shutdown_table import shutdown_section
from hydro.report.terminal.unjoined import unjoined_section
from hydro.study import Study


def text(found: Study | Assessment, units: str | None = None, each: bool = False, full: bool = False) -> str:
    """Return the report on a study, or on an assessment by itself: one screen, or in `full` all tables behind it.

    `units` is 'metric', 'US' or 'imperial', by default what the build asks for. Of several tanks, sumps or pumps those built
    alike are told as one, unless `each` asks for every one of them, in full.
    """
    study = Study.of(found)
    system = units or study.build.units
    lines = first_screen(View.of(study, system), full or each)
    if full or each:
        view = View.of(study, system, each)
        lines += [*check_section(view), *running_section(view), *shutdown_section(view), *unjoined_section(view),
                  *asked_back(view), *assumptions(view), *moves_most(view), *beyond(view)]
    return "\n".join(lines) + "\n"
