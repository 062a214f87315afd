"""Text of the trade -> numbers in SI units with their bands, and the only importer of pint.

A quantity is a number with its unit ('12 cm', '1-1/2 in', '6 ft 2 in'), and may say how rough it is:

    about 160 cm        10 % to both sides (`ABOUT`)
    160 cm +- 5 cm      also '160 +- 5 cm', '160 cm ± 3 %'
    150..170 cm         also '150 cm .. 170 cm', '150 to 170 cm'; the middle is half way

Units come from `hydro.quantities.unit_table`; one that is not there is looked up in pint, which is imported only then. Showing is
in `hydro.quantities.formatting`, whose functions this module hands out too.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from hydro.quantities.formatting import SYSTEMS, convert, show, show_band, unit_name
from hydro.quantities.number_marks import comma_in, dash_in, thousands_in
from hydro.quantities.uncertain import Uncertain
from hydro.quantities.unit_table import DIMENSIONS, Unit, asks_which, find_unit, nearest, spoken, with_plain_signs, words_for

if TYPE_CHECKING:
    from pint import Quantity

__all__ = ["ABOUT", "ABOUT_KELVIN", "DIMENSIONS", "SYSTEMS", "UnitProblem", "convert", "nearest", "quantity", "read",
           "read_product", "show", "show_band", "unit_name"]

ABOUT = 0.10
"""Band of 'about', as a share of the value: what an estimate by eye is good for (common practice, no source)."""
ABOUT_KELVIN = 2.0
"""Band of 'about' for a temperature, in kelvin; a share of it would mean nothing (common practice, no source)."""
LONGEST = 200
"""Longest text that is read, in characters."""

_NUMBER = r"[+-]?(?:[0-9]+[ -]+[0-9]+/[0-9]+|[0-9]+/[0-9]+|(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)"
_PLAIN = re.compile(rf"({_NUMBER})\s*(.*)", re.DOTALL)
_PIECE = re.compile(rf"({_NUMBER})\s*([A-Za-z]+|''|[\"'])\s*")
_ABOUT = re.compile(r"(?:about|around|roughly|approximately|approx\.?|circa|ca\.?|[~≈])\s*(?=[0-9.+-])", re.IGNORECASE)
_BAND = re.compile(r"\s*(?:\+-|\+/-|±)\s*")
_RANGE = re.compile(r"\s*(?:\.{2,3}|…)\s*|\s+to\s+")
_TIMES = re.compile(r"\s*[x×]\s*(?=[0-9.~≈+-]|about|ca\b|approx)", re.IGNORECASE)
_SAFE_UNIT = re.compile(r"1?/?[A-Za-zµμ°_]+(?:\^?-?[1-9])?(?: ?[ */] ?[A-Za-zµμ°_]+(?:\^?-?[1-9])?){0,5}")


class UnitProblem(ValueError):
    """A quantity that cannot be used: what stands there, what is expected, and the nearest valid word ('' if none)."""

    def __init__(self, found: str, expected: str, nearest: str = "") -> None:
        self.found, self.expected, self.nearest = found, expected, nearest
        super().__init__(f"{found}; expected {expected}" + (f"; did you mean '{nearest}'?" if nearest else ""))


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is to be read: the whole text, for messages, the dimension and the reader's system of units."""

    text: str
    dimension: str
    system: str

    def problem(self, found: str, expected: str = "", nearest: str = "") -> UnitProblem:
        return UnitProblem(found, expected or self.expected, nearest)

    @property
    def expected(self) -> str:
        how = spoken(self.dimension)
        if self.dimension == "number":
            return "a plain number, such as 2 or 0.8"
        first, second = (how.metric, how.us) if self.system == "metric" else (
            (how.us if self.system == "US" else how.imperial), how.metric)
        return f"{how.noun} with its unit, such as {first}" + (f" or {second}" if second != first else "")


@dataclass(frozen=True, slots=True)
class _Amount:
    """Numbers with their units as written, '' where none stands: one, or several that add up (6 ft 2 in)."""

    pieces: tuple[tuple[float, str], ...]

    @property
    def unit(self) -> str:
        return self.pieces[-1][1]

    def with_unit(self, unit: str) -> _Amount:
        return self if self.unit else _Amount(((self.pieces[0][0], unit),))


@dataclass(frozen=True, slots=True)
class _Written:
    """A rough quantity as written. `form` is 'alone', 'band' (second: half width) or 'range' (second: its end)."""

    first: _Amount
    second: _Amount | None = None
    form: str = "alone"
    about: bool = False


def quoted(text: str) -> str:
    """Return a text in quotes for a message: one line, short, nothing that a terminal would obey."""
    shown = "".join(c if c.isprintable() else "?" for c in " ".join(text.split()))
    return f"'{shown[:40]}...'" if len(shown) > 43 else f"'{shown}'"


def _number(text: str) -> float:
    sign = -1.0 if text.startswith("-") else 1.0
    body = text.lstrip("+-")
    if "/" not in body:
        return sign * float(body)
    whole, over, under = re.fullmatch(r"(?:([0-9]+)[ -]+)?([0-9]+)/([0-9]+)", body).groups()  # type: ignore[union-attr]
    return sign * (float(whole or 0) + float(over) / float(under)) if float(under) else math.nan


def _amount(text: str, asked: _Asked) -> _Amount:
    match = _PLAIN.fullmatch(text.strip())
    if match is None:
        raise asked.problem(f"no number in {quoted(text)}" if text.strip() else "nothing is written")
    unit = match[2].strip()
    if find_unit(unit) is None and re.search("[0-9]", unit):
        pieces = _PIECE.findall(text.strip())
        if len(pieces) > 1 and _PIECE.sub("", text.strip()) == "":
            return _sum(pieces, asked)
    if re.match(r"[0-9.]", unit) and find_unit(unit) is None:
        raise asked.problem(f"{quoted(text)} is not one number", "one without spaces or marks inside, such as 1500")
    return _Amount(((_number(match[1]), unit),))


def _sum(pieces: list[tuple[str, str]], asked: _Asked) -> _Amount:
    """Return an amount written in two or more units, which must go from large to small: '6 ft 2 in', '2 min 5 s'."""
    units = [_unit(unit, asked) for _, unit in pieces]
    numbers = [_number(number) for number, _ in pieces]
    pairs = list(zip(units, numbers, strict=True))
    for (larger, _), (smaller, number) in pairwise(pairs):
        if larger.offset or not 0 <= number * smaller.factor < larger.factor:
            raise asked.problem(f"{quoted(asked.text)} does not go from a large unit to a smaller one",
                                "the larger unit first, such as 6 ft 2 in, or one unit only")
    sign = math.copysign(1.0, numbers[0])
    return _Amount(tuple((number if i == 0 else sign * number, unit)
                         for i, (number, (_, unit)) in enumerate(zip(numbers, pieces, strict=True))))


def _written(text: str, asked: _Asked) -> _Written:
    about = _ABOUT.match(text)
    body = text[about.end():] if about else text
    for form, sign in (("band", _BAND), ("range", _RANGE)):
        parts = sign.split(body)
        if len(parts) == 2:
            first, second = (_amount(part, asked) for part in parts)
            if not (form == "band" and second.unit.strip() in ("%", "percent") and asked.dimension != "share"):
                first, second = first.with_unit(second.unit), second.with_unit(first.unit)
            return _Written(first, second, form)
        if len(parts) > 2:
            raise asked.problem(f"{quoted(text)} has two bands", "one band, such as 160 cm +- 5 cm or 150..170 cm")
    return _Written(_amount(body, asked), about=about is not None)


def _unit(word: str, asked: _Asked) -> Unit:
    """Return the unit for a word, of the dimension that is asked for."""
    if not word:
        if asked.dimension == "number":
            return Unit("number", 1.0, ("",))
        raise asked.problem(f"no unit on {quoted(asked.text)}")
    if asks_which(word):
        which = "gallon: US (3.785 L) or imperial (4.546 L)?" if word[0] in "gG" else "measure: US or imperial?"
        raise asked.problem(f"{quoted(asked.text)} does not say which {which}",
                            "US or imp written before it, such as US gal or imp gal, US gph or imp gph",
                            f"{'imp' if asked.system == 'imperial' else 'US'} {word}")
    unit = find_unit(word) or _unit_of_pint(word, asked)
    if unit is None:
        near = nearest(word, words_for(asked.dimension)) or nearest(word, (w for d in DIMENSIONS for w in words_for(d)))
        raise asked.problem(f"unknown unit {quoted(word)} in {quoted(asked.text)}", nearest=near)
    if unit.dimension != asked.dimension:
        is_what = f"is {spoken(unit.dimension).noun}" if unit.dimension else f"is not {spoken(asked.dimension).noun}"
        raise asked.problem(f"{quoted(asked.text)} {is_what}")
    return unit


def _si(amount: _Amount, asked: _Asked) -> float:
    return sum(unit.factor * number + unit.offset for number, word in amount.pieces for unit in (_unit(word, asked),))


def _half_width(written: _Written, middle: float, asked: _Asked) -> float:
    if written.form == "band" and written.second is not None:
        (number, word), *more = written.second.pieces
        if word in ("%", "percent") and asked.dimension != "share":
            if asked.dimension == "temperature":
                raise asked.problem("a temperature with a band in %", "the band in degrees, such as 25 °C +- 1 °C")
            return number / 100 * abs(middle)
        return sum(_unit(word, asked).factor * number for number, word in [(number, word), *more])
    if written.about:
        return ABOUT_KELVIN if asked.dimension == "temperature" else ABOUT * abs(middle)
    return 0.0


def _tidy(value: float) -> float:
    """Return the value without the dust of binary fractions, so that '29 cm' is 0.29 and not its neighbour."""
    return float(f"{value:.15g}")


def _rough(written: _Written, asked: _Asked) -> Uncertain:
    first = _si(written.first, asked)
    if written.form == "range" and written.second is not None:
        low, high = first, _si(written.second, asked)
        middle = low + (high - low) / 2
    else:
        half = _half_width(written, first, asked)
        low, middle, high = first - half, first, first + half
    if not all(map(math.isfinite, (low, middle, high))):
        raise asked.problem(f"{quoted(asked.text)} is not a number of a sensible size")
    if low > high:
        raise asked.problem(f"the band of {quoted(asked.text)} runs backwards", "the lower end first: 150..170 cm")
    if asked.dimension == "temperature" and low < 0:
        raise asked.problem(f"{quoted(asked.text)} is below absolute zero")
    return Uncertain(_tidy(low), _tidy(middle), _tidy(high))


def _asked(text: str, dimension: str, system: str) -> _Asked:
    asked = _Asked(text if len(text) <= LONGEST else text[:60], dimension, system)
    spoken(dimension)
    if len(text) > LONGEST:
        raise asked.problem(f"a text of {len(text)} characters")
    doubt = comma_in(text) or dash_in(text)
    if doubt:
        raise asked.problem(*doubt)
    return asked


def read(text: str, dimension: str, system: str = "metric") -> Uncertain:
    """Return a quantity written by hand as SI value with its band (salinity in g/kg).

    `system` only chooses the examples of the messages: a unit always stands in the text. Raises `UnitProblem` for
    anything that cannot be read beyond doubt, KeyError for a `dimension` that is not in `DIMENSIONS`.
    """
    asked = _asked(text, dimension, system)
    value = _rough(_written(with_plain_signs(text), asked), asked)
    doubt = thousands_in(text, value.low) if dimension == "flow" else None
    if doubt:
        raise asked.problem(*doubt)
    return value


def read_product(text: str, dimension: str = "length", system: str = "metric") -> tuple[Uncertain, ...]:
    """Return the sides of '197 x 99 x 78 cm', one or more. A side without a unit shares that of the next that has one.

    'about' before the first side, and a band behind the last, hold for all sides that have no band of their own.
    """
    asked = _asked(text, dimension, system)
    sides = [_written(side, asked) for side in _TIMES.split(with_plain_signs(text))]
    last, unit, read_sides = sides[-1], "", list[Uncertain]()
    for side in reversed(sides):
        unit = side.first.unit or unit
        banded = last if side.form == "alone" and last.form == "band" else side
        form, second = banded.form, banded.second
        whole = _Written(side.first.with_unit(unit), second.with_unit(unit) if second else None, form,
                         side.about or sides[0].about)
        read_sides.insert(0, _rough(whole, asked))
    return tuple(read_sides)


def _unit_of_pint(word: str, asked: _Asked) -> Unit | None:
    """Return a unit that only pint knows, None if it knows none. Free arithmetic is kept from pint's parser."""
    if len(word) > 40 or not _SAFE_UNIT.fullmatch(word):
        return None
    import pint

    registry: Any = pint.application_registry
    try:
        unit = registry.parse_units(word)
        for dimension in (asked.dimension, *DIMENSIONS):
            si = registry.parse_units(spoken(dimension).si)
            if dimension != "number" and unit.dimensionality == si.dimensionality:
                zero, one = (float(registry.Quantity(x, unit).to(si).magnitude) for x in (0.0, 1.0))
                return Unit(dimension, one - zero, (word,), zero)
    except (pint.PintError, ValueError, TypeError, AttributeError, ArithmeticError, AssertionError):
        return None
    return Unit("", 1.0, (word,))


def quantity(value: float, dimension: str) -> Quantity[Any]:
    """Return an SI value (salinity in g/kg) as a quantity of pint's application registry."""
    import pint

    made: Quantity[Any] = pint.application_registry.Quantity(value, spoken(dimension).si)
    return made
