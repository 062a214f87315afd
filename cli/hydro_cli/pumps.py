"""`sumpwright pumps`: which of these pumps for this very plumbing; progress on the error stream."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from typing import Any

from hydro.errors import Complaint, HydroError, InputError

from .faults import INTERRUPTED, PATIENCE, shown_after
from .output import FAILED, FINE, NO_SOLUTION, complain, deliver, spare_the_cases


def pumps(options: Mapping[str, Any]) -> int:
    """Print which pump suits one case; return 1 where none does, 3 where no pump makes it run, 130 where Ctrl-C ended it."""
    from hydro import load
    from hydro.scenarios.placed_build import place
    from hydro.search.pumps.choose import choose

    case = where = options["case"]
    try:
        _spare(options)
        asked, candidates, build, name = _read(options, load)
        own = next(pump for pump in build.pumps if pump.name == name)
        found = choose(place(build), name, [*_own(own, candidates), *candidates], asked, shown_after(PATIENCE))
        text = _text(found, options["json"], options["units"])
        if options["plot"] is not None:
            where = options["plot"]
            deliver(_drawing(found, options["units"]), where)
        where = options["to"] or case
        deliver(text, options["to"])
    except HydroError as problem:
        return complain(problem, str(where))
    if not found.complete:
        print("sumpwright: stopped; this is what was found by then", file=sys.stderr)
        return INTERRUPTED
    if all(row.full is None for row in found.rows):
        return NO_SOLUTION
    return FINE if found.suited else FAILED


def _spare(options: Mapping[str, Any]) -> None:
    """Refuse to write over what is read, or two things into one file."""
    read = [options["case"], *options["curves"]]
    spare_the_cases(read, options["to"])
    spare_the_cases([*read, *([options["to"]] if options["to"] else [])], options["plot"])


def _read(options: Mapping[str, Any], load: Callable[[str], Any]) -> tuple[Any, list[Any], Any, str]:
    """Return what is asked, the candidates, the build and the pump's name; InputError with every mistake of them all."""
    complaints: list[Complaint] = []

    def attempt(read: Callable[[], Any]) -> Any:
        try:
            return read()
        except InputError as problem:
            complaints.extend(problem.complaints)
            return None
    build = attempt(lambda: load(options["case"]))
    name = None if build is None else attempt(lambda: _instead_of(build, options["instead_of"]))
    asked = _asked(options, attempt)
    candidates = attempt(lambda: _candidates(options))
    if complaints:
        raise InputError(complaints)
    assert name is not None
    return asked, candidates, build, name


def _asked(options: Mapping[str, Any], attempt: Callable[[Callable[[], Any]], Any]) -> Any:
    from hydro.search.pumps.duty import PumpGoals
    from hydro.search.pumps.typed import typed_flow, typed_hours, typed_price

    flow = None if options["flow"] is None else attempt(lambda: typed_flow(options["flow"]))
    price, currency = (options["price"] is not None and attempt(lambda: typed_price(options["price"]))) or (None, "")
    hours = attempt(lambda: typed_hours(options["hours"]))
    return PumpGoals(flow, hours, price, currency, options["control"], not options["middle"])


def _candidates(options: Mapping[str, Any]) -> list[Any]:
    from hydro.search.pumps.tables import read_tables
    from hydro.search.pumps.typed import typed_pumps

    complaints: list[Complaint] = []
    found: list[Any] = []
    try:
        found = read_tables(options["curves"])
    except InputError as problem:
        complaints += problem.complaints
    try:
        found += typed_pumps(options["points"], options["box"], found)
    except InputError as problem:
        complaints += problem.complaints
    if complaints:
        raise InputError(complaints)
    if not found:
        raise InputError([Complaint("CURVES", 0, "", "no pump to choose from", "a file of curves, --points or --box")])
    return found


def _own(pump: Any, others: list[Any]) -> list[Any]:
    """Return the build's pump as a candidate; nothing where another one bears its very name."""
    from hydro.search.pumps.candidate import own_pump

    own = own_pump(pump)
    return [] if any(one.name == own.name for one in others) else [own]


def _instead_of(build: Any, name: str | None) -> str:
    """Return the name of the pump whose place is meant."""
    from hydro.quantities.parsing import nearest

    names = [pump.name for pump in build.pumps]
    if name is None:
        if len(names) == 1:
            return str(names[0])
        raise InputError([Complaint(build.file, 0, "", f"{len(names)} pumps", f"--instead-of and one of {', '.join(names)}")])
    if name not in names:
        raise InputError([Complaint("--instead-of", 0, "", f"'{name}'", f"one of {', '.join(names)}", nearest(name, names))])
    return name


def _drawing(found: Any, units: str | None) -> str:
    from hydro.report.terminal.pump_plot import plot

    build = found.loop.build
    drawn = found.curves
    if not drawn.pumps:
        raise InputError([Complaint("--plot", 0, "", "no pump to draw: none makes this loop run", "a pump that does")])
    return plot(drawn, units or build.units, build.title)


def _text(found: Any, as_json: bool, units: str | None) -> str:
    if as_json:
        from hydro.report.json.assessment import dumps
        from hydro.report.json.pumps import as_data

        return dumps(as_data(found))
    from hydro.report.terminal.pump_choice import text

    return text(found, units)
