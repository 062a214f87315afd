"""A case file -> a `Build`: YAML in trade words, a unit on every number; every mistake in one line, all at once.

    load(path)            a file
    loads(text, file)     a text; `file` is the name that complaints carry, its folder is where files that it names lie

Both raise `InputError` with every independent complaint. No numerical library is imported on the way. The rooms:

    keys        the table of the keys of every section: readers, the listing of words and the schema take them from it
    syntax      the YAML tree with its lines, the text of one value, elements on one line, complaints, entries of lists
    names       names that others refer to, 'same as', '12 x', and what 'tank rim' means where it stands
    sections    each section -> its records; `grammar` shows by examples how several of a kind are written
    rules       what no single value shows: heights against each other, and how tanks, pumps and headers hang together
    schema      the JSON Schema for editors
"""

from __future__ import annotations

import os
from pathlib import Path

from hydro.case.sections.whole_file import read_build
from hydro.case.syntax.open_values import open_places
from hydro.case.syntax.reading import Reading
from hydro.case.syntax.values import OWN
from hydro.case.syntax.yaml_nodes import YamlMapping, compose, read_file_text
from hydro.catalog import Catalogue, load_catalogue
from hydro.description.build import Build
from hydro.elements.registry import load_all
from hydro.errors import Complaint, InputError
from hydro.quantities.file_text import STANDARD_INPUT, beside

__all__ = ["load", "loads"]


def load(path: str | os.PathLike[str]) -> Build:
    """Return the build that a case file describes; InputError holds every mistake in it."""
    where = Path(path)
    return _build(read_file_text(where), str(path), Path() if str(where) == STANDARD_INPUT else where.parent)


def loads(text: str, file: str = "<text>") -> Build:
    """Return the build that a text describes; InputError holds every mistake in it."""
    return _build(text, file, Path(file).parent)


def _build(text: str, file: str, folder: Path) -> Build:
    if "?" in text and (left := open_places(text)):
        raise InputError(_open(text, file, sorted({place.line for place in left})))
    table, complaints = compose(text, file)
    load_all()
    reading = Reading(file, complaints=complaints)
    own = OWN.set(_catalogue(reading, table, folder))
    try:
        build = read_build(reading, table, folder)
    finally:
        OWN.reset(own)
    if reading.complaints:
        raise InputError(_once(reading.complaints))
    return build


def _catalogue(reading: Reading, table: YamlMapping, folder: Path) -> Catalogue | None:
    """Return the owner's own sizes, from the file that the key 'catalogue' names; mistakes in it are noted."""
    node = table.entries.get("catalogue")
    text = reading.text(node, "catalogue") if node is not None else None
    if text is None:
        return None
    if not text.text:
        reading.complain(text.line, "catalogue", "nothing is written", "the name of a CSV file of your own sizes")
        return None
    try:
        path = beside(folder, text.text)
    except InputError as problem:
        refusal = problem.complaints[0]
        reading.complain(text.line, "catalogue", f"'{text.text}': {refusal.found}", refusal.expected)
        return None
    try:
        return load_catalogue(path)
    except InputError as problem:
        reading.complaints += problem.complaints
        return None


def _open(text: str, file: str, lines: list[int]) -> list[Complaint]:
    """Return a complaint for every line that leaves a value open."""
    written = text.splitlines()
    return [Complaint(file, line, "", f"'{written[line - 1].strip()[:60]}' leaves a value open",
                      "a value; 'sumpwright size' works out what is left open") for line in lines]


def _once(complaints: list[Complaint]) -> list[Complaint]:
    """Return complaints by line, each mistake once: a twin ('same as') repeats those of what it is made after."""
    first: dict[tuple[int, str, str, str], Complaint] = {}
    for complaint in complaints:
        _, _, place = complaint.key.partition(": ")
        first.setdefault((complaint.line, place, complaint.found, complaint.expected), complaint)
    return sorted(first.values(), key=lambda complaint: complaint.line)
