"""`sumpwright mend`: for each check that does not hold, what would make it hold."""

from __future__ import annotations

import argparse
from pathlib import Path

from .exits import FAILED, FINE, NO_SOLUTION, exit_codes
from .options import CASE, JSON, TO, UNITS, Commands, add_command
from .progress import progress
from .runner import Answer


def add(commands: Commands) -> None:
    """Add the command."""
    add_command(commands, "mend", mend, (CASE, UNITS, JSON, TO), "the smallest change of each kind that makes a check hold",
                "For each check that fails or is in doubt, look for changes that make it hold\nand break no other, the "
                "cheapest first. JSON has the edits of the file.",
                exit_codes("no check on floor or pump fails", "a check fails as it is, whether or not there is a remedy",
                           in_part=True))


def mend(case: str, options: argparse.Namespace) -> Answer:
    """Find the remedies of one case; 1 where a check fails, 3 where it does not run."""
    from hydro import load
    from hydro.case.syntax.yaml_nodes import read_file_text
    from hydro.report.terminal.remedies import remedies_data, remedies_text
    from hydro.search.remedies import failing, find_remedies

    told = progress(patience=0.0)
    found = find_remedies(load(case), read_file_text(Path(case)), lambda number, asked, key: told(number, asked, f": {key}"))
    code = NO_SOLUTION if found.assessment.answer.state is None else FAILED if failing(found) else FINE
    return Answer(code, remedies_data(found) if options.json else remedies_text(found, options.units), complete=found.complete)
