"""The first section: the verdict, the answers, and every check in one sentence with its margin."""

from __future__ import annotations

from markupsafe import Markup

from hydro.checks import Check
from hydro.checks.assessment import Assessment
from hydro.checks.check import AT_LEAST, AT_MOST, COMFORT
from hydro.report.content.answers import first_answers
from hydro.report.content.check_figures import OVER, check_figures
from hydro.report.content.sentences import Figure, Sentence, say, written
from hydro.report.content.verdict_answers import by_verdict, reason_of
from hydro.report.content.view import View
from hydro.report.html.markup import PageSection, items, join, page_paragraph, strong, subheading, tag, verdict_mark
from hydro.report.terminal.check_table import EXPLAINED
from hydro.study import Study


def summary_section(study: Study, system: str) -> PageSection | None:
    """Return the section with the verdict, the answers and the checks."""
    assessment = study.assessment
    overall, *answers = first_answers(View.of(study, system), patient=False)
    parts: list[Markup] = [tag("p", verdict_mark(assessment.verdict) if assessment.checks else strong("no running state"),
                               class_="overall")]
    told = [join((tag("dt", answer.heading), *(tag("dd", written(sentence, system, both=True), dir="auto")
                                               for sentence in (*answer.said, *answer.besides))))
            for answer in (overall, *answers)]
    parts.append(tag("dl", *told, class_="answers"))
    if assessment.checks:
        parts += [subheading("Every check"), page_paragraph(EXPLAINED)]
    comfort = [check for check in assessment.checks if check.kind.stake == COMFORT]
    groups = by_verdict([check for check in assessment.checks if check not in comfort])
    for word, checks in (*groups, *([("comfort", comfort)] if comfort else [])):
        parts += [subheading(word.capitalize(), 4),
                  items((check_item(assessment, check, system) for check in checks), class_="checks")]
    return PageSection("summary", "Summary", join(parts))


def check_item(assessment: Assessment, check: Check, system: str) -> Markup:
    """Return a check in one sentence: what is asked, the value against its limit, what is left or missing, and why."""
    question = f"{check.question[:1].upper()}{check.question[1:]}"
    # A folded row and a verdict that was made worse carry reasons; figures in them are told in the system asked for.
    why = f" ({reason_of(check)})" if reason_of(check) else ""
    told = written(check_sentence(assessment, check), system, both=True)
    return join((verdict_mark(check.verdict, check.word), " ", f"{question}: {told}{why}."))


def check_sentence(assessment: Assessment, check: Check) -> Sentence:
    """Return the figures of a check in words: '415 mm against at most 445 mm, 29 mm to spare'."""
    figures = check_figures(assessment, check)
    if not figures.limit:
        return say("{value}", value=figures.value)
    said = say("it runs over, {bound} {limit} is allowed" if figures.value == OVER else "{value} against {bound} {limit}",
               value=figures.value, bound="at least" if check.sense == AT_LEAST else "at most", limit=figures.limit)
    if not isinstance(figures.margin, Figure):
        return said if not figures.margin else said + f", {figures.margin}"
    if figures.margin.value >= 0.0:
        return said + say(", {margin} to spare", margin=figures.margin)
    return said + say(", {margin} {missing}", margin=figures.margin.turned(),
                      missing="too much" if check.sense == AT_MOST else "missing")
