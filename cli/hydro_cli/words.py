"""`sumpwright words`: what may stand in a case file, out of the registry of elements."""

from __future__ import annotations

import argparse

from .exits import BAD_INPUT, FINE
from .options import TO, Commands, add_command
from .runner import Answer
from .streams import say


def add(commands: Commands) -> None:
    """Add the command, which takes no case."""
    command = add_command(commands, "words", words, (TO,), "list the words of a case file and the defaults it may override",
                          "List the words for inlets, parts, walls and vessels, and the defaults.")
    command.add_argument("word", nargs="*", metavar="WORD", help="only what has this in its name, such as elbow")
    command.set_defaults(cases=[""])


def words(_: str, options: argparse.Namespace) -> Answer:
    """List the elements' words and the defaults, all of them or those that hold the words sought."""
    from hydro.report.terminal.word_list import listing, near

    phrase = " ".join(options.word)
    lines = listing(phrase)
    if not lines:
        close = near(phrase)
        hint = f"; did you mean '{close}'?" if close else "; 'sumpwright words' lists all"
        say(f"sumpwright: no word and no default holds '{phrase}'{hint}")
        return Answer(BAD_INPUT)
    return Answer(FINE, "\n".join(lines) + "\n")
