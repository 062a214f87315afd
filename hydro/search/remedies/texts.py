"""Old text of a case file -> new text: one number in the words in which it stands, whatever stands around it."""

from __future__ import annotations

import re
from collections.abc import Callable

from hydro.case.syntax.values import parse_size
from hydro.quantities.parsing import UnitProblem, read
from hydro.quantities.uncertain import Uncertain
from hydro.search.remedies.change import Write


def in_line(owner: str, number: int, new: Callable[[str], str]) -> Write:
    """Return what rewrites one part of a line, counted from 0."""
    return Write(owner, ("line", number), new)


def with_opening(opening: float) -> Callable[[str], str]:
    """Return what puts an opening behind a valve's word, or in place of the one that stands there."""
    words = f"{100 * opening:.0f} %"

    def new(old: str) -> str:
        if "%" in old:
            return re.sub(r"[0-9.,]+\s*%", words, old)
        return f"{old} {words} open"
    return new


def with_size(size: Uncertain, words: str, system: str) -> Callable[[str], str]:
    """Return what puts other words where a size stands: the longest run of words that reads as that size."""
    def new(old: str) -> str:
        tokens = old.split()
        for length in range(len(tokens), 0, -1):
            for start in range(len(tokens) - length + 1):
                if _reads_as(" ".join(tokens[start:start + length]), size, system):
                    return " ".join((*tokens[:start], words, *tokens[start + length:]))
        return old
    return new


def _reads_as(text: str, size: Uncertain, system: str) -> bool:
    try:
        found = parse_size(text, system)
    except UnitProblem:
        return False
    return (found.low, found.middle, found.high) == (size.low, size.middle, size.high)


def with_side(number: int, value: float, system: str) -> Callable[[str], str]:
    """Return what puts another length (m) in the place of one side of '110 x 50 x 45 cm', in the unit that stands behind it."""
    def new(old: str) -> str:
        sides = re.split(r"\s*[x×]\s*", old)
        last = re.search(r"[A-Za-z\"]+\.?$", sides[-1])
        if number >= len(sides) or last is None:
            return old
        own = re.search(r"[A-Za-z\"]+\.?$", sides[number])
        unit = (own or last)[0]
        shown = f"{round(value / read(f'1 {unit}', 'length', system).middle, 4):g}"
        sides[number] = f"{shown} {unit}" if own is not None else shown
        return " x ".join(sides)
    return new
