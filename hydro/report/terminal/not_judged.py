"""The sections on what is not judged here and what to do instead, and the cautions."""

from __future__ import annotations

from hydro.quantities.formatting import show
from hydro.report.content.not_judged import CAUTIONS, not_judged
from hydro.report.content.view import View
from hydro.report.terminal.layout import heading, listed, paragraph


def beyond(view: View) -> list[str]:
    """Return the sections on what is not judged and the cautions."""
    lines = [*heading("Not judged"), *paragraph("Nothing here says that these are in order. What to do instead:")]
    for item in not_judged(view.assessment, view.grouping):
        figures = "; ".join(f"{words} {show(value, dimension, view.system)}"
                            for words, (value, dimension) in item.figures.items())
        lines += listed(f"{item.what}: {item.instead}." + (f" ({figures})" if figures else ""))
    if view.assessment.build.notes:
        notes = "; ".join(note.rstrip(".") for note in view.assessment.build.notes)
        lines += paragraph(f"Noted in the file, not reckoned with: {notes}.", 2, 2)
    lines += heading("Cautions")
    for caution in CAUTIONS:
        lines += listed(caution)
    return lines
