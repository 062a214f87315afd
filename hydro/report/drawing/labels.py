"""Labels in two columns beside a drawing: boxes, leaders to what they name, as much in them as there is room for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from hydro.report.drawing.lettering import shortened, wrapped
from hydro.report.drawing.placing import placed, room_for
from hydro.report.drawing.scale import Scale
from hydro.report.drawing.scene import LEFT, DrawnMark
from hydro.report.drawing.svg import bidi_apart, polyline, rectangle, svg_element, svg_words

SIZE = 2.5
"""Height of the letters, mm."""
LINE = 3.05
PAD = 0.75
BOLD = 1.06
"""How much wider bold letters are."""
WHOLE, SOME, LEAST = "whole", "some", "least"
"""How much stands in a label."""
GAP = 0.7
"""Between two boxes, mm."""
COLUMN = 49.0
LEADER = 5.0
"""Room for the slanting part of a leader, mm."""


@dataclass(frozen=True, slots=True)
class Label:
    """A label on the paper: its box in mm, its lines, the mark it names."""

    mark: DrawnMark
    x: float
    y: float
    width: float
    height: float
    lines: tuple[str, ...]

    @property
    def centre(self) -> float:
        """The middle of its height."""
        return self.y + self.height / 2.0


def lines_of(mark: DrawnMark, detail: str) -> tuple[str, ...]:
    """Return what stands in a label.

    `WHOLE` is all of it, its name on two lines at the most; `SOME` its name and its first line; `LEAST` one line, the figure
    in the first system of units before the name.
    """
    if detail == LEAST:
        return (f"{mark.lines[0].partition(' (')[0]} {mark.words}" if mark.lines else mark.words,)
    if detail == SOME:
        return (mark.words, *mark.lines[:1])
    return (*wrapped(mark.words, SIZE * BOLD, COLUMN - 2.0 * PAD), *mark.lines)


def box_height(lines: Sequence[str]) -> float:
    """Return the height of a label's box, mm."""
    return len(lines) * LINE + 2.0 * PAD


def room_wanted(marks: Sequence[DrawnMark], detail: str) -> float:
    """Return the room that one column of labels needs, mm."""
    return room_for([box_height(lines_of(mark, detail)) for mark in marks], GAP)


def column(marks: Sequence[DrawnMark], scale: Scale, x: float, low: float, high: float, detail: str) -> list[Label]:
    """Return the labels of a column whose left edge is `x`, between two heights of the paper (mm)."""
    texts = [lines_of(mark, detail) for mark in marks]
    heights = [box_height(lines) for lines in texts]
    centres = placed([scale.y(mark.height) for mark in marks], heights, low, high, GAP)
    return [Label(mark, x, centre - height / 2.0, COLUMN, height, lines)
            for mark, lines, height, centre in zip(marks, texts, heights, centres, strict=True)]


def drawn(label: Label, scale: Scale, target: float) -> Markup:
    """Return a label with its leader to a place across the paper (mm)."""
    y, inner = scale.y(label.mark.height), label.x + label.width if label.mark.side == LEFT else label.x
    knee = inner + LEADER if label.mark.side == LEFT else inner - LEADER
    leader = polyline([(inner, label.centre), (knee, y), (target, y)], "leader")
    box = rectangle(label.x, label.y, label.width, label.height, "box")
    return svg_element("g", svg_words("title", ", ".join((label.mark.words, *label.mark.lines))), leader, box,
                       *_words(label), class_=f"label of-{label.mark.kind}",
                       data_height_mm=f"{1e3 * label.mark.height:.3f}")


def _words(label: Label) -> list[Markup]:
    made = []
    figures = sum(line in label.mark.lines for line in label.lines)
    names = len(label.lines) - figures
    for number, line in enumerate(label.lines):
        y = label.y + PAD + (number + 0.76) * LINE
        made.append(_text(line, label.x + PAD, y, label.width - 2.0 * PAD, "name" if number < names else "figure"))
    return made


def _text(line: str, x: float, y: float, room: float, class_: str) -> Markup:
    size = SIZE * BOLD if class_ == "name" else SIZE
    return svg_words("text", bidi_apart(shortened(line, size, room)), x=x, y=y, class_=class_, font_size=SIZE)
