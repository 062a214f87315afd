"""The report as one page of HTML, section by section.

A section is a module of this package with

    def NAME_section(study: Study, system: str) -> PageSection | None

`system` is 'metric', 'US' or 'imperial': what comes first where a figure stands in both. None leaves the section out.
"""

from __future__ import annotations

from hydro.catalog import PriceList
from hydro.checks.assessment import Assessment
from hydro.report.html.markup import PageSection
from hydro.study import Study


def sections(study: Study, system: str, prices: PriceList | None = None) -> list[PageSection]:
    """Return the sections that have something to say, in the order of the page; `prices` are for the shopping list."""
    from hydro.report.html.basis import basis_section
    from hydro.report.html.charts import charts_section
    from hydro.report.html.drilling import drilling_section
    from hydro.report.html.plumbing import plumbing_section
    from hydro.report.html.pump import pump_section
    from hydro.report.html.shopping import shopping_section
    from hydro.report.html.side_view import side_view_section
    from hydro.report.html.summary import summary_section
    from hydro.report.html.trial import trial_section

    before = (summary_section, side_view_section, drilling_section, plumbing_section, pump_section, charts_section)
    made = [*(section(study, system) for section in before), shopping_section(study, system, prices),
            trial_section(study, system), basis_section(study, system)]
    return [section for section in made if section is not None]


def html(found: Study | Assessment, units: str | None = None, prices: PriceList | None = None) -> str:
    """Return the page of a study, or of an assessment by itself.

    `units` is 'metric', 'US' or 'imperial', by default what the build asks for.
    """
    from hydro.report.html.frame import document

    study = Study.of(found)
    return document(study.assessment, sections(study, units or study.build.units, prices))
