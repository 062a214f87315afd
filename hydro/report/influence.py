"""Which single input moves the results most, from the findings at its two ends."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.assessment import Assessment
from hydro.findings import Findings
from hydro.report.levels import sump_bottom

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


def _tank(found: Findings) -> float:
    return float(found.state.tank_level) - found.tank_opening


def _cut(found: Findings, wanted: tuple[bool, bool]) -> float | None:
    return found.stopped[wanted].sump_level - sump_bottom(found.network) if found.stopped else None


def influences(assessment: Assessment, most: int = MOST) -> list[Influence]:
    """Return the inputs that move any of the three figures most, the strongest first."""
    middle, wanted = assessment.findings, assessment.findings.wanted_cut()
    changes: dict[str, dict[str, tuple[float | None, float | None, float | None]]] = {}
    for shift in assessment.shifts:
        found = shift.findings
        if found.answer.state is None:
            continue
        before, after = _cut(middle, wanted), _cut(found, wanted)
        changes.setdefault(shift.rough.name, {})[shift.end] = (
            float(found.state.pump_flow) - float(middle.state.pump_flow), _tank(found) - _tank(middle),
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
