"""`sumpwright size`: designs for what a case file leaves open."""

from __future__ import annotations

import argparse
from pathlib import Path

from .exits import FAILED, FINE, NO_SOLUTION, exit_codes
from .options import CASE, JSON, PRICES, TO, UNITS, Commands, add_command
from .progress import progress
from .runner import Answer

OPEN_VALUES = """\
what a file leaves open, where a value stands:
  lip: ? 12 .. 18 cm below tank rim   a range in steps; 'by 1 cm' sets them
  pipe ? 40 PN10 or 50 PN10 104 cm    a list; '?(...)' where its end is in doubt
  pipe ? PN10 104 cm                  every size of a series
  pipe ?bore 104 cm                   the same wherever the name stands; what it
      may be stands there, or in 'open: {bore: 40 PN10 or 50 PN10}'
  - ?2 .. 4 x standpipe: {...}        so many of them

what is asked, in the file:
  goals: {turnover: 3 .. 5 per hour, flow: 3000 L/h, quiet: yes,
          survives one blocked drain: yes, holds the power cut: yes}"""
PROGRESS = {"read": " candidates read", "designs": " designs", "proofs": " designs proved"}


def add(commands: Commands) -> None:
    """Add the command."""
    codes = exit_codes("at least one design holds what is asked", "none does", "no solution was found for any of them", True)
    command = add_command(commands, "size", size, (CASE, UNITS, JSON, PRICES, TO),
                          "designs for what a file leaves open with '?'",
                          "Work out every design that the open values of a file make, and show the best\nthat hold: proved one "
                          "by one.", f"{codes}\n\n{OPEN_VALUES}", reads=lambda options: [*options.cases, options.prices],
                          writes=lambda options: {"--to": options.to, "--write": options.write[1] if options.write else None})
    command.add_argument("--write", nargs=2, metavar=("DESIGN", "FILE"), default=(),
                         help="write the file with a design filled in, by its letter, whole or not at all")


def size(case: str, options: argparse.Namespace) -> Answer:
    """Find designs of one case; 1 where none passes, 3 where none runs at all."""
    from hydro.case.syntax.yaml_nodes import read_file_text
    from hydro.catalog import load_prices
    from hydro.report.json.sizing import sizing_data
    from hydro.report.terminal.sizing import sizing_text
    from hydro.search.sizing import write_text
    from hydro.search.sizing.sized import find_designs

    prices = load_prices(options.prices) if options.prices else None
    told = progress()
    found = find_designs(read_file_text(Path(case)), case, prices, lambda what, done, asked: told(done, asked, PROGRESS[what]))
    # A letter means the same design only once all of them are known.
    files = [(file, write_text(found, letter, file)) for letter, file in filter(None, [options.write]) if found.complete]
    ran = any(one.ran for one in found.searched.judged)
    return Answer(FINE if found.designs else FAILED if ran else NO_SOLUTION,
                  sizing_data(found) if options.json else sizing_text(found, options.units), tuple(files), found.complete)
