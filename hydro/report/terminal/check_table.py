"""The checks as a table: verdict, question, value against limit, margin, and the reason where there is one."""

from __future__ import annotations

import math
from collections.abc import Sequence

from hydro.checks import HOLDS, Check
from hydro.checks.assessment import Assessment
from hydro.quantities.formatting import unit_name
from hydro.quantities.tape import mark, unrounded
from hydro.report.content.levels import bottom_of
from hydro.report.terminal.answers import HIGH
from hydro.report.terminal.layout import heading, paragraph, table_rows
from hydro.scenarios.results import opening_of

IN_TANK = ("tank room", "overflow", "blocked ", "emergency alone")
"""Starts of the keys of rows whose value and limit are levels in the tank."""
IN_SUMP = ("power cut", "sump room")
"""The same in the sump."""
REASON = 13
"""Where reasons stand, under the questions."""
SAID = ("ONLY JUST: it fails or is in doubt with some figure at the bad end of its band; or it is a matter of noise, air, speed "
        "or turnover; or it takes several faults at once. The reason stands under it where there is one.")
"""What the middle verdict means, under the table."""
AT_MOST, AT_LEAST = "<=", ">="


def vessel_in(assessment: Assessment, row: Check) -> int | None:
    """Return the water whose level a row is about, None where it is about something else.

    A row on a tank or box names it in its limit, one on a sump carries the sump's name where there are several.
    """
    network = assessment.results.network
    if row.key.startswith(IN_TANK):
        name = row.origin.removeprefix("lowest opening of ")
        named = [k for k in network.uppers if name in (network.waters[k].name, f"the {network.waters[k].name}")]
        return named[0] if named else network.tanks[0] if len(network.uppers) == 1 else None
    start = next((start for start in IN_SUMP if row.key == start or row.key.startswith(f"{start} ")), None)
    if start is None:
        return None
    name = row.key.removeprefix(start).strip()
    sumps = [network.sumps[n][0] for n, sump in enumerate(assessment.build.sumps) if name in ("", sump.name)]
    return sumps[0] if sumps else None


def worst_name(row: Check) -> str:
    """Return the name of the member that stands for a folded row, '' where it is not folded."""
    _, found, name = row.question.rpartition(" (worst: ")
    return name.removesuffix(")") if found else ""


def datum(assessment: Assessment, row: Check) -> float:
    """Return what to take off a row's value and limit, m: levels count from their vessel's bottom."""
    water = vessel_in(assessment, row)
    return 0.0 if water is None else bottom_of(assessment.results.network, water)


def sense(row: Check) -> str:
    """Return whether the value must be at most ('<=') or at least ('>=') the limit, '' where neither is asked."""
    if row.value == row.limit or not math.isfinite(row.margin):
        return AT_MOST if row.value > row.limit or row.limit == math.inf else AT_LEAST
    scale = max(abs(row.value), abs(row.limit))
    for sign, word in ((1.0, AT_MOST), (-1.0, AT_LEAST)):
        if abs(sign * (row.limit - row.value) - row.margin) < 1e-9 * scale:
            return word
    return ""


def shown(assessment: Assessment, row: Check, system: str) -> list[str]:
    """Return value, limit and margin of a row as text."""
    off, water = datum(assessment, row), vessel_in(assessment, row)

    def text(value: float) -> str:
        if row.dimension == "length":
            return mark(value, system) if not math.isfinite(value) else f"{mark(value, system)} {unit_name('length', system)}"
        return unrounded(value, row.dimension, system).replace(" per hour", "/h").replace("no limit", "unlimited")

    if row.key == "steady":
        return ["-", "-", "-"]
    network = assessment.results.network
    if row.key.startswith("power cut") and water is not None and row.value > opening_of(network, water):
        missing = assessment.results.stopped[assessment.results.wanted_cut()].spare_of(network.sump_of(water))
        return ["over", f"{sense(row)} {text(row.limit - off)}", unrounded(missing, "volume", system)]
    if off and row.margin < -HIGH:
        return ["over", f"{sense(row)} {text(row.limit - off)}", ""]
    scale = min(abs(side - off) for side in (row.value, row.limit) if math.isfinite(side)) if math.isfinite(row.margin) else 0.0
    margin = "" if not math.isfinite(row.margin) else text(row.margin if abs(row.margin) > 0.005 * scale else 0.0)
    if row.dimension == "number":
        return [f"{row.value:.3g}", f"{sense(row)} {row.limit:.3g}", f"{row.margin:.2g}"]
    return [text(row.value - off), f"{sense(row)} {text(row.limit - off)}", margin]


def check_rows(assessment: Assessment, system: str, rows: Sequence[Check] | None = None) -> list[str]:
    """Return the section of the checks: of all rows unless it is given some."""
    rows = assessment.rows if rows is None else rows
    body = [["verdict", "question", "value", "limit", "margin"]]
    for row in rows:
        verdict = row.verdict if row.verdict == HOLDS else row.verdict.upper()
        body.append([verdict, row.question, *shown(assessment, row, system)])
    head, *rest = table_rows(body, words=(0, 1))
    lines = [*heading("Checks"), "", *head]
    for row, text in zip(rows, rest, strict=True):
        lines += text
        if row.because and row.verdict != HOLDS:
            lines += paragraph(row.because, REASON)
    return [*lines, *paragraph("Levels count from the bottom of their own vessel; a margin below zero is what is missing."),
            *paragraph(SAID)]
