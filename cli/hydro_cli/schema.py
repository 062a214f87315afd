"""`sumpwright schema`: the JSON Schema of a case file, for editors."""

from __future__ import annotations

import json

from hydro.errors import HydroError

from .output import FINE, complain, deliver, spare_the_cases


def schema(to: str | None) -> int:
    """Write the schema, to a file or to the terminal."""
    from hydro.case.schema import case_schema

    try:
        spare_the_cases((), to)
        deliver(json.dumps(case_schema(), indent=1, ensure_ascii=False) + "\n", to)
    except HydroError as problem:
        return complain(problem, str(to))
    return FINE
