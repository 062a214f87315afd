"""A panel to scale with its holes, from outside: each hole's diameter, its centre from two edges, and what is left beside it.

Measures stand in rows below the panel and in columns beside it, one each, in an order in which no line crosses a figure; what
stands inside the panel is put at the nearest place where it covers nothing, with a thin line to it where that is not near.
Millimetres of paper throughout.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from markupsafe import Markup

from hydro.checks import CheckKind
from hydro.drilling.measures import exact, length
from hydro.drilling.panels import DrilledHole
from hydro.drilling.rules import between, clearances, pair
from hydro.drilling.sheet import PanelSheet
from hydro.report.drawing import svg
from hydro.report.drawing.lettering import shortened, width
from hydro.report.terminal.layout import clean

WIDE, HIGH = 150.0, 95.0
"""The most room a panel takes on paper."""
WIDEST, LEAST = 180.0, 20.0
"""The whole drawing is no wider, so that a page prints it to scale; a panel is not made narrower than the second for that."""
PITCH, LETTERS, SMALL = 5.0, 2.5, 2.2
EDGE, NAMES = 8.0, 34.0
INK = "currentColor"

Rectangle = tuple[float, float, float, float]
"""Left, top, right, bottom."""


@dataclass(slots=True)
class _Drawing:
    sheet: PanelSheet
    system: str
    holes: list[DrilledHole]
    scale: float
    left: float
    top: float
    taken: list[Rectangle] = field(default_factory=list)
    drawn: list[Markup] = field(default_factory=list)
    boxes: list[Rectangle] = field(default_factory=list)

    def at(self, hole: DrilledHole) -> tuple[float, float, float]:
        """Return the centre and radius of a hole on paper."""
        x, up, wide = hole.spot()
        return (self.left + self.scale * x, self.top + self.scale * (self.sheet.panel.height - up), 0.5 * self.scale * wide)

    def line(self, x1: float, y1: float, x2: float, y2: float, wide: float = 0.2, dashes: str | None = None) -> None:
        """Draw a line."""
        self.drawn.append(svg.svg_element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=INK, stroke_width=wide,
                                          stroke_dasharray=dashes))

    def words(self, x: float, y: float, text: str, size: float = LETTERS, anchor: str = "start", turned: bool = False,
              bold: bool = False) -> None:
        """Write a text with its foot at y, or turned a quarter to the left round that point."""
        self.drawn.append(svg.svg_words("text", text, x=x, y=y, font_size=size, text_anchor=anchor, fill=INK,
                                        font_weight="bold" if bold else None, font_family="sans-serif",
                                        transform=f"rotate(-90 {svg.svg_number(x)} {svg.svg_number(y)})" if turned else None))
        wide = width(text, size)
        start = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
        self.boxes.append((x - 0.8 * size, y - wide + start, x + 0.2 * size, y + start) if turned else
                          (x - start, y - 0.8 * size, x - start + wide, y + 0.2 * size))

    def placed(self, text: str, size: float, at: tuple[float, float], near: float, bold: bool = False) -> None:
        """Write a text at the place nearest to a point where it covers nothing, at least `near` beside it; else where least."""
        wide, half = width(text, size), 0.5 * size

        def box(place: tuple[float, float]) -> Rectangle:
            return place[0] - 0.5, place[1] - half - 0.4, place[0] + wide + 0.5, place[1] + half + 0.4

        def cost(place: tuple[float, float]) -> tuple[float, float, tuple[float, float]]:
            beside = max(place[0] - at[0], at[0] - place[0] - wide, 0.0)
            away = math.hypot(beside, place[1] - at[1])
            return sum(_shared(box(place), other) for other in self.taken), away, place
        steps = (0.0, 2.0, 4.0, 8.0, 14.0, 20.0)
        starts = [at[0] - 0.5 * wide, *(at[0] + near + step for step in steps), *(at[0] - near - step - wide for step in steps)]
        best = min(((x, at[1] + 1.5 * k) for x in starts for k in range(-24, 25)), key=cost)
        self.taken.append(box(best))
        if cost(best)[1] > near + 4.0:
            side = best[0] - 0.3 if best[0] > at[0] else min(best[0] + wide + 0.3, at[0])
            self.line(*at, side, best[1], 0.08)
        self.words(best[0], best[1] + 0.35 * size, text, size, bold=bold)


def panel_drawing(sheet: PanelSheet, system: str) -> Markup:
    """Return the drawing of a panel as SVG; empty where the place of no hole is known."""
    made = _drawn(sheet, system)
    return made[0] if made is not None else Markup("")


def label_boxes(sheet: PanelSheet, system: str) -> list[Rectangle]:
    """Return the boxes of all texts of the drawing, mm of paper."""
    made = _drawn(sheet, system)
    return [] if made is None else made[1]


def _drawn(sheet: PanelSheet, system: str) -> tuple[Markup, list[Rectangle]] | None:
    panel = sheet.panel
    holes = [hole for hole in sheet.holes if hole.placed and hole.widest is not None]
    if not holes:
        return None
    one, size = _measured(sheet, system, holes, WIDE)
    wide = min(WIDE, one.scale * panel.width)
    while size[0] > WIDEST and wide > LEAST:
        # Figures beside the panel keep their size: it is the panel that gives way.
        wide = max(LEAST, wide - (size[0] - WIDEST) - 0.1)
        one, size = _measured(sheet, system, holes, wide)
    seen = "from above, front edge below" if panel.level else "from OUTSIDE"
    title = f"{clean(sheet.name)}, seen {seen}"
    names = ", ".join(f"{k} {clean(hole.name)}" for k, hole in enumerate(holes, 1))
    return svg.svg_drawing(*size, title, f"{title}, to scale, with the holes {names}.", one.drawn), one.boxes


def _measured(sheet: PanelSheet, system: str, holes: list[DrilledHole], wide: float) -> tuple[_Drawing, tuple[float, float]]:
    """Return the drawing of a panel at most so wide on paper (mm), with the width and height that all of it takes."""
    panel = sheet.panel
    scale = min(wide / panel.width, HIGH / panel.height)
    one = _Drawing(sheet, system, holes, scale, EDGE + PITCH * len(holes) + 2.0, 14.0)
    right, foot = one.left + scale * panel.width, one.top + scale * panel.height
    _outline(one, right, foot)
    lowest = _columns(one, foot)
    last, far = _rows(one, foot)
    _holes(one, right, foot)
    return one, (max(right + EDGE, one.left + 90.0, far + 2.0), max(last, lowest) + PITCH)


def _shared(one: Rectangle, other: Rectangle) -> float:
    """Return the area that two rectangles share, with a little for touching at all."""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return wide * high + 0.1 if wide > 0.0 and high > 0.0 else 0.0


def _outline(one: _Drawing, right: float, foot: float) -> None:
    panel = one.sheet.panel
    one.drawn.append(svg.svg_element("rect", x=one.left, y=one.top, width=right - one.left, height=foot - one.top, fill="none",
                                     stroke=INK, stroke_width=0.5))
    seen = "seen from above, front edge below" if panel.level else "seen from OUTSIDE, rim at the top"
    made = panel.material or "what it is of is not stated"
    made += "" if panel.thickness is None else f" {exact(panel.thickness, one.system)}"
    one.words(one.left, one.top - 6.5, f"{svg.bidi_apart(clean(one.sheet.name))}: {seen}; {made}", LETTERS, bold=True)
    inside = f"inside {length(panel.width, one.system)} x {length(panel.height, one.system)}; 1 : {1000.0 / one.scale:.3g}"
    one.words(one.left, one.top - 2.5, inside, LETTERS)
    for edge in ((one.left - 1.0, one.top, one.left + 1.0, foot), (right - 1.0, one.top, right + 1.0, foot),
                 (one.left, one.top - 1.0, right, one.top + 1.0), (one.left, foot - 1.0, right, foot + 1.0)):
        one.taken.append(edge)
    # What stands outside the panel belongs to the measures.
    one.taken += [(-1e3, -1e3, one.left, 1e3), (right + 40.0, -1e3, 1e3, 1e3), (-1e3, -1e3, 1e3, one.top), (-1e3, foot, 1e3, 1e3)]


def _columns(one: _Drawing, foot: float) -> float:
    """Heights: a column for each hole, its figure below the end. Return how far down the figures reach."""
    level = one.sheet.panel.level
    zero, lowest = foot if level else one.top, foot
    # Counted from above the longest stands innermost, from below the shortest: then no thin line crosses a figure.
    order = sorted(one.holes, key=lambda hole: -one.at(hole)[1])
    for k, hole in enumerate(order):
        (x, y, _), (_, up, _) = one.at(hole), hole.spot()
        column = one.left - 3.0 - PITCH * k
        text = f"{one.holes.index(hole) + 1}: {length(up if level else one.sheet.panel.height - up, one.system)}"
        one.line(x, y, column - 0.8, y, 0.1, "0.8 0.8")
        one.line(column, zero, column, y)
        for end in (zero, y):
            one.line(column - 0.8, end, column + 0.8, end)
        one.words(column - 0.8 if level else column + 0.35 * LETTERS, y + 1.2, text, LETTERS, "end", turned=True)
        one.taken.append((one.left, y - 0.3, x, y + 0.3))
        lowest = max(lowest, y + 1.2 + width(text, LETTERS))
    return lowest


def _rows(one: _Drawing, foot: float) -> tuple[float, float]:
    """Places from the left: a row for each hole, the longest next to the panel, its figure behind its end.

    Return how far down and how far to the right they reach.
    """
    y, far = foot + 1.0, one.left
    for hole in sorted(one.holes, key=lambda hole: -one.at(hole)[0]):
        x, centre, _ = one.at(hole)
        text = f"{one.holes.index(hole) + 1}: {length(hole.spot()[0], one.system)}"
        y += PITCH
        one.line(x, centre, x, y + 0.8, 0.1, "0.8 0.8")
        one.line(one.left, y, x, y)
        for end in (one.left, x):
            one.line(end, y - 0.8, end, y + 0.8)
        one.words(x + 1.2, y + 0.35 * LETTERS, text, LETTERS)
        one.taken.append((x - 0.3, centre, x + 0.3, foot))
        far = max(far, x + 1.2 + width(text, LETTERS))
    return y, far


def _holes(one: _Drawing, right: float, foot: float) -> None:
    """Holes with their names, and the clearances that are shortest."""
    for hole in one.holes:
        x, y, radius = one.at(hole)
        refused = bool(hole.refused) or hole.diameter is None
        one.drawn.append(svg.svg_element("circle", cx=x, cy=y, r=radius, fill="none", stroke=INK, stroke_width=0.35,
                                         stroke_dasharray="1.2 0.8" if refused else None))
        one.line(x - radius - 1.0, y, x + radius + 1.0, y, 0.12)
        one.line(x, y - radius - 1.0, x, y + radius + 1.0, 0.12)
        one.taken.append((x - radius, y - radius, x + radius, y + radius))
    for x1, y1, x2, y2, text in [*_gaps(one, right, foot)]:
        one.placed(text, SMALL, (0.5 * (x1 + x2), 0.5 * (y1 + y2)), 0.9)
    for k, hole in enumerate(one.holes, 1):
        x, y, radius = one.at(hole)
        size = exact(hole.diameter, one.system) if hole.diameter is not None else "size: measure the fitting"
        name = svg.bidi_apart(shortened(clean(hole.name), LETTERS, NAMES))
        text = f"{k} {name} ⌀ {size}" + (" NOT GIVEN" if hole.refused else "")
        one.placed(text, LETTERS, (x, y), radius + 1.5, bold=True)


def _gaps(one: _Drawing, right: float, foot: float) -> Iterator[tuple[float, float, float, float, str]]:
    """Draw and yield the shortest clearance of each hole to an edge, and those between holes that a rule was asked about."""
    for hole in one.holes:
        x, y, radius = one.at(hole)
        near, value = min(clearances(hole).items(), key=lambda item: item[1])
        ends = {"left": (x - radius, y, one.left, y), "right": (x + radius, y, right, y), "upper": (x, y - radius, x, one.top),
                "back": (x, y - radius, x, one.top), "lower": (x, y + radius, x, foot), "front": (x, y + radius, x, foot)}[near]
        one.line(*ends, 0.25)
        one.taken.append((min(ends[0], ends[2]) - 0.3, min(ends[1], ends[3]) - 0.3, max(ends[0], ends[2]) + 0.3,
                          max(ends[1], ends[3]) + 0.3))
        yield (*ends, length(value, one.system, -1))
    asked = {check.subject for check in one.sheet.checks if check.kind is CheckKind.HOLE_TO_HOLE}
    for k, hole in enumerate(one.holes):
        for other in one.holes[k + 1:]:
            if pair(hole, other) in asked:
                (x1, y1, r1), (x2, y2, r2) = one.at(hole), one.at(other)
                far = max(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5, 1e-9)
                u, v = (x2 - x1) / far, (y2 - y1) / far
                ends = x1 + r1 * u, y1 + r1 * v, x2 - r2 * u, y2 - r2 * v
                one.line(*ends, 0.25)
                yield (*ends, length(between(hole, other), one.system, -1))
