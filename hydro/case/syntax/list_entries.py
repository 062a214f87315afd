"""The entries of a list: each a mapping with a name, a name with its mapping behind it, or several of a kind at once.

    - {name: left, inside: ...}           - left: {inside: ...}           left: {inside: ...}, right: {inside: ...}
    - 12 x rack tank: {inside: ...}       - {name: 12 x rack tank, inside: ...}
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from hydro.case.keys import ENTRY, SECTIONS
from hydro.case.syntax.items import kinds_of_families
from hydro.case.syntax.reading import CaseSection, Reading
from hydro.case.syntax.yaml_nodes import Node, Text, YamlList, YamlMapping
from hydro.quantities.parsing import nearest

_TIMES = re.compile(r"(?P<count>[0-9]{1,9})\s*[x×]\s+(?P<name>.+)")
_NEARLY = re.compile(r"^(?:[0-9]+\s*(?:\*|times|of)?\s+|\w+\s+[x×*]\s+)")
MOST, IN_ALL = 2000, 6000
"""Most things that one '12 x' makes, and all of them in a file."""

_REPEATED = tuple(what for what, section in SECTIONS.items() if "except" in section.keys)


def meant(name: str) -> str:
    """Return a name without a count in front of it that is not written as one should be: '12 * rack' -> 'rack'."""
    return _NEARLY.sub("", name) or name


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry: its name, its owner's words for complaints ('drain left'), its mapping; `count` of '12 x', 0 without."""

    name: str
    owner: str
    table: YamlMapping
    count: int = 0

    def section(self, reading: Reading, what: str) -> CaseSection:
        """Return the entry's mapping with the keys of its kind."""
        return CaseSection(reading, self.table, self.owner, SECTIONS[what], [*ENTRY])


def owner_of(what: str, name: str, inside: str = "") -> str:
    """Return the words for a named thing: 'drain left', 'drain 1' for the one called 'drain 1', inside a tank 'drain show left'.

    Tanks, boxes and sumps go by their names alone.
    """
    within = f"{inside} {name}" if inside else name
    if what in ("tank", "box", "sump") or name == what or name.startswith(f"{what} "):
        return within
    return f"{what} {within}"


def entries_of(reading: Reading, node: Node, what: str, inside: str = "") -> list[Entry]:
    """Return the entries of a list or of a mapping by name; whatever is not a mapping is reported and left out."""
    found = []
    rows = reading.rows(node)
    if isinstance(node, YamlMapping) and _by_name(reading, node, what):
        rows = tuple(YamlMapping({key: value}, {key: node.lines[key]}, node.lines[key]) for key, value in node.entries.items())
    only = what if inside and len(rows) == 1 else ""
    for number, row in enumerate(rows, 1):
        named = isinstance(row, YamlMapping) and len(row.entries) == 1 and _by_name(reading, row, what)
        section = reading.section(row, what, f"a mapping that describes a {what}")
        if section is not None:
            found.append(_entry(reading, section.table, what, only or f"{what} {number}", inside, named))
    return found


def count_and_name(text: str) -> tuple[int, str]:
    """Return the count of '12 x NAME' and the name; 0 where there is no count."""
    match = _TIMES.fullmatch(text)
    return (int(match["count"]), match["name"]) if match else (0, text)


def _by_name(reading: Reading, table: YamlMapping, what: str) -> bool:
    """Whether every key of a mapping is a name with a mapping behind it, and no key of an entry, misspelt or not."""
    section = SECTIONS[what]
    keys = {*(key for key, one in section.keys.items() if not one.may_name), *kinds_of_families(section.families)}
    if not table.entries or any(not isinstance(value, YamlMapping) or key in keys for key, value in table.entries.items()):
        return False
    return reading.many or not any(nearest(key, keys) for key in table.entries)


def _entry(reading: Reading, table: YamlMapping, what: str, otherwise: str, inside: str, named: bool) -> Entry:
    """Return an entry with its name, wherever that stands."""
    line = table.line
    times = next((key for key, value in table.entries.items() if isinstance(value, Text) and not value.text
                  and _TIMES.fullmatch(key)), "")
    if named or times:
        key = times or next(iter(table.entries))
        behind = table.entries[key]
        line = table.lines[key]
        rest = YamlMapping({k: v for k, v in table.entries.items() if k != key}, table.lines, line)
        table = YamlMapping(behind.entries, behind.lines, line) if isinstance(behind, YamlMapping) and named else rest
        if "name" in table.entries:
            reading.complain(line, owner_of(what, key, inside), "its name stands twice, in front and behind 'name'",
                             "one of the two")
        text = key
    else:
        text = _written_name(reading, table, owner_of(what, otherwise, inside)) or otherwise
    count, name = count_and_name(text)
    owner = owner_of(what, name, inside)
    if name != text and (what not in _REPEATED or not 1 <= count <= min(MOST, IN_ALL - reading.repeated)):
        expected = (f"a number from 1 to {MOST}, in the whole file at most {IN_ALL}" if what in _REPEATED
                    else f"each {what} by itself")
        reading.complain(table.lines.get("name", line), owner, f"'{text.removesuffix(name).strip()}'", expected)
        count = max(1, min(count, MOST, IN_ALL - reading.repeated)) if what in _REPEATED else 0
        reading.loose = True
    reading.repeated += count
    return Entry(name, owner, table, count)


def _written_name(reading: Reading, table: YamlMapping, owner: str) -> str:
    node = table.entries.get("name")
    text = reading.text(node, f"{owner}: name") if node is not None else None
    if text is not None and not text.text:
        reading.complain(text.line, f"{owner}: name", "nothing is written", "a name")
    return text.text if text is not None else ""


def by_name(node: Node) -> Node:
    """Return a list of entries with names as a mapping by name, so that an exception can state one of them alone."""
    if not isinstance(node, YamlList):
        return node
    entries: dict[str, Node] = {}
    for row in node.items:
        name = row.entries.get("name") if isinstance(row, YamlMapping) else None
        if not (isinstance(row, YamlMapping) and isinstance(name, Text) and name.text) or name.text in entries:
            return node
        entries[name.text] = YamlMapping({key: value for key, value in row.entries.items() if key != "name"}, row.lines, row.line)
    return YamlMapping(entries, {name: value.line for name, value in entries.items()}, node.line)
