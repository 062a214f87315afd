"""What a drain takes at which level: with air and as a siphon, and between which flows it changes from one to the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from hydro.elements.drain import FLUSHING_HIGH, SIPHON
from hydro.quantities.bisection import halved
from hydro.scenarios.results import opening_of
from hydro.steady.state import State

STEPS, SIDE = 90, 0.02
"""Steps of flow, and the least height that is looked at, m."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Rating:
    """Levels over the lip (m) against flow (m3/s) of the drain in a link, looked at up to `top` (m) and `most` (m3/s).

    `with_air` and `as_siphon` are the two curves; the second begins where the full line draws air, and is empty where no full
    line is to be had. `fills` is where the drain may begin to siphon, None where it does not. `primes` is the level for that
    (m over the lip), `vented` the flow it takes with air (m3/s), `room` how far over the lip its water's opening lies (m).
    It runs at `flow`, its water `over` the lip, in a `mode`.
    """

    name: str
    link: int
    mode: str
    flow: float
    over: float
    room: float
    primes: float
    vented: float
    top: float
    most: float
    with_air: tuple[Point, ...]
    as_siphon: tuple[Point, ...]
    fills: Point | None


def rating_of(state: State, link: int) -> Rating:
    """Return the rating of a drain in a running state, the level at its lower end as it is there."""
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

    begins = _first(flows, lambda q: with_air(q) - primes) if primes < top else None
    fills = None if begins is None or begins < 0.98 * float(drain.sweeping_flow) else (begins, with_air(begins))
    return Rating(drain.name, link, drain.mode, flow, over, room, primes, drain.vented_rating(), top, most,
                  _up_to(flows, top, with_air), _siphon(drain, flows, top, down), fills)


def _up_to(flows: Sequence[float], top: float, ask: Callable[[float], float]) -> tuple[Point, ...]:
    """Return the points of a curve up to the first one above `top`."""
    points: list[Point] = []
    for q in flows:
        points.append((q, ask(q)))
        if points[-1][1] > top:
            break
    return tuple(points)


def _first(flows: list[float], ask: Callable[[float], float]) -> float | None:
    """Return the flow from which on something that rises with it is not below nothing, None where it stays below."""
    high = next((q for q in flows if ask(q) >= 0.0), None)
    if high is None or high == flows[0]:
        return high
    return float(halved(flows[flows.index(high) - 1], high, lambda q: ask(q) < 0.0, 30)[1])


def _siphon(drain: Any, flows: list[float], top: float, down: float) -> tuple[Point, ...]:
    """Return the points at which the line runs full: those above the head at which its inlet draws air."""
    siphon = drain.in_mode(SIPHON)
    begins = _first(flows, lambda q: float(siphon.pipe_head(q, down)) - float(siphon.breaking_head(q)))
    kept = [] if begins is None else [begins, *(q for q in flows if q > begins)]
    return _up_to(kept, top, lambda q: max(float(siphon.inlet.fed(q)[0]), float(siphon.pipe_head(q, down))))
