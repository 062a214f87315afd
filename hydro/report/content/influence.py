"""Which single input moves the results most, from the findings at its two ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hydro.checks import Check
from hydro.checks.assessment import Assessment, pumped_flow
from hydro.report.content.levels import bottom_of
from hydro.scenarios.results import Results, opening_of, room_of

MOST = 6


@dataclass(frozen=True, slots=True)
class Influence:
    """What an input does at its low and at its high end: changes of pump flow (m3/s), of the tank's level below its lowest
    opening and of the sump's level after a power cut below its own (m, positive: higher). None where that end was not solved.
    """

    name: str
    flow: tuple[float | None, float | None]
    tank: tuple[float | None, float | None]
    cut: tuple[float | None, float | None]


def watched(assessment: Assessment) -> tuple[int, tuple[int, ...]]:
    """Return the tank and the sump whose levels are watched: the only ones, or the ones with the least room."""
    results = assessment.results
    tank = min(results.network.tanks, key=lambda k: room_of(results.state, k))
    case = results.stopped.get(results.wanted_cut())
    sumps = results.network.sumps
    if case is None or len(sumps) == 1:
        return tank, results.network.sump_of(results.network.pump_chamber)
    return tank, min(sumps, key=lambda sump: opening_of(results.network, sump[0]) - case.sump_level_of(sump))


def _tank(found: Results, tank: int) -> float:
    return float(found.state.levels[tank]) - opening_of(found.network, tank)


def _cut(found: Results, wanted: tuple[bool, bool], sump: tuple[int, ...]) -> float | None:
    return found.stopped[wanted].sump_level_of(sump) - bottom_of(found.network, sump[0]) if found.stopped else None


def influences(assessment: Assessment, most: int = MOST) -> list[Influence]:
    """Return the inputs that move any of the three figures most, the strongest first."""
    middle, wanted = assessment.results, assessment.results.wanted_cut()
    if not assessment.shifts:
        return []
    tank, sump = watched(assessment)
    changes: dict[str, dict[str, tuple[float | None, float | None, float | None]]] = {}
    for shift in assessment.shifts:
        found = shift.results
        if found.answer.state is None:
            continue
        before, after = _cut(middle, wanted, sump), _cut(found, wanted, sump)
        changes.setdefault(shift.uncertain.name, {})[shift.end] = (
            pumped_flow(found.state) - pumped_flow(middle.state), _tank(found, tank) - _tank(middle, tank),
            None if before is None or after is None else after - before)
    nothing = (None, None, None)
    listed = []
    for name, ends in changes.items():
        low, high = ends.get("low", nothing), ends.get("high", nothing)
        listed.append(Influence(name, (low[0], high[0]), (low[1], high[1]), (low[2], high[2])))
    return _strongest(listed, most)


def _strongest(listed: list[Influence], most: int) -> list[Influence]:
    largest = [max((_size(one, kind) for one in listed), default=0.0) for kind in ("flow", "tank", "cut")]

    def rank(one: Influence) -> float:
        return max((_size(one, kind) / scale for kind, scale in zip(("flow", "tank", "cut"), largest, strict=True)
                    if scale > 0.0), default=0.0)

    return sorted((one for one in listed if rank(one) > 0.02), key=lambda one: (-rank(one), one.name))[:most]


def _size(one: Influence, kind: str) -> float:
    return max((abs(change) for change in getattr(one, kind) if change is not None), default=0.0)


def most_in_doubt(assessment: Assessment, checks: Sequence[Check]) -> tuple[str, list[Check]] | None:
    """Return the input that takes most margin from some checks, and those it takes most from; None where no input does.

    What it takes from a check counts as its share of the most that any input takes from that one.
    """
    losses: dict[str, dict[str, float]] = {check.key: {} for check in checks}
    for shift in assessment.shifts:
        for check in checks:
            there = shift.checks.get(check.key)
            if there is not None and math.isfinite(there.margin) and there.margin < check.margin < math.inf:
                loss = losses[check.key]
                loss[shift.uncertain.name] = max(loss.get(shift.uncertain.name, 0.0), check.margin - there.margin)
    shares: dict[str, float] = {}
    for loss in losses.values():
        for name, lost in loss.items():
            shares[name] = shares.get(name, 0.0) + lost / max(loss.values())
    if not shares:
        return None
    first = max(shares, key=lambda name: shares[name])
    moved = [check for check in checks if first in losses[check.key]]
    return first, [check for check in moved if losses[check.key][first] >= 0.5 * max(losses[check.key].values())] or moved
