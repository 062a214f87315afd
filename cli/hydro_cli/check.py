"""`sumpwright check`: a file read and told back in a few lines, nothing worked out."""

from __future__ import annotations

import argparse

from .exits import FINE
from .options import CASES, UNITS, Commands, add_command
from .runner import Answer


def add(commands: Commands) -> None:
    """Add the command."""
    add_command(commands, "check", check, (CASES, UNITS), "only read a file: is it sound, and how was it understood",
                "Read each file, work out nothing, and say how it was understood.", between="\n")


def check(case: str, options: argparse.Namespace) -> Answer:
    """Read a case and say how it was understood."""
    from hydro.case import load
    from hydro.report.terminal.case_summary import understood

    build = load(case)
    return Answer(FINE, "\n".join(understood(build, options.units or build.units)) + "\n")
