"""The checks, grouped by the question they answer. Each is a function Findings -> rows; a failed check is data, no exception."""

from __future__ import annotations

from hydro.checks.comfort import comfort_rows
from hydro.checks.flood import flood_rows
from hydro.checks.overflow import overflow_rows
from hydro.checks.pump import pump_rows
from hydro.checks.row import FAILS, HOLDS, ONLY_JUST, Row
from hydro.checks.shared import shared_rows
from hydro.scenarios.results import Findings

__all__ = ["FAILS", "HOLDS", "ONLY_JUST", "Row", "rows_of"]


def rows_of(findings: Findings) -> list[Row]:
    """Return every row for one choice of values, the gravest questions first."""
    if findings.answer.state is None or not findings.stopped:
        return pump_rows(findings)
    return [*flood_rows(findings), *overflow_rows(findings), *pump_rows(findings), *shared_rows(findings),
            *comfort_rows(findings)]
