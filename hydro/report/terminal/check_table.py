"""The checks as a table: verdict, question, value against limit, margin, and the reason where there is one."""

from __future__ import annotations

from hydro.checks import HOLDS, Check
from hydro.checks.assessment import Assessment
from hydro.checks.check import gravity
from hydro.report.content.check_figures import check_figures
from hydro.report.content.grouping import MANY
from hydro.report.content.sentences import written
from hydro.report.content.verdict_answers import in_order, reason_of
from hydro.report.content.view import View
from hydro.report.terminal.layout import heading, paragraph, table_rows

REASON = 13
"""Where reasons stand, under the questions."""
EXPLAINED = ("Levels count from the bottom of their own vessel; a margin below zero is what is missing. A check may be worse "
             "than its margin: where it fails with some figure at the bad end of its band, or is in doubt, the reason stands "
             "with it.")


def check_section(view: View) -> list[str]:
    """Return the section of the checks; of more than a few on the same thing, not folded already, the worst one stays."""
    alike: dict[str, list[Check]] = {}
    for check in view.assessment.checks:
        alike.setdefault(check.kind.title, []).append(check)
    many = {} if view.grouping.each else {title: max(rows, key=gravity) for title, rows in alike.items() if len(rows) > MANY}
    kept = [check for check in view.assessment.checks if many.get(check.kind.title, check) is check]
    body = [["verdict", "question", "value", "limit", "margin"]]
    for check in kept:
        body.append([check.word if in_order(check) else check.word.upper(), check.question,
                     *check_cells(view.assessment, check, view.system)])
    head, *rest = table_rows(body, words=(0, 1))
    lines = [*heading("Checks"), "", *head]
    for check, rows in zip(kept, rest, strict=True):
        lines += rows
        if reason_of(check):
            lines += paragraph(reason_of(check), REASON)
    lines += paragraph(EXPLAINED)
    left = [f"{title}: {len(alike[title]) - 1} more" for title in many]
    return lines + (paragraph(f"Not shown, none of them worse: {'; '.join(left)}.") if left else [])


def check_cells(assessment: Assessment, check: Check, system: str) -> list[str]:
    """Return value, limit and margin of a check as text; in brackets a limit that is passed and does not count."""
    figures = check_figures(assessment, check)
    value, limit, margin = (written(figure, system).replace(" per hour", "/h")
                            for figure in (figures.value, figures.limit, figures.margin))
    if check.verdict == HOLDS and check.margin < 0.0:
        return [value, f"({limit})", "-"]
    return [value, f"{check.sense} {limit}" if limit else "-", margin or "-"]
