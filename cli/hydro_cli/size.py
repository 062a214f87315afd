"""`sumpwright size`: designs for what a case file leaves open; progress on the error stream, Ctrl-C keeps what was found."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from hydro.errors import HydroError

from .faults import INTERRUPTED, PATIENCE
from .output import FAILED, FINE, NO_SOLUTION, complain, deliver, spare_the_cases

WORDS = {"read": "candidates read", "designs": "designs", "proofs": "designs proved"}


def shown_after(patience: float) -> Callable[[str, int, int], None] | None:
    """Return what tells progress on the error stream, at most once in so many seconds; None where that is no terminal."""
    if not sys.stderr.isatty():
        return None
    last = [time.monotonic()]

    def show(what: str, done: int, asked: int) -> None:
        now = time.monotonic()
        if now - last[0] >= patience:
            last[0] = now
            print(f"sumpwright: {done} of {asked} {WORDS[what]}", file=sys.stderr, flush=True)
    return show


def size(options: Mapping[str, Any]) -> int:
    """Print designs of one case; return 1 where none passes, 3 where none runs at all, 130 where Ctrl-C ended it."""
    from hydro.case.syntax.yaml_nodes import read_file_text
    from hydro.catalog import load_prices
    from hydro.search.sizing import find_designs as sized_of
    from hydro.search.sizing import write_text

    case = where = options["case"]
    letter, to = options["write"] or (None, None)
    read = [case, *([options["prices"]] if options["prices"] else [])]
    try:
        for where, kept in ((options["to"], read), (to, [*read, *([options["to"]] if options["to"] else [])])):
            spare_the_cases(kept, where)
        where = case
        prices = load_prices(options["prices"]) if options["prices"] else None
        found = sized_of(read_file_text(Path(case)), case, prices, shown_after(PATIENCE))
        text = _text(found, options["json"], options["units"])
        if letter is not None and to is not None:
            where = to
            deliver(write_text(found, letter, to), to)
        where = options["to"] or case
        deliver(text, options["to"])
    except HydroError as problem:
        return complain(problem, str(where))
    if not found.complete:
        print("sumpwright: stopped; this is what was found by then", file=sys.stderr)
        return INTERRUPTED
    if found.designs:
        return FINE
    return FAILED if any(one.ran for one in found.searched.judged) else NO_SOLUTION


def _text(found: Any, as_json: bool, units: str | None) -> str:
    if as_json:
        from hydro.report.json.assessment import dumps
        from hydro.report.json.sizing import as_data

        return dumps(as_data(found))
    from hydro.report.terminal.sizing import text

    return text(found, units)
