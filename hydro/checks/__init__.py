"""The checks, grouped by the question they answer. Each is a function Results -> checks; a failed check is data, no exception."""

from __future__ import annotations

from hydro.checks.check import FAILS, HOLDS, IN_DOUBT, TIGHT, UNSURE, Check, CheckKind
from hydro.checks.comfort import comfort_checks
from hydro.checks.flood import flood_checks
from hydro.checks.overflow import overflow_checks
from hydro.checks.pump import pump_checks
from hydro.checks.shared import shared_checks
from hydro.scenarios.results import Results

__all__ = ["FAILS", "HOLDS", "IN_DOUBT", "TIGHT", "UNSURE", "Check", "CheckKind", "checks_of"]


def checks_of(results: Results) -> list[Check]:
    """Return every check for one choice of values, the gravest questions first."""
    if results.answer.state is None or not results.stopped:
        return pump_checks(results)
    return [*flood_checks(results), *overflow_checks(results), *pump_checks(results), *shared_checks(results),
            *comfort_checks(results)]
