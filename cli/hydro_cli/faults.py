"""`sumpwright faults`: every single fault, and every pair, in one table; progress on the error stream."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Mapping
from typing import Any

from hydro.errors import HydroError

from .output import FAILED, FINE, complain, deliver, spare_the_cases

PATIENCE = 1.0
"""Seconds before progress is shown, and between two showings of it."""
INTERRUPTED = 130


def shown_after(patience: float) -> Callable[[int, int], None]:
    """Return what tells progress on the error stream, at most once in so many seconds."""
    last = [time.monotonic()]

    def show(done: int, asked: int) -> None:
        now = time.monotonic()
        if now - last[0] >= patience:
            last[0] = now
            print(f"sumpwright: {done} of {asked}", file=sys.stderr, flush=True)
    return show


def faults(options: Mapping[str, Any]) -> int:
    """Print the table of one case; return 1 where a single fault puts water on the floor, 130 where Ctrl-C ended it."""
    from hydro import load
    from hydro.faults.survivable_heights import surviving
    from hydro.faults.table import fault_table
    from hydro.scenarios.placed_build import place

    case = where = options["case"]
    try:
        where = options["to"] or case
        spare_the_cases([case], options["to"])
        where = case
        table = fault_table(place(load(case)), options["pairs"], options["times"], shown_after(PATIENCE))
        heights = None
        if table.complete:
            try:
                heights = surviving(table.base, table.faults)
            except KeyboardInterrupt:
                heights = None
        text = _text(table, heights, options["json"], options["units"])
        where = options["to"] or case
        deliver(text, options["to"])
    except HydroError as problem:
        return complain(problem, str(where))
    if heights is None:
        print("sumpwright: stopped; this is what was found by then", file=sys.stderr)
        return INTERRUPTED
    return FAILED if table.flooding else FINE


def _text(table: Any, heights: Any, as_json: bool, units: str | None) -> str:
    if as_json:
        from hydro.report.json.assessment import dumps
        from hydro.report.json.faults import as_data

        return dumps(as_data(table, heights))
    from hydro.report.terminal.faults import text

    return text(table, heights, units)
