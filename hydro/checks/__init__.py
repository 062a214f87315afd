"""The checks, grouped by the question they answer. Each is a function Results -> rows; a failed check is data, no exception."""

from __future__ import annotations

from hydro.checks.comfort import comfort_rows
from hydro.checks.flood import flood_rows
from hydro.checks.overflow import overflow_rows
from hydro.checks.pump import pump_rows
from hydro.checks.row import FAILS, HOLDS, ONLY_JUST, Check
from hydro.checks.shared import shared_rows
from hydro.scenarios.results import Results

__all__ = ["FAILS", "HOLDS", "ONLY_JUST", "Check", "checks_of"]


def checks_of(results: Results) -> list[Check]:
    """Return every row for one choice of values, the gravest questions first."""
    if results.answer.state is None or not results.stopped:
        return pump_rows(results)
    return [*flood_rows(results), *overflow_rows(results), *pump_rows(results), *shared_rows(results),
            *comfort_rows(results)]
