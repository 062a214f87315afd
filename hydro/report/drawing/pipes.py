"""The ways of pipes through a side view: true at both ends, schematic between them."""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

from hydro.report.drawing.layout import Span
from hydro.report.drawing.scale import Scale
from hydro.report.drawing.scene import DRAIN, DrawnPipe, End, Scene
from hydro.report.drawing.svg import polyline, svg_element, svg_words

BELOW, APART = 3.0, 1.3
"""How far below a tank its drains turn, and how far apart from each other, mm."""
OVER = 4.0
"""How far above a rim a return goes over, mm."""
Points = list[tuple[float, float]]


def routes(scene: Scene, scale: Scale, where: Mapping[str, Span], riser: float) -> list[Markup]:
    """Return the pipes of a scene; returns go up at `riser` (mm across the paper)."""
    made, turns = [], dict[str, int]()
    for pipe in scene.pipes:
        if pipe.kind == DRAIN:
            number = turns.get(pipe.start.vessel, 0)
            turns[pipe.start.vessel] = number + 1
            made.append(_drawn(pipe, _down(pipe, scene, scale, where, number)))
        else:
            made.append(_drawn(pipe, _up(pipe, scene, scale, where, riser)))
    return made


def _drawn(pipe: DrawnPipe, points: Points) -> Markup:
    state = " blocked" if pipe.blocked else ""
    return svg_element("g", svg_words("title", pipe.name), polyline(points, f"pipe outer {pipe.kind}{state}"),
                       polyline(points, f"pipe inner {pipe.kind}{state}"), class_="route")


def _x(end: End, scene: Scene, where: Mapping[str, Span]) -> float:
    return where[end.vessel].part(scene.vessel(end.vessel).shares, end.chamber).at(end.at)


def _down(pipe: DrawnPipe, scene: Scene, scale: Scale, where: Mapping[str, Span], number: int) -> Points:
    x, start = _x(pipe.start, scene, where), scale.y(pipe.start.height)
    vessel = scene.vessel(pipe.start.vessel)
    bottom = scale.y(scene.vessel(vessel.inside).bottom if vessel.inside else vessel.bottom)
    turn = bottom + BELOW + APART * number
    if not pipe.finish.vessel:
        return [(x, start), (x, turn)]
    across, end = _x(pipe.finish, scene, where), scale.y(pipe.finish.height)
    if end < turn:
        turn = min((bottom + end) / 2.0, end) if end > bottom else end
    return [(x, start), (x, turn), (across, turn), (across, end)]


def _up(pipe: DrawnPipe, scene: Scene, scale: Scale, where: Mapping[str, Span], riser: float) -> Points:
    across, end = _x(pipe.finish, scene, where), scale.y(pipe.finish.height)
    over = scale.y(max(scene.vessel(pipe.finish.vessel).rim, pipe.finish.height)) - OVER
    if not pipe.start.vessel:
        return [(riser, over), (across, over), (across, end)]
    x, start = _x(pipe.start, scene, where), scale.y(pipe.start.height)
    out = scale.y(scene.vessel(pipe.start.vessel).rim) - OVER / 2.0
    return [(x, start), (x, out), (riser, out), (riser, over), (across, over), (across, end)]
