"""The test sheet to fill in, pump and drains put on trial with fresh water: predictions, bands, room for what was measured."""

from __future__ import annotations

from collections.abc import Iterator

from markupsafe import Markup

from hydro.report.html.markup import PageSection, heads, items, join, page_paragraph, page_table, strong, subheading, tag
from hydro.report.html.trial_faults import blocked_steps, power_steps
from hydro.report.html.trial_running import running_steps
from hydro.report.html.trial_steps import MARKED, Trial
from hydro.steady.operating_point import STEADY
from hydro.study import Study

HEAD = {"what to do": 12.0, "predicted": 8.5, "passes between": 8.5, "found": 6.0, "date, initials": 6.0}
FIRST = (
    "Fresh water only, and no livestock, plants or stock in it, until every row is signed.",
    "Everything in its place as in service: strainers, mats, heaters off at the plug, lids on.",
    "Mains: every cord with a drip loop, sockets above any water, hands out of the water while anything is plugged in. A "
    "licensed electrician sees to sockets and leakage protection; local codes come before this sheet.",
    "One person stays at the switch all the time, another reads. Switch off as soon as water comes within two fingers of an "
    "opening, whatever is predicted.",
    "A tonne of water stands on the floor for each cubic metre: ask a structural engineer where that is not known to be safe.",
    "A row that does not pass is put right before the next one, and the rows before it are done again.")
TRIP = ("Press the test button of every leakage breaker (RCD, GFCI), everything running: it must switch off at once. Then do the "
        "rows of the power's return again. A breaker may fail and still feed power: press it now, and every month.")


def trial_section(study: Study, system: str) -> PageSection | None:
    """Return the sheet, None where the loop does not run: there is nothing to predict then."""
    assessment = study.assessment
    state = assessment.answer.state
    if state is None or not assessment.results.stopped:
        return None
    body: list[Markup] = [subheading("Before you begin"), items(FIRST)]
    if assessment.answer.kind != STEADY or assessment.answer.others:
        body.append(page_paragraph(strong(f"How it runs: {assessment.answer.kind}."),
                                   " Predictions are for the first of the ways to "
                              "run; expect the levels to move."))
    number = 0
    for title, steps in (("Fill and run", list(running_steps(assessment, state, system))),
                         ("Power off and on", list(power_steps(study, state, system))),
                         ("Something blocked", list(blocked_steps(assessment, system))),
                         ("Leakage protection", [Trial(TRIP, "no figure: it trips or it does not", "at once")])):
        body += [subheading(title), page_table("In this order", heads(HEAD), _rows(steps, number), range(5), class_="sheet")]
        number += len(steps)
    body.append(page_paragraph(f"'Passes between' is what the bands of your own figures make likely. {MARKED} common "
                               f"practice, no source: 15 % on flows, times and volumes, 3 mm on heights. A figure outside "
                               f"says that something is not as described: find out what.", class_="note"))
    body.append(page_paragraph("Tested by ", _blank(12), " on ", _blank(7), " signature ", _blank(12), class_="signature"))
    return PageSection("trial", "Test sheet", join(body))


def _blank(width: float) -> Markup:
    """Return a line to write on, so many letters' heights wide: cells without anything in them shrink to nothing."""
    return tag("span", style=f"display:inline-block;width:{width:g}em;border-bottom:1px dotted #555;height:1.2em")


def _rows(steps: list[Trial], before: int) -> Iterator[tuple[object, ...]]:
    """Yield the rows of a table, numbered on from those before."""
    for number, step in enumerate(steps, before + 1):
        do = join((f"{number}. ", strong("Do not do this as it stands. ") if step.warned else "", step.do))
        yield do, step.predicted, step.between, _blank(7), _blank(5)
