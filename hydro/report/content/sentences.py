"""Sentences with figures in them, made once and written in one system of units, or in two.

    line = say("Draw it at most {line} above the sump's bottom.", line=height(0.2054, DOWN))
    written(line, "metric")                 'Draw it at most 205 mm above the sump's bottom.'
    written(line, "metric", both=True)      'Draw it at most 205 mm (8 1/16 in) above the sump's bottom.'

Each figure is rounded in its own system, downward or upward as the sentence asks, and never converted from the other's.
Nothing is escaped here: that is for the page.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from string import Formatter

from hydro.quantities.formatting import convert, show_band, unit_name
from hydro.quantities.tape import Band, ceiling_mark, floor_mark, mark, rounded_band, unrounded
from hydro.quantities.unit_table import DIMENSIONS
from hydro.report.content.grouping import span

DOWN, NEAREST, UP = -1, 0, 1
"""Where a length is rounded to: what must not be passed downward, what water reaches upward."""
FINE, SIXTEENTH = 0.010, 0.0254 / 16
"""Lengths below these are shown to a tenth of a millimetre, and to a hundredth of an inch, m."""
_FRACTION = re.compile(r"(?<=\d)-(?=\d+/\d)")
"""The '-' of '8-1/16 in', which a page writes as '8 1/16 in'."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A value in SI units. Lengths are shown as a tape shows them, rounded `towards` the next mark.

    `band` is where it is likely to lie; of a time only the band is told. Of many things alike `value` is the least and `most`
    the largest; `reach` is then the band of all together. `digits` asks for that many significant ones.
    """

    value: float
    dimension: str
    towards: int = NEAREST
    band: Band | None = None
    most: Figure | None = None
    reach: Band | None = None
    digits: int | None = None

    def turned(self) -> Figure:
        """Return the figure with its sign turned, rounded to the same mark."""
        return Figure(-self.value, self.dimension, -self.towards, digits=self.digits)


@dataclass(frozen=True, slots=True)
class Sentence:
    """Words and figures in their order. Two sentences with '+' between them are one."""

    pieces: tuple[str | Figure, ...]

    def __add__(self, other: Sentence | str) -> Sentence:
        return Sentence((*self.pieces, *((other,) if isinstance(other, str) else other.pieces)))


Words = str | Figure | Sentence


def say(template: str, **named: Words) -> Sentence:
    """Return a sentence: the words of a template, with figures, words or sentences in the place of its '{names}'."""
    pieces: list[str | Figure] = []
    for words, name, _, _ in Formatter().parse(template):
        pieces.append(words)
        if name is not None:
            piece = named[name]
            pieces += piece.pieces if isinstance(piece, Sentence) else (piece,)
    return Sentence(tuple(piece for piece in pieces if piece != ""))


def joined_sentences(parts: Iterable[Words], between: str = " ") -> Sentence:
    """Return some words, figures and sentences as one sentence; nothing stands for those that are empty."""
    made: tuple[str | Figure, ...] = ()
    for part in parts:
        pieces = part.pieces if isinstance(part, Sentence) else (part,) if part else ()
        made += ((between, *pieces) if made else pieces) if pieces else ()
    return Sentence(made)


def opened(sentence: Sentence) -> Sentence:
    """Return a sentence that begins with a capital letter."""
    first, *rest = sentence.pieces
    return Sentence((first[:1].upper() + first[1:] if isinstance(first, str) else first, *rest))


def height(value: float, towards: int = NEAREST) -> Figure:
    """Return a length as read off a tape."""
    return Figure(value, "length", towards)


def banded(band: Band, dimension: str) -> Figure:
    """Return a figure in the middle of its band, no finer than the band tells."""
    return Figure(band[1], dimension, band=band)


def least_to_most(least: float, most: float, dimension: str, digits: int | None = None) -> Figure:
    """Return the least and the most of many things alike: '2.2 .. 2.5 L', one figure where they are shown alike."""
    return Figure(least, dimension, most=Figure(most, dimension, digits=digits), digits=digits)


def range_of_heights(ends: tuple[float, float], towards: int) -> Figure:
    """Return the least and the largest of several heights, each rounded to the side that matters."""
    return Figure(ends[0], "length", towards, most=height(ends[1], towards))


def other_system(system: str) -> str:
    """Return the system of units that stands in brackets."""
    return "US" if system == "metric" else "metric"


def written(what: Words, system: str, both: bool = False) -> str:
    """Return a sentence or a figure as text in one system of units, or in `both`: that one first, the other in brackets."""
    if isinstance(what, Sentence):
        return "".join(written(piece, system, both) for piece in what.pieces)
    if isinstance(what, str):
        return what
    shown, likely = _with_unit(what, system)
    if not both:
        return f"{shown} ({_bare(what, system)[1]})" if likely else shown
    (shown, likely), (beside, also) = ((_FRACTION.sub(" ", text) for text in _with_unit(what, one))
                                       for one in (system, other_system(system)))
    told = shown if shown == beside else f"{shown} ({beside})"
    return told if not likely else f"{told}, likely {likely}" + ("" if likely == also else f" ({also})")


def without_unit(figure: Figure, system: str) -> tuple[str, str]:
    """Return a figure and its band as a table has them, their unit standing in its head; '' for no band."""
    return _bare(figure, system)[:2]


def _with_unit(figure: Figure, system: str) -> tuple[str, str]:
    """Return a figure and its band, each with its unit; '' for no band."""
    shown, likely, unit = _bare(figure, system)
    tail = f" {unit}" if unit else ""
    return f"{shown}{tail}", f"{likely}{tail}" if likely else ""


def _bare(figure: Figure, system: str) -> tuple[str, str, str]:
    """Return a figure, its band and their unit."""
    shown, likely, unit = _one(figure, system)
    if figure.most is None:
        return shown, likely, unit
    last, _, its = _one(figure.most, system)
    likely = rounded_band(figure.reach, figure.dimension, system)[1] if figure.reach is not None else ""
    if unit != its:
        return span(f"{shown} {unit}", f"{last} {its}"), likely, ""
    return span(shown, last), likely, unit


def _one(figure: Figure, system: str) -> tuple[str, str, str]:
    unit = unit_name(figure.dimension, system) if figure.dimension in DIMENSIONS else ""
    if figure.band is not None and figure.dimension == "time":
        return show_band(figure.band[0], figure.band[2], "time", system), "", ""
    if figure.band is not None:
        return *rounded_band(figure.band, figure.dimension, system), unit
    if figure.dimension == "length" and figure.digits is None and math.isfinite(figure.value):
        return _on_a_tape(figure, system), "", unit
    text = unrounded(figure.value, figure.dimension, system, figure.digits)
    return (text.removesuffix(f" {unit}"), "", unit) if unit and text.endswith(f" {unit}") else (text, "", "")


def _on_a_tape(figure: Figure, system: str) -> str:
    value, towards = figure.value, figure.towards
    if system == "metric" and abs(value) < FINE and not towards:
        return f"{round(value * 1e3, 1) + 0.0:g}"
    if system != "metric" and 0.0 < abs(value) < SIXTEENTH and not towards:
        return f"{convert(value, 'length', system):.2f}"
    return mark(floor_mark(value, system) if towards < 0 else ceiling_mark(value, system) if towards else value, system)
