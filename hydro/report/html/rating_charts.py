"""What each drain takes at which level, with air and as a siphon, with the marks between which it changes, and where it runs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hydro.elements.drain import FLUSHING_HIGH, SIPHON, WITH_AIR
from hydro.report.html.figures import both
from hydro.report.html.plotting import Axis, Chart, Curve, Level, Mark, Point
from hydro.scenarios.results import DRY, opening_of
from hydro.steady.state import State

STEPS = 90
AIR, FULL, SIDE = "with air", "as a siphon", 0.02


def rating_chart(state: State, link: int, system: str) -> Chart:
    """Return the chart of a drain in a running state: level over its lip against flow."""
    drain: Any = state.network.links[link].element
    down, flow = float(state.ends(link)[1]), max(float(state.flows[link]), 0.0)
    crest = float(drain.inlet.crest)
    over = float(state.ends(link)[0]) - crest
    primes = float(drain.in_mode(FLUSHING_HIGH).surge_head)
    room = opening_of(state.network, state.network.links[link].up) - crest
    top = max(1.3 * primes, 1.3 * over, min(1.1 * room, 2.5 * primes), SIDE)
    most = max(1.05 * float(drain.full_flow(top, down)), 1.15 * flow)
    flows = [most * k / STEPS for k in range(STEPS + 1)]

    def with_air(q: float) -> float:
        return max(float(drain.needed(q)[0]), float(drain.pipe_head(q, down)))

    air = _up_to(flows, top, with_air)
    full = _siphon(drain, flows, top, down)
    marks = []
    if full and full[0][0] > 0.0:
        marks.append(Mark("siphon breaks below here", full[0], "diamond"))
    if primes < top:
        fills = _first(flows, lambda q: with_air(q) - primes)
        if fills is not None and fills >= 0.98 * float(drain.sweeping_flow):
            marks.append(Mark("begins to siphon here", (fills, with_air(fills)), "square"))
    if flow >= DRY:
        marks.append(Mark("runs here", (flow, over)))
    low = min([0.0, *(1.1 * y for _, y in full), 1.1 * over if flow >= DRY else 0.0])
    told = _told(drain, flow, over, full, primes, system)
    levels = [Level("lip", 0.0)] + ([Level("lowest opening", room)] if room <= 1.02 * top else [])
    return Chart(f"{drain.name}: level over the lip against flow", told, f"rating-{link}",
                 Axis("flow", "flow", 0.0, most, system), Axis("level over the lip", "length", low, top, system),
                 [Curve(AIR, air, 0), Curve(FULL, full, 1)], marks, levels)


def _up_to(flows: list[float], top: float, ask: Callable[[float], float]) -> list[Point]:
    """Return the points of a curve up to the first one above `top`."""
    points: list[Point] = []
    for q in flows:
        points.append((q, ask(q)))
        if points[-1][1] > top:
            break
    return points


def _first(flows: list[float], ask: Callable[[float], float]) -> float | None:
    """Return the flow from which on something that rises with it is not below nothing, None where it stays below."""
    high = next((q for q in flows if ask(q) >= 0.0), None)
    if high is None or high == flows[0]:
        return high
    low = flows[flows.index(high) - 1]
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if ask(middle) < 0.0 else (low, middle)
    return high


def _siphon(drain: Any, flows: list[float], top: float, down: float) -> list[Point]:
    """Return the points at which the line runs full: those above the head at which its inlet draws air."""
    siphon = drain.in_mode(SIPHON)
    begins = _first(flows, lambda q: float(siphon.pipe_head(q, down)) - float(siphon.breaking_head(q)))
    kept = [] if begins is None else [begins, *(q for q in flows if q > begins)]
    return _up_to(kept, top, lambda q: max(float(siphon.inlet.fed(q)[0]), float(siphon.pipe_head(q, down))))


def _told(drain: Any, flow: float, over: float, full: list[Point], primes: float, system: str) -> str:
    """Return what the chart shows, in words."""
    mode = drain.mode if drain.mode in (WITH_AIR, SIPHON) else "flushing"
    runs = f"It runs {mode} at {both(flow, 'flow', system)} with {both(over, 'length', system)} over its lip." \
        if flow >= DRY else "It stands dry."
    breaks = f" As a siphon it takes at least {both(full[0][0], 'flow', system)}; with less it draws air." if full else \
        " No full line is to be had at these levels."
    takes = both(drain.vented_rating(), "flow", system)
    return f"{runs} With air it takes up to {takes}; from {both(primes, 'length', system)} over the lip it may begin to " \
           f"siphon.{breaks}"
