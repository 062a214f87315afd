"""What a test sheet predicts: each figure with the band in which a build that is as described will be found.

Where every input is exact there is no band of its own: flows, times and volumes are then given 15 % to either side, heights
3 mm, marked as common practice, without a source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from hydro.checks.assessment import Assessment
from hydro.quantities.formatting import show, show_band
from hydro.quantities.tape import Band
from hydro.report.content.buckets import BUCKETS
from hydro.report.content.grouping import Grouped
from hydro.report.content.levels import moved_to, rim_of, spread_of
from hydro.report.content.sentences import NEAREST, other_system, range_of_heights, written
from hydro.report.html.figures import both
from hydro.scenarios.results import OverflowCase, Results, least_room, opening_of

PRACTICE_SHARE, PRACTICE_HEIGHT = 0.15, 0.003
"""Half a band where none is known: a share of a flow, time or volume; a height in m. Common practice, no source."""
NO_BAND = 0.002
"""Half a band below this share of a figure counts as none."""
MARKED = "*"
"""Marks a band that is common practice."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A row of the sheet: what to do, what is predicted, and between which values it passes; `warned` says not to do it."""

    do: str
    predicted: str = "-"
    between: str = "-"
    warned: bool = False


def height_with_band(band: Band, system: str, towards: int = NEAREST) -> tuple[str, str]:
    """Return a height, rounded as everywhere in the report, and its band outward to the marks of a tape, in both systems."""
    low, middle, high = band
    mark = ""
    if max(high - middle, middle - low) < 5e-4:
        low, high, mark = middle - PRACTICE_HEIGHT, middle + PRACTICE_HEIGHT, MARKED
    return both(middle, "length", system, towards), \
        f"{both(low, 'length', system, -1)} to {both(high, 'length', system, 1)}{mark}"


def amount_with_band(band: Band, dimension: str, system: str) -> tuple[str, str]:
    """Return a flow, volume or time and its band in both systems."""
    low, middle, high, mark = widened(band)
    return both(middle, dimension, system), f"{both(low, dimension, system)} to {both(high, dimension, system)}{mark}"


def widened(band: Band) -> tuple[float, float, float, str]:
    """Return a band, widened to 15 % and marked where there is none."""
    low, middle, high = band
    if max(high - middle, middle - low) > NO_BAND * abs(middle):
        return max(low, 0.0), middle, high, ""
    return middle * (1.0 - PRACTICE_SHARE), middle, middle * (1.0 + PRACTICE_SHARE), MARKED


def bucket_with_band(bucket: Band, system: str) -> tuple[str, str]:
    """Return the seconds for the bucket of either system; `bucket` counts for 10 L."""
    low, middle, high, mark = widened(bucket)
    told, ends = [], []
    for which in (system, other_system(system)):
        name, size = BUCKETS[which]
        told.append(f"{name} in {show(middle * size, 'time', which)}")
        ends.append(f"{name} in {show_band(low * size, high * size, 'time', which)}")
    return f"{told[0]} ({told[1]})", f"{ends[0]}{mark} ({ends[1]})"


def widest_band(grouped: Grouped[Band]) -> Band:
    """Return one band for all members: the least low, the first member's middle, the most high."""
    return min(band[0] for band in grouped.all), grouped.all[0][1], max(band[2] for band in grouped.all)


def below_rim(assessment: Assessment, water: int, ask: Callable[[Results], float]) -> Band:
    """Return how far below its rim a water stands, m, where `ask` gives its level in m above the ground."""
    return spread_of(assessment, lambda found: rim_of(found, water) - finite(ask(found), ask(assessment.results)))


def finite(value: float, otherwise: float) -> float:
    """Return a value, or another where it is none."""
    return value if math.isfinite(value) else otherwise


@dataclass(frozen=True, slots=True)
class Blocked:
    """Drains blocked: the water they hang in, how far below its rim it will stand, and the least room left anywhere, m.

    `room` is with the water that is in the loop, `room_topped_up` with the sump kept at its line; below 0 something goes over.
    Then the water stands `below_topped_up` below its rim.
    """

    water: int
    below: Band | None
    room: float
    room_topped_up: float
    below_topped_up: float = math.nan


def blocked(assessment: Assessment, overflow: OverflowCase, which: Sequence[OverflowCase], emergencies: bool) -> Blocked:
    """Return what a test with drains blocked will show, with the water that is in the loop and with the sump topped up."""
    results = assessment.results
    place = which.index(overflow)
    water = results.network.links[overflow.out[0]].up
    opening, rim = opening_of(results.network, water), rim_of(results, water)
    topped = float("inf") if overflow.with_air is None else float(overflow.with_air.levels[water])
    closed = overflow.closed.highest_of(water) if overflow.closed is not None and overflow.closed.state is not None else topped

    def level(found: Results) -> float:
        # The same water everywhere: at another end of a band another one may have the least room.
        cases = found.emergencies if emergencies else found.overflows
        state = cases[place].with_air if place < len(cases) else None
        return topped if state is None else float(state.levels[water])

    if not math.isfinite(closed) or not math.isfinite(topped):
        return Blocked(water, None, opening - closed, opening - topped)
    topped_room = least_room(overflow.with_air)[0] if overflow.with_air is not None else opening - topped
    state = None if overflow.closed is None else overflow.closed.state
    room = topped_room if state is None else least_room(state)[0]
    return Blocked(water, moved_to(below_rim(assessment, water, level), rim - closed), room, topped_room, rim - topped)


def any_one_of(grouped: Grouped[Any]) -> str:
    """Return what is to be measured: one thing, or any of several."""
    return f"'{grouped.called}'" if grouped.alone else f"any of {grouped.called}"


def spanned(grouped: Grouped[Band], system: str, towards: int) -> tuple[str, str]:
    """Return the prediction for one height, or for any of several that are alike."""
    predicted, between = height_with_band(widest_band(grouped), system, towards)
    if not grouped.alone:
        predicted = written(range_of_heights(grouped.ends(lambda band: band[1]), towards), system, both=True)
    return predicted, between
