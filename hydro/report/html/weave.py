"""Sentences told in both systems of units: the same words twice, woven into one with both figures where they differ.

    weave("at most 205 mm", "at most 8-1/16 in")    'at most 205 mm (8 1/16 in)'

So each figure is rounded in its own system, downward or upward as the sentence asks, and not converted from the other's.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from hydro.report.html.figures import other

_UNITS = "|".join(sorted(map(re.escape, (
    "mm", "m", "cm²", "m²", "in", "ft", "sq in", "sq ft", "L", "US gal", "imp gal", "L/h", "US gph", "imp gph", "m/s", "ft/s",
    "Pa", "kPa", "psi", "kg", "lb", "°C", "°F")), key=len, reverse=True))
_NUMBER = r"[-+]?\d[\d.]*(?:e[-+]?\d+)?(?:-\d+/\d+|/\d+)?"
_FIGURE = re.compile(rf"(?<![\w.])({_NUMBER}(?: (?:to|\.\.) {_NUMBER})*) ({_UNITS})(?![\w/²³])(?: \({_NUMBER} to {_NUMBER}\))?")
_BAND = re.compile(rf" \(({_NUMBER} to {_NUMBER})\)")


def weave(first: str, second: str) -> str:
    """Return a sentence with the figures of its twin in brackets behind its own; the first one alone where they do not match.

    >>> weave("4.2 m/s, 205 mm of 55 W", "4.2 m/s, 8-1/16 in of 55 W")
    '4.2 m/s, 205 mm (8 1/16 in) of 55 W'
    """
    ours, theirs = list(_FIGURE.finditer(first)), list(_FIGURE.finditer(second))
    if len(ours) != len(theirs) or _FIGURE.sub("#", first) != _FIGURE.sub("#", second):
        return _spaced(first)
    made, done = "", 0
    for one, twin in zip(ours, theirs, strict=True):
        shown, beside = _spaced(one.group()), _spaced(twin.group())
        made += first[done:one.start()] + (shown if shown == beside else f"{shown} ({beside})")
        done = one.end()
    return made + first[done:]


def in_both(told: Callable[[str], str], system: str) -> str:
    """Return what is told in a system of units, with the figures of the other one beside its own."""
    return weave(told(system), told(other(system)))


def _spaced(text: str) -> str:
    """Return text with '8 1/16' for the '8-1/16' of a terminal, and ', likely 7 to 9' for its '(7 to 9)'."""
    return _BAND.sub(r", likely \1", re.sub(r"(?<=\d)-(?=\d+/\d+)", " ", text))
