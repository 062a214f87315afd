"""The frame of the page: head, style, contents, sections. One file, no script, nothing fetched from anywhere."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

from markupsafe import Markup

from hydro.checks.assessment import Assessment
from hydro.report.html.markup import PageSection, escaped, join, tag

_WORDS = re.compile(r"(?<=>)[^<>]+(?=<)")
_FIGURE = re.compile(r"(?<=\d) (?=\d+/\d+\b|(?:mm|cm|m|in|ft|L|US|imp|W|kg|lb|s|h|Pa|kPa|psi|°[CF]|%)(?![\w]))"
                     r"|(?<=US|mp) (?=gal\b|gph\b)")
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:"
"""Nothing may be fetched, nothing may run: browsers hold the page to it."""


@cache
def style() -> Markup:
    """Return the style sheet of the page."""
    # The sheet is ours, no text of a user is in it; inside <style> nothing is escaped.
    return Markup(files("hydro.report.html").joinpath("style.css").read_text(encoding="utf-8"))


def glued(page: Markup) -> Markup:
    """Return the page with figures that do not break over a line: '5 9/16 in' and '4900 L/h' stay together."""
    return Markup(_WORDS.sub(lambda found: _FIGURE.sub("\u00a0", found.group()), str(page)))


def document(assessment: Assessment, sections: list[PageSection]) -> str:
    """Return the whole page."""
    title = assessment.build.title or "A build"
    head = tag("head", tag("meta", charset="utf-8"), tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
               Markup(f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'),
               tag("meta", name="color-scheme", content="light"), Markup('<link rel="icon" href="data:,">'),
               tag("title", f"{title} - plumbing report"), tag("style", style()))
    entries = [tag("li", tag("a", one.title, href=f"#{one.anchor}")) for one in sections]
    contents = tag("nav", tag("ul", *entries), aria_label="Contents")
    file = tag("p", escaped(assessment.build.file), class_="file", dir="auto") if assessment.build.file else ""
    top = tag("header", tag("p", "Plumbing report", class_="kind"), tag("h1", title, dir="auto"), file, contents)
    body = [tag("section", tag("h2", one.title, id=f"{one.anchor}-title"), one.body, id=one.anchor,
                aria_labelledby=f"{one.anchor}-title") for one in sections]
    page = tag("html", head, glued(tag("body", top, tag("main", *body))), lang="en")
    return str(join((Markup("<!doctype html>\n"), page, Markup("\n"))))
