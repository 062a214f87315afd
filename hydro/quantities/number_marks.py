"""Commas, points and dashes in numbers that can be read in two ways: named, never guessed."""

from __future__ import annotations

import re

MOST_PUMPED = 0.1
"""A flow with a point and three digits behind it may be meant as thousands if it then is at most this, m3/s."""
_COMMA = re.compile(r"[0-9]+,[0-9]+")
_THOUSANDS = re.compile(r"(?<![0-9.,])[1-9][0-9]{0,2}\.[0-9]{3}(?![0-9.,])")
_DASH = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*[-\u2013\u2014]\s*([0-9]+(?:\.[0-9]+)?\s*[A-Za-z\"'][A-Za-z0-9/^ ]*)")

Doubt = tuple[str, str, str]
"""What stands there, what is expected, the nearest text that is sure ('' where there are two)."""


def comma_in(text: str) -> Doubt | None:
    """Return what is in doubt about a comma inside a number, None where there is none."""
    comma = _COMMA.search(text)
    if comma is None:
        return None
    thousands = re.fullmatch(r"[0-9]{1,3},[0-9]{3}", comma[0])
    return (f"a comma in the number '{comma[0]}'", "a point before decimals and no mark between thousands, such as 1.5 or 1500",
            "" if thousands else comma[0].replace(",", "."))


def dash_in(text: str) -> Doubt | None:
    """Return what is in doubt about '145-155 cm', None where a text is nothing of the kind ('1-1/2 in')."""
    dash = _DASH.fullmatch(text.strip())
    return None if dash is None else (f"a dash in '{text.strip()[:40]}'", "a range with '..'", f"{dash[1]}..{dash[2]}")


def thousands_in(text: str, flow: float) -> Doubt | None:
    """Return what is in doubt about '3.600 L/h', read as at least `flow` in m3/s, None where only one reading makes sense."""
    point = _THOUSANDS.search(text)
    if point is None or 1000.0 * flow > MOST_PUMPED:
        return None
    readings = f"{point[0].replace('.', '')} or {float(point[0]):g}"
    return (f"'{text.strip()[:40]}' may be {readings}",
            f"a flow with no mark between thousands and no noughts at the end of decimals: {readings}", "")
