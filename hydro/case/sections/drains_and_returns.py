"""Drains and returns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from hydro.case.names.declared_names import World
from hydro.case.names.renaming import Rewriting, rewritten
from hydro.case.names.repeated import Shape, each_twin
from hydro.case.names.same_as import with_same_as
from hydro.case.names.scope import name_list
from hydro.case.sections.holes import read_hole
from hydro.case.syntax.items import Labels, every_field, kinds_of_families, read_items, read_line_parts
from hydro.case.syntax.list_entries import Entry, owner_of
from hydro.case.syntax.reading import UNREAD_HEIGHT, CaseSection
from hydro.case.syntax.yaml_nodes import Node, Text, YamlMapping
from hydro.description.build import Drain, Group, Height, Item, Return

T = TypeVar("T")
OWN = "tank"
"""What a tank is called in its own section."""
_NO_INLET = Item("", {})


@dataclass(frozen=True, slots=True)
class Inside:
    """The tank in whose section drains and returns stand: its name, its boxes there, whether a header runs along it."""

    name: str
    boxes: tuple[str, ...] = ()
    row: bool = False
    repeated: bool = False


def read_drains(world: World, node: Node, inside: Inside | None = None) -> tuple[Drain, ...]:
    """Return the drains of the list behind 'drains'; inside a tank by the names they have there, and with '' for its own."""
    return _each(world, node, "drain", inside, _drain, lambda owner: (owner,))


def read_returns(world: World, node: Node, inside: Inside | None = None) -> tuple[Return, ...]:
    """Return the returns of the list behind 'returns'; inside a tank as `read_drains` does."""
    return _each(world, node, "return", inside, _return, lambda owner: (owner, f"{owner}: siphon break"))


def _each(world: World, node: Node, what: str, inside: Inside | None, read: Callable[[World, Entry, Inside | None], T],
          owners: Callable[[str], tuple[str, ...]]) -> tuple[T, ...]:
    """Return the records of a list; `owners` gives all that labels in a record may start with."""
    within = inside.name if inside else ""
    shape = Shape(what, within, _again, lambda _, name: owners(owner_of(what, name, within)))
    found: list[T] = []
    for entry in with_same_as(world.reading, node, what, within):
        twins = each_twin(world.reading, entry, shape, lambda one: read(world, one, inside))
        # Inside a tank that is itself one of several, its own reader takes note of them.
        if entry.count and (inside is None or not inside.repeated):
            before = f"{within} " if inside else ""
            world.groups.append(Group(before + entry.name, tuple(before + name for name, _ in twins)))
        found += [record for _, record in twins]
    return tuple(found)


def _again(record: Drain | Return, label: object, name: str) -> Drain | Return:
    assert callable(label)
    return replace(rewritten(record, Rewriting(label=label)), name=name)


def _drain(world: World, entry: Entry, inside: Inside | None) -> Drain:
    reading, owner = world.reading, entry.owner
    reading.lines.setdefault(owner, entry.table.line)
    section = entry.section(reading, "drain")
    if inside is None:
        tank = world.which(section, "in", world.uppers, "tank" if not world.boxes else "tank or box", "")
    else:
        tank = world.named(section, "in", (OWN, *inside.boxes), "tank or box here")
    inlet_node = section.take("inlet")
    inlets = read_items(reading, inlet_node, ("inlet",), Labels.of(owner), owner) if inlet_node else []
    line = read_line_parts(reading, section.take("line"), owner)
    into, end = "", UNREAD_HEIGHT
    below = section.section("into")
    if below is not None:
        below.owner = owner
        into = _into(world, below)
        end = below.height("end") or UNREAD_HEIGHT
        below.finish()
    inlet = inlets[0] if inlets else _NO_INLET
    drilled = read_hole(section, elbow="turns" in _fields(inlet))
    section.finish()
    return Drain(entry.name, inlet, line, into, end, "" if tank == OWN and inside else tank, drilled)


def _fields(item: Item) -> tuple[str, ...]:
    """Return what may be written behind an item's word."""
    kind = kinds_of_families(("inlet",)).get(item.kind)
    return tuple(field.name for field in kind.fields) if kind is not None else ()


def _into(world: World, below: CaseSection) -> str:
    """Return the chamber, tank or header that a drain ends in."""
    ways = [key for key in ("chamber", "tank", "header") if key in below.table.entries]
    if len(ways) > 1:
        below.complain(ways[1], f"a second place beside '{ways[0]}'", "one of chamber, tank and header")
        below.known += ways
    way = ways[0] if ways else "chamber"
    header = below.text("header")
    tank = world.named(below, "tank", world.uppers, "tank")
    if way == "header":
        world.reading.lines.setdefault(f"header {header}", below.line_of("header"))
        return header
    if way == "tank":
        return tank
    return known_chamber(world, below, world.first_chamber())


def known_chamber(world: World, section: CaseSection, otherwise: str) -> str:
    """Return the chamber that 'chamber' names; where it is absent `otherwise`, which is empty where there are several sumps."""
    name = world.named(section, "chamber", world.chambers, "chamber", otherwise)
    if not name and world.chambers and "chamber" not in section.table.entries:
        world.reading.loose = True
        section.complain("", "does not say which chamber", f"'chamber: NAME' with one of {name_list(world.chambers)}")
    return name or next(iter(world.chambers), "")


def _return(world: World, entry: Entry, inside: Inside | None) -> Return:
    section = entry.section(world.reading, "return")
    world.reading.lines.setdefault(entry.owner, entry.table.line)
    only = next(iter(world.tanks)) if len(world.tanks) == 1 else ""
    tank = world.which(section, "tank", world.uppers, "tank", only) if inside is None else ""
    source = _source(world, section, inside)
    line = read_line_parts(world.reading, section.take("line"), entry.owner, ("part", "break"))
    end = section.height("end") or UNREAD_HEIGHT
    points = section.word("points", "sideways")
    highest: Height | None = section.height("highest point")
    hole = _siphon_break(section)
    drilled = read_hole(section)
    section.finish()
    marks = [item for item in line if item.kind in kinds_of_families(("break",))]
    if marks and hole is None:
        section.complain("line", f"'{marks[0].kind}' in the line, but none described",
                         "'siphon break: {hole: 8 mm, at: HEIGHT}' at the return")
    if len(marks) > 1:
        section.complain("line", f"'{marks[1].kind}' stands twice in the line", "one place")
    return Return(entry.name, line, end, points, hole, highest, tank, source, drilled)


def _source(world: World, section: CaseSection, inside: Inside | None) -> str:
    """Return the pump or header that feeds a return, '' for the only pump and for a header that runs along its tank."""
    stated = section.text("from")
    if stated:
        source = world.fed_from(stated)
        world.reading.lines.setdefault(f"header {source}", section.line_of("from"))
        return source
    if inside is not None and inside.row:
        return ""
    if len(world.pumps) < 2:
        return next(iter(world.pumps.values()), "")
    if len(world.sources) > 1:
        world.reading.loose = True
        section.complain("", "does not say which pump or header feeds it", f"'from: NAME' with one of {name_list(world.sources)}")
    return next(iter(world.sources), "")


def _siphon_break(section: CaseSection) -> Item | None:
    """Return the siphon break of a return: a key with the element's word, behind it its fields, or 'none'."""
    for word, kind in kinds_of_families(("break",)).items():
        node = section.take(word)
        if node is None or (isinstance(node, Text) and node.text.lower() in ("", "none", "no")):
            continue
        reading, owner = section.reading, section.path(word)
        if isinstance(node, YamlMapping):
            fields = ", ".join(every_field(kind))
            whole: Node = YamlMapping({word: Text("", node.line), **node.entries}, {word: node.line, **node.lines}, node.line)
            if word in node.entries:
                reading.complain(node.line, owner, f"'{word}' inside itself", f"its values: {fields}")
                continue
        elif isinstance(node, Text):
            whole = Text(f"{word} {node.text}", node.line)
        else:
            whole = node
        items = read_items(reading, whole, ("break",), Labels.of(section.owner), owner)
        return items[0] if items else None
    return None
