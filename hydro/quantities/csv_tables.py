"""Tables that somebody keeps as a CSV file: a header that names units, one row a thing, one clear line for each mistake.

Columns are parted by commas, semicolons or tabs; where it is not commas, a decimal comma is understood. The unit of a number
stands in its header ('wall mm', 'wall [mm]', 'wall in mm'), never in a cell. A cell may be rough ('1.9..2.4', 'about 40'). Lines
that start with '#' are comments. What the rows mean is for the caller to judge: it asks a `Sheet` for cells and adds its own
complaints.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from hydro.errors import Complaint, InputError
from hydro.quantities.file_text import read_text_of, refuse_file
from hydro.quantities.parsing import UnitProblem, nearest, quoted, read
from hydro.quantities.uncertain import Uncertain
from hydro.quantities.unit_table import find_unit, spoken, with_plain_signs

MOST_ROWS = 5_000
MOST_COMPLAINTS = 30
"""So many mistakes are listed; the rest of the file is then not looked at."""
NOTES = ("note", "notes", "remark", "remarks")
"""Columns that are passed over."""
WORDS = ""
"""Dimension of a column that holds words."""
MONEY = "money"
"""Dimension of a column that holds prices: its header names a currency, and may say for how much ('EUR per m')."""
_CURRENCY = re.compile(r"(?:[A-Za-z]{2,12}(?: [A-Za-z]{2,12})?|[€$£¥])(?:(?: ?/ ?| per )[A-Za-z]{1,10})?")
_SPACES = str.maketrans("\t\u00a0\u2007\u202f", "    ")


@dataclass(frozen=True, slots=True)
class Column:
    """A column that a table may have: its name, the dimension of its cells, a unit as an example, its other names."""

    name: str
    dimension: str = WORDS
    unit: str = ""
    also: tuple[str, ...] = ()
    required: bool = False

    @property
    def example(self) -> str:
        """How the header may be written."""
        return f"{self.name} {self.unit}".strip()


@dataclass(frozen=True, slots=True)
class CsvRow:
    """A row as it stands: its line in the file, and its cells by the name of the column."""

    line: int
    cells: dict[str, str]


@dataclass(slots=True)
class Sheet:
    """A table that was read: the line of its header, the unit of each column, its rows, and what is wrong so far."""

    file: str
    top: int = 0
    units: dict[str, str] = field(default_factory=dict)
    headers: dict[str, str] = field(default_factory=dict)
    rows: list[CsvRow] = field(default_factory=list)
    complaints: list[Complaint] = field(default_factory=list)

    def complain(self, line: int, column: str, found: str, expected: str, nearest: str = "") -> None:
        """Note one mistake; InputError with all of them once there are too many to be worth reading."""
        shown = self.headers.get(column, column)
        self.complaints.append(Complaint(self.file, line, f"column '{shown}'" if shown else "", found, expected, nearest))
        if len(self.complaints) >= MOST_COMPLAINTS:
            self.complaints.append(Complaint(self.file, 0, "", f"{MOST_COMPLAINTS} mistakes, the rest was not read",
                                             "these put right first"))
            self.finish()

    def finish(self) -> None:
        """Raise InputError if anything is wrong."""
        if self.complaints:
            raise InputError(self.complaints)

    def words(self, row: CsvRow, column: str) -> str:
        """Return the words of a cell with single spaces; '' where the column or the cell is empty."""
        return row.cells.get(column, "")

    def number(self, row: CsvRow, column: str, dimension: str) -> Uncertain | None:
        """Return the number of a cell in SI; None where the cell is empty, or where it cannot be read, which is noted."""
        text = self.words(row, column)
        if not text:
            return None
        unit = self.units.get(column, "")
        try:
            return read(text if dimension == "number" else f"{text} {unit}", dimension)
        except UnitProblem as problem:
            alone = "one number" if dimension == "number" else f"a number alone, the unit '{unit}' stands in the header"
            found = f"a comma in the number {quoted(text)}" if "," in text else f"{quoted(text)} is not one number"
            self.complain(row.line, column, found, alone, problem.nearest.removesuffix(f" {unit}") if "," in text else "")
            return None


def read_sheet(path: Path, what: str, columns: Sequence[Column]) -> Sheet:
    """Return a table with its rows as they stand, mistakes of single rows noted in it.

    InputError where the file or its header leaves nothing to read.
    """
    sheet, content = Sheet(str(path)), read_text_of(path, what, ".csv")
    lines = [(number, line) for number, line in enumerate(re.split(r"\r\n|\r|\n", content), 1)
             if line.strip(" \t;,") and not line.lstrip().startswith("#")]
    form = "a header such as " + ", ".join(column.example for column in columns)
    if not lines:
        refuse_file(sheet.file, 0, "the file is empty", form)
    if len(lines) - 1 > MOST_ROWS:
        refuse_file(sheet.file, 0, f"{len(lines) - 1} rows", f"at most {MOST_ROWS}")
    sheet.top, header = lines[0]
    mark = next((sign for sign in ";\t" if sign in header), ",")
    titles = _cells(sheet, sheet.top, header, mark)
    if titles is None:
        sheet.finish()
    names = _header(sheet, sheet.top, titles or [], columns, form)
    if len(lines) == 1:
        refuse_file(sheet.file, sheet.top, "the table has a header and no rows", "one row for each thing")
    numbers = {column.name for column in columns if column.dimension != WORDS}
    for number, line in lines[1:]:
        cells = _cells(sheet, number, line, mark)
        if cells is not None and _fits(sheet, number, cells, names, mark):
            pairs = zip(names, cells, strict=False)
            sheet.rows.append(CsvRow(number, {name: cell.replace(",", ".") if mark != "," and name in numbers else cell
                                           for name, cell in pairs if name}))
    return sheet


def _cells(sheet: Sheet, number: int, line: str, mark: str) -> list[str] | None:
    """Return the cells of a line; None, and a complaint, where quotes leave it in doubt which they are."""
    if not line.translate(_SPACES).isprintable():
        sheet.complain(number, "", "a control character", "plain text")
        return None
    try:
        row = next(csv.reader([line], delimiter=mark, strict=True, skipinitialspace=mark != "\t"), [])
    except csv.Error:
        shown = f" in {quoted(line)}" if number != sheet.top else ""
        sheet.complain(number, "", f"a quote{shown} does not fit", "quotes round a whole cell, an inch sign as 'in'")
        return None
    return [" ".join(cell.translate(_SPACES).split()) for cell in row]


def _fits(sheet: Sheet, number: int, cells: list[str], names: Sequence[str], mark: str) -> bool:
    """Whether a row has no more cells than there are columns; empty ones at its end are dropped."""
    while len(cells) > len(names) and not cells[-1]:
        cells.pop()
    if len(cells) > len(names):
        advice = "; with decimal commas, semicolons between the columns" if mark == "," else ""
        sheet.complain(number, "", f"{len(cells)} values under {len(names)} columns", f"{len(names)} values{advice}")
        return False
    return True


def _header(sheet: Sheet, line: int, cells: Sequence[str], columns: Sequence[Column], form: str) -> list[str]:
    """Return the name of the column over each cell ('' for a note), with its unit noted; InputError for a header in doubt."""
    names = list[str]()
    by_length = sorted(((word, column) for column in columns for word in (column.name, *column.also)),
                       key=lambda one: len(one[0]), reverse=True)
    known = [_column(cell, by_length) for cell in cells]
    if not any(known):
        # What stands there is not shown: it may be a file that has nothing to do with tables.
        refuse_file(sheet.file, line, "no column that is known here", form)
    for cell, found in zip(cells, known, strict=True):
        folded = " ".join(cell.casefold().split())
        if found is None:
            names.append("")
            if folded not in NOTES:
                words = [word for word, _ in by_length]
                sheet.complain(line, "", f"unknown column {quoted(cell)}", f"one of {', '.join(c.name for c in columns)}, note",
                               nearest(folded.split(" ")[0], words))
            continue
        word, column = found
        if column.name in names:
            sheet.complain(line, "", f"two columns for '{column.name}'", "each column once")
        names.append(column.name)
        sheet.headers[column.name] = quoted(cell)[1:-1]
        sheet.units[column.name] = _unit(sheet, line, column, " ".join(cell.split())[len(word):])
    for column in columns:
        if column.required and column.name not in names:
            sheet.complain(line, "", f"no column '{column.name}'", form)
    sheet.finish()
    return names


def _column(cell: str, words: Sequence[tuple[str, Column]]) -> tuple[str, Column] | None:
    """Return the column that a cell of the header begins with, with the word it is called by; None where there is none."""
    folded = " ".join(cell.casefold().split())
    return next((pair for pair in words if re.match(rf"{re.escape(pair[0])}(?![a-z])", folded)), None)


def _unit(sheet: Sheet, line: int, column: Column, rest: str) -> str:
    """Return the unit that stands behind a column's name."""
    unit = re.sub(r"^[:,\s]*(?:in\s+(?=\S))?", "", rest.strip().strip("[]()").strip())
    if column.dimension in (WORDS, "number"):
        if unit:
            sheet.complain(line, column.name, f"{quoted(unit)} behind '{column.name}'", f"'{column.name}' alone")
        return ""
    if column.dimension == MONEY:
        if not _CURRENCY.fullmatch(unit):
            found = f"{quoted(unit)} is no currency" if unit else "no currency"
            sheet.complain(line, column.name, found, f"the word of a currency, such as {column.example}")
        return unit
    known = find_unit(with_plain_signs(unit)) if unit else None
    if known is None or known.dimension != column.dimension:
        noun = spoken(known.dimension).noun if known and known.dimension else ""
        found = "no unit" if not unit else f"'{unit}' is {noun}" if noun else f"unknown unit {quoted(unit)}"
        sheet.complain(line, column.name, found, f"the unit of {spoken(column.dimension).noun}, such as {column.example}")
    return unit


def complain_of_repeats(sheet: Sheet, key: Callable[[str], str], column: str) -> None:
    """Complain about each row whose words in a column stand in an earlier row already, and about each without words there."""
    seen = dict[str, int]()
    for row in sheet.rows:
        words = sheet.words(row, column)
        if not words:
            sheet.complain(row.line, column, "nothing is written", "a name")
            continue
        if len(words) > 60:
            sheet.complain(row.line, column, f"a name of {len(words)} letters", "at most 60")
        first = seen.setdefault(key(words), row.line)
        if first != row.line:
            sheet.complain(row.line, column, f"{quoted(words)} stands twice (first in line {first})", "each name once")
