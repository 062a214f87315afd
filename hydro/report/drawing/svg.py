"""SVG as text: elements with rounded numbers, every text escaped."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup, escape

APART = "\u2068", "\u2069"
"""Signs that set a text apart from its surroundings, whichever way it is written."""


def number(value: float) -> str:
    """Return a number of millimetres, to a ten-thousandth."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(name: str, /, *content: Markup, **attributes: object) -> Markup:
    """Return an element; `class_` is 'class', '_' inside a name is '-', numbers are rounded, None leaves one out."""
    written = "".join(f' {key.rstrip("_").replace("_", "-")}="{escape(number(value) if isinstance(value, float) else value)}"'
                      for key, value in attributes.items() if value is not None)
    inside = Markup("").join(content)
    return Markup(f"<{name}{written}>") + inside + Markup(f"</{name}>") if inside else Markup(f"<{name}{written}/>")


def words(name: str, text: str, /, **attributes: object) -> Markup:
    """Return an element that holds a text: `text`, `title`, `desc`, `tspan`."""
    return element(name, escape(text), **attributes)


def apart(text: str) -> str:
    """Return a text set apart, so that words written from right to left do not turn the line round."""
    return f"{APART[0]}{text}{APART[1]}"


def line(x1: float, y1: float, x2: float, y2: float, class_: str, **attributes: object) -> Markup:
    """Return a straight line."""
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, class_=class_, **attributes)


def polyline(points: Iterable[tuple[float, float]], class_: str, **attributes: object) -> Markup:
    """Return a line through points."""
    return element("polyline", points=" ".join(f"{number(x)},{number(y)}" for x, y in points), class_=class_, **attributes)


def rectangle(x: float, y: float, width: float, height: float, class_: str, **attributes: object) -> Markup:
    """Return a rectangle."""
    return element("rect", x=x, y=y, width=width, height=height, class_=class_, **attributes)


def drawing(width: float, height: float, title: str, description: str, content: Iterable[Markup], **attributes: object) -> Markup:
    """Return a drawing of a size in mm, with a title and a description for whoever cannot see it."""
    return element("svg", words("title", title), words("desc", description), *content, xmlns="http://www.w3.org/2000/svg",
                   width=f"{number(width)}mm", height=f"{number(height)}mm", viewBox=f"0 0 {number(width)} {number(height)}",
                   role="img", **attributes)
