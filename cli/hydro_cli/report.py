"""`sumpwright report`: one page of HTML for print, for a phone, for whoever builds it."""

from __future__ import annotations

import argparse
from pathlib import Path

from .options import CASE, FORCE, PRICES, UNITS, Commands, add_command
from .run import EXITS, code_of
from .runner import Answer


def add(commands: Commands) -> None:
    """Add the command. Its --to is the page's own: what is printed is at most the page's name."""
    command = add_command(commands, "report", report, (CASE, UNITS, PRICES, FORCE),
                          "one page to print or to read on a phone: drawings, tables, lists, tests",
                          "Work out a build and write all that is said of it as one page of HTML, with\ndrawings to scale; it "
                          "needs no network and no script. The units of --units come\nfirst, the others in brackets.", EXITS,
                          reads=lambda options: [*options.cases, options.prices],
                          writes=lambda options: {"--to": _page(options), "--template": options.template})
    command.add_argument("--to", dest="page", metavar="FILE.html",
                         help="write to this file; default: the case's name with .html, in this folder")
    command.add_argument("--template", metavar="FILE.pdf", help="write the holes at 1:1 too, as .pdf (in sheets) or .svg")
    command.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="sheets of the template; default: A4")


def report(case: str, options: argparse.Namespace) -> Answer:
    """Work out a case and make its page, and the holes at 1:1 where they are asked for; the exit code is that of `run`."""
    from hydro import load
    from hydro.catalog import load_prices
    from hydro.report.drawing.template import drawing, template
    from hydro.report.html import html
    from hydro.study import study_of

    prices = load_prices(options.prices) if options.prices is not None else None
    study = study_of(load(case))
    files: list[tuple[str, str | bytes]] = [(_page(options), html(study, options.units, prices))]
    if options.template is not None:
        as_svg = options.template.lower().endswith(".svg")
        units = options.units or ""
        files.append((options.template, drawing(study, units) if as_svg else template(study, options.paper, units)))
    return Answer(code_of(study.assessment), None if options.page is not None else f"{_page(options)}\n", tuple(files))


def _page(options: argparse.Namespace) -> str:
    """Return the page's file, by default beside the shell under the case's name."""
    return options.page if options.page is not None else f"{Path(options.cases[0]).stem}.html"
