"""SVG as text: elements with rounded numbers, every text escaped."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup, escape

APART = "\u2068", "\u2069"
"""Signs that set a text apart from its surroundings, whichever way it is written."""


def svg_number(value: float) -> str:
    """Return a number of millimetres, to a ten-thousandth."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def svg_element(name: str, /, *content: Markup, **attributes: object) -> Markup:
    """Return an element; `class_` is 'class', '_' inside a name is '-', numbers are rounded, None leaves one out."""
    written = "".join(f' {key.rstrip("_").replace("_", "-")}="{escape(svg_number(value) if isinstance(value, float) else value)}"'
                      for key, value in attributes.items() if value is not None)
    inside = Markup("").join(content)
    return Markup(f"<{name}{written}>") + inside + Markup(f"</{name}>") if inside else Markup(f"<{name}{written}/>")


def svg_words(name: str, text: str, /, **attributes: object) -> Markup:
    """Return an element that holds a text: `text`, `title`, `desc`, `tspan`."""
    return svg_element(name, escape(text), **attributes)


def bidi_apart(text: str) -> str:
    """Return a text set apart, so that words written from right to left do not turn the line round."""
    return f"{APART[0]}{text}{APART[1]}"


def svg_line(x1: float, y1: float, x2: float, y2: float, class_: str, **attributes: object) -> Markup:
    """Return a straight line."""
    return svg_element("line", x1=x1, y1=y1, x2=x2, y2=y2, class_=class_, **attributes)


def polyline(points: Iterable[tuple[float, float]], class_: str, **attributes: object) -> Markup:
    """Return a line through points."""
    return svg_element("polyline", points=" ".join(f"{svg_number(x)},{svg_number(y)}" for x, y in points), class_=class_,
                       **attributes)


def rectangle(x: float, y: float, width: float, height: float, class_: str, **attributes: object) -> Markup:
    """Return a rectangle."""
    return svg_element("rect", x=x, y=y, width=width, height=height, class_=class_, **attributes)


def svg_drawing(width: float, height: float, title: str, description: str, content: Iterable[Markup],
                **attributes: object) -> Markup:
    """Return a drawing of a size in mm, with a title and a description for whoever cannot see it."""
    return svg_element("svg", svg_words("title", title), svg_words("desc", description), *content, xmlns="http://www.w3.org/2000/svg",
                       width=f"{svg_number(width)}mm", height=f"{svg_number(height)}mm",
                       viewBox=f"0 0 {svg_number(width)} {svg_number(height)}",
                       role="img", **attributes)
