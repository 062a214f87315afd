"""From the bytes of a case file to a tree of plain text with line numbers, or one clear line for what cannot be read.

The tree is made from the parser's events, without recursion and without YAML's guesses: every scalar stays the text
that stands there, so `on`, `1_000` or `12:30` never turn into something else. What a case file has no use for and what
can do harm is refused: tags, merge keys, several documents, anchors inside themselves, aliases that multiply, deep
nesting.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from hydro.case.syntax.yaml_problems import MOST_DEPTH, told
from hydro.errors import Complaint
from hydro.quantities.file_text import MOST_BYTES, read_text_of, refuse_file

MOST_NODES = 20_000
MERGE = "<<"
_HALVES = re.compile(r"[0-9],[0-9](?![0-9]*\s*[x×]\s)")
"""The end of a text and the next one, where a comma inside a number has parted them; not '2 x elbow 90' behind a size."""

_LOADER: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


@dataclass(frozen=True, slots=True)
class Text:
    """A scalar as it stands in the file; empty where nothing stands behind a key."""

    text: str
    line: int


@dataclass(frozen=True, slots=True)
class YamlList:
    """A list."""

    items: tuple[Node, ...]
    line: int


@dataclass(frozen=True, slots=True)
class YamlMapping:
    """A mapping: key -> value, and key -> line of the key."""

    entries: dict[str, Node]
    lines: dict[str, int]
    line: int


Node = Text | YamlList | YamlMapping


def read_file_text(path: Path) -> str:
    """Return the text of a case file, or of the standard input; InputError where it is missing, too large or not text."""
    return read_text_of(path, "a case file", ".yaml", standard_input=True)


@dataclass(slots=True)
class _Open:
    """A collection that has begun: its anchor, its children so far, for a mapping the key that waits for its value."""

    table: bool
    line: int
    anchor: str | None
    items: list[Node] = field(default_factory=list)
    entries: dict[str, Node] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    key: Text | None = None
    size: int = 1

    def closed(self) -> Node:
        return YamlMapping(self.entries, self.lines, self.line) if self.table else YamlList(tuple(self.items), self.line)


class _Composer:
    """Builds the tree from events. `size` counts nodes with every alias expanded."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.stack: list[_Open] = []
        self.anchors: dict[str, tuple[Node, int] | None] = {}
        self.root: Node | None = None
        self.complaints: list[Complaint] = []
        self.after_comma = 0, 0

    def complain(self, line: int, key: str, found: str, expected: str) -> None:
        self.complaints.append(Complaint(self.file, line, key, found, expected))

    def begin(self, table: bool, event: Any) -> None:
        line = event.start_mark.line + 1
        if len(self.stack) >= MOST_DEPTH:
            refuse_file(self.file, line, f"lists or mappings more than {MOST_DEPTH} deep in each other", "a flatter file")
        if event.anchor:
            self.anchors[event.anchor] = None
        self.stack.append(_Open(table, line, event.anchor))

    def end(self) -> None:
        done = self.stack.pop()
        self.add(done.closed(), done.size, done.line, done.anchor)

    def scalar(self, event: Any) -> None:
        start, end = event.start_mark, event.end_mark
        split = event.implicit[0] and (start.line, start.column) == self.after_comma
        self.add(Text(" ".join(event.value.split()), start.line + 1), 1, start.line + 1, event.anchor, split)
        self.after_comma = end.line, end.column + 1

    def alias(self, event: Any) -> None:
        line, name = event.start_mark.line + 1, event.anchor
        if name not in self.anchors:
            refuse_file(self.file, line, f"'*{name}' repeats something that is not defined", f"'&{name}' further up")
        known = self.anchors[name]
        if known is None:
            refuse_file(self.file, line, f"'*{name}' stands inside itself", "an anchor that ends before it is used")
        self.add(known[0], known[1], line, None)

    def add(self, node: Node, size: int, line: int, anchor: str | None, split: bool = False) -> None:
        """Put a finished node where it belongs: behind the waiting key, into the list, or at the root.

        `split` says that nothing but a comma parts a text from the one before it.
        """
        if anchor:
            self.anchors[anchor] = (node, size)
        if not self.stack:
            self.root = node
            return
        parent = self.stack[-1]
        parent.size += size
        if parent.size > MOST_NODES:
            refuse_file(self.file, line, f"more than {MOST_NODES} entries, repetitions counted",
                        "a file without endless '*'")
        if not parent.table:
            self.item(parent, node, split)
        elif parent.key is None:
            self.key(parent, node, line)
        else:
            if parent.key.text not in (*parent.entries, MERGE):
                self.entry(parent, parent.key, node)
            parent.key = None

    def item(self, parent: _Open, node: Node, split: bool) -> None:
        """Enter an entry of a list; '[hose 32 mm 1,5 m]', which YAML takes apart at the comma, is put together again."""
        last = parent.items[-1] if parent.items else None
        if split and isinstance(last, Text) and isinstance(node, Text) and _HALVES.match(f"{last.text[-1:]},{node.text}"):
            parent.items[-1] = Text(f"{last.text},{node.text}", last.line)
        else:
            parent.items.append(node)

    def entry(self, parent: _Open, key: Text, node: Node) -> None:
        """Enter a key with its value; '{end: 12,5 cm}', which YAML takes apart at the comma, is put together again."""
        last = next(reversed(parent.entries.values()), None)
        halved = key.text[:1].isdigit() and isinstance(node, Text) and not node.text
        if halved and isinstance(last, Text) and last.text[-1:].isdigit():
            name = next(reversed(parent.entries))
            parent.entries[name] = Text(f"{last.text},{key.text}", last.line)
        else:
            parent.entries[key.text], parent.lines[key.text] = node, key.line

    def key(self, parent: _Open, node: Node, line: int) -> None:
        """Take a node as the key of the entry to come."""
        if not isinstance(node, Text):
            refuse_file(self.file, line, "a list or mapping stands where a key should", "a word, a colon and a value")
        word = " ".join(node.text.split())
        if word == MERGE:
            self.complain(line, word, "merge keys are not read here", "'same as: NAME'")
        elif word in parent.lines:
            self.complain(line, word, f"the key stands twice (first in line {parent.lines[word]})", "each key once")
        parent.key = Text(word, line)


def compose(text: str, file: str) -> tuple[YamlMapping, list[Complaint]]:
    """Return the mapping a case file consists of and complaints that leave it readable (keys that stand twice).

    InputError where nothing more can be read, with the line of what is not understood.
    """
    if len(text) > MOST_BYTES:
        refuse_file(file, 0, f"the text has {len(text) / 1e6:.1f} million letters", f"at most {MOST_BYTES / 1e6:g} million")
    if "\0" in text:
        refuse_file(file, 0, "the file is binary", "plain text in UTF-8")
    composer = _Composer(file)
    for event in _events(text.removeprefix("\ufeff"), file):
        line = event.start_mark.line + 1
        if getattr(event, "tag", None):
            refuse_file(file, line, f"the tag '{event.tag}'", "plain text without tags ('!')")
        if isinstance(event, yaml.DocumentStartEvent) and composer.root is not None:
            refuse_file(file, line, "a second document starts here", "one build in a file")
        if isinstance(event, yaml.MappingStartEvent | yaml.SequenceStartEvent):
            composer.begin(isinstance(event, yaml.MappingStartEvent), event)
        elif isinstance(event, yaml.MappingEndEvent | yaml.SequenceEndEvent):
            composer.end()
        elif isinstance(event, yaml.AliasEvent):
            composer.alias(event)
        elif isinstance(event, yaml.ScalarEvent):
            composer.scalar(event)
    root = composer.root
    if root is None or (isinstance(root, Text) and not root.text):
        refuse_file(file, 0, "the file is empty", "a build: tank, sump, drains, returns, pump, water")
    if not isinstance(root, YamlMapping):
        refuse_file(file, root.line, "this is no list of keys with values",
                    "'tank:', 'sump:' and so on, each on its own line")
    return root, composer.complaints


def _events(text: str, file: str) -> Iterator[Any]:
    """Yield the parser's events; its errors come out as one complaint in plain words."""
    try:
        yield from yaml.parse(text, Loader=_LOADER)
    except yaml.MarkedYAMLError as problem:
        refuse_file(file, *told(problem, text.splitlines()))
    except yaml.YAMLError as problem:
        position = getattr(problem, "position", 0) or 0
        refuse_file(file, text.count("\n", 0, position) + 1, "a control character that no text holds", "plain text")
