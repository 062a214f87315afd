"""From the text of one value to numbers, heights, sizes and words; no file, no line, only what stands there.

Every function raises `UnitProblem` (what stands there, what is expected, the nearest valid word).
"""

from __future__ import annotations

import math
import re
from contextvars import ContextVar

from hydro.catalog import Catalogue, Size, find_pipe
from hydro.description.build import Height, Value
from hydro.description.heights import GROUND, LIP
from hydro.elements.registry import Field
from hydro.quantities.parsing import DIMENSIONS, UnitProblem, nearest, read, show
from hydro.quantities.uncertain import Uncertain
from hydro.quantities.unit_table import find_unit, with_plain_signs

PLACES = ("ground", "tank bottom", "tank rim", "tank water", "sump bottom", "sump rim")
NAMED_PLACES = (*PLACES, "box bottom", "box rim", "box water")
"""What heights are counted from where there is one of each, and what each thing's own vessels are called where there are more."""
HEIGHT_FORM = f"LENGTH above or below a place: {', '.join(PLACES)} or {LIP}NAME"
_NAMED_FORM = f"LENGTH above or below a place: {', '.join(NAMED_PLACES)}, those of a vessel by its name, or {LIP}NAME"
ALSO_GROUND = "floor"
_INSTEAD = {"over": "above", "under": "below", "from top": "below", "from the top": "below", "from bottom": "above",
            "from the bottom": "above", "down from": "below", "up from": "above", "higher than": "above", "lower than": "below"}
"""Words that people write for a side of a height, and the word that is meant."""
_NAMED = re.compile(r"(?P<name>.+) (?P<part>bottom|rim|water)", re.IGNORECASE)
_HEIGHT = re.compile(r"(?:(?P<length>.+?)\s+(?P<side>above|below)|at)\s+(?:the\s+)?(?P<place>.+)", re.IGNORECASE)
_VISCOSITY = re.compile(r"(?P<number>.+?)\s*(?P<unit>m2/s|mm2/s|cSt)", re.IGNORECASE)
_VISCOSITY_UNITS = {"m2/s": 1.0, "mm2/s": 1e-6, "cst": 1e-6}
YES_NO_WORDS = {"true": "yes", "on": "yes", "y": "yes", "with": "yes",
           "false": "no", "off": "no", "n": "no", "without": "no", "none": "no"}
_NUMBER = re.compile(r"(?<![A-Za-z0-9^])[+-]?\.?[0-9][0-9./e-]*")
_JOINED = re.compile(r"\+-|\+/-|±|\.\.+|…|[~≈]|"
                     r"\b(?:about|around|roughly|approximately|approx\.?|circa|ca\.?|to)(?=\s|$)", re.IGNORECASE)


def parse_height(text: str, system: str, named: bool = False) -> Height:
    """Read 'LENGTH above|below PLACE', or 'at PLACE' for no distance at all; `named`: vessels may have names."""
    match = _HEIGHT.fullmatch(text)
    if match is None:
        raise UnitProblem(f"'{text}' does not say from where it is measured" if text else "nothing is written",
                          _NAMED_FORM if named else HEIGHT_FORM, _side_meant(text))
    place = parse_place(match["place"], named)
    if match["length"] is None:
        return Height(Uncertain.exact(0.0), place)
    offset = read(match["length"], "length", system)
    if offset.middle < 0.0:
        raise UnitProblem(f"'{text}' has a minus sign", "'above' or 'below' in place of the sign")
    if offset.high > 100.0:
        raise UnitProblem(f"'{text}' is out of physical range", f"at most {show(100.0, 'length', system)}")
    return Height(offset.negative() if match["side"].lower() == "below" else offset, place)


def _side_meant(text: str) -> str:
    """Return 'above' or 'below' where another word for it stands in a height, with the rest of the height where that is sure."""
    for words, side in _INSTEAD.items():
        if re.search(rf"(?<!\w){words}(?!\w)", text, re.IGNORECASE):
            whole = re.sub(rf"(?<!\w){words}(?!\w)", side, text, count=1, flags=re.IGNORECASE)
            return side if "from" in words else whole
    return ""


def parse_place(text: str, named: bool = False) -> str:
    """Read the name of a place; of 'lip of NAME', and of a vessel's name, only the form is looked at here."""
    words, places = " ".join(text.split()), NAMED_PLACES if named else PLACES
    if words.lower() in places:
        return words.lower()
    if words.lower() == ALSO_GROUND:
        return GROUND
    if words.lower().startswith(LIP) and len(words) > len(LIP):
        return LIP + words[len(LIP):].strip("'\"")
    if named and (match := _NAMED.fullmatch(words)):
        return f"{match['name']} {match['part'].lower()}"
    more = (*places, "NAME rim") if named else places
    raise UnitProblem(f"'{text}' is no place to measure from", f"one of {', '.join(more)}, {LIP}NAME",
                      nearest(words, (*places, LIP + "NAME")))


def parse_height_range(text: str, system: str, named: bool = False) -> tuple[Height, Height]:
    """Read 'HEIGHT .. HEIGHT', or 'LENGTH .. LENGTH above|below PLACE'."""
    ends = re.split(r"(?<=[A-Za-z])\s*\.\.+\s*(?=.+\s(?:above|below)\s|at\s)", text)
    sides = [re.search(r"\s(?:above|below)\s|^at\s", end) is not None for end in ends]
    if len(ends) == 2 and all(sides):
        return parse_height(ends[0], system, named), parse_height(ends[1], system, named)
    span = parse_height(text, system, named)
    if span.offset.is_exact:
        raise UnitProblem(f"'{text}' is one height", "two heights with '..' between them")
    low, high = span.offset.low, span.offset.high
    return Height(Uncertain.exact(low), span.place), Height(Uncertain.exact(high), span.place)


OWN: ContextVar[Catalogue | None] = ContextVar("own catalogue", default=None)
"""The owner's sizes while a file that names some is read."""


def sought(text: str) -> Size:
    """Return the size that words mean, of the owner's catalogue or of the library's; `UnitProblem` for one in neither."""
    own = OWN.get()
    return find_pipe(text) if own is None else own.find(text)


def parse_size(text: str, system: str) -> Uncertain:
    """Read a bore, as a length or as a size of the pipe catalogue."""
    if has_known_unit(text):
        return read(text, "length", system)
    try:
        return sought(text).bore_rough()
    except UnitProblem as problem:
        if problem.nearest or re.search(r"pn|sch|sdr|class", text, re.IGNORECASE):
            raise
    try:
        return read(text, "length", system)
    except UnitProblem as problem:
        raise UnitProblem(problem.found, "a bore with its unit, such as 28.4 mm, or a pipe size, such as 40 PN10",
                          problem.nearest) from None


def has_known_unit(text: str) -> bool:
    """Whether all numbers in the text stand with units of the trade, so that reading it looks nothing up elsewhere."""
    *between, last = _NUMBER.split(with_plain_signs(text))
    units = [_JOINED.sub(" ", words).strip() for words in between]
    return bool(units) and not units[0] and find_unit(last) is not None and all(not unit or find_unit(unit) for unit in units)


def is_pipe_size(text: str) -> bool:
    """Whether the text is a size of the pipe catalogue."""
    try:
        sought(text)
    except UnitProblem:
        return False
    return True


def parse_viscosity(text: str) -> Uncertain:
    """Read a kinematic viscosity, m2/s."""
    match = _VISCOSITY.fullmatch(text.replace("²", "2"))
    if match is None:
        raise UnitProblem(f"'{text}' has no unit of viscosity", "a kinematic viscosity, such as 0.95 mm2/s")
    number, factor = read(match["number"], "number"), _VISCOSITY_UNITS[match["unit"].lower()]
    return Uncertain(number.low * factor, number.middle * factor, number.high * factor)


def parse_word(text: str, choices: tuple[str, ...]) -> str:
    """Read one of some words; any word where there are no choices."""
    word = text.strip()
    known = {choice.lower(): choice for choice in choices}
    if "yes" in known and "no" in known:
        word = YES_NO_WORDS.get(word.lower(), word)
    if word and (not choices or word.lower() in known):
        return known.get(word.lower(), word)
    raise UnitProblem(f"'{text}'" if text else "nothing is written",
                      f"one of {', '.join(choices)}" if choices else "a word", nearest(text, choices))


def parse_number(text: str, dimension: str, system: str) -> Uncertain:
    """Read a quantity of any dimension, viscosity and plain numbers included."""
    if dimension == "viscosity":
        return parse_viscosity(text)
    if dimension == "size":
        return parse_size(text, system)
    return read(text, dimension, system)


def parse(field: Field, text: str, system: str, named: bool = False) -> Value:
    """Read the value of an element's field, and hold it against the field's physical range."""
    if field.dimension == "word":
        return parse_word(text, field.choices)
    if (word := text.strip().lower()) in field.choices:
        return word
    if field.dimension == "height":
        return parse_height(text, system, named)
    if field.dimension == "height range":
        return parse_height_range(text, system, named)
    number = parse_number(text, field.dimension, system)
    low = max(field.low, 0.0) if field.positive else field.low
    return clipped_to_range(number, low, field.high, field.dimension, system, text)


def clipped_to_range(number: Uncertain, low: float, high: float, dimension: str, system: str, text: str) -> Uncertain:
    """Return the number with its band cut to a physical range; `UnitProblem` where its middle lies outside."""
    shown = {"size": "length"}.get(dimension, dimension)
    if number.middle < low or number.middle > high:
        raise UnitProblem(f"'{text}' is out of physical range", _bounds(low, high, shown, system))
    return Uncertain(max(number.low, low), number.middle, min(number.high, high), number.name, number.source)


def _bounds(low: float, high: float, dimension: str, system: str) -> str:
    def words(value: float) -> str:
        return show(value, dimension, system) if dimension in DIMENSIONS else f"{value:g} m2/s"
    if math.isinf(high):
        return f"at least {words(low)}"
    return f"at most {words(high)}" if math.isinf(low) else f"{words(low)} to {words(high)}"
