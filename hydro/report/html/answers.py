"""The answers that a builder asks first, whatever the build: in both systems of units, a label and its sentences."""

from __future__ import annotations

from collections.abc import Callable

from hydro.checks.assessment import Assessment
from hydro.report.content.view import View
from hydro.report.html.figures import both_band
from hydro.report.html.weave import in_both
from hydro.report.terminal import abnormal as only
from hydro.report.terminal import answers as one
from hydro.report.terminal import summary as first
from hydro.report.terminal.faults import single_faults
from hydro.report.terminal.several import answers as many
from hydro.report.terminal.several import cut, expect, screen
from hydro.steady.operating_point import STEADY
from hydro.study import Study

MOST_LINKS = 300
"""More links than this and single faults are left to their own command."""
BUCKET_WORDS = "A bucket of 10 L (2.64 US gal)"


def answers(study: Study, system: str) -> list[tuple[str, list[str]]]:
    """Return labels with their sentences, those that matter most first."""
    assessment = study.assessment
    made: list[tuple[str, list[str]]] = []
    attention = _attention(assessment, system)
    if attention:
        made.append(("Attention", attention))
    made += [("The running line", _line(study, system)), ("A power cut", _cut(assessment, system)),
             ("A blocked drain", _blocked(assessment, system))]
    if assessment.answer.state is not None:
        made.append(("Any single fault", _faults(study)))
    return [*made, ("What to expect", _expected(assessment, system))]


def _faults(study: Study) -> list[str]:
    """Return which single faults put water on the floor; for a hall of tanks that takes minutes, and is not asked here."""
    if len(study.assessment.results.network.links) > MOST_LINKS:
        return ["Not asked here, for so many pipes it takes minutes: 'sumpwright faults' goes through every single one."]
    return single_faults(study.faults)[:1]


def _told(found: Study | Assessment, system: str, single: Callable[[Assessment, str], list[str]],
          several: Callable[[View], list[str]]) -> list[str]:
    """Return the sentences of a teller for one tank or of the one for several, woven from both systems."""
    study = Study.of(found)

    def told(which: str) -> list[str]:
        return single(study.assessment, which) if study.build.one else several(View.of(study, which))

    count = len(told(system))
    sentences = []
    for k in range(count):
        def sentence(which: str, number: int = k) -> str:
            found = told(which)
            return found[number] if number < len(found) else ""

        sentences.append(in_both(sentence, system))
    return [text for text in sentences if text]


def _attention(assessment: Assessment, system: str) -> list[str]:
    special: list[str] = []
    if assessment.answer.kind != STEADY or assessment.answer.others:
        special = _told(assessment, system, only.special, screen.special)
    return [*special, *_told(assessment, system, only.runs_over, screen.runs_over)]


def _line(study: Study, system: str) -> list[str]:
    return _told(study, system, lambda _, which: one.line_answer(study, which), many.line_answer)


def _cut(assessment: Assessment, system: str) -> list[str]:
    return _told(assessment, system, one.cut_answer, cut.cut_answer)


def _blocked(assessment: Assessment, system: str) -> list[str]:
    return _told(assessment, system, one.blocked_answer, many.blocked_answer)


def _expected(assessment: Assessment, system: str) -> list[str]:
    """Return flow and turnover; the bucket is told here, for its size differs between the systems."""
    told = [text for text in _told(assessment, system, first.expected, expect.expected) if not text.startswith("Fill a bucket")]
    if assessment.build.one and assessment.flow is not None and assessment.flow[1] > 1e-7 and assessment.answer.state is not None:
        flow = both_band(assessment.flow, "flow", system)
        told = [f"The pump moves {flow}. {told[0].partition('. ')[2]}".strip(), *told[1:]]
    if assessment.bucket is not None:
        low, _, high = assessment.bucket
        told.append(f"{BUCKET_WORDS} should fill in {low:.1f} to {high:.1f} s of the whole flow.")
    return told
