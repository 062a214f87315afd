"""Levels against time: a tank with its boxes, and the chambers of the sump, with openings and numbered events."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.network.model import CHAMBER
from hydro.report.content.levels import bottom_of
from hydro.report.html.plotting import Axis, Chart, ChartCurve, ChartLevel, Point
from hydro.transient.integrate import Event, History

SHORTEST, SMALL, MARGIN = 10.0, 0.02, 0.08
"""Shortest time shown (s), least height shown (m), room above and below as a share."""


def settled(history: History, waters: Sequence[int], near: float = 2e-3) -> float:
    """Return the time from which on some waters stay within `near` (m) of their last level, s."""
    end = history.end.levels
    return next((before.time for before in reversed(history.moments)
                 if any(abs(before.levels[k] - end[k]) > near for k in waters)), 0.0)


def window(history: History, waters: Sequence[int]) -> float:
    """Return the time up to which something still moves that can be seen, s."""
    last = max((event.moment.time for event in history.events if event.moment.time <= history.end.time), default=0.0)
    seen = max(1.15 * settled(history, tuple(waters), 1e-3), SHORTEST)
    return min(max(seen, min(1.05 * last, 2.0 * seen)), history.end.time)


def shown_events(history: History, until: float, others: Sequence[str]) -> list[Event]:
    """Return the events up to a time that do not tell of things left out of the charts."""
    return [event for event in history.events if event.moment.time <= until
            and not any(event.words.startswith(f"{name} ") or event.words.endswith(f" {name}") for name in others)]


def _points(history: History, water: int, bottom: float, until: float) -> list[Point]:
    """Return a water's level over the bottom through time, to the first instant at or behind the end of the chart."""
    last = next((n for n, moment in enumerate(history.moments) if moment.time >= until), len(history.moments) - 1)
    return [(moment.time, moment.levels[water] - bottom) for moment in history.moments[:last + 1]]


def level_chart(history: History, waters: Sequence[int], title: str, name: str, until: float, times: Sequence[float],
                system: str) -> Chart:
    """Return the chart of some waters' levels above the bottom of their vessel, to a time (s)."""
    network = history.start.network
    bottom = bottom_of(network, waters[0])
    curves = [ChartCurve(network.waters[k].name, _points(history, k, bottom, until), number) for number, k in enumerate(waters)]
    openings: dict[str, float] = {}
    for k in waters:
        opening = network.waters[k].opening
        if opening is not None:
            key = "sump" if network.waters[k].kind == CHAMBER else network.waters[k].name
            openings.setdefault(key, float(opening) - bottom)
    levels = [ChartLevel("lowest opening" if len(openings) == 1 else f"opening of {key}", value) for key,
              value in openings.items()]
    heights = [y for curve in curves for _, y in curve.points] + [level.value for level in levels]
    low, high = min(heights), max(heights)
    edge = max(MARGIN * (high - low), SMALL / 2)
    told = "; ".join(f"{curve.name} from {curve.points[0][1] * 1e3:.0f} mm to {curve.points[-1][1] * 1e3:.0f} mm above the bottom"
                     for curve in curves)
    return Chart(title, f"Level against time: {told}.", name, Axis("time", "time", 0.0, until, system),
                 Axis("above its bottom", "length", max(low - edge, 0.0), high + edge, system), curves, (), levels, times,
                 high=210.0)
