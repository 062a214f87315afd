"""What a description leaves in doubt, and where a running state lies outside the range of the laws."""

from __future__ import annotations

from hydro.checks.assessment import Assessment
from hydro.checks.queries import doubts
from hydro.report.content.grouping import Grouping


def asked_back_notes(assessment: Assessment, grouping: Grouping) -> list[str]:
    """Return what is asked back, in sentences, notes on things alike together."""
    return [*(f"{note}." for note in grouping.notes(questions(assessment))),
            *(f"Out of range: {note}." for note in grouping.notes(out_of_range(assessment)))]


def questions(assessment: Assessment) -> list[str]:
    """Return the questions that a description leaves open."""
    return doubts(assessment.results)


def out_of_range(assessment: Assessment) -> list[str]:
    """Return in words where a running state lies outside the range in which the elements' laws are known."""
    notes: list[str] = []
    for state in assessment.answer.states:
        for link, flow, k in zip(state.network.links, state.flows, range(len(state.flows)), strict=True):
            if hasattr(link.element, "limits"):
                notes += link.element.limits(float(flow), *map(float, state.ends(k)))
    return [*dict.fromkeys(notes)]
