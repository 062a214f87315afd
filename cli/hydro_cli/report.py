"""`sumpwright report`: one page of HTML for print, for a phone, for whoever builds it."""

from __future__ import annotations

from pathlib import Path

from hydro.errors import HydroError

from .output import complain, deliver, spare_the_cases, unwritable
from .run import code_of


def report(case: str, units: str | None, to: str | None, template: str | None = None, paper: str = "A4",
           prices: str | None = None) -> int:
    """Work out a case and write its page, by default beside the shell under the case's name; return the exit code of `run`.

    With `template` the holes at 1:1 are written too, as PDF or SVG by that file's ending; `prices` is a CSV for the shopping.
    """
    from hydro import load
    from hydro.catalog import load_prices
    from hydro.study import study_of

    target = to if to is not None else f"{Path(case).stem}.html"
    try:
        spare_the_cases([case], target)
        spare_the_cases([case, target], template)
        listed = load_prices(prices) if prices is not None else None
        study = study_of(load(case))
    except HydroError as problem:
        return complain(problem, case)
    from hydro.report.html import html

    try:
        deliver(html(study, units, listed), target)
    except HydroError as problem:
        return complain(problem, target)
    if to is None:
        print(target)
    if template is not None:
        from hydro.report.drawing.template import write

        try:
            write(study, template, paper, units or "")
        except HydroError as problem:
            return complain(problem, template)
        except OSError as problem:
            return complain(unwritable(template, str(problem.strerror)), template)
    return code_of(study.assessment)
