"""Candidates out of CSV files: one pump to a file, or several with a column of names; the head of each column has its unit.

    flow L/h, height m                                        one curve, named for its file
    pump, flow L/h, height m, power W, price EUR, control     several: rows of one name are the points of its curve
    pump, most flow L/h, most height m, power W               labels on boxes: one row a pump

Columns may come in any order. 'power' stands at every point, or once for a pump (the figure on its label); 'price' once;
'control' is 'throttle' or 'speed'. Semicolons and tabs divide columns as well; with semicolons a decimal comma is understood.
Empty lines and those that begin with # are passed over.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from hydro.case.sections.pump_curve import MOST_HEAD, MOST_POINTS, table_cells
from hydro.errors import Complaint, InputError
from hydro.quantities.file_text import read_text_of
from hydro.quantities.parsing import UnitProblem, nearest, read
from hydro.quantities.unit_table import asks_which, find_unit
from hydro.search.pumps.candidate import CONTROLS, Candidate

MOST_PUMPS, MOST_FLOW, MOST_POWER, LONGEST_NAME = 1000, 10.0, 1e5, 60
FORM = "columns flow and height with their units, such as: pump, flow L/h, height m, power W (or most flow and most height)"
DIMENSIONS = {"flow": "flow", "height": "length", "most flow": "flow", "most height": "length", "power": "power"}
EXAMPLES = {"flow": "L/h", "length": "m", "power": "W"}
_WORDS = (("most flow", r"(?:most|max\.?|maximum) flow"), ("most height", r"(?:most|max\.?|maximum) (?:height|head)"),
          ("name", r"pump|name"), ("flow", r"flow|q"), ("height", r"height|head|h"), ("power", r"power"),
          ("price", r"price|cost"), ("control", r"control"))


@dataclass(frozen=True, slots=True)
class _Column:
    what: str
    unit: str
    place: int
    heading: str


@dataclass(slots=True)
class _Group:
    """The rows of one pump: line number and the values by column. `sound` is False where some cell could not be read."""

    name: str
    line: int
    rows: list[tuple[int, dict[str, float | str]]] = field(default_factory=list)
    sound: bool = True


def read_tables(files: Sequence[str]) -> list[Candidate]:
    """Return the pumps of all files, in order. InputError with every mistake of every file."""
    complaints: list[Complaint] = []
    found: list[Candidate] = []
    for file in files:
        try:
            found += _Table(file, complaints).pumps(read_text_of(Path(file), "a table of pump curves", ".csv"))
        except InputError as problem:
            complaints += problem.complaints
    complaints += twins(found)
    if len(found) > MOST_PUMPS:
        complaints.append(Complaint(files[-1], 0, "", f"{len(found)} pumps in all", f"at most {MOST_PUMPS}"))
    if complaints:
        raise InputError(complaints)
    return found


def twins(candidates: Iterable[Candidate]) -> list[Complaint]:
    """Return a complaint for each name that stands for two pumps."""
    seen: dict[str, Candidate] = {}
    complaints = []
    for one in candidates:
        first = seen.setdefault(one.name, one)
        if first is not one:
            file, _, line = one.source.rpartition(":")
            complaints.append(Complaint(file or one.source, int(line) if line.isdigit() else 0, "",
                                        f"a second pump '{one.name}' (the first: {first.source})", "a name of its own"))
    return complaints


class _Table:
    def __init__(self, file: str, complaints: list[Complaint]) -> None:
        self.file, self.complaints = file, complaints

    def complain(self, line: int, key: str, found: str, expected: str, near: str = "") -> None:
        self.complaints.append(Complaint(self.file, line, key, found, expected, near))

    def pumps(self, text: str) -> list[Candidate]:
        """Return the pumps of a table; what is wrong is noted, and nothing comes back then."""
        before = len(self.complaints)
        lines = [row for row in enumerate(text.splitlines(), 1) if row[1].strip() and not row[1].lstrip().startswith("#")]
        if not lines:
            self.complain(0, "", "the file is empty", FORM)
            return []
        number, head = lines[0]
        mark = next((sign for sign in ";\t" if sign in head), ",")
        columns = self._columns(number, table_cells(head, mark))
        if len(self.complaints) > before:
            return []
        groups: dict[str, _Group] = {}
        for number, row in lines[1:]:
            self._row(number, table_cells(row, mark), mark == ";", columns, groups)
        if not groups and len(self.complaints) == before:
            self.complain(number, "", "no row under the head of the table", "two points or more, or a pump's label")
        found = [self._pump(group) for group in groups.values() if group.sound]
        return [one for one in found if one is not None] if len(self.complaints) == before else []

    def _columns(self, line: int, heads: Sequence[str]) -> list[_Column]:
        columns = [column for place, head in enumerate(heads) if (column := self._column(line, place, head)) is not None]
        whats = [column.what for column in columns]
        for what in sorted({what for what in whats if whats.count(what) > 1}):
            self.complain(line, f"column '{what}'", "stands twice", "one such column")
        wanted = [{"flow", "height"}, {"most flow", "most height"}]
        given = {what for what in whats if any(what in pair for pair in wanted)}
        if len(columns) < len(heads):
            return columns
        if given not in wanted:
            self.complain(line, "", f"columns {', '.join(repr(head) for head in heads)[:80]}", FORM)
        elif given == wanted[1] and "name" not in whats:
            self.complain(line, "", "labels of boxes without a column 'pump'", "pump, most flow L/h, most height m")
        return columns

    def _column(self, line: int, place: int, head: str) -> _Column | None:
        what, unit = _heading(head)
        if what is None:
            self.complain(line, f"column {place + 1}", f"'{head[:60]}'", FORM, nearest(head, [word for word, _ in _WORDS]))
            return None
        dimension = DIMENSIONS.get(what)
        if dimension is not None:
            try:
                if not unit:
                    raise UnitProblem(f"'{head[:60]}' names no unit", f"a unit, such as {what} {EXAMPLES[dimension]}")
                read(f"1 {unit}", dimension)
            except UnitProblem as problem:
                self.complain(line, f"column '{what}'", problem.found, problem.expected, problem.nearest)
                return None
        return _Column(what, unit, place, head)

    def _row(self, line: int, values: Sequence[str], comma: bool, columns: Sequence[_Column], groups: dict[str, _Group]) -> None:
        many = max(column.place for column in columns) + 1
        if len(values) != many:
            self.complain(line, "", f"{len(values)} cells", f"{many} cells, as in the head of the table")
            return
        before, row = len(self.complaints), dict[str, float | str]()
        name = Path(self.file).stem
        for column in columns:
            cell = values[column.place]
            if column.what == "name":
                name = " ".join(cell.split())
                if not name or len(name) > LONGEST_NAME:
                    self.complain(line, "column 'pump'", "no name" if not name else "a long name",
                                  f"a pump's name of at most {LONGEST_NAME} characters")
                    return
            elif cell or column.what in ("flow", "height", "most flow", "most height"):
                try:
                    row[column.what] = self._value(column, cell.replace(",", ".") if comma else cell)
                except UnitProblem as problem:
                    self.complain(line, f"column '{column.what}'", problem.found, problem.expected, problem.nearest)
        for column in columns:
            if column.what == "price" and "price" in row:
                row["currency"] = column.unit
        group = groups.setdefault(name, _Group(name, line))
        group.rows.append((line, row))
        group.sound = group.sound and len(self.complaints) == before

    def _value(self, column: _Column, cell: str) -> float | str:
        if column.what == "control":
            if cell.lower() not in CONTROLS:
                raise UnitProblem(f"'{cell[:60]}'", f"one of {', '.join(CONTROLS)}", nearest(cell, CONTROLS))
            return cell.lower()
        if not cell:
            raise UnitProblem("nothing is written", f"a number ({column.unit})")
        if column.what == "price":
            return bounded(cell, "number", 0.0, 1e9, cell)
        return bounded(f"{cell} {column.unit}", DIMENSIONS[column.what], *RANGES[column.what], cell)

    def _pump(self, group: _Group) -> Candidate | None:
        before = len(self.complaints)
        rated, watts = self._power(group)
        price, control, currency = (self._once(group, what) for what in ("price", "control", "currency"))
        source = f"{self.file}:{group.line}"
        _, first = group.rows[0]
        points = [(line, (float(row["flow"]), float(row["height"]))) for line, row in group.rows
                  if {"flow", "height"} <= row.keys()]
        box: tuple[float, float] | None = None
        if "most flow" in first:
            box = float(first["most flow"]), float(first.get("most height", 0.0))
            for line, _ in group.rows[1:]:
                self.complain(line, "", f"a second label of '{group.name}'", "one row a pump")
        elif len(self.complaints) == before:
            self.complaints += curve_problems(self.file, group.line, group.name, points)
        if len(self.complaints) > before:
            return None
        most_flow, most_height = box or (None, None)
        return Candidate(group.name, tuple(point for _, point in points), most_flow, most_height, watts, rated,
                         None if price is None else float(price), str(currency or ""), str(control or ""), source)

    def _power(self, group: _Group) -> tuple[float | None, tuple[tuple[float, float], ...]]:
        """Return the rated power, or the power along the curve."""
        given = [(line, row) for line, row in group.rows if "power" in row]
        if not given:
            return None, ()
        if len(given) == 1:
            return float(given[0][1]["power"]), ()
        if len(given) < len(group.rows):
            self.complain(group.line, "column 'power'", f"'{group.name}' has it at {len(given)} of {len(group.rows)} points",
                          "a power at every point, or one for the pump")
            return None, ()
        return None, tuple((float(row["flow"]), float(row["power"])) for _, row in given if "flow" in row)

    def _once(self, group: _Group, what: str) -> float | str | None:
        """Return a value that a pump has once, or in every row the same."""
        given = [(line, row[what]) for line, row in group.rows if what in row]
        for line, value in given[1:]:
            if value != given[0][1]:
                self.complain(line, f"column '{what}'", f"a second {what} of '{group.name}'", f"one {what} a pump")
                break
        return given[0][1] if given else None


RANGES = {"flow": (0.0, MOST_FLOW), "height": (0.0, MOST_HEAD), "most flow": (1e-7, MOST_FLOW), "most height": (0.05, MOST_HEAD),
          "power": (0.0, MOST_POWER)}


def bounded(text: str, dimension: str, low: float, high: float, shown: str) -> float:
    """Return an exact number within a physical range; UnitProblem where it is none."""
    value = read(text, dimension)
    if not value.is_exact:
        raise UnitProblem(f"'{shown[:60]}' has a band", "one number; how rough a curve is, 'pump strength' says")
    if not low <= value.middle <= high:
        raise UnitProblem(f"'{shown[:60]}' is out of physical range", f"{low:g} to {high:g} in SI units")
    return value.middle


def curve_problems(file: str, line: int, name: str, points: Sequence[tuple[int, tuple[float, float]]]) -> list[Complaint]:
    """Return what is wrong with (line, (flow, head)) points as a whole."""
    found = []
    if not 2 <= len(points) <= MOST_POINTS:
        found.append(Complaint(file, line, "", f"'{name}' is a curve of {len(points)} point{'' if len(points) == 1 else 's'}",
                               f"2 to {MOST_POINTS} points"))
    for (_, (before, _)), (place, (flow, _)) in pairwise(points):
        if flow <= before:
            what = "the same flow stands twice" if flow == before else "a flow is lower than the one before"
            found.append(Complaint(file, place, "column 'flow'" if place else "", f"'{name}': {what}", "flows that rise"))
    if points and max(head for _, (_, head) in points) <= 0.0:
        found.append(Complaint(file, line, "", f"'{name}': no point has a height above zero", "points above zero"))
    return found


def _heading(head: str) -> tuple[str | None, str]:
    """Return what a column holds and its unit: 'flow [L/h]', 'flow in L/h', 'most height m', or a unit alone."""
    for what, words in _WORDS:
        match = re.match(rf"(?:{words})\b", head, re.IGNORECASE)
        if match:
            rest = head[match.end():]
            inside = re.search(r"[\[(](.+?)[\])]", rest)
            return what, (inside[1] if inside else re.sub(r"^[\s:,]*(?:in\b)?", "", rest, flags=re.IGNORECASE)).strip()
    unit = find_unit(head)
    if unit is None:
        return ("flow", head) if asks_which(head) else (None, "")
    return {"flow": "flow", "length": "height", "power": "power"}.get(unit.dimension), head
