"""A check as it is read: value, limit and margin off the tape, each rounded to the side that matters."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydro.checks import Check, CheckKind
from hydro.checks.assessment import Assessment
from hydro.checks.check import AT_LEAST, NEITHER
from hydro.report.content.blocked_answers import HIGH
from hydro.report.content.levels import bottom_of
from hydro.report.content.sentences import DOWN, UP, Figure
from hydro.scenarios.results import opening_of

OVER, UNLIMITED = "over", "unlimited"


@dataclass(frozen=True, slots=True)
class CheckFigures:
    """Value, limit and margin of a check; levels are counted from their vessel's bottom.

    The value is 'over' where the water cannot stand so high; of what is not measured it is in words, and nothing else stands.
    """

    value: Figure | str
    limit: Figure | str = ""
    margin: Figure | str = ""


def check_figures(assessment: Assessment, check: Check) -> CheckFigures:
    """Return the figures of a check."""
    water, network = check.water, assessment.results.network
    off = 0.0 if water is None else bottom_of(network, water)
    if check.sense == NEITHER:
        return CheckFigures(assessment.answer.kind if check.kind is CheckKind.STEADY else "-")
    reached, bound = (DOWN, UP) if check.sense == AT_LEAST else (UP, DOWN)

    def told(value: float, towards: int, digits: int | None = None) -> Figure | str:
        return Figure(value, check.dimension, towards, digits=digits) if math.isfinite(value) else UNLIMITED

    plain = 3 if check.dimension == "number" else None
    limit = told(check.limit - off, bound, plain)
    if check.kind is CheckKind.POWER_CUT and water is not None and check.value > opening_of(network, water):
        missing = assessment.results.stopped[assessment.results.wanted_cut()].spare_of(network.sump_of(water))
        return CheckFigures(OVER, limit, Figure(missing, "volume"))
    if off and check.margin < -HIGH:
        return CheckFigures(OVER, limit)
    margin: Figure | str = ""
    if math.isfinite(check.margin):
        scale = min(abs(side - off) for side in (check.value, check.limit) if math.isfinite(side))
        margin = told(check.margin if plain or abs(check.margin) > 0.005 * scale else 0.0, DOWN, 2 if plain else None)
    return CheckFigures(told(check.value - off, reached, plain), limit, margin)
