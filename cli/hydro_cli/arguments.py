"""The whole command line: what stands above the commands, and which commands there are."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from hydro import __version__

from . import check, faults, happens, mend, pumps, report, run, schema, size, words

if TYPE_CHECKING:
    from _typeshed import SupportsWrite

COMMANDS = (run, happens, faults, pumps, mend, size, report, check, words, schema)
"""In the order of the help. A new command is a module with an `add`, and stands here; `words` shows one that takes no case."""

DESCRIPTION = """\
Works out the plumbing of a large aquarium and its sump from a text file
written with a tape, a bucket and a felt pen: flows and levels, what drains
down in a power cut, what a blocked drain does, and how high the running line
may be drawn."""


class Parser(argparse.ArgumentParser):
    """A parser whose help is printed or not: the original passes over an output that cannot be printed to."""

    def _print_message(self, message: str, file: SupportsWrite[str] | None = None) -> None:
        if file is sys.stdout:
            print(message, end="")
        else:
            super()._print_message(message, file)


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command; `answer` in what it parses is the function of the command that was given."""
    top = Parser(prog="sumpwright", description=DESCRIPTION, epilog=f"{run.EXITS}\n{run.HIGHEST}",
                 formatter_class=argparse.RawDescriptionHelpFormatter)
    top.add_argument("--version", action="version", version=f"sumpwright {__version__}")
    top.set_defaults(json=False, to=None, force=False, units=None)
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for command in COMMANDS:
        command.add(commands)
    return top
