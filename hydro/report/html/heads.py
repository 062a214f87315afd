"""Heads of columns that keep the room their figures want: on a narrow screen a table scrolls instead of breaking them."""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

from hydro.report.html.markup import tag


def heads(widths: Mapping[str, float]) -> list[Markup]:
    """Return the heads of columns: their words, each with the least width of its column in letters' heights."""
    return [tag("span", words, style=f"display:inline-block;min-width:{width:g}em") for words, width in widths.items()]
