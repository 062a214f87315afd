"""`sumpwright pumps`: which of these pumps for this very plumbing."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

from hydro.errors import Complaint, InputError

from .exits import FAILED, FINE, NO_SOLUTION, exit_codes
from .options import CASE, JSON, TO, UNITS, Commands, add_command
from .progress import progress
from .runner import Answer

CURVES = """\
a file of curves has a head with units; one pump, or several by name:
  flow L/h, height m
  pump, flow L/h, height m, power W, price EUR, control
  pump, most flow L/h, most height m, power W"""


def add(commands: Commands) -> None:
    """Add the command."""
    codes = exit_codes("a pump reaches the wanted flow, and no check fails with it", "none does",
                       "no solution was found with any of them", in_part=True)
    command = add_command(commands, "pumps", pumps, (CASE, UNITS, JSON, TO), "which of these pumps for this very plumbing",
                          "Put each pump in the place of the one described, solve the whole loop, set it\nto the wanted flow, "
                          "and rank them.", f"{codes}\n\n{CURVES}", reads=lambda options: [*options.cases, *options.curves],
                          writes=lambda options: {"--to": options.to, "--plot": options.plot})
    command.add_argument("curves", nargs="*", metavar="CURVES", help="files of pump curves or box labels (.csv)")
    command.add_argument("--points", action="append", default=[], metavar="TEXT",
                         help="a curve as text: 'NAME: 0 L/h = 5 m, 7200 L/h = 0 m; 70 W'; may be repeated")
    command.add_argument("--box", action="append", default=[], metavar="TEXT",
                         help="a label: 'NAME: 7000 L/h, 3.8 m, 70 W'; may be repeated")
    command.add_argument("--instead-of", metavar="NAME", help="the pump to replace, where there are several")
    command.add_argument("--flow", metavar="FLOW", help="the wanted flow, such as '4000 L/h'; default: from the turnover")
    command.add_argument("--control", choices=("throttle", "speed"), default="throttle",
                         help="how a pump is set to it, where its table does not say; default: throttle")
    command.add_argument("--price", metavar="PRICE", help="the price of a kWh with its currency, such as '0.32 EUR'")
    command.add_argument("--hours", default="24", metavar="HOURS", help="hours a day the pump runs; default: 24")
    command.add_argument("--middle", action="store_true", help="judge the middle of every band only: quicker, but says less")
    command.add_argument("--plot", metavar="FILE.svg", help="draw all curves over the system curve, whole or not at all")


def pumps(case: str, options: argparse.Namespace) -> Answer:
    """Find which pump suits one case; 1 where none does, 3 where no pump makes it run."""
    from hydro.report.json.pumps import pump_choice_data
    from hydro.report.terminal.pump_choice import pump_choice_text
    from hydro.scenarios.placed_build import place
    from hydro.search.pumps.choose import choose

    asked, candidates, build, name = _read(case, options)
    own = next(pump for pump in build.pumps if pump.name == name)
    found = choose(place(build), name, [*_own(own, candidates), *candidates], asked, progress())
    unsolved = all(row.full is None for row in found.rows)
    code = NO_SOLUTION if unsolved else FINE if found.suited else FAILED
    return Answer(code, pump_choice_data(found) if options.json else pump_choice_text(found, options.units),
                  ((options.plot, _drawing(found, options.units)),) if options.plot is not None else (), found.complete)


def _read(case: str, options: argparse.Namespace) -> tuple[Any, list[Any], Any, str]:
    """Return what is asked, the candidates, the build and the pump's name; InputError with every mistake of them all."""
    from hydro import load
    from hydro.search.pumps.tables import read_tables
    from hydro.search.pumps.typed import typed_pumps

    complaints: list[Complaint] = []

    def attempt(read: Callable[[], Any]) -> Any:
        try:
            return read()
        except InputError as problem:
            complaints.extend(problem.complaints)
            return None
    build = attempt(lambda: load(case))
    name = None if build is None else attempt(lambda: _instead_of(build, options.instead_of))
    asked = _asked(options, attempt)
    tables = attempt(lambda: read_tables(options.curves))
    typed = attempt(lambda: typed_pumps(options.points, options.box, tables or []))
    if tables == typed == []:
        complaints.append(Complaint("CURVES", 0, "", "no pump to choose from", "a file of curves, --points or --box"))
    if complaints:
        raise InputError(complaints)
    return asked, [*tables, *typed], build, str(name)


def _asked(options: argparse.Namespace, attempt: Callable[[Callable[[], Any]], Any]) -> Any:
    from hydro.search.pumps.duty import PumpGoals
    from hydro.search.pumps.typed import typed_flow, typed_hours, typed_price

    flow = None if options.flow is None else attempt(lambda: typed_flow(options.flow))
    price, currency = (options.price is not None and attempt(lambda: typed_price(options.price))) or (None, "")
    hours = attempt(lambda: typed_hours(options.hours))
    return PumpGoals(flow, hours, price, currency, options.control, not options.middle)


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
