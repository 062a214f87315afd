"""'same as: NAME': an entry of a list that repeats another one, but for what it states itself.

Works on the tree of text, so a twin keeps the lines of what it repeats. Mappings are merged key by key; lists and plain
values are replaced. A twin that names another element (a standpipe for an elbow) drops the one it replaces.
"""

from __future__ import annotations

from dataclasses import replace

from hydro.case.keys import ALIKE, SECTIONS
from hydro.case.syntax.items import kinds_of_families, named_kind
from hydro.case.syntax.list_entries import Entry, entries_of, owner_of
from hydro.case.syntax.reading import Reading
from hydro.case.syntax.yaml_nodes import Node, Text, YamlMapping
from hydro.quantities.parsing import nearest

_ELEMENTS = ("inlet", "barrier", "edge")
_LISTS = {key.section: name for name, key in SECTIONS["file"].keys.items() if key.listed and key.section}


def with_same_as(reading: Reading, node: Node, what: str, inside: str = "") -> list[Entry]:
    """Return the entries of a list with their complete mappings; `inside` is the tank in whose section the list stands.

    An empty list of those that the file has is reported.
    """
    entries = entries_of(reading, node, what, inside)
    if what in _LISTS and not reading.rows(node):
        plural = f"{what}{'es' if what.endswith('x') else 's'}"
        reading.complain(node.line, owner_of(_LISTS[what], _LISTS[what], inside), f"no {plural}", "at least one")
    _complain_of_twins(reading, entries, what)
    known = {entry.name: entry.table for entry in reversed(entries)}
    return [replace(entry, table=_complete(reading, entry, known, what)) for entry in entries]


def _complain_of_twins(reading: Reading, entries: list[Entry], what: str) -> None:
    seen: dict[str, int] = {}
    for entry in entries:
        owner, line = entry.owner, entry.table.lines.get("name", entry.table.line)
        if owner in seen:
            reading.complain(line, owner, f"the name '{entry.name}' is used twice (first in line {seen[owner]})",
                             f"a name of its own for each {what}")
            reading.loose = True
        seen.setdefault(owner, line)


def _complete(reading: Reading, entry: Entry, known: dict[str, YamlMapping], what: str) -> YamlMapping:
    """Return a table with everything that its 'same as' repeats."""
    name, owner, table = entry.name, entry.owner, entry.table
    chain, current = [table], table
    while (node := current.entries.get("same as")) is not None:
        line = current.lines["same as"]
        text = reading.text(node, f"{owner}: same as") if current is table else node
        if not isinstance(text, Text):
            break
        other = text.text
        if other not in known:
            others = [word for word in known if word != name]
            near = nearest(other, others)
            if current is table:
                reading.complain(line, f"{owner}: same as", f"there is no {what} '{other}'",
                                 f"one of {', '.join(others)}" if others else f"another {what}", near)
            if not others:
                break
            # Read on as if another one were meant, lest everything it would repeat be missing too.
            other = near or others[0]
        current = known[other]
        if any(current is link for link in chain):
            reading.complain(line, f"{owner}: same as", f"'{other}' leads back to '{name}'", f"another {what}")
            break
        chain.append(current)
    whole = chain[-1]
    for above in reversed(chain[:-1]):
        inherited = {key: value for key, value in whole.entries.items() if key not in ALIKE}
        whole = merged(YamlMapping(inherited, whole.lines, above.line), above)
    return whole


def merged(base: YamlMapping, own: YamlMapping) -> YamlMapping:
    """Return `base` overridden by `own`, key by key."""
    kinds = kinds_of_families(_ELEMENTS)
    replaced = any(named_kind(key, kinds) for key in own.entries if key not in base.entries)
    kept = {key: value for key, value in base.entries.items() if not (replaced and named_kind(key, kinds))}
    entries: dict[str, Node] = dict(kept)
    for key, value in own.entries.items():
        under = entries.get(key)
        entries[key] = merged(under, value) if isinstance(under, YamlMapping) and isinstance(value, YamlMapping) else value
    return YamlMapping(entries, {**base.lines, **own.lines}, base.line)
