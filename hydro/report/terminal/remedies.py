"""Remedies for a terminal of 80 columns, and as plain data: each check that does not hold, and what would make it hold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from hydro import __version__
from hydro.checks import FAILS, HOLDS, IN_DOUBT, Check
from hydro.checks.assessment import Assessment
from hydro.description.build import Build
from hydro.report.terminal.check_table import check_cells
from hydro.report.terminal.layout import clean, heading, labelled, paragraph, wrap
from hydro.search.remedies import KINDS, Edit, Remedy, RemedyReport, RemedySet

FORMAT = 1
"""Raised when a key changes its meaning or goes."""
NOTES = (
    "Cheapest to do first: the felt pen or water, a valve, an elbow, a saw, a hole, wider pipe, another pump, another sump. Of "
    "each kind the smallest change there is, to the tape's next mark: every check was asked again with it, every figure at both "
    "ends of its band, and none came out worse than before. Each is meant alone; two at once are to be asked again. What is the "
    "same as a thing that changes gets its old value written out, so that it stays as it is.",
    "The bores of new pipe are those of a catalogue, the others are in proportion: measure what is bought. Drilling glass, mains "
    "and a full tank's weight are for those who are trained for them; local codes come first.")


def remedies_text(found: RemedyReport, units: str | None = None) -> str:
    """Return what was found as text."""
    build = found.build
    system = units or build.units
    lines = wrap(build.title or "A build", 80)[:3]
    if build.file:
        lines.append(clean(build.file))
    lines += ["", *labelled("Answer", *_answer(found))]
    if not found.complete:
        lines += labelled("Stopped", f"after {len(found.rows)} of {found.asked} checks; the others were not asked.")
    if found.cheapest:
        lines += labelled("Cheapest only", "The build is large: each check gets the remedies of the cheapest kind that has one.")
    if (most := most_at_once(found)) is not None and len(most.mends) + len(most.betters) > 1:
        lines += labelled("Most at once", f"{_capital(most.said(system))}. It mends {', '.join(most.mends)}"
                          + (f"; {', '.join(most.betters)} then in doubt" if most.betters else "") + ".")
    for mending in found.rows:
        lines += _mending(found.assessment, mending, system)
    if any(mending.remedies for mending in found.rows):
        lines.append("")
        for note in NOTES:
            lines += paragraph(note, 0)
    return "\n".join(lines) + "\n"


def most_at_once(found: RemedyReport) -> Remedy | None:
    """Return the remedy that helps most checks that fail, then most others, then the cheaper one; None without any."""
    remedies = [remedy for mending in found.rows for remedy in mending.remedies]
    failing = {check.key for check in found.assessment.checks if check.verdict == FAILS}
    return max(remedies, key=lambda one: (len(failing & {*one.mends, *one.betters}), len(failing & set(one.mends)),
                                          len(one.mends), -KINDS.index(one.kind)), default=None)


def _answer(found: RemedyReport) -> list[str]:
    if found.assessment.answer.state is None:
        return [f"It does not run: {found.assessment.answer.reason}. What holds after a change cannot be said."]
    if not found.asked:
        return ["Every check holds: nothing to mend."]
    counts = [sum(check.verdict in words for check in found.assessment.checks) for words in ((FAILS,), IN_DOUBT)]
    mended = sum(any(remedy.verdict == HOLDS for remedy in one.remedies) for one in found.rows)
    bettered = sum(bool(one.remedies) for one in found.rows) - mended
    fails = "check fails" if counts[0] == 1 else "checks fail"
    told = f"{counts[0]} {fails}, {counts[1]} are in doubt. For {mended} of them a change was found that makes it hold"
    told += f", and {bettered} more fail no longer." if bettered else "."
    left = [one.check.key for one in found.rows if not one.remedies]
    return [told, *([f"No single change does it for: {', '.join(left)}."] if left else [])]


def _mending(assessment: Assessment, mending: RemedySet, system: str) -> list[str]:
    row = mending.check
    lines = heading(f"{row.verdict.upper()}: {row.question}")[:2]
    lines += paragraph(_stands(assessment, row, system))
    if not mending.remedies:
        return [*lines, *paragraph("No single change of those that were tried does it.")]
    for remedy in mending.remedies:
        lines += paragraph(f"- {_capital(remedy.said(system))}.{_then(remedy, row)}", 2, 2)
        lines += [line for edit in _in_file(remedy.edits) for line in paragraph(edit, 6, 2)]
        if not remedy.edits and assessment.build.file:
            lines += paragraph("(to be written into the file by hand)", 6)
    return lines


def _stands(assessment: Assessment, row: Check, system: str) -> str:
    value, limit, _ = check_cells(assessment, row, system)
    told = "" if limit == "-" else f"Now {value}, asked {limit}."
    return f"{told}{' ' if told and row.because else ''}{_capital(row.because)}{'.' if row.because else ''}"


def _then(remedy: Remedy, row: Check) -> str:
    told = "" if remedy.verdict == HOLDS else f" It is then {remedy.verdict}."
    others = [key for key in remedy.mends if key != row.key]
    better = [key for key in remedy.betters if key != row.key]
    if others:
        told += f" Mends {', '.join(others)} too."
    if better:
        told += f" {', '.join(better)} then no longer fail{'s' if len(better) == 1 else ''}."
    return told + (f" Running then, in doubt: {', '.join(remedy.costs)}." if remedy.costs else "")


def _in_file(edits: Sequence[Edit]) -> list[str]:
    """Return what to write in each line of the file, several entries of one list together."""
    told: dict[tuple[int, str, str], tuple[list[str], list[str]]] = {}
    for edit in sorted(edits, key=lambda edit: edit.line):
        new, old = told.setdefault((edit.line, edit.key, "" if edit.key else edit.name), ([], []))
        new.append(" ".join(edit.new.split()))
        old += [edit.old] if edit.old not in old else []
    return [f"line {line}: {f'{key}: ' if key else ''}{', '.join(new)} (was: {', '.join(old)})"
            for (line, key, _), (new, old) in told.items()]


def _capital(told: str) -> str:
    return told[:1].upper() + told[1:]


def remedies_data(found: RemedyReport) -> dict[str, Any]:
    """Return what was found as dicts, lists, texts and numbers; words in the build's own units, values in SI units or shares."""
    build: Build = found.build
    return {"program": "sumpwright", "version": __version__, "format": FORMAT, "units": "SI", "title": build.title,
            "file": build.file, "verdict": found.assessment.verdict, "complete": found.complete, "asked": found.asked,
            "cheapest_only": found.cheapest,
            "rows": [{"key": one.check.key, "question": one.check.question, "verdict": one.check.verdict,
                      "value": _finite(one.check.value), "limit": _finite(one.check.limit), "margin": _finite(one.check.margin),
                      "dimension": one.check.dimension, "because": one.check.because,
                      "remedies": [_remedy(remedy, build.units) for remedy in one.remedies]} for one in found.rows]}


def _remedy(remedy: Remedy, system: str) -> dict[str, Any]:
    return {"kind": remedy.kind, "cost": KINDS.index(remedy.kind), "change": remedy.what, "words": remedy.said(system),
            "value": remedy.value, "verdict": remedy.verdict, "mends": list(remedy.mends), "betters": list(remedy.betters),
            "costs": list(remedy.costs),
            "edits": [{"line": edit.line, "key": edit.key, "name": edit.name, "old": edit.old, "new": edit.new,
                       "place": edit.place} for edit in remedy.edits]}


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
