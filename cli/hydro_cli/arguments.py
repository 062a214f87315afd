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
    "pump-stops": "one pump stops while the others run; its name follows",
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

PUMPS_EXITS = """\
exit codes:
  0  a pump reaches the wanted flow, and no check fails with it
  1  none does
  2  the input cannot be used: one line for each mistake
  3  no solution was found with any of them
130  stopped by Ctrl-C; what was found by then is printed

a file of curves has a head with units; one pump, or several by name:
  flow L/h, height m
  pump, flow L/h, height m, power W, price EUR, control
  pump, most flow L/h, most height m, power W"""

MEND_EXITS = """\
exit codes:
  0  every check holds, or only just
  1  a check fails as it is, whether or not there is a remedy
  2  the input cannot be used: one line for each mistake
  3  no solution was found
130  stopped by Ctrl-C; what was found by then is printed"""

SIZE_EXITS = """\
exit codes:
  0  at least one design holds what is asked
  1  none does
  2  the input cannot be used: one line for each mistake
  3  no solution was found for any of them
130  stopped by Ctrl-C; what was found by then is printed

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
    run.add_argument("--all", action="store_true",
                     help="tell things built several times over one by one, not the lowest and the highest")
    run.add_argument("--units", type=units, metavar="metric|US|imperial", help="units to show; else those of the file")
    _to(run)
    _happens(commands.add_parser("happens", help="what comes of a power cut, a blocked drain and the like, through time",
                                 epilog=f"what may happen:\n{_listed()}\n\n{HAPPENS_EXITS}", formatter_class=plain,
                                 description="Follow a build through time: events, levels, and what goes over when."))
    _faults(commands.add_parser("faults", help="every single thing that can go wrong, worst first, and what survives it all",
                                epilog=FAULTS_EXITS, formatter_class=plain,
                                description="Let every part fail, one at a time, and say what comes of it, worst first."))
    _pumps(commands.add_parser("pumps", help="which of these pumps for this very plumbing", epilog=PUMPS_EXITS,
                               formatter_class=plain, description="Put each pump in the place of the one described, solve\n"
                               "the whole loop, set it to the wanted flow, and rank them."))
    _mend(commands.add_parser("mend", help="the smallest change of each kind that makes a check hold", epilog=MEND_EXITS,
                              formatter_class=plain, description="Look for what mends each check that fails or holds only\n"
                              "just and breaks no other, the cheapest first."))
    _size(commands.add_parser("size", help="designs for what a file leaves open with '?'", epilog=SIZE_EXITS,
                              formatter_class=plain, description="Work out every design that the open values of a file make,\n"
                              "and show the best that hold: proved one by one."))
    _report(commands.add_parser("report", help="one page to print or to read on a phone: drawings, tables, lists, tests",
                                epilog=EXITS.replace("\nWith several files the highest one counts.", ""), formatter_class=plain,
                                description="Work out a build and write all that is said of it as one page of HTML,\nwith "
                                "drawings to scale; it needs no network and no script."))
    check = commands.add_parser("check", help="read a file only: is it sound, and how was it understood",
                                description="Read each file, work out nothing, and say how it was understood.")
    _cases(check)
    check.add_argument("--units", type=units, metavar="metric|US|imperial", help="units to show; else those of the file")
    words = commands.add_parser("words", help="list the words of a case file and the defaults it may override",
                                description="List the words for inlets, parts, walls and vessels, and the defaults.")
    words.add_argument("word", nargs="*", metavar="WORD", help="only what has this in its name, such as elbow")
    _to(words)
    _to(commands.add_parser("schema", help="write the JSON Schema of case files, for editors",
                            description="Write the JSON Schema by which an editor completes and checks case files."))
    return top


def _happens(command: argparse.ArgumentParser) -> None:
    command.add_argument("case", metavar="CASE", help="a case file (.yaml)")
    command.add_argument("what", choices=tuple(HAPPENINGS), metavar="WHAT", help="what happens, see below")
    command.add_argument("name", nargs="*", metavar="NAME", help="the drain or the pump, with drain-blocked and pump-stops")
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


def _pumps(command: argparse.ArgumentParser) -> None:
    command.add_argument("case", metavar="CASE", help="a case file (.yaml)")
    command.add_argument("curves", nargs="*", metavar="CURVES", help="files of pump curves or box labels (.csv)")
    command.add_argument("--points", action="append", default=[], metavar="TEXT",
                         help="a curve as text: 'NAME: 0 L/h = 5 m, 7200 L/h = 0 m; 70 W'; may be repeated")
    command.add_argument("--box", action="append", default=[], metavar="TEXT",
                         help="a label: 'NAME: 7000 L/h, 3.8 m, 70 W'; may be repeated")
    command.add_argument("--instead-of", metavar="NAME", help="the pump whose place is meant, where there are several")
    command.add_argument("--flow", metavar="FLOW", help="the wanted flow, such as '4000 L/h'; else from the turnover")
    command.add_argument("--control", choices=("throttle", "speed"), default="throttle",
                         help="how a pump is set to it, where its table does not say; throttle")
    command.add_argument("--price", metavar="PRICE", help="a price a kWh with its currency, such as '0.32 EUR'")
    command.add_argument("--hours", default="24", metavar="HOURS", help="hours a day the pump runs; 24")
    command.add_argument("--middle", action="store_true", help="judge the middle of every band only: quicker, and says less")
    command.add_argument("--plot", metavar="FILE.svg", help="draw all curves over the system curve, whole or not at all")
    command.add_argument("--units", type=units, metavar="metric|US|imperial", help="units to show; else those of the file")
    command.add_argument("--json", action="store_true", help="for programs, in SI units")
    _to(command)


def _mend(command: argparse.ArgumentParser) -> None:
    command.add_argument("case", metavar="CASE", help="a case file (.yaml)")
    command.add_argument("--units", type=units, metavar="metric|US|imperial", help="units to show; else those of the file")
    command.add_argument("--json", action="store_true", help="for programs, in SI units, with the edits of the file")
    _to(command)


def _size(command: argparse.ArgumentParser) -> None:
    command.add_argument("case", metavar="CASE", help="a case file (.yaml) with open values")
    command.add_argument("--write", nargs=2, metavar=("DESIGN", "FILE"),
                         help="write the file with a design filled in, by its letter, whole or not at all")
    command.add_argument("--prices", metavar="FILE.csv", help="your prices: item, price EUR, per")
    command.add_argument("--units", type=units, metavar="metric|US|imperial", help="units to show; else those of the file")
    command.add_argument("--json", action="store_true", help="for programs, in SI units")
    _to(command)


def _report(command: argparse.ArgumentParser) -> None:
    command.add_argument("case", metavar="CASE", help="a case file (.yaml)")
    command.add_argument("--units", type=units, metavar="metric|US|imperial",
                         help="units that come first, the others in brackets; else those of the file")
    command.add_argument("--to", metavar="FILE.html", help="write to this file; else the case's name with .html, in this folder")
    command.add_argument("--template", metavar="FILE.pdf", help="write the holes at 1:1 too, as .pdf (in sheets) or .svg")
    command.add_argument("--prices", metavar="FILE.csv", help="your prices for the shopping list: item, price EUR, per")
    command.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="sheets of the template; A4")


def _listed() -> str:
    return "\n".join(f"  {word:<16}{meaning}" for word, meaning in HAPPENINGS.items())


def _cases(command: argparse.ArgumentParser) -> None:
    command.add_argument("cases", nargs="+", metavar="CASE", help="a case file (.yaml)")


def _to(command: argparse.ArgumentParser) -> None:
    command.add_argument("--to", metavar="FILE", help="write to a file, whole or not at all, and print nothing")
