"""What may stand at an open place: the words of each candidate, in steps that a tape shows.

    12 .. 18 cm             1, 2, 5, 10 ... mm (or 1/16, 1/8, 1/4, 1/2, 1 in ...): the finest that makes at most so many steps
    12 .. 18 cm by 1 cm     that step
    40 PN10 or 50 PN10      a list
    PN10                    every size of the series
    nothing                 for a size: the series that stands nearest in the file; for a lip, a valve's opening or a pump's speed
                            a natural range
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from hydro.case.syntax.open_values import RANGE, OpenPlace, series_at
from hydro.catalog import all_sizes, sizes_of
from hydro.elements.registry import KINDS
from hydro.quantities.parsing import UnitProblem
from hydro.quantities.unit_table import FOOT, INCH, find_unit

MOST_STEPS = 12
MOST_CANDIDATES = 200
NATURAL = {"lip": "3 .. 20 cm by 1 cm", "speed": "40 .. 100 %", "open": "20 .. 100 %"}
"""Ranges that stand for '?' alone: heights of a lip below the rim, a pump's speed, a valve's opening. Chosen here."""
RIM = " below tank rim"
FORM = "a list ('40 PN10 or 50 PN10'), a range ('12 .. 18 cm', 'by 1 cm'), or a series of sizes ('PN10')"
_SERIES = re.compile("|".join(re.escape(name) for name in sorted({size.series for size in all_sizes()}, key=len, reverse=True)))


def candidates(said: str) -> list[str]:
    """Return the candidates that a text names, in its order or from low to high; `UnitProblem` where it names fewer than two."""
    body = " ".join(said.split())
    if match := RANGE.fullmatch(body):
        return _range(match, body)
    if re.search(r"(?:^|\s)or(?:\s|$)", body):
        listed = [one.strip() for one in re.split(r"(?:^|\s+)or(?:\s+|$)", body)]
        if not all(listed):
            raise UnitProblem(f"'{body}' has an 'or' with nothing beside it", FORM)
        if len(set(listed)) < 2:
            raise UnitProblem(f"'{body}' names one value", "at least two that differ")
        return list(dict.fromkeys(listed))
    if body and series_at(body) == body:
        series = next(size.series for size in all_sizes() if size.series.casefold() == body.casefold())
        return [size.words.removesuffix(" hose") for size in sizes_of(series)]
    raise UnitProblem(f"'{body}' names no candidates" if body else "'?' says nothing about what may stand here", FORM)


def of_place(place: OpenPlace, text: str) -> list[str]:
    """Return the candidates of a place, as it says or as its kind has them by nature."""
    if place.said:
        return candidates(place.said)
    if re.match(r"\s*[0-9]", place.tail) and not place.before:
        raise UnitProblem(f"'{place.shown}' names one value", FORM)
    if _is_size(place):
        return candidates(_series_near(place, text))
    natural = next((word for word in NATURAL if _is(place, word)), "")
    if not natural:
        raise UnitProblem(f"'{place.shown}' says nothing about what may stand here", FORM)
    found = candidates(NATURAL[natural])
    return [one + RIM for one in found] if natural == "lip" and not place.tail.strip() else found


def _is(place: OpenPlace, word: str) -> bool:
    valve = "valve" in place.before.casefold()
    return (place.key == word and not place.before) or (word == "open" and valve) or place.before.casefold().endswith(f" {word}")


def _is_size(place: OpenPlace) -> bool:
    """Whether a size is left open: behind an element's word whose first value is one, or behind the key 'size'."""
    if place.key == "size" and not place.before:
        return True
    word = re.sub(r"^(?:[0-9]+\s*[x×]\s+)?(?:like\s+)?", "", place.before or place.key).casefold()
    kind = KINDS.get(word)
    if kind is None or not kind.positional:
        return False
    return next(field.dimension for field in kind.fields if field.name == kind.positional[0]) == "size"


def _series_near(place: OpenPlace, text: str) -> str:
    """Return the series of sizes written nearest to a place, in its line before others."""
    hose = "hose" in place.before
    inches = re.search(r"^units:\s*(?:us|imperial)\b", text, re.IGNORECASE | re.MULTILINE) is not None
    if hose:
        return "inch hose" if inches else "metric hose"
    begins = text.rfind("\n", 0, place.start) + 1
    ends = text.find("\n", place.start) if "\n" in text[place.start:] else len(text)
    found = [(not begins <= match.start() < ends, abs(match.start() - place.start), match[0]) for match in _SERIES.finditer(text)]
    if not found:
        raise UnitProblem(f"'{place.shown}' does not say of which family, and no other size in the file does",
                          f"{FORM}; series are {', '.join(dict.fromkeys(size.series for size in all_sizes()))}")
    return min(found)[2]


def _range(match: re.Match[str], body: str) -> list[str]:
    """Return the values of a range in the unit that stands at its end."""
    unit, first, step_unit = match["unit"] or "", match["unit_low"] or "", match["unit_step"] or ""
    low, high = (_number(match[name]) for name in ("low", "high"))
    if first and first != unit:
        raise UnitProblem(f"'{body}' has two units", f"one for both ends, such as '{match['low']} .. {match['high']} {unit}'")
    if not low < high:
        raise UnitProblem(f"'{body}' does not go from low to high", "the lower end first")
    step = _step(high - low, unit)
    if match["step"]:
        step = _number(match["step"]) * _ratio(step_unit or unit, unit, body)
        if not step > 0:
            raise UnitProblem(f"'{body}' has a step of nothing", "a step above zero")
    count = math.floor((high - low) / step) + 1
    if count > MOST_CANDIDATES:
        raise UnitProblem(f"'{body}' makes {count} values", f"at most {MOST_CANDIDATES}: a larger step")
    values = [low + k * step for k in range(count)]
    if values[-1] < high and not match["step"]:
        values.append(high)
    if len(values) < 2:
        raise UnitProblem(f"'{body}' holds one value", "a step smaller than the range")
    return [f"{_shown(value, unit)} {unit}".strip() for value in values]


def _number(text: str) -> Fraction:
    """Return a number exactly, so that steps add up to the end of the range."""
    return sum((Fraction(piece.replace(",", ".")) for piece in re.split(r"[ -]+", text.strip()) if piece), Fraction(0))


def _ratio(step: str, unit: str, body: str) -> Fraction:
    """Return how many of one unit another is."""
    if step == unit:
        return Fraction(1)
    one, other = find_unit(step), find_unit(unit)
    if one is None or other is None or one.dimension != other.dimension:
        raise UnitProblem(f"'{body}' steps in '{step}' through '{unit}'", "a step in the unit of the range")
    return Fraction(one.factor / other.factor).limit_denominator(10**6)


def _step(span: Fraction, unit: str) -> Fraction:
    """Return the finest step that a tape shows and that makes at most so many steps; whole numbers where there is no unit."""
    known = find_unit(unit) if unit else None
    if known is not None and known.factor in (INCH, FOOT):
        inches = 12 if known.factor == FOOT else 1
        steps = [Fraction(size) / 16 / inches for size in (1, 2, 4, 8, 16, 32, 96, 192)]
        return next((step for step in steps if span / step <= MOST_STEPS), span / MOST_STEPS)
    least = Fraction(1)
    if known is not None:
        least = Fraction(10) ** (math.floor(math.log10(span)) - 3)
        if known.dimension == "length":
            least = Fraction(1, 1000) / Fraction(known.factor).limit_denominator(10**6)
    step = least
    while span / step > MOST_STEPS:
        step *= Fraction(5, 2) if _leads_with_two(step / least) else 2
    return step


def _leads_with_two(ratio: Fraction) -> bool:
    while ratio >= 10:
        ratio /= 10
    return ratio == 2


def _shown(value: Fraction, unit: str) -> str:
    """Return a number as people write it: inches in fractions, all else in decimals."""
    known = find_unit(unit) if unit else None
    if known is not None and known.factor == INCH and value.denominator in (2, 4, 8, 16, 32):
        whole, rest = divmod(value, 1)
        return f"{whole}-{rest}" if whole else str(rest)
    return f"{float(value):.6f}".rstrip("0").rstrip(".")
