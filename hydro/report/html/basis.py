"""The last section: what was asked back, assumed with its source, what moves the results most, what is not judged, cautions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from importlib.metadata import version

from markupsafe import Markup

from hydro.checks.assessment import Assessment
from hydro.quantities.tape import plain_band, unrounded
from hydro.report.content.asked_back import asked_back_notes
from hydro.report.content.assumed import LINE, Assumed, assumed, bore_of, line_ends
from hydro.report.content.grouping import Grouping, few
from hydro.report.content.influence import influences
from hydro.report.content.not_judged import CAUTIONS, not_judged
from hydro.report.content.sentences import other_system
from hydro.report.content.unjoined import one_pipe_headers, unjoined_waters
from hydro.report.html.figures import both
from hydro.report.html.markup import PageSection, items, join, page_paragraph, page_table, subheading
from hydro.study import Study

KINDS = {"default": "default", "catalogue": "catalogue of sizes", "limit": "limit that nobody set", "override": "set in the file"}


def basis_section(study: Study, system: str) -> PageSection | None:
    """Return the section on what the page rests on."""
    assessment = study.assessment
    grouping = Grouping.by(assessment.build, assessment.build.one)
    parts = [*_asked(assessment, grouping), *_assumed(study, system, grouping), *_moves(assessment, system),
             *_beyond(assessment, system, grouping),
             page_paragraph(f"Made by sumpwright {version('sumpwright')}. Figures are worked out, not measured: what the "
                            f"tape, the bucket and the watch say on the spot goes before them.")]
    return PageSection("basis", "What this rests on, and what it does not judge", join(parts))


def _asked(assessment: Assessment, grouping: Grouping) -> list[Markup]:
    network = assessment.results.network
    entries = [*asked_back_notes(assessment, grouping),
               *(f"{few(names)}: no pipe leads from here to the chamber that closes the balance."
                 for names in unjoined_waters(network)),
               *(f"{name}: a header that only one pipe meets." for name in one_pipe_headers(network))]
    return [subheading("Asked back"), items(entries)] if entries else []


def _assumed(study: Study, system: str, grouping: Grouping) -> list[Markup]:
    moves = line_ends(study)
    rows = [[bore_of(one, grouping) if one.kind == "catalogue" else one.name, _value(one, system),
             KINDS.get(one.kind, one.kind), one.source, _ends(moves.get(one.name, ()), "length", system, "no line")]
            for one in assumed(study.assessment)]
    if not rows:
        return []
    return [subheading("Assumed"),
            page_paragraph("Not stated in the file, so taken from here; the section 'defaults' of the file overrides each "
                           f"by name. {LINE}"),
            page_table("What was assumed, and where it comes from", ("what", "value (likely)", "kind", "source", "line"), rows,
                       (0, 2, 3))]


def _value(one: Assumed, system: str) -> str:
    digits = 3 if one.kind == "catalogue" else None

    def told(which: str) -> str:
        likely = plain_band(one.low, one.high, one.dimension, which, digits)
        return unrounded(one.middle, one.dimension, which, digits) + (f", likely {likely}" if likely else "")

    return twice(told, system)


def twice(told: Callable[[str], str], system: str) -> str:
    """Return something told in both systems, once where both say the same."""
    first, second = told(system), told(other_system(system))
    return first if first == second else f"{first} ({second})"


def _moves(assessment: Assessment, system: str) -> list[Markup]:
    rows = [[one.name, _ends(one.flow, "flow", system), _ends(one.tank, "length", system), _ends(one.cut, "length", system)]
            for one in influences(assessment)]
    if not rows:
        return []
    return [subheading("What moves the results most"),
            page_paragraph("What one input changes at the low and at the high end of its band, the others in their "
                           "middle. Measure the first ones better before anything else."),
            page_table("What an input changes, at its low / high end",
                       ("input", "flow", "tank's level", "sump's level after a power cut"), rows)]


def _ends(changes: Sequence[float | None], dimension: str, system: str, none: str = "-") -> str:
    return " / ".join(none if change is None else _signed(change, dimension, system) for change in changes)


def _signed(change: float, dimension: str, system: str) -> str:
    """Return a change, nothing where it is less than a tape or a bucket can tell."""
    if abs(change) < (5e-4 if dimension == "length" else 1.4e-7):
        return "0"
    return ("+" if change > 0.0 else "") + both(change, dimension, system)


def _beyond(assessment: Assessment, system: str, grouping: Grouping) -> list[Markup]:
    entries = []
    for item in not_judged(assessment, grouping):
        figures = "; ".join(f"{words} {both(value, dimension, system)}" for words, (value, dimension) in item.figures.items())
        entries.append(f"{item.what}: {item.instead}." + (f" ({figures})" if figures else ""))
    notes = [f"Noted in the file, not reckoned with: {'; '.join(note.rstrip('.') for note in assessment.build.notes)}."] \
        if assessment.build.notes else []
    return [subheading("Not judged"), page_paragraph("Nothing here says that these are in order. What to do instead:"),
            items([*entries, *notes]), subheading("Cautions"), items(CAUTIONS, class_="cautions")]
