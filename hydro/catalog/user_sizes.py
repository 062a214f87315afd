"""An owner's own sizes, from a CSV file: whatever is wrong in it comes back at once, one clear line for each mistake.

    name,outside mm,wall mm,standard,price EUR per m            name;bore mm
    grey 40,40,1.9..2.2,DIN 8062,2.50                           green hose;24,5
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from hydro.catalog.lookup import find_pipe, key
from hydro.catalog.prices import Price, price_of
from hydro.catalog.records import BoreSize, PipeSize, Size
from hydro.catalog.shelf import all_sizes, families
from hydro.quantities.csv_tables import MONEY, Column, CsvRow, Sheet, complain_of_repeats, read_sheet
from hydro.quantities.parsing import UnitProblem, quoted
from hydro.quantities.uncertain import Uncertain
from hydro.quantities.unit_table import find_unit, nearest, with_plain_signs

LEAST_BORE, MOST_BORE = 0.003, 0.5
"""Bores that a pipe may have, in metres: the range of the element."""
AGREES = 0.3e-3
"""A bore that is given beside outside and wall may differ from theirs by so much, in metres: rounded figures."""
_PRICE = Column("price", MONEY, "EUR per m")
_SIZES = (Column("name", also=("size",), required=True),
          Column("outside", "length", "mm", ("outside diameter", "od")),
          Column("wall", "length", "mm", ("wall thickness",)),
          Column("bore", "length", "mm", ("inside", "inside diameter", "id")),
          Column("standard"), _PRICE)


@dataclass(frozen=True, slots=True)
class Catalogue:
    """An owner's sizes by their words, beside those of the library, and the prices of those that have one."""

    file: str
    sizes: Mapping[str, Size]
    prices: Mapping[str, Price] = field(default_factory=dict)

    def find(self, words: str) -> Size:
        """Return the size that the words mean, of this catalogue or of the library; `UnitProblem` for one in neither."""
        own = {key(name): size for name, size in self.sizes.items()}
        if key(words) in own:
            return own[key(words)]
        try:
            return find_pipe(words)
        except UnitProblem as problem:
            near = nearest(key(words), own)
            raise UnitProblem(problem.found, problem.expected, own[near].words if near else problem.nearest) from None


def load_catalogue(path: str | Path) -> Catalogue:
    """Return the sizes of a CSV file: name; outside and wall, or bore; standard and price where known.

    A wall or bore may be a range. `InputError` with a complaint for every mistake; a name of the library's catalogue is one, so
    that no known words change what they mean.
    """
    path = Path(path)
    sheet = read_sheet(path, "a catalogue of sizes", _SIZES)
    complain_of_repeats(sheet, key, "name")
    if "bore" not in sheet.units and not {"outside", "wall"} <= set(sheet.units):
        missing = "bore" if not {"outside", "wall"} & set(sheet.units) else "wall" if "outside" in sheet.units else "outside"
        sheet.complain(sheet.top, "", f"no column '{missing}'", "'outside mm' and 'wall mm', or 'bore mm'")
        sheet.finish()
    sizes, prices = dict[str, Size](), dict[str, Price]()
    for row in sheet.rows:
        words = sheet.words(row, "name")
        _judge_name(sheet, row, words)
        size, price = _size(sheet, row, words, quoted(path.name)[1:-1]), price_of(sheet, row, words)
        if size is not None:
            sizes[words] = size
        if price is not None:
            prices[words] = price
    sheet.finish()
    return Catalogue(str(path), sizes, prices)


def _judge_name(sheet: Sheet, row: CsvRow, words: str) -> None:
    """Complain about a name that would be read as something else."""
    match = re.fullmatch(r"[0-9][0-9 ./-]*(.*)", with_plain_signs(words))
    if match and (not match[1].strip() or find_unit(match[1].strip())):
        sheet.complain(row.line, "name", f"{quoted(words)} reads as a number or a length",
                       "a name with a word in it, such as 'grey 40'")
    try:
        known = find_pipe(words)
    except UnitProblem:
        return
    sheet.complain(row.line, "name", f"{quoted(words)} is in the catalogue already ({known.source}, bore {_mm(known.bore)})",
                   f"a name of its own, such as 'my {known.words}'")


def _size(sheet: Sheet, row: CsvRow, words: str, file: str) -> Size | None:
    """Return the size in a row; None where something is wrong with it, which is noted."""
    before = len(sheet.complaints)
    outside, wall, bore = (_length(sheet, row, column) for column in ("outside", "wall", "bore"))
    if len(sheet.complaints) > before:
        return None
    standard = sheet.words(row, "standard") or "no standard named"
    standing, family = f"own catalogue {file}", _family(standard)
    if outside is not None and wall is not None:
        if wall.high >= outside.low / 2:
            sheet.complain(row.line, "wall", f"a wall of {_mm(wall.high)} is half the outside of {_mm(outside.low)} or more",
                           "a wall that leaves a bore")
            return None
        thicker = wall.high - wall.low + (outside.high - outside.low) / 2
        pipe = PipeSize(words, outside.high, wall.low, standard, standing, family, "", thicker)
        band = pipe.bore_rough()
        if bore is not None and not band.low - AGREES <= bore.middle <= band.high + AGREES:
            sheet.complain(row.line, "bore", f"a bore of {_mm(bore.middle)}, but outside and wall leave {_mm(band.middle)}",
                           "figures that agree")
        return pipe if _in_range(sheet, row, "outside", band) else None
    if bore is not None:
        return BoreSize(words, bore.high, bore.low, standard, standing, family) if _in_range(sheet, row, "bore", bore) else None
    missing = "outside" if wall is not None else "wall" if outside is not None else "bore" if "bore" in sheet.units else "outside"
    sheet.complain(row.line, missing, "nothing is written", "outside and wall, or bore")
    return None


def _length(sheet: Sheet, row: CsvRow, column: str) -> Uncertain | None:
    length = sheet.number(row, column, "length")
    if length is not None and length.low <= 0.0:
        sheet.complain(row.line, column, f"{quoted(sheet.words(row, column))} is not above zero", "a length above zero")
    return length


def _in_range(sheet: Sheet, row: CsvRow, column: str, bore: Uncertain) -> bool:
    if bore.low >= LEAST_BORE and bore.high <= MOST_BORE:
        return True
    sheet.complain(row.line, column, f"a bore of {_mm(bore.middle)} is out of range",
                   f"bores from {_mm(LEAST_BORE)} to {_mm(MOST_BORE)}; is the unit of the header right?")
    return False


def _mm(value: float) -> str:
    return f"{1000 * value:.4g} mm"


@cache
def _family_words() -> dict[str, str]:
    known = {size.standard.casefold(): size.family for size in all_sizes() if size.standard != "hose by its inside"}
    return known | {name.casefold(): name for name in families()}


def _family(standard: str) -> str:
    """Return the family of a standard that is in the tables, else the standard itself: a family of its own."""
    return _family_words().get(standard.casefold(), "" if standard == "no standard named" else standard)
