"""`sumpwright happens`: what comes of a power cut, a blocked drain and the like, through time."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hydro.errors import HydroError

from .output import FAILED, FINE, complain, deliver, spare_the_cases


def happens(options: Mapping[str, Any]) -> int:
    """Follow one case through time and tell it; return 1 where water goes over an opening."""
    from hydro import load
    from hydro.report.json.series import to_csv
    from hydro.scenarios.histories import ask, outcome_of

    case, where = options["case"], options["case"]
    try:
        for where in (options["to"], options["csv"]):
            spare_the_cases([case, *([options["to"]] if where is options["csv"] and options["to"] else [])], where)
        where = case
        asked = ask(load(case), options["what"], " ".join(options["name"]), options["breaks"] == "working", options["valves"],
                    options["air"] == "stays", options["to_the_end"])
        text = _text(asked, options["json"], options["units"])
        if options["csv"] is not None:
            where = options["csv"]
            deliver(to_csv(asked), where)
        deliver(text, options["to"])
    except HydroError as problem:
        return complain(problem, str(where))
    return FAILED if outcome_of(asked.history).over else FINE


def _text(asked: Any, as_json: bool, units: str | None) -> str:
    if as_json:
        from hydro.report.json.assessment import dumps
        from hydro.report.json.series import as_data

        return dumps(as_data(asked))
    from hydro.report.terminal.timeline import text

    return text(asked, units)
