"""The points of a pump curve: a list in the case file ('1800 L/h = 4.7 m'), or a table in a file of its own.

The file is text with a header that names both units, in this order: 'flow L/h, height m' (or with semicolons or tabs,
or 'flow [L/h]'). Where semicolons divide the columns a decimal comma is understood.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from hydro.case.syntax.reading import Reading
from hydro.case.syntax.yaml_nodes import Node, YamlList, YamlMapping
from hydro.errors import InputError
from hydro.quantities.file_text import beside, read_text_of
from hydro.quantities.parsing import UnitProblem, read
from hydro.quantities.unit_table import find_unit, with_plain_signs

MOST_POINTS = 500
MOST_FLOW, MOST_HEAD = 1.0, 200.0
FORM = "two points or more, FLOW = HEIGHT, such as [0 L/h = 5.0 m, 3600 L/h = 3.9 m], or the name of a file"
_HEADER_FORM = "a header with both units: flow L/h, height m"
_HEADER_WORDS = re.compile(r"^(?:flow|height|head|q|h)\b[\s:]*(?:in\b)?", re.IGNORECASE)

Point = tuple[float, float]
Placed = tuple[str, int, Point]
"""A point with the file and line it stands in."""


def read_curve(reading: Reading, node: Node, key: str, folder: Path) -> tuple[Point, ...]:
    """Return the points (flow m3/s, head m) of a curve; whatever is wrong with it is noted."""
    before = len(reading.complaints)
    if isinstance(node, YamlList):
        points = [point for entry in node.items if (point := _point(reading, entry, key)) is not None]
    elif isinstance(node, YamlMapping):
        reading.complain(node.line, key, "a mapping stands here", FORM)
        return ()
    elif "=" in node.text:
        points = [point for point in [_point(reading, node, key)] if point is not None]
    else:
        points = _from_file(reading, folder, node.text, node.line, key)
    if len(reading.complaints) == before:
        _judge(reading, points, node.line, key)
    return tuple(point for _, _, point in points)


def _point(reading: Reading, node: Node, key: str) -> Placed | None:
    text = reading.text(node, key)
    if text is None:
        return None
    flow, sign, head = text.text.partition("=")

    def pair() -> Point:
        if not sign:
            raise UnitProblem(f"'{text.text}' has no '='", FORM)
        return _within(read(flow.strip(), "flow", reading.system).middle,
                       read(head.strip(), "length", reading.system).middle, text.text)
    both = reading.attempt(text.line, key, pair)
    return None if both is None else (reading.file, text.line, both)


def _within(flow: float, head: float, text: str) -> Point:
    if head < 0.0:
        raise UnitProblem(f"'{text}' has a height below zero", "points up to where the height is zero")
    if not (0.0 <= flow <= MOST_FLOW and head <= MOST_HEAD):
        raise UnitProblem(f"'{text}' is out of physical range",
                          f"flows from 0 to {MOST_FLOW:g} m3/s, heights to {MOST_HEAD:g} m")
    return flow, head


def _judge(reading: Reading, points: Sequence[Placed], line: int, key: str) -> None:
    """Note whatever is wrong with the points as a whole."""
    if len(points) < 2:
        reading.complain(line, key, f"a curve of {len(points)} point{'' if len(points) == 1 else 's'}", FORM)
    elif len(points) > MOST_POINTS:
        reading.complain(line, key, f"a curve of {len(points)} points", f"at most {MOST_POINTS} points")
    for (_, _, (before, _)), (file, place, (flow, _)) in pairwise(points):
        if flow <= before:
            what = "the same flow stands twice" if flow == before else "a flow is lower than the one before"
            reading.complain(place if file == reading.file else line, key,
                             what if file == reading.file else f"{what} ({file}, line {place})", "flows that rise")
    if points and max(head for _, _, (_, head) in points) <= 0.0:
        reading.complain(line, key, "no point has a height above zero", FORM)
    elif points and points[0][2][1] <= 0.0:
        file, place, _ = points[0]
        reading.complain(place if file == reading.file else line, key, "the curve begins at no height",
                         "a first point with the height that the pump reaches with its outlet shut, such as '0 L/h = 5.0 m'")


def _from_file(reading: Reading, folder: Path, name: str, line: int, key: str) -> list[Placed]:
    """Return the points of a table in another file."""
    if not name:
        reading.complain(line, key, "nothing is written", FORM)
        return []
    try:
        path = beside(folder, name)
        content = read_text_of(path, "a table of points", ".csv")
    except InputError as problem:
        first = problem.complaints[0]
        reading.complain(line, key, f"'{name}': {first.found}", first.expected)
        return []
    rows = [row for row in enumerate(content.splitlines(), 1) if row[1].strip() and not row[1].lstrip().startswith("#")]
    if not rows:
        reading.complain(line, key, f"'{name}': the file is empty", _HEADER_FORM)
        return []
    mark = next((sign for sign in ";\t" if sign in rows[0][1]), ",")
    header = table_cells(rows[0][1], mark)
    units = [_unit(cell) for cell in header]
    if len(header) != 2 or not all(map(_is_header, header, units, ("flow", "length"))):
        # What stands there is not shown: it may be a file that has nothing to do with pumps.
        reading.complain(line, key, f"'{name}', line {rows[0][0]}: no header with a unit of flow and one of height", _HEADER_FORM)
        return []
    points = []
    for number, row in rows[1:MOST_POINTS + 2]:
        cells = [cell.replace(",", ".") if mark == ";" else cell for cell in table_cells(row, mark)]
        try:
            points.append((str(path), number, _of_cells(cells, units, row.strip()[:60])))
        except UnitProblem as problem:
            reading.complain(line, key, f"'{name}', line {number}: {problem.found}", problem.expected, problem.nearest)
    return points


def _of_cells(cells: Sequence[str], units: Sequence[str], row: str) -> Point:
    if len(cells) != 2:
        raise UnitProblem(f"'{row}' has {len(cells)} values", "a flow and a height")
    flow, head = (f"{cell} {unit}" for cell, unit in zip(cells, units, strict=True))
    return _within(read(flow, "flow").middle, read(head, "length").middle, row)


def table_cells(row: str, mark: str) -> list[str]:
    """Return the cells of a row."""
    return [cell.strip() for cell in next(csv.reader([row], delimiter=mark), [])]


def _unit(cell: str) -> str:
    """Return the unit in a cell of the header: 'flow [L/h]', 'flow in L/h', 'L/h'."""
    inside = re.search(r"[\[(](.+?)[\])]", cell)
    return (inside[1] if inside else _HEADER_WORDS.sub("", cell)).strip()


def _is_header(cell: str, word: str, dimension: str) -> bool:
    """Whether a cell heads a column of a curve: by its name, with some unit behind it, or by a unit of the right kind alone."""
    unit = find_unit(with_plain_signs(word))
    named = _HEADER_WORDS.match(cell) is not None and re.search("[A-Za-z]", word) is not None
    return named or (unit is not None and unit.dimension == dimension)
