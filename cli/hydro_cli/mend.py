"""`sumpwright mend`: for each check that does not hold, what would make it hold."""

from __future__ import annotations

import argparse
from pathlib import Path

from .exits import FAILED, FINE, NO_SOLUTION, exit_codes
from .options import CASE, JSON, TO, UNITS, Commands, add_command
from .progress import progress
from .runner import Answer
from .streams import print_now


def add(commands: Commands) -> None:
    """Add the command."""
    add_command(commands, "mend", mend, (CASE, UNITS, JSON, TO), "the smallest change of each kind that makes a check hold",
                "For each check that fails or is in doubt, say what to measure, and look for\nchanges that make it hold and make "
                "nothing else on floor or pump worse. Each is\nprinted when it is found, with whole lines to paste.",
                exit_codes("no check on floor or pump fails", "a check fails as it is, whether or not there is a remedy",
                           in_part=True))


def mend(case: str, options: argparse.Namespace) -> Answer:
    """Find the remedies of one case; 1 where a check fails, 3 where it does not run. A text is printed as it is found."""
    from hydro import load
    from hydro.case.syntax.yaml_nodes import read_file_text
    from hydro.report.terminal.remedies import RemediesText, remedies_data
    from hydro.search.remedies import failing, find_remedies

    told, kept = progress(patience=0.0), list[str]()
    at_once = options.to is None and not options.json
    text = RemediesText(print_now if at_once else kept.append, options.units)
    found = find_remedies(load(case), read_file_text(Path(case)), lambda number, asked, key: told(number, asked, f": {key}"),
                          heard=text.heard)
    text.end(found)
    code = NO_SOLUTION if found.assessment.answer.state is None else FAILED if failing(found) else FINE
    shown = remedies_data(found) if options.json else None if at_once else "".join(kept)
    return Answer(code, shown, complete=found.complete)
