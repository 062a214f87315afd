"""`sumpwright words`: what may stand in a case file, out of the registry of elements."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from hydro.errors import HydroError

from .output import BAD_INPUT, FINE, complain, deliver, spare_the_cases


def words(sought: Sequence[str], to: str | None) -> int:
    """List the elements' words and the defaults, all of them or those that hold the words sought."""
    from hydro.report.terminal.word_list import listing, near

    phrase = " ".join(sought)
    lines = listing(phrase)
    if not lines:
        close = near(phrase)
        hint = f"; did you mean '{close}'?" if close else "; 'sumpwright words' lists all"
        print(f"sumpwright: no word and no default holds '{phrase}'{hint}", file=sys.stderr)
        return BAD_INPUT
    try:
        spare_the_cases((), to)
        deliver("\n".join(lines) + "\n", to)
    except HydroError as problem:
        return complain(problem, str(to))
    return FINE
