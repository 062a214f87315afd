"""`sumpwright mend`: for each check that does not hold, what would make it hold; progress on the error stream of a terminal."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from hydro.errors import HydroError

from .output import FAILED, FINE, NO_SOLUTION, complain, deliver, spare_the_cases

INTERRUPTED = 130


def show(number: int, asked: int, key: str) -> None:
    """Say on the error stream which check is looked at."""
    print(f"sumpwright: {number} of {asked}: {key}", file=sys.stderr, flush=True)


def mend(options: Mapping[str, Any]) -> int:
    """Print the remedies of one case; return 1 where a check fails, 3 where it does not run, 130 where Ctrl-C ended it."""
    from hydro import load
    from hydro.case.syntax.yaml_nodes import read_file_text
    from hydro.search.remedies import failing
    from hydro.search.remedies import find_remedies as remedies_of

    case = where = options["case"]
    try:
        where = options["to"] or case
        spare_the_cases([case], options["to"])
        where = case
        build = load(case)
        found = remedies_of(build, read_file_text(Path(case)), show if sys.stderr.isatty() else None)
        text = _text(found, options["json"], options["units"])
        where = options["to"] or case
        deliver(text, options["to"])
    except HydroError as problem:
        return complain(problem, str(where))
    if not found.complete:
        print("sumpwright: stopped; this is what was found by then", file=sys.stderr)
        return INTERRUPTED
    if found.assessment.answer.state is None:
        return NO_SOLUTION
    return FAILED if failing(found) else FINE


def _text(found: Any, as_json: bool, units: str | None) -> str:
    if as_json:
        from hydro.report.json.assessment import dumps
        from hydro.report.terminal.remedies import as_data

        return dumps(as_data(found))
    from hydro.report.terminal.remedies import text

    return text(found, units)
