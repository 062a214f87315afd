"""Remedies for a terminal of 80 columns, and as plain data: each check that does not hold, and what would make it hold."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from hydro import __version__
from hydro.checks import FAILS, HOLDS, IN_DOUBT, Check, CheckKind
from hydro.checks.assessment import Assessment
from hydro.checks.check import COMFORT
from hydro.description.build import Build
from hydro.quantities.tape import tape_below
from hydro.report.terminal.check_table import check_cells
from hydro.report.terminal.layout import clean, heading, labelled, paragraph, wrap
from hydro.search.remedies import KINDS, Measure, Remedy, RemedyReport, RemedySet, Step

FORMAT = 2
"""Raised when a key changes its meaning or goes."""
HARMLESS = frozenset("\t\u00a0\u2007\u2009\u202f\u200c\u200d\u2060")
"""Signs that are not printed but set words apart or join letters; none steers a terminal."""
_COMFORT = tuple(kind.word for kind in CheckKind if kind.stake == COMFORT)
NOTES = (
    "Cheapest to do first: what to measure, the felt pen or water, a valve, an elbow, a saw, a hole, wider pipe, one drain more, "
    "another pump, another sump; last what leaves a check in doubt, or the tank with much less water. Of each kind the smallest "
    "change there is, to the tape's next mark: every check was asked again with it, every figure at both ends of its band. None "
    "on floor and pump came out worse than before, and none in doubt has less left. Each is meant alone; two at once are to be "
    "asked again. What is the same as a thing that changes gets its old value written out, so that it stays as it is.",
    "The bores of new pipe are those of a catalogue, the others are in proportion: measure what is bought. Drilling glass, mains "
    "and a full tank's weight are for those who are trained for them; local codes come first.")


def remedies_text(found: RemedyReport, units: str | None = None) -> str:
    """Return what was found as text."""
    told: list[str] = []
    writer = RemediesText(told.append, units)
    writer.heard(Step(found.assessment))
    for row in found.rows:
        writer.heard(Step(found.assessment, row))
        for remedy in row.remedies:
            writer.heard(Step(found.assessment, row, remedy))
    writer.end(found)
    return "".join(told)


@dataclass(slots=True)
class RemediesText:
    """Writes what is found step by step, as it is found; `write` takes whole lines."""

    write: Callable[[str], None]
    units: str | None = None
    told: set[tuple[str, str]] = field(default_factory=set)
    mended: dict[str, str] = field(default_factory=dict)
    last: str = ""

    def heard(self, step: Step) -> None:
        """Write one step."""
        system = self.units or step.assessment.build.units
        if step.row is None:
            self._lines(_head(step.assessment))
        elif step.remedy is None:
            self._close()
            self._lines(_check(step.assessment, step.row, system))
            self.last = step.row.check.key
        elif step.first:
            self._lines(labelled("First found", f"{_capital(step.remedy.said(system))}. For: {step.row.check.question}."))
        else:
            self.told.add((step.row.check.key, step.remedy.what))
            self.mended = {key: step.remedy.said(system) for key in step.remedy.mends} | self.mended
            self.last = ""
            self._lines(_remedy_lines(step.assessment, step.remedy, step.row.check, system))

    def end(self, found: RemedyReport) -> None:
        """Write what can be said only when the search is through."""
        self._close()
        system = self.units or found.build.units
        for row in found.rows:
            late = [remedy for remedy in row.remedies if (row.check.key, remedy.what) not in self.told]
            lines = [line for remedy in late for line in _remedy_lines(found.assessment, remedy, row.check, system)]
            self._lines([*heading(f"{row.check.word.upper()}, again: {row.check.question}")[:2], *lines] if lines else [])
        self._lines(_end(found, system))

    def _close(self) -> None:
        """Say of a check that was begun that nothing was found for it."""
        if self.last in self.mended:
            self._lines(paragraph(f"What is told further up mends it: {self.mended[self.last]}.", 2, 2))
        elif self.last:
            self._lines(paragraph("No single change of those that were tried does it."))
        self.last = ""

    def _lines(self, lines: Sequence[str]) -> None:
        if lines:
            self.write("\n".join(lines) + "\n")


def most_at_once(found: RemedyReport) -> Remedy | None:
    """Return the remedy that helps most checks that fail, then most others, then the cheaper one; None without any.

    Of checks on floor and pump only: comfort is not worth a large change.
    """
    at_stake = {check.key for check in found.assessment.checks if check.kind.stake != COMFORT}
    remedies = [remedy for row in found.rows if row.check.key in at_stake for remedy in row.remedies]
    failing = {check.key for check in found.assessment.checks if check.verdict == FAILS} & at_stake

    def weight(one: Remedy) -> tuple[int, int, bool, int, int]:
        helped, mended = {*one.mends, *one.betters}, set(one.mends)
        return len(failing & helped), len(failing & mended), not one.late, len(at_stake & mended), -KINDS.index(one.kind)
    best = max(remedies, key=weight, default=None)
    return best if best is not None and len(at_stake & {*best.mends, *best.betters}) > 1 else None


def _head(assessment: Assessment) -> list[str]:
    lines = wrap(assessment.build.title or "A build", 80)[:3]
    if assessment.build.file:
        lines.append(clean(assessment.build.file))
    return [*lines, "", *labelled("Answer", *_answer(assessment))]


def _answer(assessment: Assessment) -> list[str]:
    if assessment.answer.state is None:
        return [f"It does not run: {assessment.answer.reason}. What holds after a change cannot be said."]
    if all(check.verdict == HOLDS for check in assessment.checks):
        return ["Every check holds: nothing to mend."]
    comfort = sum(check.verdict != HOLDS for check in assessment.checks if check.kind.stake == COMFORT)
    fail, doubt = (sum(check.verdict in words for check in assessment.checks if check.kind.stake != COMFORT)
                   for words in ((FAILS,), IN_DOUBT))
    if not fail and not doubt:
        told = "Every check on floor and pump holds."
    else:
        told = f"{fail} {'check' if fail == 1 else 'checks'} on floor and pump {'fails' if fail == 1 else 'fail'}, " \
               f"{doubt} {'is' if doubt == 1 else 'are'} in doubt."
    return [told, *([f"{comfort} on comfort could be better."] if comfort else [])]


def _end(found: RemedyReport, system: str) -> list[str]:
    lines = [""] if found.rows else []
    if not found.complete:
        lines += labelled("Stopped", f"after {len(found.rows)} of {found.asked} checks; the others were not asked.")
    if found.cheapest:
        lines += labelled("Cheapest only", "The build is large: each check gets the remedies of the cheapest kind that has one.")
    if found.rows and found.assessment.answer.state is not None:
        lines += labelled("Found", *_found(found))
    if (most := most_at_once(found)) is not None:
        lines += labelled("Most at once", f"{_capital(most.said(system))}. It mends {', '.join(most.mends)}"
                          + (f"; {', '.join(most.betters)} then in doubt" if most.betters else "") + ".")
    if any(row.remedies for row in found.rows):
        lines.append("")
        for note in NOTES:
            lines += paragraph(note, 0)
    return lines


def _found(found: RemedyReport) -> list[str]:
    said, mends = [], {key for one in found.rows for remedy in one.remedies for key in remedy.mends}
    for comfort, named in ((False, "on floor and pump"), (True, "on comfort")):
        rows = [one for one in found.rows if (one.check.kind.stake == COMFORT) is comfort]
        if rows:
            mended = sum(one.check.key in mends for one in rows)
            bettered = sum(bool(one.remedies) and one.check.key not in mends for one in rows)
            more = f", and {bettered} more fail{'s' if bettered == 1 else ''} no longer" if bettered else ""
            measured = sum(not one.remedies and one.check.key not in mends and one.measure is not None for one in rows)
            more += f"; of {measured} more a figure has to be measured" if measured else ""
            said.append(f"For {mended} of the {len(rows)} {named} a change that makes {'it' if mended == 1 else 'them'} "
                        f"hold{more}.")
    left = [one.check.key for one in found.rows if not one.remedies and one.measure is None and one.check.key not in mends]
    return [*said, *([f"No single change does it for: {', '.join(left)}."] if left else [])]


def _check(assessment: Assessment, row: RemedySet, system: str) -> list[str]:
    check = row.check
    lines = [*heading(f"{check.word.upper()}: {check.question}")[:2], *paragraph(_stands(assessment, check, system))]
    return lines if row.measure is None else [*lines, *paragraph(f"- {_measure(row.measure)}", 2, 2)]


def _measure(measure: Measure) -> str:
    """Return what to measure, and what it decides."""
    names = [f"'{name}'" for name in measure.names]
    listed = f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]
    what = f"Measure {listed}" if measure.stated else \
        f"Find out {listed} on your own build ('defaults' in the file takes what you find)"
    one = len(names) == 1
    ends = {end for end in measure.fails_at if end}
    fails = f"; at {'its' if one else 'one'} {' or '.join(sorted(ends))} end it fails" if one and ends else ""
    return f"{what}: {'it decides' if one else 'together they decide'} this check. In the middle of " \
           f"{'its band' if one else 'their bands'} it {'holds' if measure.verdict == HOLDS else f'is {measure.verdict}'}{fails}."


def _remedy_lines(assessment: Assessment, remedy: Remedy, row: Check, system: str) -> list[str]:
    lines = paragraph(f"- {_capital(remedy.said(system))}.{_then(remedy, row, system)}", 2, 2)
    for one in remedy.lines:
        several = ", two lines" if "\n" in one.new else ""
        # Whole lines at the margin and as long as they are, so that they can be pasted.
        lines += [f"      In place of line {one.line}{several}:", *map(_printable, one.new.split("\n"))]
    if not remedy.edits and assessment.build.file:
        lines += paragraph("(to be written into the file by hand)", 6)
    return lines


def _stands(assessment: Assessment, row: Check, system: str) -> str:
    value, limit, _ = check_cells(assessment, row, system)
    told = "" if limit == "-" else f"Now {value}, asked {limit}."
    return f"{told}{' ' if told and row.because else ''}{_capital(row.because)}{'.' if row.because else ''}"


def _then(remedy: Remedy, row: Check, system: str) -> str:
    several = len(remedy.build.tanks) > 1
    told = "" if remedy.verdict == HOLDS else f" It is then {remedy.verdict}."
    others = [key for key in remedy.mends if key != row.key]
    better = [key for key in remedy.betters if key != row.key]
    if others:
        told += f" Mends {', '.join(others)} too."
    if better:
        told += f" {', '.join(better)} then no longer fail{'s' if len(better) == 1 else ''}."
    comfort = [key for key in remedy.costs if any(key == word or key.startswith(f"{word} ") for word in _COMFORT)]
    doubt = [key for key in remedy.costs if key not in comfort]
    told += f" Less comfort then: {', '.join(comfort)}." if comfort else ""
    told += "".join(f" {_capital(name if several else 'the tank')}'s water then stands {tape_below(by, system)} lower."
                    for name, by in remedy.lower.items())
    ends = "ends" if len(remedy.bared) == 1 else "end"
    told += f" {_capital(' and '.join(remedy.bared))} then {ends} in the air." if remedy.bared else ""
    return told + (f" Running then, in doubt: {', '.join(doubt)}." if doubt else "")


def _printable(line: str) -> str:
    """Return a line with its spaces and joiners, so that it reads as it did, and '?' for every sign that steers a terminal."""
    return "".join(sign if sign.isprintable() or sign in HARMLESS else "?" for sign in line)


def _capital(told: str) -> str:
    return told[:1].upper() + told[1:]


def remedies_data(found: RemedyReport) -> dict[str, Any]:
    """Return what was found as dicts, lists, texts and numbers; words in the build's own units, values in SI units or shares."""
    build: Build = found.build
    return {"program": "sumpwright", "version": __version__, "format": FORMAT, "units": "SI", "title": build.title,
            "file": build.file, "verdict": found.assessment.verdict, "complete": found.complete, "asked": found.asked,
            "cheapest_only": found.cheapest,
            "rows": [{"key": one.check.key, "question": one.check.question, "verdict": one.check.verdict,
                      "stake": one.check.kind.stake, "word": one.check.word,
                      "measure": None if one.measure is None else {"names": list(one.measure.names),
                                                                   "fails_at": list(one.measure.fails_at),
                                                                   "verdict": one.measure.verdict},
                      "value": _finite(one.check.value), "limit": _finite(one.check.limit), "margin": _finite(one.check.margin),
                      "dimension": one.check.dimension, "because": one.check.because,
                      "remedies": [_remedy(remedy, build.units) for remedy in one.remedies]} for one in found.rows]}


def _remedy(remedy: Remedy, system: str) -> dict[str, Any]:
    return {"kind": remedy.kind, "cost": KINDS.index(remedy.kind), "change": remedy.what, "words": remedy.said(system),
            "value": remedy.value, "verdict": remedy.verdict, "mends": list(remedy.mends), "betters": list(remedy.betters),
            "costs": list(remedy.costs), "lower": dict(remedy.lower), "mouths_in_the_air": list(remedy.bared),
            "lines": [{"line": one.line, "new": one.new} for one in remedy.lines],
            "edits": [{"line": edit.line, "key": edit.key, "name": edit.name, "old": edit.old, "new": edit.new,
                       "place": edit.place} for edit in remedy.edits]}


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
