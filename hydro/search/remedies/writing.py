"""A change written into the text of a case file: the same lines, the comments kept, one value replaced or one put beside another.

Where a value stands is looked for in the tree of the text: its owner's entry ('drain left'), then its keys. A thing that is the
'same as' another and has no value of its own gets one; and where others are the same as a thing that is changed, they get the old
value, so that they stay as they are. Whatever was written is read again and must come to the very build that was proved, else
nothing is written.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, product

from hydro.case import loads
from hydro.case.names.renaming import numbers_in
from hydro.case.syntax.yaml_nodes import Text, YamlList, YamlMapping
from hydro.description.build import Build
from hydro.errors import HydroError
from hydro.search.remedies.change import Write
from hydro.search.remedies.entries import Tree, flow_of, part_of

MOST_TRIES = 24


@dataclass(frozen=True, slots=True)
class Edit:
    """One place in a file: in this line, behind this key ('' anywhere in it), `old` becomes `new`.

    `place` counts the times it stands there, from 0; `name` says whose value it is.
    """

    line: int
    key: str
    old: str
    new: str
    name: str = ""
    place: int = 0


def edits_for(text: str, file: str, writes: Sequence[Write] | None, wanted: Build) -> tuple[Edit, ...]:
    """Return the edits that make a text describe a build; none where they cannot be found or come to something else."""
    if not writes:
        return ()
    try:
        tree = Tree.of(text, file)
    except HydroError:
        return ()
    kept = tuple(_kept(tree, writes))
    # A line that is put in front of another comes last: until then the other one is found by what stands in it first.
    writes = sorted((*kept, *_whole_lines(tree, writes)), key=lambda write: not write.path)
    choices = [list(_edits(tree, text, write)) for write in writes]
    for chosen in islice(product(*choices), MOST_TRIES):
        edits = tuple(dict.fromkeys(chosen))
        made = _applied(text, edits)
        if made is not None and _reads_as(made, file, wanted):
            return edits
    return ()


def _kept(tree: Tree, writes: Sequence[Write]) -> Iterator[Write]:
    """Yield what keeps things as they are that are the same as one that is changed: their value, written out."""
    mine = {(write.owner, write.path[:1] if write.path[:1] == ("line",) else write.path) for write in writes if write.path}
    for owner, path in sorted(mine, key=str):
        old = tree.inherits(owner, path)
        for other in sorted(other for other, same in tree.same.items() if same == owner):
            if (other, path) not in mine and tree.stands(other, path) is None and old is not None:
                shown = flow_of(old)
                yield Write(other, path, lambda was, shown=shown: shown, shown)  # type: ignore[misc]


def _whole_lines(tree: Tree, writes: Sequence[Write]) -> Iterator[Write]:
    """Yield the writes; those to parts of a line that belongs to another thing as one, with the line written out."""
    parts = [write for write in writes if write.path[:1] == ("line",) and len(write.path) > 1]
    borrowed = {write.owner for write in parts if tree.stands(write.owner, ("line",)) is None}
    for owner in sorted(borrowed):
        row = tree.inherits(owner, ("line",))
        if isinstance(row, YamlList):
            texts = {id(node): flow_of(node) for node in row.items}
            for write in (write for write in parts if write.owner == owner):
                node = part_of(row, int(write.path[1]))
                if isinstance(node, Text):
                    texts[id(node)] = write.new(node.text)
            shown = f"[{', '.join(texts[id(node)] for node in row.items)}]"
            yield Write(owner, ("line",), lambda was, shown=shown: shown, shown)  # type: ignore[misc]
    yield from (write for write in writes if not (write in parts and write.owner in borrowed))


def _edits(tree: Tree, text: str, write: Write) -> Iterator[Edit]:
    """Yield the ways in which a value may be written; which of them is right shows when the file is read again."""
    if not write.path:
        yield from _added(tree, text, write)
        return
    name = f"{write.owner}: {' '.join(str(key) for key in write.path if isinstance(key, str))}"
    stands = tree.stands(write.owner, write.path)
    if isinstance(stands, Text):
        new = write.new(stands.text)
        key = write.path[-1] if isinstance(write.path[-1], str) else ""
        for place in range(max(1, text.splitlines()[stands.line - 1].count(stands.text))):
            yield Edit(stands.line, str(key), stands.text, new, name, place)
        return
    if stands is not None:
        key = str(write.path[-1])
        flow = re.search(rf"\b{re.escape(key)}\s*:\s*(\{{[^{{}}]*\}}|\[[^\[\]]*\])", text.splitlines()[stands.line - 1])
        if flow is not None:
            yield Edit(stands.line, key, flow[1], write.new(flow[1]), name)
        return
    table = tree.entries.get(write.owner)
    old = tree.inherits(write.owner, write.path)
    keys = [key for key in write.path if isinstance(key, str)]
    new = write.new(flow_of(old)) if old is not None and len(keys) == len(write.path) else write.absent
    if table is None or not new:
        return
    inner = table.entries.get(keys[0])
    if len(keys) == 2 and isinstance(inner, YamlMapping):
        beside, value = next(iter(inner.entries.items())), f"{keys[1]}: {new}"
    elif inner is None:
        known = [(key, there) for key, there in table.entries.items() if isinstance(there, Text) and there.text]
        beside = next((pair for pair in known if pair[0] == "same as"), known[-1])
        value = f"{keys[0]}: {{{keys[1]}: {new}}}" if len(keys) == 2 else f"{keys[0]}: {new}"
    else:
        return
    key, there = beside
    if isinstance(there, Text) and there.text:
        yield Edit(there.line, key, there.text, f"{there.text}, {value}", name)
        column = text.splitlines()[there.line - 1].find(f"{key}:")
        yield Edit(there.line, key, there.text, f"{there.text}\n{' ' * max(column, 0)}{value}", name)


def _added(tree: Tree, text: str, write: Write) -> Iterator[Edit]:
    """Yield an entry put in front of another one in its list, written out in whole but for its place in the glass."""
    entry, whole = tree.entries.get(write.owner), tree.whole(write.owner)
    inlet = whole.entries.get("inlet")
    if entry is None or not isinstance(inlet, YamlMapping) or not isinstance(lip := inlet.entries.get("lip"), Text):
        return
    line = text.splitlines()[entry.line - 1]
    if not line.lstrip().startswith("- "):
        return
    new = {**inlet.entries, "lip": Text(write.new(lip.text), lip.line)}
    kept = {key: node for key, node in whole.entries.items() if key not in ("name", "same as", "hole")}
    made = {"name": Text(write.absent, 0), **kept, "inlet": YamlMapping(new, inlet.lines, inlet.line)}
    indent = " " * (len(line) - len(line.lstrip()))
    yield Edit(entry.line, "", "-", f"- {flow_of(YamlMapping(made, {}, 0))}\n{indent}-", write.owner)


def _applied(text: str, edits: Sequence[Edit]) -> str | None:
    """Return a text with edits in it, None where one of them finds nothing to replace. Lines count as in the text as it was."""
    lines = text.splitlines(keepends=True)
    for edit in edits:
        if not 1 <= edit.line <= len(lines):
            return None
        line = lines[edit.line - 1]
        start = _column(line, edit)
        if start < 0:
            return None
        lines[edit.line - 1] = line[:start] + edit.new + line[start + len(edit.old):]
    return "".join(lines)


def _column(line: str, edit: Edit) -> int:
    """Return where an edit's old text stands in its line, -1 where it does not."""
    before = rf"(?<![^\s{{,\[\-]){re.escape(edit.key)}[\"']?\s*:\s*[\"']?" if edit.key else r"(?<![^\s{,\[])[\"']?"
    found = [match.end() for match in re.finditer(f"{before}(?={re.escape(edit.old)})", line)]
    return found[edit.place] if edit.place < len(found) else -1


@dataclass(frozen=True, slots=True)
class WholeLine:
    """What stands in a line of a file after an edit, in whole, as it is to be pasted over what was there; it may be two lines."""

    line: int
    new: str


def whole_lines(text: str, edits: Sequence[Edit]) -> tuple[WholeLine, ...]:
    """Return the lines that edits come to, in their order; ValueError where it is not the text they were made for."""
    before = text.splitlines(keepends=True)
    found = []
    for line in sorted({edit.line for edit in edits}):
        # Lines count as in the text as it was, so that each is edited alone.
        made = applied("".join(before), [edit for edit in edits if edit.line == line])
        rest = len("".join(before[line:]))
        start = len("".join(before[:line - 1]))
        found.append(WholeLine(line, made[start:len(made) - rest].rstrip("\r\n")))
    return tuple(found)


def pasted(text: str, lines: Sequence[WholeLine]) -> str:
    """Return a text with whole lines pasted over those that they stand for."""
    there = text.splitlines()
    for one in lines:
        there[one.line - 1] = one.new
    return "\n".join(there) + "\n"


def applied(text: str, edits: Sequence[Edit]) -> str:
    """Return the text of a case file with edits in it; ValueError where it is not the text they were made for."""
    made = _applied(text, edits)
    if made is None:
        raise ValueError("this is not the text that the edits were made for")
    return made


def _reads_as(text: str, file: str, wanted: Build) -> bool:
    """Whether a text describes a build, number by number."""
    try:
        found = loads(text, file)
    except HydroError:
        return False
    return _figures(found) == _figures(wanted)


def _figures(build: Build) -> list[tuple[str, ...]]:
    numbers = [
        (uncertain.name, *(f"{value:.7g}" for value in (uncertain.low, uncertain.middle, uncertain.high)))
        for uncertain in numbers_in(build)
    ]
    curves = [(pump.name, *(f"{value:.7g}" for point in pump.curve for value in point)) for pump in build.pumps]
    lines = [*((one.name, one.line) for one in build.drains), *((one.name, one.line) for one in build.returns)]
    return [*sorted(numbers), *curves, *((name, *(item.kind for item in line)) for name, line in lines)]

