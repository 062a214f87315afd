"""`sumpwright faults`: every single fault, and every pair, in one table."""

from __future__ import annotations

import argparse

from .exits import FAILED, FINE, exit_codes
from .options import CASE, JSON, TO, UNITS, Commands, add_command
from .progress import progress
from .runner import Answer


def add(commands: Commands) -> None:
    """Add the command."""
    command = add_command(commands, "faults", faults, (CASE, UNITS, JSON, TO),
                          "every single thing that can go wrong, worst first, and what survives it all",
                          "Let every part fail, one at a time, and say what comes of it, worst first.",
                          exit_codes("no single fault puts water on the floor", "one does", in_part=True))
    command.add_argument("--pairs", action="store_true", help="any two at once, too")
    command.add_argument("--times", action="store_true",
                         help="follow every single fault that does harm through time, not only those near a limit")


def faults(case: str, options: argparse.Namespace) -> Answer:
    """Return the table of one case; 1 where a single fault puts water on the floor."""
    from hydro import load
    from hydro.faults.survivable_heights import surviving
    from hydro.faults.table import fault_table
    from hydro.report.json.faults import fault_table_data
    from hydro.report.terminal.faults import faults_text
    from hydro.scenarios.placed_build import place

    table = fault_table(place(load(case)), options.pairs, options.times, progress())
    try:
        heights = surviving(table.base, table.faults) if table.complete else None
    except KeyboardInterrupt:
        heights = None
    shown = fault_table_data(table, heights) if options.json else faults_text(table, heights, options.units)
    return Answer(FAILED if table.flooding else FINE, shown, complete=heights is not None)
