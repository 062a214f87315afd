"""The state of one reading: complaints so far, the line of every named value, sections that know their keys.

A mistake never stops the reading. What cannot be read becomes a number that is not a number (`UNREAD`): it compares
with nothing, so no later rule complains about the same mistake again, and the reading ends in an InputError anyway.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TypeVar

from hydro.case.keys import ANY_KEYS, SECTIONS, Key, SectionKeys
from hydro.case.syntax.values import clipped_to_range, parse_height, parse_number, parse_word
from hydro.case.syntax.yaml_nodes import Node, Text, YamlList, YamlMapping
from hydro.description.build import Height, Value
from hydro.errors import Complaint
from hydro.quantities.parsing import UnitProblem, nearest
from hydro.quantities.uncertain import Uncertain

UNREAD = Uncertain.exact(math.nan)
"""Stands for a number that could not be read."""
UNREAD_HEIGHT = Height(UNREAD, "ground")

T = TypeVar("T")


@dataclass(slots=True)
class Reading:
    """One file being read. `lines` gives the line where each named value stands, and each thing by its name ('tank left').

    `many` says that the file has several of something: vessels may then have names. `repeated` and `parts`
    count what '12 x' makes, in things and in numbers; `loose`: a name led nowhere, so how things hang together is not known.
    """

    file: str
    system: str = "metric"
    tape: float = 0.0
    complaints: list[Complaint] = field(default_factory=list)
    lines: dict[str, int] = field(default_factory=dict)
    many: bool = False
    repeated: int = 0
    parts: int = 0
    loose: bool = False

    def complain(self, line: int, key: str, found: str, expected: str, near: str = "") -> None:
        """Note one mistake."""
        self.complaints.append(Complaint(self.file, line, key, found, expected, near))

    def attempt(self, line: int, key: str, parse: Callable[[], T]) -> T | None:
        """Return what `parse` makes of a text, or note why it cannot and return None."""
        try:
            return parse()
        except UnitProblem as problem:
            self.complain(line, key, problem.found, problem.expected, problem.nearest)
        except RecursionError:
            self.complain(line, key, "this is nested too deep", "plain text")
        return None

    def named(self, value: Value, name: str, line: int) -> Value:
        """Give a value its name and remember its line; an exact height is widened by what the tape is good for."""
        self.lines.setdefault(name, line)
        if isinstance(value, Uncertain):
            return value.named(name)
        if isinstance(value, Height):
            measured = value.offset.is_exact and value.offset.middle != 0.0
            offset = value.offset.widened(self.tape) if measured else value.offset
            return replace(value, offset=offset.named(name))
        if isinstance(value, tuple) and len(value) == 2 and all(isinstance(end, Height) for end in value):
            return tuple(self.named(end, f"{name} {which}", line)
                         for end, which in zip(value, ("lowest", "highest"), strict=True))
        return value

    def text(self, node: Node, key: str) -> Text | None:
        """Return a node that must be plain text."""
        if isinstance(node, Text):
            return node
        what = "a list" if isinstance(node, YamlList) else "a mapping"
        self.complain(node.line, key, f"{what} stands here", "one value")
        return None

    def section(self, node: Node, owner: str, form: str, keys: SectionKeys = ANY_KEYS) -> CaseSection | None:
        """Return a node that must be a mapping."""
        if isinstance(node, YamlMapping):
            return CaseSection(self, node, owner, keys)
        found = f"'{node.text}' stands here" if isinstance(node, Text) and node.text else (
            "a list stands here" if isinstance(node, YamlList) else "nothing is written")
        self.complain(node.line, owner, found, form)
        return None

    def rows(self, node: Node) -> tuple[Node, ...]:
        """Return the members of a list; anything else is a list of one, nothing an empty one."""
        if isinstance(node, YamlList):
            return node.items
        return () if isinstance(node, Text) and not node.text else (node,)


@dataclass(slots=True)
class CaseSection:
    """A mapping of the file under its owner's name ('drain left'), with the keys that the table has for it.

    Those that it is asked for are the valid ones here, in that order; to ask for one that is not in the table is a KeyError.
    """

    reading: Reading
    table: YamlMapping
    owner: str
    keys: SectionKeys
    known: list[str] = field(default_factory=list)
    missing: dict[str, str] = field(default_factory=dict)

    @property
    def line(self) -> int:
        """The line where the mapping starts."""
        return self.table.line

    def path(self, key: str) -> str:
        """Return the name of a key with its owner."""
        return f"{self.owner}: {key}" if self.owner else key

    def line_of(self, key: str) -> int:
        """Return the line of a key, or of the section where the key is absent."""
        return self.table.lines.get(key, self.line)

    def take(self, key: str, required: bool | None = None) -> Node | None:
        """Return what stands behind a key, None where it is absent; `required` overrules the table.

        A key that only files with several of something need is asked for in those, and where it stands.
        """
        spec, node = self.keys[key], self.table.entries.get(key)
        if spec.only_several and not self.reading.many and node is None:
            return None
        self.known.append(key)
        if node is None and (spec.required and spec.unless not in self.table.entries if required is None else required):
            self.missing[key] = spec.example
        return node

    def complain(self, key: str, found: str, expected: str, near: str = "") -> None:
        """Note a mistake at a key of this section."""
        self.reading.complain(self.line_of(key), self.path(key) if key else self.owner, found, expected, near)

    def scalar(self, key: str) -> Text | None:
        """Return what stands behind a key as plain text."""
        node = self.take(key)
        return self.reading.text(node, self.path(key)) if node is not None else None

    def text(self, key: str, otherwise: str = "") -> str:
        """Return plain text."""
        text = self.scalar(key)
        return text.text if text and text.text else otherwise

    def word(self, key: str, otherwise: str = "") -> str:
        """Return one of the words that the key has a choice of."""
        text, choices = self.scalar(key), self.keys[key].choices
        if text is None:
            return otherwise
        return self.reading.attempt(text.line, self.path(key), lambda: parse_word(text.text, choices)) or otherwise

    def words(self, key: str) -> tuple[str, ...]:
        """Return any number of the words that the key has a choice of, as a list or alone."""
        node, choices = self.take(key), self.keys[key].choices
        found: list[str] = []
        for entry in self.reading.rows(node) if node is not None else ():
            text = self.reading.text(entry, self.path(key))
            parsed = partial(parse_word, text.text, choices) if text is not None else None
            word = self.reading.attempt(entry.line, self.path(key), parsed) if parsed is not None else None
            found += [word] if word is not None else []
        return tuple(dict.fromkeys(found))

    def number(self, key: str, name: str = "") -> Uncertain | None:
        """Return a number within its bounds, None where the key is absent, `UNREAD` where it is wrong or missing."""
        node = self.take(key)
        if node is None:
            return UNREAD if key in self.missing else None
        return self.number_in(node, key, self.keys[key], name)

    def number_in(self, node: Node, key: str, spec: Key, name: str = "") -> Uncertain:
        """Return the number that a node holds, of the dimension and within the bounds of a key of the table."""
        text, name = self.reading.text(node, self.path(key)), name or self.path(key)
        if text is None:
            return UNREAD
        system = self.reading.system

        def parse() -> Uncertain:
            number = parse_number(text.text, spec.kind, system)
            return clipped_to_range(number, spec.low, spec.high, spec.kind, system, text.text)
        value = self.reading.attempt(text.line, self.path(key), parse)
        named = self.reading.named(value or UNREAD, name, text.line)
        return named if isinstance(named, Uncertain) else UNREAD

    def height(self, key: str) -> Height | None:
        """Return a height, None where the key is absent."""
        node = self.take(key)
        if node is None:
            return UNREAD_HEIGHT if key in self.missing else None
        text = self.reading.text(node, self.path(key))
        if text is None:
            return UNREAD_HEIGHT
        system, many = self.reading.system, self.reading.many
        value = self.reading.attempt(text.line, self.path(key), lambda: parse_height(text.text, system, many))
        named = self.reading.named(value or UNREAD_HEIGHT, self.path(key), text.line)
        return named if isinstance(named, Height) else UNREAD_HEIGHT

    def section(self, key: str) -> CaseSection | None:
        """Return the mapping behind a key."""
        node = self.take(key)
        return None if node is None else self.inner(node, key)

    def inner(self, node: Node, key: str) -> CaseSection | None:
        """Return the mapping that a node behind a key must be."""
        spec = self.keys[key]
        return self.reading.section(node, self.path(key), spec.example, SECTIONS.get(spec.section, ANY_KEYS))

    def finish(self, hinted: Iterable[str] = ()) -> None:
        """Complain about every key that nobody asked for and every key that is missing, a misspelt one only once.

        `hinted` are words that a key may be meant for but that are not listed.
        """
        valid = [*dict.fromkeys(self.known)]
        for key in self.table.entries:
            if key in valid:
                continue
            near = nearest(key, [word for word in (*valid, *hinted) if word not in self.table.entries])
            self.missing.pop(near, None)
            self.complain(key, "unknown key", f"one of {', '.join(valid)}", near)
        for key, required in self.missing.items():
            self.complain(key, "the key is missing", f"'{key}: {required}'")
