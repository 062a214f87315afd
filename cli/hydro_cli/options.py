"""Options that several commands share, each as a parent parser, and how a command is made of them."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any, TypeAlias

from .runner import Answering, Files

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
SYSTEMS = {"metric": "metric", "us": "US", "imperial": "imperial"}


def units(text: str) -> str:
    """Return a system of units by its word, in capitals or not."""
    try:
        return SYSTEMS[text.strip().lower()]
    except KeyError:
        raise argparse.ArgumentTypeError(f"'{text}' is not one of metric, US, imperial") from None


def shared(*names: str, **settings: Any) -> argparse.ArgumentParser:
    """Return one argument as a parent parser."""
    parent = argparse.ArgumentParser(add_help=False)
    parent.add_argument(*names, **settings)
    return parent


CASE = shared("cases", nargs=1, metavar="CASE", help="a case file (.yaml)")
CASES = shared("cases", nargs="+", metavar="CASE", help="a case file (.yaml)")
UNITS = shared("--units", type=units, metavar="metric|US|imperial", help="units to show; default: those of the file")
JSON = shared("--json", action="store_true", help="print JSON in SI units, for programs")
TO = shared("--to", metavar="FILE", help="write to a file, whole or not at all, and print nothing")
PRICES = shared("--prices", metavar="FILE.csv", help="your prices: item, price EUR, per")


def add_command(commands: Commands, name: str, answer: Answering, parents: Sequence[argparse.ArgumentParser], told: str,
                description: str, epilog: str = "", reads: Files = lambda options: options.cases,
                writes: Files = lambda options: [options.to], between: str = "") -> argparse.ArgumentParser:
    """Return the parser of a new command, for options of its own.

    `answer` gives its Answer to one case and the options; `reads` and `writes` name the files that must not be one another;
    `between` stands between the texts of several cases.
    """
    command = commands.add_parser(name, parents=parents, help=told, description=description, epilog=epilog,
                                  formatter_class=argparse.RawDescriptionHelpFormatter)
    command.set_defaults(answer=answer, reads=reads, writes=writes, between=between)
    return command
