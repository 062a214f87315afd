"""The checks as a table: verdict, question, value against limit, margin, and the reason where there is one."""

from __future__ import annotations

import math
from collections.abc import Sequence

from hydro.checks import HOLDS, Check, CheckKind
from hydro.checks.assessment import Assessment
from hydro.checks.check import NEITHER
from hydro.quantities.formatting import unit_name
from hydro.quantities.tape import mark, unrounded
from hydro.report.content.levels import bottom_of
from hydro.report.terminal.answers import HIGH
from hydro.report.terminal.layout import heading, paragraph, table_rows
from hydro.scenarios.results import opening_of

REASON = 13
"""Where reasons stand, under the questions."""
SAID = ("ONLY JUST: it fails or is in doubt with some figure at the bad end of its band; or it is a matter of noise, air, speed "
        "or turnover; or it takes several faults at once. The reason stands under it where there is one.")
"""What the middle verdict means, under the table."""


def datum(assessment: Assessment, check: Check) -> float:
    """Return what to take off a check's value and limit, m: levels count from their vessel's bottom."""
    return 0.0 if check.water is None else bottom_of(assessment.results.network, check.water)


def shown(assessment: Assessment, check: Check, system: str) -> list[str]:
    """Return value, limit and margin of a check as text."""
    off, water, sense = datum(assessment, check), check.water, check.sense

    def text(value: float) -> str:
        if check.dimension == "length":
            return mark(value, system) if not math.isfinite(value) else f"{mark(value, system)} {unit_name('length', system)}"
        return unrounded(value, check.dimension, system).replace(" per hour", "/h").replace("no limit", "unlimited")

    if sense == NEITHER:
        return ["-", "-", "-"]
    network = assessment.results.network
    if check.kind is CheckKind.POWER_CUT and water is not None and check.value > opening_of(network, water):
        missing = assessment.results.stopped[assessment.results.wanted_cut()].spare_of(network.sump_of(water))
        return ["over", f"{sense} {text(check.limit - off)}", unrounded(missing, "volume", system)]
    if off and check.margin < -HIGH:
        return ["over", f"{sense} {text(check.limit - off)}", ""]
    finite = math.isfinite(check.margin)
    scale = min(abs(side - off) for side in (check.value, check.limit) if math.isfinite(side)) if finite else 0.0
    margin = "" if not finite else text(check.margin if abs(check.margin) > 0.005 * scale else 0.0)
    if check.dimension == "number":
        return [f"{check.value:.3g}", f"{sense} {check.limit:.3g}", f"{check.margin:.2g}"]
    return [text(check.value - off), f"{sense} {text(check.limit - off)}", margin]


def check_rows(assessment: Assessment, system: str, checks: Sequence[Check] | None = None) -> list[str]:
    """Return the section of the checks: of all of them unless it is given some."""
    checks = assessment.checks if checks is None else checks
    body = [["verdict", "question", "value", "limit", "margin"]]
    for check in checks:
        verdict = check.verdict if check.verdict == HOLDS else check.verdict.upper()
        body.append([verdict, check.question, *shown(assessment, check, system)])
    head, *rest = table_rows(body, words=(0, 1))
    lines = [*heading("Checks"), "", *head]
    for check, text in zip(checks, rest, strict=True):
        lines += text
        if check.because and check.verdict != HOLDS:
            lines += paragraph(check.because, REASON)
    return [*lines, *paragraph("Levels count from the bottom of their own vessel; a margin below zero is what is missing."),
            *paragraph(SAID)]
