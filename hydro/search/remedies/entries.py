"""The entries of a case file by the words for them ('drain left'), and what stands in them, itself or by what they repeat."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from hydro.case.names.same_as import merged
from hydro.case.syntax.list_entries import entries_of
from hydro.case.syntax.reading import Reading
from hydro.case.syntax.yaml_nodes import Node, Text, YamlList, YamlMapping, compose

SECTIONS = {"drains": "drain", "returns": "return", "pumps": "pump", "sumps": "sump", "tanks": "tank", "chambers": "chamber",
            "overflow boxes": "box", "pipes between": "pipe"}
_TIMES = re.compile(r"([0-9]{1,3})\s*[x×]\s")


@dataclass(slots=True)
class Tree:
    """The entries of a file by the words for them, and what each is the same as."""

    entries: dict[str, YamlMapping] = field(default_factory=dict)
    same: dict[str, str] = field(default_factory=dict)

    @staticmethod
    def of(text: str, file: str) -> Tree:
        """Return the tree of a text; InputError where it cannot be read."""
        table, _ = compose(text, file)
        tree = Tree({"": table})
        reading = Reading(file, many=any(key in table.entries for key in ("tanks", "sumps", "pumps", "overflow boxes")))
        for key, node in table.entries.items():
            if isinstance(node, YamlMapping) and key not in SECTIONS:
                tree.entries[key] = node
                tree._inner(reading, node, "")
        tree._inner(reading, table, "")
        return tree

    def _inner(self, reading: Reading, table: YamlMapping, inside: str) -> None:
        for key, what in SECTIONS.items():
            node = table.entries.get(key)
            if not isinstance(node, YamlList | YamlMapping):
                continue
            within = inside if what in ("drain", "return") else ""
            entries = entries_of(reading, node, what, within)
            owners = {entry.name: entry.owner for entry in entries}
            for entry in entries:
                self.entries[entry.owner] = entry.table
                other = entry.table.entries.get("same as")
                if isinstance(other, Text) and other.text in owners:
                    self.same[entry.owner] = owners[other.text]
                self._inner(reading, entry.table, entry.name if what == "tank" else "")

    def stands(self, owner: str, path: Sequence[str | int]) -> Node | None:
        """Return what an entry itself has at the end of some keys."""
        node: Node | None = self.entries.get(owner)
        for key in path:
            if isinstance(node, YamlMapping):
                node = node.entries.get(str(key))
            elif isinstance(node, YamlList) and isinstance(key, int):
                node = part_of(node, key)
            else:
                return None
        return node

    def whole(self, owner: str) -> YamlMapping:
        """Return an entry with everything that it repeats of others."""
        own = self.entries[owner]
        seen = {owner}
        while (owner := self.same.get(owner, "")) and owner not in seen:
            seen.add(owner)
            own = merged(self.entries[owner], own)
        return own

    def inherits(self, owner: str, path: Sequence[str | int]) -> Node | None:
        """Return what an entry has there, itself or from what it is the same as."""
        seen: set[str] = set()
        while owner not in seen:
            seen.add(owner)
            node = self.stands(owner, path)
            if node is not None or owner not in self.same:
                return node
            owner = self.same[owner]
        return None


def part_of(row: YamlList, number: int) -> Node | None:
    """Return the entry of a line in which its so many-th part stands; '2 x elbow 90' are two parts."""
    passed = 0
    for node in row.items:
        match = _TIMES.match(node.text) if isinstance(node, Text) else None
        passed += int(match[1]) if match else 1
        if number < passed:
            # A part written as a mapping has its values behind its word, which stands first.
            return next(iter(node.entries.values())) if isinstance(node, YamlMapping) else node
    return None


def flow_of(node: Node) -> str:
    """Return a node as it is written in one line."""
    if isinstance(node, Text):
        return node.text
    if isinstance(node, YamlList):
        return f"[{', '.join(map(flow_of, node.items))}]"
    return f"{{{', '.join(f'{key}: {flow_of(value)}' for key, value in node.entries.items())}}}"
