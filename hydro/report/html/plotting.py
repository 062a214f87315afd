"""Charts as SVG made of the page's own elements: two axes in both systems of units, curves, marks, levels, numbered times.

Curves differ by dash as well as by colour (`hydro.report.terminal.pump_plot`), and each is named where it ends; nothing is told
by colour alone. Text stays text, in whatever script the names are. The same input gives the same drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from markupsafe import Markup, escape

from hydro.quantities.formatting import convert, unit_name
from hydro.report.content.sentences import other_system
from hydro.report.html.markup import tag
from hydro.report.terminal.layout import clean
from hydro.report.terminal.pump_plot import COLOURS, DASHES, spread_labels, ticks

LEFT, TOP, WIDE, RIGHT, BELOW = 84.0, 34.0, 372.0, 184.0, 64.0
"""Room beside the chart, and its width; names stand in the room to the right."""
LINE, LETTERS = 15.0, 26
"""Least distance of two names, and the longest name in letters."""
INK, FAINT = "#222222", "#d9d9d9"
GUIDE = "#555555"

Point = tuple[float, float]


class AxisUnit(NamedTuple):
    """A unit of an axis: its word, and what one of it is in SI."""

    word: str
    one: float


def measure(dimension: str, system: str) -> AxisUnit:
    """Return the unit of an axis: 'head' is in m or ft, 'time' in s, others as in tables."""
    if dimension == "head":
        return AxisUnit("m", 1.0) if system == "metric" else AxisUnit("ft", 0.3048)
    if dimension == "time":
        return AxisUnit("s", 1.0)
    return AxisUnit(unit_name(dimension, system), 1.0 / convert(1.0, dimension, system))


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis from `low` to `high` (SI) with what it shows in words; lines at round numbers of the system asked for."""

    words: str
    dimension: str
    low: float
    high: float
    system: str

    @property
    def units(self) -> tuple[AxisUnit, AxisUnit]:
        """The unit asked for, and that of the other system."""
        return measure(self.dimension, self.system), measure(self.dimension, other_system(self.system))

    @property
    def title(self) -> str:
        """What stands beside it: 'flow, L/h (US gph)'."""
        first, second = (unit.word for unit in self.units)
        return f"{self.words}, {first}" if first == second else f"{self.words}, {first} ({second})"

    def marks(self) -> list[tuple[float, str, str]]:
        """Return the round numbers on it: value in SI, and how it is written in both units ('' where they are one)."""
        (_, one), (word, two) = self.units
        step = ticks((self.high - self.low) / one)
        size = step[1] - step[0]
        first = -(-self.low / one // size)
        values = [size * (first + k) for k in range(len(step) + 2)]
        same = word == self.units[0].word
        return [(value * one, _number(value), "" if same else _number(float(f"{round(value * one / two, 2):.3g}")))
                for value in values if self.low - 1e-9 <= value * one <= self.high * (1.0 + 1e-9) + 1e-12]

    def share(self, value: float) -> float:
        """Return where a value lies, 0 at the low end and 1 at the high one, no further than a little outside."""
        return min(max((value - self.low) / (self.high - self.low), -0.05), 1.05)


def _number(value: float) -> str:
    return f"{value:.10g}" if abs(value) > 1e-9 else "0"


@dataclass(frozen=True, slots=True)
class ChartCurve:
    """A named line through points in SI units; `style` picks colour and dash, `band` is shaded between two lines."""

    name: str
    points: Sequence[Point]
    style: int = 0
    width: float = 2.2
    band: tuple[Sequence[Point], Sequence[Point]] | None = None


@dataclass(frozen=True, slots=True)
class ChartMark:
    """A named point; `shape` is 'circle', 'square' or 'diamond'."""

    name: str
    at: Point
    shape: str = "circle"


@dataclass(frozen=True, slots=True)
class ChartLevel:
    """A named height right across the chart."""

    name: str
    value: float


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart: `title` and `told` (what is to be seen, in words) are read out where it cannot be seen.

    `times` are places on the lower axis, numbered from `first_number` on.
    """

    title: str
    told: str
    name: str
    across: Axis
    up: Axis
    curves: Sequence[ChartCurve] = ()
    marks: Sequence[ChartMark] = ()
    levels: Sequence[ChartLevel] = ()
    times: Sequence[float] = ()
    first_number: int = 1
    high: float = 260.0

    def at(self, x: float, y: float) -> Point:
        """Return the place of a point in the drawing."""
        return LEFT + WIDE * self.across.share(x), TOP + self.high * (1.0 - self.up.share(y))


def plain(text: str) -> Markup:
    """Return text for a drawing: escaped, and without the elements of a page, which a drawing does not know."""
    return Markup(escape(clean(text)))


def chart_words(x: float, y: float, text: str, **attributes: object) -> Markup:
    """Return a text in a drawing; one written from right to left stays in itself."""
    return tag("text", plain(text), x=f"{x:.1f}", y=f"{y:.1f}", unicode_bidi="isolate", **attributes)


def shortened_label(name: str, most: int = LETTERS) -> str:
    """Return a name that fits beside a chart."""
    shown = clean(name)
    return shown if len(shown) <= most else shown[:most - 1] + "…"


def draw(chart: Chart) -> Markup:
    """Return the drawing."""
    width, height = LEFT + WIDE + RIGHT, TOP + chart.high + BELOW
    clip = f"{chart.name}-inside"
    inside = tag("clipPath", tag("rect", x=LEFT, y=TOP, width=WIDE, height=chart.high), id=clip)
    lines = tag("g", *(_curve(chart, curve) for curve in chart.curves), clip_path=f"url(#{clip})")
    return tag("svg", tag("title", plain(chart.title)), tag("desc", plain(chart.told)),
               tag("rect", width=f"{width:.0f}", height=f"{height:.0f}", fill="#ffffff"), inside, *_axes(chart),
               *(_level(chart, level) for level in chart.levels), *_times(chart), lines,
               *(_mark(*chart.at(*mark.at), mark.shape) for mark in chart.marks), *_names(chart),
               viewBox=f"0 0 {width:.0f} {height:.0f}", width=f"{width:.0f}", height=f"{height:.0f}", role="img",
               font_family="sans-serif", font_size="12", fill=INK, xmlns="http://www.w3.org/2000/svg")


def path(points: Sequence[Point], **attributes: object) -> Markup:
    """Return a line through places of the drawing."""
    d = " ".join(f"{'L' if number else 'M'}{x:.1f} {y:.1f}" for number, (x, y) in enumerate(points))
    return tag("path", d=d, **{"fill": "none", **attributes})


def stroke(style: int) -> dict[str, object]:
    """Return colour and dash of a style."""
    return {"stroke": COLOURS[style % len(COLOURS)], "stroke_dasharray": DASHES[style % len(DASHES)] or None}


def _curve(chart: Chart, curve: ChartCurve) -> Markup:
    drawn = path([chart.at(*point) for point in curve.points], stroke_width=curve.width, **stroke(curve.style))
    if curve.band is None:
        return drawn
    edge = [chart.at(*point) for point in (*curve.band[0], *reversed(curve.band[1]))]
    return path(edge, fill=COLOURS[curve.style % len(COLOURS)], fill_opacity="0.12") + drawn


def _axes(chart: Chart) -> list[Markup]:
    foot, right, made = TOP + chart.high, LEFT + WIDE, []
    for value, first, second in chart.across.marks():
        x, _ = chart.at(value, chart.up.low)
        made += [path([(x, TOP), (x, foot)], stroke=FAINT), chart_words(x, foot + 16, first, text_anchor="middle")]
        made += [chart_words(x, foot + 30, f"({second})", text_anchor="middle", font_size="11")] if second else []
    for value, first, second in chart.up.marks():
        _, y = chart.at(chart.across.low, value)
        made += [path([(LEFT, y), (right, y)], stroke=FAINT),
                 chart_words(LEFT - 6, y + 4, f"{first} ({second})" if second else first, text_anchor="end")]
    rows = len({unit.word for unit in chart.across.units})
    return [*made, tag("rect", x=LEFT, y=TOP, width=WIDE, height=chart.high, fill="none", stroke=INK),
            chart_words(LEFT + WIDE / 2, foot + 20 + 16 * rows, chart.across.title, text_anchor="middle"),
            chart_words(LEFT - 6, TOP - 16, chart.up.title)]


def _level(chart: Chart, level: ChartLevel) -> Markup:
    _, y = chart.at(chart.across.low, level.value)
    return path([(LEFT, y), (LEFT + WIDE, y)], stroke=GUIDE, stroke_width="1.5", stroke_dasharray="1 4")


def _times(chart: Chart) -> list[Markup]:
    """Return the numbered times; those close together share one line of numbers."""
    made, last = [], -1e9
    places: list[tuple[float, list[str]]] = []
    for number, time in enumerate(chart.times, chart.first_number):
        x, _ = chart.at(time, chart.up.low)
        if places and x - last < 3.0:
            places[-1][1].append(str(number))
            continue
        last = x
        places.append((x, [str(number)]))
    for row, (x, numbers) in enumerate(places):
        shown = numbers[0] if len(numbers) == 1 else f"{numbers[0]}-{numbers[-1]}"
        made += [path([(x, TOP), (x, TOP + chart.high)], stroke=GUIDE, stroke_width="1", stroke_dasharray="4 3"),
                 chart_words(x + 2, TOP + 11 + 12 * (row % 3), shown, font_size="10")]
    return made


def _mark(x: float, y: float, shape: str) -> Markup:
    looks: dict[str, object] = {"fill": "#ffffff", "stroke": INK, "stroke_width": 2}
    if shape == "square":
        return tag("rect", x=f"{x - 4:.1f}", y=f"{y - 4:.1f}", width=8, height=8, **looks)
    if shape == "diamond":
        return path([(x - 6, y), (x, y - 6), (x + 6, y), (x, y + 6), (x - 6, y)], **looks)
    return tag("circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=5, **looks)


def _names(chart: Chart) -> list[Markup]:
    """Return the names beside the chart, each led to its curve, point or level, none over another."""
    entries: list[tuple[Point, str, dict[str, object] | str]] = []
    for curve in chart.curves:
        inside = [point for point in curve.points if chart.across.low <= point[0] <= chart.across.high
                  and chart.up.low <= point[1] <= chart.up.high]
        if inside and curve.name:
            entries.append((chart.at(*inside[-1]), curve.name, {"stroke_width": curve.width, **stroke(curve.style)}))
    thin: dict[str, object] = {"stroke": GUIDE, "stroke_width": 1}
    entries += [(chart.at(*mark.at), mark.name, mark.shape) for mark in chart.marks if mark.name]
    entries += [(chart.at(chart.across.high, level.value), level.name, {**thin, "stroke_dasharray": "1 4"})
                for level in chart.levels if chart.up.low <= level.value <= chart.up.high]
    entries.sort(key=lambda entry: (entry[0][1], entry[1]))
    places = spread_labels([y for (_, y), _, _ in entries], LINE, TOP + 4, TOP + chart.high + 20)
    edge, made = LEFT + WIDE, []
    for ((x, y), name, looks), place in zip(entries, places, strict=True):
        start = [(x + 6, y)] if x < edge - 8 else [(edge + 1, y)]
        sample = [(edge + 12, place), (edge + 34, place)]
        shown = _mark(edge + 23, place, looks) if isinstance(looks, str) else path(sample, **looks)
        made += [path([*start, (edge + 12, place)], stroke=GUIDE, stroke_width="0.8"), shown,
                 chart_words(edge + 38, place + 4, shortened_label(name))]
    return made
