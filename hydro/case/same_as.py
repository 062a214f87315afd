"""'same as: NAME': an entry of a list that repeats another one, but for what it states itself.

Works on the tree of text, so a twin keeps the lines of what it repeats. Mappings are merged key by key; lists and plain
values are replaced. A twin that names another element (a standpipe for an elbow) drops the one it replaces.
"""

from __future__ import annotations

from hydro.case.items import kinds_of, named_kind
from hydro.case.reading import Reading
from hydro.case.yaml_nodes import Node, Table, Text
from hydro.units import nearest

_ELEMENTS = ("inlet", "barrier")


def with_same_as(reading: Reading, node: Node, what: str) -> list[tuple[str, str, Table]]:
    """Return name, owner's words ('drain left') and the complete mapping of each entry of a list."""
    entries: list[tuple[str, Table]] = []
    for number, entry in enumerate(reading.rows(node), 1):
        section = reading.section(entry, what, f"a mapping that describes a {what}")
        if section is not None:
            entries.append((_name(reading, section.table, f"{what} {number}"), section.table))
    _complain_of_twins(reading, entries, what)
    known = dict(reversed(entries))
    return [(name, owner_of(what, name), _complete(reading, name, table, known, what)) for name, table in entries]


def owner_of(what: str, name: str) -> str:
    """Return the words for a named thing: 'drain left', but 'drain 1' for the drain called 'drain 1'."""
    return name if name.startswith(f"{what} ") else f"{what} {name}"


def _name(reading: Reading, table: Table, otherwise: str) -> str:
    node = table.entries.get("name")
    text = reading.text(node, f"{otherwise}: name") if node is not None else None
    if text is not None and not text.text:
        reading.complain(text.line, f"{otherwise}: name", "nothing is written", "a name")
    return text.text if text is not None and text.text else otherwise


def _complain_of_twins(reading: Reading, entries: list[tuple[str, Table]], what: str) -> None:
    seen: dict[str, int] = {}
    for name, table in entries:
        owner, line = owner_of(what, name), table.lines.get("name", table.line)
        if owner in seen:
            reading.complain(line, owner, f"the name '{name}' is used twice (first in line {seen[owner]})",
                             f"a name of its own for each {what}")
        seen.setdefault(owner, line)


def _complete(reading: Reading, name: str, table: Table, known: dict[str, Table], what: str) -> Table:
    """Return a table with everything that its 'same as' repeats."""
    chain, current = [table], table
    while (node := current.entries.get("same as")) is not None:
        owner, line = owner_of(what, name), current.lines["same as"]
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
    merged = chain[-1]
    for above in reversed(chain[:-1]):
        inherited = {key: value for key, value in merged.entries.items() if key not in ("name", "same as")}
        merged = _merge(Table(inherited, merged.lines, above.line), above)
    return merged


def _merge(base: Table, own: Table) -> Table:
    """Return `base` with whatever `own` states put in its place."""
    kinds = kinds_of(_ELEMENTS)
    replaced = any(named_kind(key, kinds) for key in own.entries)
    kept = {key: value for key, value in base.entries.items() if not (replaced and named_kind(key, kinds))}
    entries: dict[str, Node] = dict(kept)
    for key, value in own.entries.items():
        under = entries.get(key)
        entries[key] = _merge(under, value) if isinstance(under, Table) and isinstance(value, Table) else value
    return Table(entries, {**base.lines, **own.lines}, base.line)
