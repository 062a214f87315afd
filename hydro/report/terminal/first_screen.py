"""The first screen: the verdict, what to do, and the answers that a builder asks first, each beside its label."""

from __future__ import annotations

from hydro.report.content.answers import first_answers
from hydro.report.content.sentences import joined_sentences, written
from hydro.report.content.view import View
from hydro.report.terminal.layout import labelled, titled


def first_screen(view: View, full: bool = False) -> list[str]:
    """Return the answers that come before all tables; in `full` with what is said besides."""
    build = view.assessment.build
    lines = titled(build.title, build.file)
    lines.append("")
    for answer in first_answers(view):
        paragraphs = [joined_sentences(answer.said), *(answer.besides if full else [])]
        lines += labelled(answer.label, *(written(sentence, view.system) for sentence in paragraphs))
    return lines
