"""Options that several commands share, each as a parent parser, and how a command is made of them."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any, TypeAlias

from .runner import Answering, Read, Written

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
SYSTEMS = {"metric": "metric", "us": "US", "imperial": "imperial"}


def units(text: str) -> str:
    """Return a system of units by its word, in capitals or not."""
    try:
        return SYSTEMS[text.strip().lower()]
    except KeyError:
        raise argparse.ArgumentTypeError(f"'{text}' is not one of metric, US, imperial") from None


def shared(*names: str, parents: Sequence[argparse.ArgumentParser] = (), **settings: Any) -> argparse.ArgumentParser:
    """Return one argument as a parent parser, with those of other ones."""
    parent = argparse.ArgumentParser(add_help=False, parents=parents)
    parent.add_argument(*names, **settings)
    return parent


CASE = shared("cases", nargs=1, metavar="CASE", help="a case file (.yaml)")
CASES = shared("cases", nargs="+", metavar="CASE", help="a case file (.yaml)")
UNITS = shared("--units", type=units, metavar="metric|US|imperial", help="units to show; default: those of the file")
JSON = shared("--json", action="store_true", help="print JSON in SI units, for programs")
FORCE = shared("--force", action="store_true", help="replace files, whoever wrote them; else only those written by sumpwright")
TO = shared("--to", metavar="FILE", help="write to a file, whole or not at all, and print nothing", parents=(FORCE,))
PRICES = shared("--prices", metavar="FILE.csv", help="your prices: item, price EUR, per")


def add_command(commands: Commands, name: str, answer: Answering, parents: Sequence[argparse.ArgumentParser], told: str,
                description: str, epilog: str = "", reads: Read = lambda options: options.cases,
                writes: Written = lambda options: {"--to": options.to}, between: str = "") -> argparse.ArgumentParser:
    """Return the parser of a new command, for options of its own.

    `answer` gives its Answer to one case and the options; `reads` names the files that must not be written to, `writes` those
    that are, each by its option; `between` stands between the texts of several cases.
    """
    command = commands.add_parser(name, parents=parents, help=told, description=description, epilog=epilog,
                                  formatter_class=argparse.RawDescriptionHelpFormatter)
    command.set_defaults(answer=answer, reads=reads, writes=writes, between=between)
    return command
