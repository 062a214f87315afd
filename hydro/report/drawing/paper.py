"""Lines, circles and words on sheets of paper, written as PDF or SVG. Millimetres, y downward from the sheet's upper edge."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from hydro.report.drawing import svg
from hydro.report.terminal.layout import clean

POINT = 25.4 / 72.0
"""A point of type, mm."""
SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Sheets of paper, width and height, mm."""
STROKES: dict[str, tuple[float, tuple[float, ...]]] = {
    "edge": (0.5, ()), "line": (0.3, (4.0, 1.5)), "hole": (0.35, ()), "cross": (0.15, ()), "bar": (0.5, ()),
    "mark": (0.2, ()), "cut": (0.15, (1.5, 1.5))}
"""Width and dashes of each kind of line, mm."""


@dataclass(frozen=True, slots=True)
class PaperLine:
    """A straight line of a kind."""

    x1: float
    y1: float
    x2: float
    y2: float
    kind: str


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle of a kind, its radius."""

    x: float
    y: float
    radius: float
    kind: str


@dataclass(frozen=True, slots=True)
class Words:
    """A clean text whose foot stands at y; `anchor` is 'start', 'middle' or 'end', `size` the height of its type in mm."""

    x: float
    y: float
    text: str
    size: float = 3.0
    anchor: str = "start"
    bold: bool = False


Shape = PaperLine | Circle | Words


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet: what lies in its area (left, top, right, bottom), cut off at its edge, and what stands round it."""

    inside: tuple[Shape, ...]
    area: tuple[float, float, float, float]
    outside: tuple[Shape, ...]


def latin(text: str) -> str:
    """Return a text in the signs that every PDF reader has letters for, '?' for others."""
    return clean("".join(sign for sign in text if sign not in svg.APART)).encode("cp1252", "replace").decode("cp1252")


def to_pdf(pages: Iterable[Page], size: tuple[float, float], title: str) -> bytes:
    """Return sheets as a PDF; the same sheets give the same bytes."""
    from reportlab.pdfgen.canvas import Canvas

    made = io.BytesIO()
    canvas = Canvas(made, pagesize=(size[0] / POINT, size[1] / POINT), invariant=1)
    canvas.setTitle(latin(title))
    # A reader that asks 'fit to page?' of itself shall not.
    canvas.setViewerPreference("PrintScaling", "None")
    for page in pages:
        canvas.saveState()
        left, top, right, bottom = page.area
        path = canvas.beginPath()
        path.rect(left / POINT, (size[1] - bottom) / POINT, (right - left) / POINT, (bottom - top) / POINT)
        canvas.clipPath(path, stroke=0, fill=0)
        for shape in page.inside:
            _draw(canvas, shape, size[1])
        canvas.restoreState()
        for shape in page.outside:
            _draw(canvas, shape, size[1])
        canvas.showPage()
    canvas.save()
    return made.getvalue()


def _draw(canvas: Any, shape: Shape, high: float) -> None:
    if isinstance(shape, Words):
        canvas.setFont("Helvetica-Bold" if shape.bold else "Helvetica", shape.size / POINT)
        draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}[shape.anchor]
        draw(shape.x / POINT, (high - shape.y) / POINT, latin(shape.text))
        return
    width, dashes = STROKES[shape.kind]
    canvas.setLineWidth(width / POINT)
    canvas.setDash([dash / POINT for dash in dashes])
    if isinstance(shape, PaperLine):
        canvas.line(shape.x1 / POINT, (high - shape.y1) / POINT, shape.x2 / POINT, (high - shape.y2) / POINT)
    else:
        canvas.circle(shape.x / POINT, (high - shape.y) / POINT, shape.radius / POINT, stroke=1, fill=0)


def to_svg(shapes: Sequence[Shape], size: tuple[float, float], title: str, description: str) -> str:
    """Return shapes as one SVG of a size in mm."""
    return str(svg.svg_drawing(*size, clean(title), clean(description), [_element(shape) for shape in shapes]))


def _element(shape: Shape) -> Markup:
    if isinstance(shape, Words):
        return svg.svg_words("text", shape.text, x=shape.x, y=shape.y, font_size=shape.size,
                             text_anchor=shape.anchor, font_family="sans-serif", font_weight="bold" if shape.bold else None)
    width, dashes = STROKES[shape.kind]
    style: dict[str, Any] = {"stroke": "black", "fill": "none", "stroke_width": width,
                             "stroke_dasharray": " ".join(map(svg.svg_number, dashes)) or None}
    if isinstance(shape, PaperLine):
        return svg.svg_element("line", x1=shape.x1, y1=shape.y1, x2=shape.x2, y2=shape.y2, **style)
    return svg.svg_element("circle", cx=shape.x, cy=shape.y, r=shape.radius, **style)
