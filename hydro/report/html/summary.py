"""The first section: the verdict, the answers, and every check in one sentence with its margin."""

from __future__ import annotations

import math
import re

from markupsafe import Markup

from hydro.checks import FAILS, HOLDS, ONLY_JUST, Check
from hydro.checks.assessment import Assessment
from hydro.checks.check import AT_LEAST, AT_MOST
from hydro.report.html.answers import answers
from hydro.report.html.markup import Section, items, join, paragraph, strong, subheading, tag, verdict
from hydro.report.html.weave import in_both
from hydro.report.terminal.check_table import SAID, datum, shown
from hydro.study import Study

TITLES = {FAILS: "Fails", ONLY_JUST: "Only just", HOLDS: "Holds"}


def section(study: Study, system: str) -> Section | None:
    """Return the section with the verdict and the checks."""
    assessment = study.assessment
    rows = assessment.checks
    counts = {word: sum(row.verdict == word for row in rows) for word in (FAILS, ONLY_JUST, HOLDS)}
    counted = (f"Of {len(rows)} checks {counts[HOLDS]} hold, {counts[ONLY_JUST]} only just, {counts[FAILS]} fail." if rows
               else "Nothing could be checked: there is no running state.")
    overall = verdict(assessment.verdict) if rows else strong("no running state")
    parts: list[Markup] = [tag("p", overall, " ", counted, class_="overall")]
    listed = [(label, [text for text in texts if text]) for label, texts in answers(study, system)]
    told = [join((tag("dt", label), *(tag("dd", text, dir="auto") for text in texts))) for label, texts in listed]
    parts.append(tag("dl", *told, class_="answers"))
    if rows:
        parts.append(subheading("Every check"))
        parts.append(paragraph("Levels count from the bottom of their own vessel. "
                               + SAID.replace("The reason stands under it", "The reason stands behind it")))
    for word in (FAILS, ONLY_JUST, HOLDS):
        chosen = [row for row in rows if row.verdict == word]
        if chosen:
            parts.append(subheading(TITLES[word], 4))
            parts.append(items((sentence(assessment, row, system) for row in chosen), class_="checks"))
    return Section("summary", "Summary", join(parts))


def sentence(assessment: Assessment, row: Check, system: str) -> Markup:
    """Return a check in one sentence: what is asked, the value against its limit, what is left or missing, and why."""
    question = f"{row.question[:1].upper()}{row.question[1:]}"
    told = in_both(lambda which: _figures(assessment, row, which), system)
    # A folded row and a verdict that was made worse carry reasons; figures in them are told in the system asked for.
    why = f" ({row.because})" if row.because and row.verdict != HOLDS else ""
    return join((verdict(row.verdict), " ", f"{question}: {told}{why}."))


def _figures(assessment: Assessment, row: Check, system: str) -> str:
    value, limit, margin = shown(assessment, row, system)
    if value == "-":
        return "yes" if row.verdict == HOLDS else "no"
    bound = "at least" if row.sense == AT_LEAST else "at most"
    limit = re.sub(r"^[<>]= |^ ", "", limit)
    told = f"{value} against {bound} {limit}" if row.sense else f"{value} against {limit}"
    if value == "over":
        told = f"over its {bound} {limit}" if not math.isclose(row.limit, datum(assessment, row)) else "over"
    if not margin:
        return told
    short = row.margin < 0.0
    return f"{told}, {margin.removeprefix('-')} {_short_by(row) if short else 'to spare'}"


def _short_by(row: Check) -> str:
    return "too much" if row.sense == AT_MOST else "missing"
