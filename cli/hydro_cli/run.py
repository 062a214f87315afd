"""`sumpwright run`: each file read, worked out and told, one after the other."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from .exits import FAILED, FINE, NO_SOLUTION, exit_codes
from .options import CASES, JSON, TO, UNITS, Commands, add_command
from .runner import Answer

if TYPE_CHECKING:
    from hydro.checks.assessment import Assessment

EXITS = exit_codes("no check on floor or pump fails", "one does; with --strict, one does not hold")
HIGHEST = "With several files the highest one counts."


def add(commands: Commands) -> None:
    """Add the command."""
    command = add_command(commands, "run", run, (CASES, UNITS, JSON, TO), "work out a build and say what holds",
                          "Work out each build: the answers on one screen, in full with the tables they\nrest on. "
                          "With --json several files make a list.", f"{EXITS}\n{HIGHEST}", between="\n" + "=" * 80 + "\n\n")
    command.add_argument("--full", action="store_true",
                         help="tell everything: checks, levels, flows, heads, power cuts, assumptions, what is not judged")
    command.add_argument("--strict", action="store_true", help="end with 1 for anything short of holds on floor and pump")
    command.add_argument("--all", action="store_true",
                         help="in full, with things that are built several times one by one, not the lowest and the highest")


def run(case: str, options: argparse.Namespace) -> Answer:
    """Work out a case: one screen, or in full. `--all` tells things described once for several one by one, as JSON always."""
    from hydro import load
    from hydro.report.json.assessment import as_data
    from hydro.report.terminal.report import text
    from hydro.study import study_of

    study = study_of(load(case))
    told = as_data(study) if options.json else text(study, options.units, options.all, options.full)
    return Answer(code_of(study.assessment, options.strict), told)


def code_of(assessment: Assessment, strict: bool = False) -> int:
    """Return the exit code of one case: no solution, a check on floor or pump that fails (`strict`: does not hold), or fine."""
    if assessment.answer.state is None:
        return NO_SOLUTION
    from hydro.checks import FAILS, HOLDS

    return FAILED if assessment.verdict == FAILS or (strict and assessment.verdict != HOLDS) else FINE
