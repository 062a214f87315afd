"""Tanks, each with the box, the drains and the returns that may stand in its section; '12 x rack tank' makes twelve."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from hydro.case.names.declared_names import BOX, World
from hydro.case.names.renaming import Rewriting, rewritten
from hydro.case.names.repeated import Shape, each_twin, without
from hydro.case.names.same_as import with_same_as
from hydro.case.sections.drains_and_returns import Inside, read_drains, read_returns
from hydro.case.sections.pipes import HeaderRow, read_row
from hydro.case.sections.vessels import read_vessel
from hydro.case.syntax.items import Labels, read_items
from hydro.case.syntax.list_entries import Entry, meant, owner_of
from hydro.case.syntax.reading import CaseSection
from hydro.case.syntax.yaml_nodes import Node
from hydro.description.build import Box, Drain, Group, Item, Return, Vessel

_NO_EDGE = Item("", {})


@dataclass(frozen=True, slots=True)
class Site:
    """A tank with what stands in its section; boxes, drains and returns by the names they have there."""

    vessel: Vessel
    boxes: tuple[Box, ...] = ()
    drains: tuple[Drain, ...] = ()
    returns: tuple[Return, ...] = ()


@dataclass(slots=True)
class Tanks:
    """All that the sections of tanks hold, by the names it has in the build."""

    tanks: list[Vessel] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)
    drains: list[Drain] = field(default_factory=list)
    returns: list[Return] = field(default_factory=list)


def read_tanks(world: World, node: Node) -> Tanks:
    """Return what the list behind 'tanks' describes; headers that run along tanks go to the world's pipes."""
    found = Tanks()
    for entry in with_same_as(world.reading, node, "tank"):
        row = _row(world, entry)
        shape = Shape("tank", "", _again, _owners)
        plain = replace(entry, table=without(entry.table, "header"))
        twins = each_twin(world.reading, plain, shape, _reader(world, row is not None, entry.count > 0))
        for number, (name, site) in enumerate(twins):
            _add(world, found, name, site, row.places[number] if row is not None else "")
        if entry.count:
            _groups(world, entry.name, twins)
    return found


def _row(world: World, entry: Entry) -> HeaderRow | None:
    """Return the header that runs along the tanks of a description."""
    node = entry.table.entries.get("header")
    if node is None:
        return None
    if not entry.count:
        world.reading.complain(entry.table.lines["header"], f"{entry.owner}: header", "a header along a single tank",
                               f"'12 x {meant(entry.name)}' for the tanks it runs along, or 'pipes between'")
        return None
    row = read_row(world, node, entry)
    world.runs += row.runs if row is not None else ()
    return row


def _reader(world: World, along: bool, repeated: bool) -> Callable[[Entry], Site]:
    return lambda entry: _site(world, entry, along, repeated)


def _site(world: World, entry: Entry, along: bool, repeated: bool) -> Site:
    """Return one tank with what stands in its section."""
    section = entry.section(world.reading, "tank")
    world.reading.lines.setdefault(f"tank {entry.name}", entry.table.line)
    vessel = read_vessel(section, entry.name)
    box_node = section.take("box")
    boxes = _own_box(world, section, box_node) if box_node is not None else ()
    inside = Inside(entry.name, tuple(box.name for box in boxes), along, repeated)
    drains, returns = section.take("drains"), section.take("returns")
    section.finish()
    return Site(vessel, boxes, read_drains(world, drains, inside) if drains is not None else (),
                read_returns(world, returns, inside) if returns is not None else ())


def _own_box(world: World, section: CaseSection, node: Node) -> tuple[Box, ...]:
    """Return the box in a tank's section, by the name it has there."""
    inner = section.inner(node, "box")
    if inner is None:
        return ()
    name = inner.text("name", BOX)
    inner.owner = owner_of("box", name, section.owner)
    return (_box(world, inner, name, ""),)


def read_boxes(world: World, node: Node) -> tuple[Box, ...]:
    """Return the boxes of the list behind 'overflow boxes'."""
    boxes = []
    for entry in with_same_as(world.reading, node, "box"):
        section = entry.section(world.reading, "box")
        tank = world.which(section, "in", world.tanks, "tank", "")
        boxes.append(_box(world, section, entry.name, tank))
    return tuple(boxes)


def _box(world: World, section: CaseSection, name: str, tank: str) -> Box:
    world.reading.lines.setdefault(f"box {section.owner}", section.line)
    vessel = read_vessel(section, name)
    node = section.take("over")
    # A name of its own: the box has a length and a height too, and a band moves whatever goes by its name.
    named = f"{section.owner}: edge"
    edges = read_items(world.reading, node, ("edge",), Labels.of(section.owner), named) if node is not None else []
    inside = {"yes": True, "no": False}.get(section.word("inside tank"))
    section.finish()
    return Box(replace(vessel, shape=replace(vessel.shape, label=f"{section.owner}: {vessel.shape.kind}")), tank,
               edges[0] if edges else _NO_EDGE, inside)


def _owners(site: Site, name: str) -> list[str]:
    """Return the owners of everything in a tank's section, for a tank of this name."""
    owners = [name, *(owner_of("box", box.name, name) for box in site.boxes)]
    owners += [owner_of("drain", drain.name, name) for drain in site.drains]
    for way in site.returns:
        owner = owner_of("return", way.name, name)
        owners += [owner, f"{owner}: siphon break"]
    return owners


def _again(site: Site, label: Callable[[str], str], name: str) -> Site:
    made = rewritten(site, Rewriting(label=label))
    return replace(made, vessel=replace(made.vessel, name=name))


def _add(world: World, found: Tanks, name: str, site: Site, place: str) -> None:
    """Enter a tank under its name; its returns hang on `place` where a header runs along it."""
    found.tanks.append(site.vessel)
    world.inner[name] = {drain.name: f"{name} {drain.name}" for drain in site.drains}
    for box in site.boxes:
        found.boxes.append(replace(box, vessel=replace(box.vessel, name=f"{name} {box.name}"), tank=name))
    for drain in site.drains:
        upper = f"{name} {drain.tank}" if drain.tank else name
        found.drains.append(replace(drain, name=f"{name} {drain.name}", tank=upper))
    for way in site.returns:
        found.returns.append(replace(way, name=f"{name} {way.name}", tank=name, source=way.source or place))


def _groups(world: World, description: str, twins: list[tuple[str, Site]]) -> None:
    """Take note of what one description made: tanks, and what stands in them by the name it has there."""
    world.groups.append(Group(description, tuple(name for name, _ in twins)))
    members: dict[tuple[str, str], list[str]] = {}
    for name, site in twins:
        for what, things in (("box", site.boxes), ("drain", site.drains), ("return", site.returns)):
            for thing in things:
                members.setdefault((what, thing.name), []).append(f"{name} {thing.name}")
    world.groups += [Group(f"{description} {local}", tuple(names)) for (_, local), names in members.items()]
