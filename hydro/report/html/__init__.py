"""The report as one page of HTML, section by section.

A section is a module of this package with

    def section(study: Study, system: str) -> Section | None

`system` is 'metric', 'US' or 'imperial': what comes first where a figure stands in both. None leaves the section out.
"""

from __future__ import annotations

from hydro.catalog import PriceList
from hydro.checks.assessment import Assessment
from hydro.report.html.markup import Section
from hydro.study import Study


def sections(study: Study, system: str, prices: PriceList | None = None) -> list[Section]:
    """Return the sections that have something to say, in the order of the page; `prices` are for the shopping list."""
    from hydro.report.html import basis, charts, drilling, plumbing, pump, shopping, side_view, summary, trial

    before = [module.section(study, system) for module in (summary, side_view, drilling, plumbing, pump, charts)]
    made = [*before, shopping.section(study, system, prices),
            *(module.section(study, system) for module in (trial, basis))]
    return [section for section in made if section is not None]


def html(found: Study | Assessment, units: str | None = None, prices: PriceList | None = None) -> str:
    """Return the page of a study, or of an assessment by itself.

    `units` is 'metric', 'US' or 'imperial', by default what the build asks for.
    """
    from hydro.report.html.frame import document

    study = Study.of(found)
    return document(study.assessment, sections(study, units or study.build.units, prices))
