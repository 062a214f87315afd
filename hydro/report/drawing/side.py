"""A side view to scale: heights true, widths and the ways of pipes only schematic. Every line that has a height carries it.

Each drawn line of a height has `data-height-mm`, its height above the ground in the model; the drawing has `data-ratio` and
`data-ground`, so that   y = data-ground - data-height-mm / data-ratio   in the drawing's own millimetres.
"""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

from hydro.report.drawing.labels import COLUMN, LEADER, LEAST, SOME, WHOLE, column, drawn, room_wanted
from hydro.report.drawing.layout import Span, spans
from hydro.report.drawing.lettering import ending
from hydro.report.drawing.pipes import routes
from hydro.report.drawing.scale import Scale, ratio_for
from hydro.report.drawing.scene import LEFT, RIGHT, DrawnMark, DrawnVessel, Scene
from hydro.report.drawing.svg import bidi_apart, polyline, rectangle, svg_drawing, svg_element, svg_line, svg_number, svg_words

WIDTH = 180.0
"""Of the paper: what A4 and US Letter leave between their margins, mm."""
MARGIN = 3.0
EDGE = 0.3
"""Between the paper's edge and a label, mm."""
HEAD = 9.0
"""Above the highest rim, for the pipes that come over it, mm."""
FOOT = 11.0
"""Below the ground, for the scale bar, mm."""
TALLEST = 240.0
"""The tallest a column of labels may stand, so that the drawing stays on its page, mm: then less is written in them."""
BARS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 50.0)
"""Lengths of the scale bar, m."""
LEAST_BAR = 4.0
"""Shortest bar on paper, mm."""
TICK = 1.6
"""Half the length of a short mark, mm."""
WIDE = {"rim", "bottom", "water", "line", "still", "ghost"}
"""Kinds of marks that are drawn across their vessel or chamber."""
FULL = {"rim", "bottom"}
"""Kinds that are drawn across the whole vessel, whatever chamber they name."""


def side_view(scene: Scene, room: float) -> Markup:
    """Return the drawing of a scene whose heights are to take `room` mm of paper at the most; labels may make it taller."""
    ratio = ratio_for(scene.top - scene.foot, room)
    sides = {side: [mark for mark in scene.marks if mark.side == side] for side in (LEFT, RIGHT)}
    detail = next((one for one in (WHOLE, SOME) if max(room_wanted(marks, one) for marks in sides.values()) <= TALLEST), LEAST)
    wanted = max(room_wanted(marks, detail) for marks in sides.values())
    tall = max(HEAD + 1e3 * (scene.top - scene.foot) / ratio + FOOT, wanted + 2.0 * MARGIN)
    spare = tall - (HEAD + 1e3 * (scene.top - scene.foot) / ratio + FOOT)
    scale = Scale(ratio, tall - FOOT - spare / 2.0 + 1e3 * scene.foot / ratio)
    where = spans(scene, Span(COLUMN + LEADER + 3.0, WIDTH - COLUMN - LEADER - 6.0))
    content = [_ground(scale), *_fills(scene, scale, where), *routes(scene, scale, where, WIDTH - COLUMN - LEADER - 2.0),
               *(_walls(vessel, scale, where[vessel.key]) for vessel in scene.vessels),
               *(_mark(mark, scene, scale, where) for mark in scene.marks)]
    for side, x in ((LEFT, EDGE), (RIGHT, WIDTH - COLUMN - EDGE)):
        labels = column(sides[side], scale, x, MARGIN / 2.0, tall - MARGIN / 2.0, detail)
        content += [drawn(label, scale, _target(label.mark, scene, where)) for label in labels]
    content.append(_bar(scale, tall))
    return svg_drawing(WIDTH, tall, scene.title, scene.description, content, class_="side-view", data_ratio=svg_number(ratio),
                       data_ground=svg_number(scale.ground))


def _place(mark: DrawnMark, scene: Scene, where: Mapping[str, Span]) -> Span:
    """Return what a mark is drawn across: its vessel, its chamber, or a short piece of it."""
    whole = where[mark.vessel]
    part = whole if mark.kind in FULL else whole.part(scene.vessel(mark.vessel).shares, mark.chamber)
    if mark.kind in WIDE:
        return part
    x = part.at(mark.at)
    return Span(x - TICK, x + TICK)


def _target(mark: DrawnMark, scene: Scene, where: Mapping[str, Span]) -> float:
    place = _place(mark, scene, where)
    return place.left if mark.side == LEFT else place.right


def _ground(scale: Scale) -> Markup:
    left, right, y = COLUMN + LEADER, WIDTH - COLUMN - LEADER, scale.y(0.0)
    hatch = Markup("").join(svg_line(x, y, x - 1.4, y + 1.4, "hatch") for x in _steps(left + 2.0, right, 3.0))
    return svg_element("g", svg_line(left, y, right, y, "ground", data_height_mm="0.000", data_kind="ground"), hatch)


def _steps(first: float, last: float, step: float) -> list[float]:
    return [first + step * k for k in range(int((last - first) / step) + 1)]


def _fills(scene: Scene, scale: Scale, where: Mapping[str, Span]) -> list[Markup]:
    made: list[Markup] = []
    # A box stands in its tank's water: what is above its own water is air.
    order = sorted(scene.marks, key=lambda mark: bool(scene.vessel(mark.vessel).inside))
    for mark in order:
        if mark.kind == "rim" and scene.vessel(mark.vessel).inside:
            place, box = where[mark.vessel], scene.vessel(mark.vessel)
            made.append(rectangle(place.left, scale.y(box.rim), place.right - place.left, scale.y(box.bottom) - scale.y(box.rim),
                                  "air"))
        if mark.kind == "water" and mark.floor is not None and mark.height > mark.floor:
            place = _place(mark, scene, where)
            top = scale.y(mark.height)
            made.append(rectangle(place.left, top, place.right - place.left, scale.y(mark.floor) - top, "water-fill"))
    return made


def _walls(vessel: DrawnVessel, scale: Scale, span: Span) -> Markup:
    bottom, rim = scale.y(vessel.bottom), scale.y(vessel.rim)
    shape = polyline([(span.left, rim), (span.left, bottom), (span.right, bottom), (span.right, rim)], f"walls {vessel.kind}")
    return svg_element("g", svg_words("title", vessel.name), shape, *_names(vessel, scale.y(vessel.bottom) - 1.1, span))


def _names(vessel: DrawnVessel, y: float, span: Span) -> list[Markup]:
    """Return the names of a vessel and its chambers, as much of them as their width takes."""
    made = []
    for chamber, name in enumerate(vessel.chambers or (vessel.name,)):
        part = span.part(vessel.shares, chamber)
        room = part.right - part.left - 1.0
        if room > 5.0:
            made.append(svg_words("text", bidi_apart(ending(name, 2.2, room)), x=(part.left + part.right) / 2.0, y=y,
                                  font_size=2.2,
                              class_="inside"))
    return made


def _mark(mark: DrawnMark, scene: Scene, scale: Scale, where: Mapping[str, Span]) -> Markup:
    place, y = _place(mark, scene, where), scale.y(mark.height)
    made = svg_line(place.left, y, place.right, y, f"mark {mark.kind}", data_height_mm=f"{1e3 * mark.height:.3f}",
                    data_kind=mark.kind, data_what=mark.words, data_vessel=scene.vessel(mark.vessel).name)
    x = (place.left + place.right) / 2.0
    if mark.kind == "hole":
        made += svg_element("circle", cx=x, cy=y, r=0.9, class_="mark hole")
    if mark.kind in ("plate", "mat") and mark.floor is not None:
        made = rectangle(x - 0.5 if mark.kind == "plate" else x - 1.2, y, 1.0 if mark.kind == "plate" else 2.4,
                         max(scale.y(mark.floor) - y, 0.0), f"wall {mark.kind}") + made
    if mark.kind == "water":
        made += polyline([(x - 1.1, y - 1.9), (x + 1.1, y - 1.9), (x, y - 0.2), (x - 1.1, y - 1.9)], "surface")
    if mark.kind == "blocked":
        made += svg_line(x - 1.6, y - 1.6, x + 1.6, y + 1.6, "cross") + svg_line(x - 1.6, y + 1.6, x + 1.6, y - 1.6, "cross")
    return made


def _bar(scale: Scale, tall: float) -> Markup:
    """Return a bar of a round length in the drawing's scale, beside what that scale is."""
    length = next((one for one in BARS if 1e3 * one / scale.ratio >= LEAST_BAR), BARS[-1])
    x, y = COLUMN + LEADER, tall - 2.4
    paper = 1e3 * length / scale.ratio
    text = f"{1e3 * length:g} mm ({length / 0.0254:.1f} in) of height; 1 : {scale.ratio:g} at full size"
    return svg_element("g", svg_line(x, y - paper, x, y, "bar"), svg_line(x - 1.0, y, x + 1.0, y, "bar"),
                       svg_line(x - 1.0, y - paper, x + 1.0, y - paper, "bar"),
                       svg_words("text", text, x=x + 2.5, y=y, font_size=2.5, class_="figure"), class_="scale-bar",
                       data_length_mm=svg_number(1e3 * length), data_drawn_mm=svg_number(paper))
