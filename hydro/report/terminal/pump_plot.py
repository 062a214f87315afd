"""Pump curves over the system curve as a drawing (SVG), written by plain code.

Colours by Okabe and Ito (a palette made for colour-blind readers; from memory), each with a dash of its own, so that it also
reads in grey. Names stand to the left, where the curves begin and lie well apart, each with a piece of its line; the scale of
heads stands to the right. The same input gives the same text.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from hydro.quantities.formatting import convert, unit_name
from hydro.report.terminal.layout import clean
from hydro.search.pumps.curves import Curves, Drawn

COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#000000")
DASHES = ("", "8 4", "2 3", "10 3 2 3", "5 2", "12 4 2 4 2 4")
LEFT, TOP, WIDE, HIGH, SIDE, BELOW = 280.0, 50.0, 560.0, 400.0, 70.0, 60.0
SAMPLE, LEAD = 34.0, 14.0
"""Length of the piece of line beside a name, and the room for the line that leads from it to the curve."""
LINE, LETTERS = 17.0, 30
"""Least distance of two labels, and the longest label in letters."""
SYSTEM_COLOUR = "#555555"


@dataclass(frozen=True, slots=True)
class _Frame:
    """Scales from the units shown to the drawing."""

    most_flow: float
    most_head: float
    system: str
    high: float

    def at(self, flow: float, head: float) -> tuple[float, float]:
        """Return the place of a point in SI units."""
        x = LEFT + WIDE * self.flow(flow) / self.most_flow
        return x, TOP + self.high * (1.0 - self.head(head) / self.most_head)

    def flow(self, value: float) -> float:
        """Return a flow in the unit shown."""
        return convert(value, "flow", self.system)

    def head(self, value: float) -> float:
        """Return a head in metres, or feet."""
        return value if self.system == "metric" else convert(value, "length", self.system) / 12.0


def plot(curves: Curves, system: str, title: str = "") -> str:
    """Return the drawing as the text of an SVG file; `system` is 'metric', 'US' or 'imperial'."""
    high = max(HIGH, LINE * (len(curves.pumps) + 2))
    uncertain = _Frame(1.0, 1.0, system, high)
    flows, heads = ticks(1.02 * uncertain.flow(curves.most_flow)), ticks(1.05 * uncertain.head(curves.most_head))
    frame = _Frame(flows[-1], heads[-1], system, high)
    whole = (LEFT + WIDE + SIDE, TOP + high + BELOW)
    lines = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole[0]:.0f} {whole[1]:.0f}" width="{whole[0]:.0f}" '
             f'height="{whole[1]:.0f}" font-family="sans-serif" font-size="13">',
             f"<title>{_safe(title or 'Pumps over the system curve', 200)}</title>",
             f'<rect width="{whole[0]:.0f}" height="{whole[1]:.0f}" fill="#ffffff"/>',
             f'<text x="{LEFT:.0f}" y="28" font-size="16">{_safe(title or "Pumps over the system curve", 70)}</text>',
             *_axes(frame, flows, heads), f'<clipPath id="inside">{_inside(frame)}</clipPath>',
             '<g clip-path="url(#inside)">']
    for number, one in enumerate(curves.pumps):
        lines += _curve(frame, one, number)
    lines += [*_system(frame, curves), "</g>"]
    for number, one in enumerate(curves.pumps):
        x, y = frame.at(*one.works)
        lines.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="{COLOURS[number % len(COLOURS)]}" stroke="#ffffff"/>')
    return "\n".join([*lines, *_labels(frame, curves), "</svg>"]) + "\n"


def ticks(most: float) -> list[float]:
    """Return round numbers from 0 to just over `most`, about six."""
    if most <= 0.0 or not math.isfinite(most):
        return [0.0, 1.0]
    uncertain = most / 6.0
    size = 10.0 ** math.floor(math.log10(uncertain))
    step = next(size * times for times in (1.0, 2.0, 5.0, 10.0) if size * times >= uncertain)
    return [step * k for k in range(math.ceil(most / step - 1e-9) + 1)]


def spread_labels(wanted: Sequence[float], least: float, top: float, bottom: float) -> list[float]:
    """Return heights near those wanted (rising), at least so far apart, between top and bottom where there is room."""
    placed: list[float] = []
    for y in wanted:
        placed.append(max(y, top if not placed else placed[-1] + least))
    low = bottom
    for k in range(len(placed) - 1, -1, -1):
        if placed[k] <= low:
            break
        placed[k] = low
        low -= least
    return placed


def _inside(frame: _Frame) -> str:
    return f'<rect x="{LEFT:.0f}" y="{TOP:.0f}" width="{WIDE:.0f}" height="{frame.high:.0f}"/>'


def _axes(frame: _Frame, flows: Sequence[float], heads: Sequence[float]) -> list[str]:
    foot, lines = TOP + frame.high, []
    for value in flows:
        x = LEFT + WIDE * value / frame.most_flow
        lines.append(f'<path d="M{x:.1f} {TOP:.1f}V{foot:.1f}" stroke="#dddddd"/>'
                     f'<text x="{x:.1f}" y="{foot + 18:.1f}" text-anchor="middle">{value:g}</text>')
    right, middle = LEFT + WIDE, TOP + frame.high / 2
    for value in heads:
        y = foot - frame.high * value / frame.most_head
        lines.append(f'<path d="M{LEFT:.1f} {y:.1f}H{right:.1f}" stroke="#dddddd"/>'
                     f'<text x="{right + 8:.1f}" y="{y + 4:.1f}">{value:g}</text>')
    unit = "m" if frame.system == "metric" else "ft"
    return [*lines, f'<path d="M{LEFT:.1f} {TOP:.1f}V{foot:.1f}H{right:.1f}V{TOP:.1f}" fill="none" stroke="#000000"/>',
            f'<text x="{LEFT + WIDE / 2:.1f}" y="{foot + 42:.1f}" text-anchor="middle">flow, '
            f"{unit_name('flow', frame.system)}</text>",
            f'<text x="{right + 56:.1f}" y="{middle:.1f}" text-anchor="middle" '
            f'transform="rotate(90 {right + 56:.1f} {middle:.1f})">head, {unit}</text>']


def _path(frame: _Frame, points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{'L' if number else 'M'}{x:.1f} {y:.1f}" for number, (x, y) in
                    enumerate(frame.at(*point) for point in points))


def _stroke(number: int | None) -> str:
    """Return colour, width and dash of a pump's line; None for what the loop asks for."""
    if number is None:
        return f'stroke="{SYSTEM_COLOUR}" stroke-width="3.5"'
    dash = DASHES[number % len(DASHES)]
    return f'stroke="{COLOURS[number % len(COLOURS)]}" stroke-width="2"' + (f' stroke-dasharray="{dash}"' if dash else "")


def _curve(frame: _Frame, one: Drawn, number: int) -> list[str]:
    lines = []
    if one.band is not None:
        lines.append(f'<path d="{_path(frame, [*one.band[0], *reversed(one.band[1])])}Z" '
                     f'fill="{COLOURS[number % len(COLOURS)]}" fill-opacity="0.10"/>')
    return [*lines, f'<path d="{_path(frame, one.points)}" fill="none" {_stroke(number)}/>']


def _system(frame: _Frame, curves: Curves) -> list[str]:
    lines = []
    if curves.wanted is not None:
        x, _ = frame.at(curves.wanted, 0.0)
        lines.append(f'<path d="M{x:.1f} {TOP:.1f}V{TOP + frame.high:.1f}" stroke="{SYSTEM_COLOUR}" stroke-width="2" '
                     'stroke-dasharray="1 5"/>')
    if curves.system:
        lines.append(f'<path d="{_path(frame, curves.system)}" fill="none" {_stroke(None)}/>')
    return lines


def _labels(frame: _Frame, curves: Curves) -> list[str]:
    """Return a name for each curve where it begins, none over another, with a piece of its line that leads there."""
    starts: list[tuple[float, str, int | None]] = [(frame.at(*one.points[0])[1], one.name, number)
                                                   for number, one in enumerate(curves.pumps)]
    if curves.system:
        starts.append((frame.at(*curves.system[0])[1], "what the loop asks for", None))
    starts.sort(key=lambda start: (start[0], start[1]))
    places = spread_labels([y for y, _, _ in starts], LINE, TOP, TOP + frame.high)
    lines, left = [], LEFT - LEAD - SAMPLE
    for (y, name, number), place in zip(starts, places, strict=True):
        lines.append(f'<path d="M{left:.1f} {place:.1f}H{LEFT - LEAD:.1f}L{LEFT:.1f} {y:.1f}" fill="none" {_stroke(number)}/>'
                     f'<text x="{left - 6:.1f}" y="{place + 4:.1f}" text-anchor="end">{_safe(name, LETTERS)}</text>')
    if curves.wanted is not None:
        x, _ = frame.at(curves.wanted, 0.0)
        if LEFT <= x <= LEFT + WIDE:
            lines.append(f'<text x="{x:.1f}" y="{TOP - 6:.1f}" text-anchor="middle" fill="{SYSTEM_COLOUR}">wanted flow</text>')
    return lines


def _safe(text: str, longest: int) -> str:
    shown = clean(text)
    return escape(shown if len(shown) <= longest else shown[:longest - 1] + "…")
