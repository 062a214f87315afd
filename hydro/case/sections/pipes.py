"""Pipes between headers and waters, and the header that runs along a row of tanks."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hydro.case.keys import SECTIONS
from hydro.case.names.declared_names import World
from hydro.case.names.renaming import Rewriting, rewritten
from hydro.case.names.repeated import renamed
from hydro.case.names.same_as import with_same_as
from hydro.case.names.scope import name_list
from hydro.case.rules.geometry import has_bore
from hydro.case.syntax.items import read_line_parts
from hydro.case.syntax.list_entries import Entry, owner_of
from hydro.case.syntax.reading import UNREAD_HEIGHT, CaseSection
from hydro.case.syntax.yaml_nodes import Node, Text, YamlMapping
from hydro.description.build import Group, Height, Item, Run


def read_pipes(world: World, node: Node) -> tuple[Run, ...]:
    """Return the pipes of the list behind 'pipes between'."""
    runs = []
    for entry in with_same_as(world.reading, node, "pipe"):
        world.reading.lines.setdefault(entry.owner, entry.table.line)
        section = entry.section(world.reading, "pipe")
        (start, start_at), (finish, finish_at) = _end(world, section, "from"), _end(world, section, "to")
        line = _line(section, "line", entry.owner)
        highest = section.height("highest point")
        section.finish()
        if start and start == finish:
            section.complain("to", f"both ends are at '{start}'", "two places")
        runs.append(Run(entry.name, start, finish, line, start_at, finish_at, highest))
    return tuple(runs)


def _end(world: World, section: CaseSection, key: str) -> tuple[str, Height | None]:
    """Return the header or water at one end of a pipe, and the height of its mouth in a water."""
    node, form = section.take(key), section.keys[key].example
    if isinstance(node, YamlMapping):
        inner = CaseSection(world.reading, node, section.path(key), SECTIONS["pipe-end"])
        words = [word for word in ("tank", "chamber") if word in node.entries]
        tank = world.named(inner, "tank", world.uppers, "tank")
        chamber = world.named(inner, "chamber", world.chambers, "chamber")
        at = inner.height("at")
        inner.finish()
        if len(words) != 1:
            inner.complain("", "both a tank and a chamber" if words else "neither a tank nor a chamber", form)
        return tank or chamber, at
    text = world.reading.text(node, section.path(key)) if node is not None else None
    if not isinstance(text, Text):
        return "", None
    if text.text in (*world.uppers, *world.chambers):
        word = "chamber" if text.text in world.chambers else "tank"
        section.complain(key, f"'{text.text}' is a {word}: at which height its mouth stands is missing",
                         f"{{{word}: {text.text}, at: HEIGHT}}")
        return text.text, UNREAD_HEIGHT
    if not text.text:
        section.complain(key, "nothing is written", form)
        return "", None
    header = world.header_of(text.text, f"{text.text} header")
    world.reading.lines.setdefault(f"header {header}", section.line_of(key))
    return header, None


@dataclass(frozen=True, slots=True)
class HeaderRow:
    """A header along a row of tanks: where each tank's returns hang, and the pipes of it."""

    places: tuple[str, ...]
    runs: tuple[Run, ...]
    name: str = ""


def read_row(world: World, node: Node, entry: Entry) -> HeaderRow | None:
    """Return the header that runs along the tanks of a description."""
    key = f"{entry.owner}: header"
    section = world.reading.section(node, key, SECTIONS["tank"]["header"].example, SECTIONS["header"])
    if section is None:
        return None
    name = section.text("name", f"{entry.name} header")
    owner = owner_of("header", name)
    stated = section.text("from")
    if not stated and "from" not in section.table.entries and len(world.sources) > 1:
        world.reading.loose = True
        section.complain("", "does not say which pump or header feeds it", f"'from: NAME' with one of {name_list(world.sources)}")
    feeder = stated or next(iter(world.sources), "")
    between = _line(section, "between", owner)
    lead = _line(section, "line", f"line to {name}")
    ring = section.take("ring")
    closed = _ring(world, section, ring, between, f"ring of {name}")
    section.finish()
    if closed is not None and entry.count < 3:
        section.complain("ring", f"a ring of {entry.count}", "three tanks or more")
    places = [f"{name} {number}" for number in range(1, entry.count + 1)]
    runs = []
    if lead:
        runs.append(Run(f"line to {name}", world.header_of(feeder, f"{feeder} header"), places[0], lead))
    else:
        places[0] = world.header_of(feeder, places[0])
    for place in (world.header_of(feeder, f"{feeder} header"), places[0]):
        world.reading.lines.setdefault(f"header {place}", section.line_of("from"))
    steps = [Run(f"{name} {k} to {k + 1}", places[k - 1], places[k], between) for k in range(1, entry.count)]
    if closed is not None and entry.count > 1:
        steps.append(Run(f"{name} {entry.count} to 1", places[-1], places[0], closed))
    named = [replace(run, line=_labelled(run.line, owner, run.name)) for run in steps]
    if named:
        world.groups.append(Group(name, tuple(run.name for run in named)))
    return HeaderRow(tuple(places), (*runs, *named), name)


def _labelled(line: tuple[Item, ...], owner: str, name: str) -> tuple[Item, ...]:
    return rewritten(line, Rewriting(label=renamed([(owner, owner_of("header", name))])))


def _ring(world: World, section: CaseSection, node: Node | None, between: tuple[Item, ...],
          owner: str) -> tuple[Item, ...] | None:
    """Return the line that closes a ring: one of its own, the same as between the others for 'yes', None without."""
    if node is None:
        return None
    if isinstance(node, Text) and node.text.lower() in ("yes", "no", "true", "false", "on", "off", "none"):
        return between if node.text.lower() in ("yes", "true", "on") else None
    if isinstance(node, Text) and not node.text:
        section.complain("ring", "nothing is written", "yes, or the parts of the pipe that closes the ring")
        return None
    return _line(section, "ring", owner)


def _line(section: CaseSection, key: str, owner: str) -> tuple[Item, ...]:
    """Return the parts of a pipe that stands by itself: one of them must name its bore."""
    node, before = section.take(key), len(section.reading.complaints)
    line = read_line_parts(section.reading, node, owner)
    if node is not None and not has_bore(line) and len(section.reading.complaints) == before:
        section.complain(key, "no part of the line names its bore",
                         "a pipe or hose with its size, such as 'pipe 40 PN10 120 cm'")
    return line
