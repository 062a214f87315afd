"""'12 x NAME': one description, built several times over, and 'except', which states what differs at some of them.

Twins share the names of their numbers ('rack tank: bottom'), so that one band moves them together. An exception is merged
over the description like 'same as'; a number that then differs is the twin's own ('rack tank 7: bottom').
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from hydro.case.keys import ALIKE
from hydro.case.names.renaming import Rewriting, numbers_in, rewritten
from hydro.case.names.same_as import merged
from hydro.case.syntax.list_entries import Entry, by_name, meant, owner_of
from hydro.case.syntax.reading import Reading
from hydro.case.syntax.yaml_nodes import YamlMapping
from hydro.quantities.parsing import nearest
from hydro.quantities.uncertain import Uncertain

T = TypeVar("T")
FORM = "{7: {...}, 9 .. 11: {...}}: the numbers of those that differ, and what is different there"
MOST_PARTS = 300_000
"""Most numbers that '12 x' makes in one file: it is not to fill the memory."""
_NUMBERS = re.compile(r"([0-9]{1,6})(?:\s*\.\.+\s*([0-9]{1,6}))?")


@dataclass(frozen=True, slots=True)
class Shape:
    """How a kind of record is copied: `again(record, owners, from, to)` under another name, `owners(record, name)` its labels."""

    what: str
    inside: str
    again: Callable[[Any, Callable[[str], str], str], Any]
    owners: Callable[[Any, str], Sequence[str]]


def each_twin(reading: Reading, entry: Entry, shape: Shape, read: Callable[[Entry], T]) -> list[tuple[str, T]]:
    """Return the records that an entry stands for, by name: one, or as many as its count says."""
    if not entry.count:
        if "except" in entry.table.entries:
            reading.complain(entry.table.lines["except"], f"{entry.owner}: except", "exceptions of a single one",
                             f"'12 x {meant(entry.name)}' for those that are alike")
        return [(entry.name, read(replace(entry, table=without(entry.table, "except"))))]
    exceptions = _exceptions(reading, entry)
    plain = replace(entry, table=without(entry.table, "except"))
    base = read(plain)
    known = {number.name: number for number in numbers_in(base)}
    reading.parts += entry.count * len(known)
    if reading.parts > MOST_PARTS:
        reading.loose = True
        reading.complain(entry.table.line, entry.owner, f"{entry.count} of it make {reading.parts} numbers in this file",
                         f"at most {MOST_PARTS}")
    found: list[tuple[str, T]] = []
    for number in range(1, entry.count + 1 if reading.parts <= MOST_PARTS else 2):
        name = f"{entry.name} {number}"
        if number not in exceptions:
            found.append((name, _again(shape, base, entry.name, name)))
            continue
        table = _merged(reading, plain, exceptions[number])
        made = read(Entry(name, owner_of(shape.what, name, shape.inside), table))
        found.append((name, _shared(shape, made, name, entry.name, known)))
    return found


def without(table: YamlMapping, *keys: str) -> YamlMapping:
    """Return a mapping without some of its keys."""
    return YamlMapping({key: value for key, value in table.entries.items() if key not in keys}, table.lines, table.line)


def exception_tables(reading: Reading, entry: Entry) -> list[YamlMapping]:
    """Return the mappings behind 'except' of a description."""
    return list(_exceptions(reading, entry).values())


def renamed(pairs: Sequence[tuple[str, str]]) -> Callable[[str], str]:
    """Return a function that replaces old owners by new ones in a label."""
    known = dict(pairs)

    def label(text: str) -> str:
        owner, colon, word = text.rpartition(": ")
        return f"{known.get(owner, owner)}{colon}{word}"
    return label


def _again(shape: Shape, base: T, old: str, new: str) -> T:
    pairs = list(zip(shape.owners(base, old), shape.owners(base, new), strict=True))
    made: T = shape.again(base, renamed(pairs), new)
    return made


def _shared(shape: Shape, made: T, own: str, description: str, known: dict[str, Uncertain]) -> T:
    """Return an exception whose numbers go by the names of the description where they are the same."""
    pairs = list(zip(shape.owners(made, own), shape.owners(made, description), strict=True))

    def number(uncertain: Uncertain) -> Uncertain:
        for owner, other in pairs:
            if uncertain.name.startswith(f"{owner}: "):
                name = other + uncertain.name[len(owner):]
                same = uncertain.named(name)
                if known.get(name) == same:
                    return known[name]
        return uncertain
    return rewritten(made, Rewriting(number=number))


def _merged(reading: Reading, entry: Entry, own: YamlMapping) -> YamlMapping:
    """Return a description with an exception over it; a list of named entries meets a mapping by name half-way.

    What is stated of a drain or return that the others do not have must be all of it: else its name is misspelt.
    """
    base = entry.table
    for key in ("drains", "returns"):
        stated, alike = own.entries.get(key), base.entries.get(key)
        known = by_name(alike) if alike is not None else None
        if not isinstance(stated, YamlMapping) or not isinstance(known, YamlMapping):
            continue
        for name, value in stated.entries.items():
            if name not in known.entries and isinstance(value, YamlMapping) and not {"line", "same as"} & value.entries.keys():
                own = YamlMapping({**own.entries, key: without(stated, name)}, own.lines, own.line)
                stated = without(stated, name)
                reading.complain(stated.lines[name], f"{entry.owner}: except: {key}: {name}", f"the others have no '{name}'",
                                 f"one of {', '.join(known.entries)}, or all of it with its line", nearest(name, known.entries))
    entries = {key: by_name(value) if isinstance(own.entries.get(key), YamlMapping) and key in ("drains", "returns") else value
               for key, value in base.entries.items()}
    return merged(YamlMapping(entries, base.lines, base.line), own)


def _exceptions(reading: Reading, entry: Entry) -> dict[int, YamlMapping]:
    """Return the exceptions of a description by number."""
    node = entry.table.entries.get("except")
    owner = f"{entry.owner}: except"
    section = reading.section(node, owner, FORM) if node is not None else None
    found: dict[int, YamlMapping] = {}
    for key, value in section.table.entries.items() if section is not None else ():
        assert section is not None
        line = section.table.lines[key]
        numbers = _numbers(key, entry.count)
        if not numbers:
            if not reading.loose:
                reading.complain(line, f"{owner}: {key}", f"'{key}' is no number from 1 to {entry.count}", FORM)
            continue
        if not isinstance(value, YamlMapping):
            reading.section(value, f"{owner}: {key}", FORM)
            continue
        for word in ALIKE:
            if word in value.entries:
                reading.complain(value.lines[word], f"{owner}: {key}: {word}", "it belongs to all of them",
                                 f"'{word}' beside 'except'")
        stated = without(value, *ALIKE)
        for number in numbers:
            if number in found:
                reading.complain(line, f"{owner}: {key}", f"{number} stands twice", "each number once")
            found[number] = stated
    return found


def _numbers(key: str, most: int) -> list[int]:
    """Return the numbers in '7', '7, 9' or '3 .. 5'; none where they are not all there."""
    found: list[int] = []
    for piece in re.split(r"\s*(?:,|\band\b)\s*", key):
        match = _NUMBERS.fullmatch(piece)
        if match is None:
            return []
        first, last = int(match[1]), int(match[2] or match[1])
        if not 1 <= first <= last <= most:
            return []
        found += range(first, last + 1)
    return found
