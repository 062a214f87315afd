"""Drains, returns and the pump."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from hydro.build import BucketTest, Chamber, Drain, Height, Item, Pump, Return
from hydro.case.items import Labels, every_field, kinds_of, read_items, read_line
from hydro.case.pump_curve import read_curve
from hydro.case.reading import UNREAD_HEIGHT, Reading, Section
from hydro.case.same_as import with_same_as
from hydro.case.yaml_nodes import Node, Table, Text
from hydro.rough import Rough
from hydro.units import UnitProblem, nearest, read

POINTS = ("sideways", "down", "up")
INTAKE = (0.03, 0.05, 0.08)
"""Height above the sump's bottom at which a pump standing there draws air, m, where none is given."""
INTAKE_SOURCE = "default: a small pump standing on the bottom draws air at about 5 cm; common practice, no source"
_NO_INLET = Item("", {})
_TEST = re.compile(r"(?P<volume>.+?)\s+in\s+(?P<time>.+?)\s+at\s+(?P<height>.+)", re.IGNORECASE)
_TEST_FORM = "VOLUME in TIME at HEIGHT above the water at the pump, such as 10 L in 7.5 s at 1.2 m"


def read_drains(reading: Reading, node: Node, chambers: Sequence[Chamber]) -> tuple[Drain, ...]:
    """Return the drains of the list behind 'drains'."""
    drains = []
    for name, owner, table in with_same_as(reading, node, "drain"):
        section = Section(reading, table, owner)
        section.known += ["name", "same as"]
        inlet_node = section.take("inlet", required="{elbow up: 43 mm, lip: HEIGHT}")
        inlets = read_items(reading, inlet_node, ("inlet",), Labels.of(owner), owner) if inlet_node else []
        line = read_line(reading, section.take("line", required="[pipe 40 PN10 120 cm, elbow 90]"), owner)
        chamber, end = "", UNREAD_HEIGHT
        into = section.section("into", "{chamber: NAME, end: HEIGHT}", required=True)
        if into is not None:
            into.owner = owner
            chamber = known_chamber(into, chambers, first=True)
            end = into.height("end", required="LENGTH above sump bottom") or UNREAD_HEIGHT
            into.finish()
        section.finish()
        drains.append(Drain(name, inlets[0] if inlets else _NO_INLET, line, chamber, end))
    if not reading.rows(node):
        reading.complain(node.line, "drains", "no drains", "at least one")
    return tuple(drains)


def known_chamber(section: Section, chambers: Sequence[Chamber], first: bool) -> str:
    """Return the chamber that 'chamber' names; where it is absent the first one or the last one."""
    names = [chamber.name for chamber in chambers]
    otherwise = (names[0] if first else names[-1]) if names else ""
    name = section.text("chamber", otherwise)
    if names and name not in names:
        section.complain("chamber", f"there is no chamber '{name}'", f"one of {', '.join(names)}", nearest(name, names))
        return otherwise
    return name


def read_returns(reading: Reading, node: Node) -> tuple[Return, ...]:
    """Return the returns of the list behind 'returns'."""
    returns = []
    for name, owner, table in with_same_as(reading, node, "return"):
        section = Section(reading, table, owner)
        section.known += ["name", "same as"]
        line = read_line(reading, section.take("line", required="[hose 32 mm 2.1 m]"), owner, ("part", "break"))
        end = section.height("end", required="LENGTH below tank water") or UNREAD_HEIGHT
        points = section.word("points", POINTS, "sideways")
        highest = section.height("highest point")
        hole = _siphon_break(section)
        section.finish()
        marks = [item for item in line if item.kind in kinds_of(("break",))]
        if marks and hole is None:
            section.complain("line", f"'{marks[0].kind}' in the line, but none described",
                             "'siphon break: {hole: 8 mm, at: HEIGHT}' at the return")
        if len(marks) > 1:
            section.complain("line", f"'{marks[1].kind}' stands twice in the line", "one place")
        returns.append(Return(name, line, end, points, hole, highest))
    if not reading.rows(node):
        reading.complain(node.line, "returns", "no returns", "at least one")
    return tuple(returns)


def _siphon_break(section: Section) -> Item | None:
    """Return the siphon break of a return: a key with the element's word, behind it its fields, or 'none'."""
    for word, kind in kinds_of(("break",)).items():
        node = section.take(word)
        if node is None or (isinstance(node, Text) and node.text.lower() in ("", "none", "no")):
            continue
        reading, owner = section.reading, section.path(word)
        if isinstance(node, Table):
            fields = ", ".join(every_field(kind))
            whole: Node = Table({word: Text("", node.line), **node.entries}, {word: node.line, **node.lines}, node.line)
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


def read_pump(section: Section, chambers: Sequence[Chamber], folder: Path) -> Pump:
    """Return the pump. `folder` is where a curve's file is looked for."""
    reading = section.reading
    name = section.text("name", "pump")
    chamber = known_chamber(section, chambers, first=False)
    intake = section.height("intake")
    if intake is None:
        low, middle, high = INTAKE
        intake = Height(Rough(low, middle, high, section.path("intake"), INTAKE_SOURCE), "sump bottom")
    curve_node, box_node, bucket_node = (section.take(key) for key in ("curve", "box", "bucket"))
    curve = read_curve(reading, curve_node, section.path("curve"), folder) if curve_node else ()
    most_flow, most_height = _box(section, box_node) if box_node else (None, None)
    tests = _tests(section, bucket_node) if bucket_node else ()
    if not (curve_node or box_node or bucket_node):
        section.complain("", "nothing says what the pump can do",
                         "at least one of 'curve' (points), 'box' (most flow, most height) and 'bucket' (timed tests)")
    speed = section.number("speed", "share", 0.05, 1.5)
    power = section.number("power", "power", 0.0, 1e5)
    line_node = section.take("line")
    line = read_line(reading, line_node, section.owner) if line_node else ()
    section.finish()
    return Pump(name, chamber, intake, curve, most_flow, most_height, tests, speed, power, line)


def _box(section: Section, node: Node) -> tuple[Rough | None, Rough | None]:
    """Return what the pump's box says: most flow and most height."""
    box = section.reading.section(node, section.path("box"), "{most flow: 7000 L/h, most height: 3.8 m}")
    if box is None:
        return None, None
    box.owner = section.owner
    flow = box.number("most flow", "flow", 1e-7, 1.0, required="7000 L/h", name=section.path("box most flow"))
    height = box.number("most height", "length", 0.05, 200.0, required="3.8 m", name=section.path("box most height"))
    box.finish()
    return flow, height


def _tests(section: Section, node: Node) -> tuple[BucketTest, ...]:
    """Return the timed buckets."""
    reading, path, tests = section.reading, section.path("bucket"), []
    for number, entry in enumerate(reading.rows(node), 1):
        text = reading.text(entry, path)
        values = reading.attempt(entry.line, path, partial(_test, text.text, reading.system)) if text else None
        if values is not None:
            named = [reading.named(value, f"{path} {number} {what}", entry.line)
                     for value, what in zip(values, ("volume", "time", "height"), strict=True)]
            tests.append(BucketTest(*(value for value in named if isinstance(value, Rough))))
    return tuple(tests)


def _test(text: str, system: str) -> tuple[Rough, Rough, Rough]:
    match = _TEST.fullmatch(text)
    if match is None:
        raise UnitProblem(f"'{text}' is no bucket test", _TEST_FORM)
    volume, time = read(match["volume"], "volume", system), read(match["time"], "time", system)
    height = read(match["height"], "length", system)
    if volume.middle <= 0.0 or time.middle <= 0.0 or height.middle < 0.0:
        raise UnitProblem(f"'{text}' is out of physical range", _TEST_FORM)
    return volume, time, height
