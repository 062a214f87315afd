"""The answers that a builder asks first, in their order: made once, told by the terminal and by the page."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.report.content.blocked_answers import blocked_details, blocked_sentences, fault_sentences
from hydro.report.content.cut_answers import cut_details, cut_sentences
from hydro.report.content.line_answers import line_details, line_sentences
from hydro.report.content.running_answers import attention_sentences, expected_sentences, flow_details
from hydro.report.content.sentences import Sentence, say
from hydro.report.content.verdict_answers import comfort_sentences, measure_sentences, verdict_sentences
from hydro.report.content.view import View

MOST_LINKS = 300
"""More links than this and a page leaves single faults to their own command."""


@dataclass(frozen=True, slots=True)
class FirstAnswer:
    """An answer: its short label, its heading, what is said at first, and what is said besides where there is room."""

    label: str
    heading: str
    said: list[Sentence]
    besides: list[Sentence]


def first_answers(view: View, patient: bool = True) -> list[FirstAnswer]:
    """Return the answers. Not `patient`, single faults of a hall of tanks, which take minutes, are not asked."""
    many = len(view.network.links) > MOST_LINKS and not patient
    faults = [say("Not asked here, for so many pipes it takes minutes: `sumpwright faults` goes through every single one.")] \
        if many else fault_sentences(view)
    found = [FirstAnswer("Verdict", "The verdict", verdict_sentences(view), []),
             FirstAnswer("Attention", "Attention", attention_sentences(view), []),
             FirstAnswer("Comfort", "Comfort", comfort_sentences(view), []),
             FirstAnswer("Felt-pen line", "The running line", line_sentences(view), line_details(view)),
             FirstAnswer("Power cut", "A power cut", cut_sentences(view), cut_details(view)),
             FirstAnswer("Blocked drain", "A blocked drain", blocked_sentences(view), blocked_details(view)),
             FirstAnswer("Single faults", "Any single fault", faults, []),
             FirstAnswer("Expect", "What to expect", expected_sentences(view), flow_details(view)),
             FirstAnswer("Measure", "What to measure", measure_sentences(view), [])]
    return [answer for answer in found if answer.said]
