"""The words of the command line."""

from __future__ import annotations

import argparse

DESCRIPTION = """\
The plumbing of a large aquarium on its sump, out of a text file written with
a tape, a bucket and a felt pen: flows and levels, what comes down in a power
cut, what a blocked drain does, and how high the running line may be drawn."""

EXITS = """\
exit codes:
  0  every check holds, or only just
  1  a check fails
  2  the input cannot be used: one line for each mistake
  3  no solution was found
With several files the highest one counts."""

HAPPENINGS = {
    "power-cut": "the power fails",
    "power-back": "the power comes back after a cut that ran to its end",
    "drain-blocked": "one drain blocks while the loop runs; its name follows",
    "drains-blocked": "all drains block at once",
    "top-up-stuck": "the top-up stays open until its reservoir is empty",
    "as-is": "nothing is touched: what a surging loop does by itself"}
"""What may happen; the library knows the same words (kept alike by a test, for help has to come without the library)."""

HAPPENS_EXITS = """\
exit codes:
  0  nothing goes over
  1  water goes over an opening
  2  the input cannot be used
  3  no solution was found"""

FAULTS_EXITS = """\
exit codes:
  0  no single fault puts water on the floor
  1  one does
  2  the input cannot be used
  3  no solution was found
130  stopped by Ctrl-C; what was found by then is printed"""

SYSTEMS = {"metric": "metric", "us": "US", "imperial": "imperial"}


def units(text: str) -> str:
    """Return a system of units by its word, in capitals or not."""
    try:
        return SYSTEMS[text.strip().lower()]
    except KeyError:
        raise argparse.ArgumentTypeError(f"'{text}' is not one of metric, US, imperial") from None


def parser(version: str) -> argparse.ArgumentParser:
    """Return the parser of the whole command."""
    plain = argparse.RawDescriptionHelpFormatter
    top = argparse.ArgumentParser(prog="sumpwright", description=DESCRIPTION, epilog=EXITS, formatter_class=plain)
    top.add_argument("--version", action="version", version=f"sumpwright {version}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    run = commands.add_parser("run", help="work out a build and say what holds", epilog=EXITS, formatter_class=plain,
                              description="Work out each build: first the answers, then the tables they rest on.")
    _cases(run)
    run.add_argument("--json", action="store_true", help="for programs, in SI units; several files make a list")
    run.add_argument("--units", type=units, metavar="metric|US|imperial", help="units to show; else those of the file")
    _to(run)
    _happens(commands.add_parser("happens", help="what comes of a power cut, a blocked drain and the like, through time",
                                 epilog=f"what may happen:\n{_listed()}\n\n{HAPPENS_EXITS}", formatter_class=plain,
                                 description="Follow a build through time: events, levels, and what goes over when."))
    _faults(commands.add_parser("faults", help="every single thing that can go wrong, worst first, and what survives it all",
                                epilog=FAULTS_EXITS, formatter_class=plain,
                                description="Let every part fail, one at a time, and say what comes of it, worst first."))
    check = commands.add_parser("check", help="read a file only: is it sound, and how was it understood",
                                description="Read each file, work out nothing, and say how it was understood.")
    _cases(check)
    check.add_argument("--units", type=units, metavar="metric|US|imperial", help="units to show; else those of the file")
    words = commands.add_parser("words", help="list the words of a case file and the defaults it may override",
                                description="List the words for inlets, parts, walls and vessels, and the defaults.")
    words.add_argument("word", nargs="*", metavar="WORD", help="only what has this in its name, such as elbow")
    _to(words)
    return top


def _happens(command: argparse.ArgumentParser) -> None:
    command.add_argument("case", metavar="CASE", help="a case file (.yaml)")
    command.add_argument("what", choices=tuple(HAPPENINGS), metavar="WHAT", help="what happens, see below")
    command.add_argument("name", nargs="*", metavar="NAME", help="the drain that blocks, with drain-blocked")
    command.add_argument("--breaks", choices=("working", "plugged"), default="working", help="siphon breaks; working")
    command.add_argument("--valves", choices=("holding", "stuck", "leaking"), default="holding", help="check valves; holding")
    command.add_argument("--air", choices=("stays", "leaves"), default="stays",
                         help="with power-back: whether air stays in drains with drowned ends; stays")
    command.add_argument("--to-the-end", action="store_true", help="go on until less than 1 L/h flows")
    command.add_argument("--units", type=units, metavar="metric|US|imperial", help="units to show; else those of the file")
    command.add_argument("--csv", metavar="FILE", help="write the series to a file too, in SI units, whole or not at all")
    command.add_argument("--json", action="store_true", help="for programs, in SI units, with the series")
    _to(command)


def _faults(command: argparse.ArgumentParser) -> None:
    command.add_argument("case", metavar="CASE", help="a case file (.yaml)")
    command.add_argument("--pairs", action="store_true", help="any two at once, too")
    command.add_argument("--times", action="store_true",
                         help="follow every single fault that does harm through time, not only those near a limit")
    command.add_argument("--units", type=units, metavar="metric|US|imperial", help="units to show; else those of the file")
    command.add_argument("--json", action="store_true", help="for programs, in SI units")
    _to(command)


def _listed() -> str:
    return "\n".join(f"  {word:<16}{meaning}" for word, meaning in HAPPENINGS.items())


def _cases(command: argparse.ArgumentParser) -> None:
    command.add_argument("cases", nargs="+", metavar="CASE", help="a case file (.yaml)")


def _to(command: argparse.ArgumentParser) -> None:
    command.add_argument("--to", metavar="FILE", help="write to a file, whole or not at all, and print nothing")
