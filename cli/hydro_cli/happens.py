"""`sumpwright happens`: what comes of a power cut, a blocked drain and the like, through time."""

from __future__ import annotations

import argparse

from .exits import FAILED, FINE, exit_codes
from .options import CASE, JSON, TO, UNITS, Commands, add_command
from .runner import Answer

HAPPENINGS = {
    "power-cut": "the power fails",
    "power-back": "the power comes back after a cut that ran to its end",
    "pump-stops": "one pump stops while the others run; its name follows",
    "drain-blocked": "one drain blocks while the loop runs; its name follows",
    "drains-blocked": "all drains block at once",
    "top-up-stuck": "the top-up stays open until its reservoir is empty",
    "hose-off": "a hose comes off outside the sump; its line's name follows",
    "hose-off-at-pump": "a pump's hose comes off in the sump; its name follows",
    "as-is": "nothing is touched: what a surging loop does by itself"}
"""What may happen; the library knows the same words (kept alike by a test, for help has to come without the library)."""

AIR = {"sealed": None, "stays": True, "leaves": False}
"""Where air stays when the power comes back -> whether drains with drowned ends lock; None: those that are sealed."""


def add(commands: Commands) -> None:
    """Add the command."""
    listed = "\n".join(f"  {word:<17}{meaning}" for word, meaning in HAPPENINGS.items())
    command = add_command(commands, "happens", happens, (CASE, UNITS, JSON, TO),
                          "what comes of a power cut, a blocked drain and the like, through time",
                          "Follow a build through time: events, levels, and what runs over when. JSON has\nthe series too.",
                          f"what may happen:\n{listed}\n\n{exit_codes('nothing runs over', 'water runs over an opening')}",
                          writes=lambda options: {"--to": options.to, "--csv": options.csv})
    command.add_argument("what", choices=tuple(HAPPENINGS), metavar="WHAT", help="what happens, see below")
    command.add_argument("name", nargs="*", metavar="NAME", help="the drain, pump or return it happens to")
    command.add_argument("--breaks", choices=("working", "plugged"), default="working",
                         help="how the siphon breaks are; default: working")
    command.add_argument("--valves", choices=("holding", "stuck", "leaking"), default="holding",
                         help="how the check valves are; default: holding")
    command.add_argument("--air", choices=tuple(AIR), default="sealed",
                         help="with power-back: in which drains with drowned ends air stays: in sealed ones (default), in all "
                              "(stays), in none (leaves)")
    command.add_argument("--to-the-end", action="store_true", help="go on until less than 1 L/h flows")
    command.add_argument("--csv", metavar="FILE", help="write the series to a file too, in SI units, whole or not at all")


def happens(case: str, options: argparse.Namespace) -> Answer:
    """Follow one case through time; 1 where water goes over an opening."""
    from hydro import load
    from hydro.report.json.series import series_data, to_csv
    from hydro.report.terminal.timeline import history_text
    from hydro.scenarios.histories import ask, outcome_of

    asked = ask(load(case), options.what, " ".join(options.name), options.breaks == "working", options.valves,
                AIR[options.air], options.to_the_end)
    return Answer(FAILED if outcome_of(asked.history).over else FINE,
                  series_data(asked) if options.json else history_text(asked, options.units),
                  files=((options.csv, to_csv(asked)),) if options.csv is not None else ())
