"""The names in a file before its entries are read: what 'in', 'into', 'from' and 'behind' may refer to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from hydro.case.names.repeated import exception_tables
from hydro.case.names.same_as import with_same_as
from hydro.case.names.scope import name_list, near_name
from hydro.case.syntax.list_entries import Entry
from hydro.case.syntax.reading import CaseSection, Reading
from hydro.case.syntax.yaml_nodes import Node, Text, YamlMapping
from hydro.description.build import Chamber, Group, Run

BOX = "box"
"""What the box in a tank's section is called there, unless it has a name."""


@dataclass(slots=True)
class World:
    """Names known beforehand, and what the reading collects beside the records.

    `tanks` gives the description each belongs to ('' for one by itself), `boxes` the tank, `chambers` the sump, `pumps` the
    header each pushes into ('' for its own), `meets` the header of a description of pumps. `sources` are the pumps and headers
    that returns may hang on, `given` the headers of pumps that were found to need one, `feet` those with a line before them.
    """

    reading: Reading
    tanks: dict[str, str] = field(default_factory=dict)
    boxes: dict[str, str] = field(default_factory=dict)
    chambers: dict[str, str] = field(default_factory=dict)
    pumps: dict[str, str] = field(default_factory=dict)
    meets: dict[str, str] = field(default_factory=dict)
    sources: dict[str, None] = field(default_factory=dict)
    given: dict[str, str] = field(default_factory=dict)
    feet: dict[str, Node] = field(default_factory=dict)
    inner: dict[str, dict[str, str]] = field(default_factory=dict)
    groups: list[Group] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)

    @property
    def uppers(self) -> list[str]:
        """Tanks and boxes."""
        return [*self.tanks, *self.boxes]

    def cut(self, sump: str, chambers: Iterable[Chamber]) -> None:
        """Take note of a sump's chambers."""
        for chamber in chambers:
            self.chambers.setdefault(chamber.name, sump)

    def first_chamber(self) -> str:
        """Return the only sump's first chamber, '' where there are several sumps or none."""
        return next(iter(self.chambers), "") if len(set(self.chambers.values())) == 1 else ""

    def last_chamber(self) -> str:
        """Return the only sump's last chamber, '' where there are several sumps or none."""
        return next(reversed(self.chambers), "") if len(set(self.chambers.values())) == 1 else ""

    def header_of(self, name: str, otherwise: str) -> str:
        """Return the header that a pump or header is known by; a pump that has none gets the name `otherwise`."""
        if name in self.meets:
            return self.meets[name]
        if name in self.pumps:
            return self.pumps[name] or self.given.setdefault(name, otherwise)
        return name

    def fed_from(self, name: str) -> str:
        """Return the pump or header that a name at a return refers to: a pump's header where it shares one."""
        return self.meets.get(name) or self.pumps.get(name) or name

    def named(self, section: CaseSection, key: str, names: Iterable[str], what: str, otherwise: str = "") -> str:
        """Return the name behind a key, one of some; `otherwise` where it is absent or wrong."""
        name, known = section.text(key, otherwise), list(names)
        if not name or not known or name in known:
            return name
        folded = [one for one in known if one.casefold() == name.casefold()]
        if folded:
            return folded[0]
        self.reading.loose = True
        # Read on as if the nearest were meant, lest what hangs on it be complained of too.
        meant = near_name(name, known)
        section.complain(key, f"there is no {what} '{name}'", f"one of {name_list(known)}", meant)
        return otherwise or meant

    def which(self, section: CaseSection, key: str, names: Iterable[str], what: str, otherwise: str) -> str:
        """Return the name behind a key that may be left out where there is only one; report it where there are several."""
        known = list(names)
        name = self.named(section, key, known, what, otherwise)
        if not name and key not in section.table.entries and len(known) > 1:
            self.reading.loose = True
            section.complain("", f"does not say which {what}", f"'{key}: NAME' with one of {name_list(known)}")
        return name or (known[0] if known else "")


def survey(reading: Reading, table: YamlMapping) -> World:
    """Return the names in a file; mistakes in its entries are reported later, when they are read."""
    world, quiet = World(reading), replace(reading, complaints=[], lines={})
    if "tank" in table.entries:
        world.tanks["tank"] = ""
    for entry in _entries(quiet, table.entries.get("tanks"), "tank"):
        exceptions = exception_tables(quiet, entry) if entry.count else []
        box = next((found for one in (entry.table, *exceptions) if (found := _box(one))), "")
        for name in _names(entry):
            world.tanks[name] = entry.name if entry.count else ""
            if box:
                world.boxes[f"{name} {box}"] = name
    for entry in _entries(quiet, table.entries.get("overflow boxes"), "box"):
        world.boxes.setdefault(entry.name, _text(entry.table, "in") or next(iter(world.tanks), ""))
    if isinstance(alone := table.entries.get("pump"), YamlMapping):
        _pump(world, Entry(_text(alone, "name") or "pump", "pump", alone))
    for entry in _entries(quiet, table.entries.get("pumps"), "pump"):
        _pump(world, entry)
    return world


def _entries(quiet: Reading, node: Node | None, what: str) -> list[Entry]:
    return with_same_as(quiet, node, what) if node is not None else []


def _names(entry: Entry) -> list[str]:
    return [f"{entry.name} {number}" for number in range(1, entry.count + 1)] if entry.count else [entry.name]


def _text(table: YamlMapping, key: str) -> str:
    node = table.entries.get(key)
    return node.text if isinstance(node, Text) else ""


def _box(table: YamlMapping) -> str:
    """Return the name of the box in a tank's section, '' where there is none."""
    box = table.entries.get("box")
    return (_text(box, "name") or BOX) if isinstance(box, YamlMapping) else ""


def into_of(table: YamlMapping) -> str:
    """Return the header that stands behind 'into' at a pump, '' for its own."""
    node = table.entries.get("into")
    return _text(node, "header") if isinstance(node, YamlMapping) else _text(table, "into")


def _pump(world: World, entry: Entry) -> None:
    into = into_of(entry.table) or (entry.name if entry.count else "")
    for name in _names(entry):
        world.pumps[name] = into
    if entry.count:
        world.meets[entry.name] = into
    world.sources[into or entry.name] = None
