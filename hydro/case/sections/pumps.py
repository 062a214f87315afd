"""Pumps: what is known of each, where it draws from and what it pushes into."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from hydro.case.keys import SECTIONS
from hydro.case.names.declared_names import World
from hydro.case.names.renaming import Rewriting, rewritten
from hydro.case.names.repeated import Shape, each_twin
from hydro.case.names.same_as import with_same_as
from hydro.case.sections.drains_and_returns import known_chamber
from hydro.case.sections.pump_curve import read_curve
from hydro.case.syntax.items import read_line_parts
from hydro.case.syntax.list_entries import owner_of
from hydro.case.syntax.reading import CaseSection
from hydro.case.syntax.yaml_nodes import Node, Text, YamlMapping
from hydro.description.build import BucketTest, Group, Height, Pump, Run
from hydro.quantities.parsing import UnitProblem, read
from hydro.quantities.uncertain import Uncertain

INTAKE = (0.03, 0.05, 0.08)
"""Height above the sump's bottom at which a pump standing there draws air, m, where none is given."""
INTAKE_SOURCE = "default: a small pump standing on the bottom draws air at about 5 cm; common practice, no source"
_TEST = re.compile(r"(?P<volume>.+?)\s+in\s+(?P<time>.+?)\s+at\s+(?P<height>.+)", re.IGNORECASE)
_TEST_FORM = "VOLUME in TIME at HEIGHT above the water at the pump, such as 10 L in 7.5 s at 1.2 m"


def read_pumps(world: World, node: Node, folder: Path) -> tuple[Pump, ...]:
    """Return the pumps of the list behind 'pumps'; the file of a curve is looked for in `folder`."""
    pumps: list[Pump] = []
    shape = Shape("pump", "", lambda pump, label, name: replace(rewritten(pump, Rewriting(label=label)), name=name),
                  lambda pump, name: (owner_of("pump", name),))
    for entry in with_same_as(world.reading, node, "pump"):
        twins = each_twin(world.reading, entry, shape, lambda one: read_pump(
            world, one.section(world.reading, "pump"), folder, one.name))
        if entry.count:
            into = world.meets.get(entry.name, entry.name)
            twins = [(name, pump if pump.header else replace(pump, header=into)) for name, pump in twins]
            world.groups.append(Group(entry.name, tuple(name for name, _ in twins)))
        pumps += [pump for _, pump in twins]
    return tuple(pumps)


def read_pump(world: World, section: CaseSection, folder: Path, name: str = "") -> Pump:
    """Return the pump of a section; the file of its curve is looked for in `folder`."""
    reading = section.reading
    name = name or section.text("name", "pump")
    reading.lines.setdefault(section.owner, section.line)
    chamber = _draws_from(world, section)
    intake = section.height("intake")
    if intake is None:
        low, middle, high = INTAKE
        sump = world.chambers.get(chamber) or next(iter(world.chambers.values()), "sump")
        intake = Height(Uncertain(low, middle, high, section.path("intake"), INTAKE_SOURCE), f"{sump} bottom")
    intake_bore = section.number("intake bore")
    curve_node, box_node, bucket_node = (section.take(key) for key in ("curve", "box", "bucket"))
    curve = read_curve(reading, curve_node, section.path("curve"), folder) if curve_node else ()
    most_flow, most_height = _box(section, box_node) if box_node else (None, None)
    tests = _tests(section, bucket_node) if bucket_node else ()
    if not (curve_node or box_node or bucket_node):
        section.complain("", "nothing says what the pump can do",
                         "at least one of 'curve' (points), 'box' (most flow, most height) and 'bucket' (timed tests)")
    if bucket_node and not (curve_node or box_node) and tests:
        _say_a_curve(section, bucket_node, tests)
    speed = section.number("speed")
    power = section.number("power")
    line_node = section.take("line")
    line = read_line_parts(reading, line_node, section.owner) if line_node else ()
    header = _header(world, section)
    off = section.word("off") == "yes"
    section.finish()
    return Pump(name, chamber, intake, curve, most_flow, most_height, tests, speed, power, line, header, off, intake_bore)


def _draws_from(world: World, section: CaseSection) -> str:
    """Return the chamber that a pump draws from, or the header of the pump it stands behind."""
    behind = section.text("behind")
    if behind:
        if "chamber" in section.table.entries:
            section.complain("behind", "stands beside 'chamber'", "one of the two: a pump draws from one place")
        section.known.append("chamber")
        header = world.header_of(behind, f"{behind} header")
        world.reading.lines.setdefault(f"header {header}", section.line_of("behind"))
        return header
    return known_chamber(world, section, world.last_chamber())


def _header(world: World, section: CaseSection) -> str:
    """Return the header that a pump pushes into, '' for its own: 'into: NAME', or {header: NAME, line: [...]}."""
    node = section.take("into")
    if isinstance(node, YamlMapping):
        inner = CaseSection(world.reading, node, section.path("into"), SECTIONS["pump-into"])
        header, line = inner.text("header"), inner.take("line")
        inner.finish()
        if not header and "header" not in node.entries:
            inner.complain("", "no header is named", section.keys["into"].example)
        if header and line is not None:
            _shared_line(world, inner, header, line)
    else:
        text = world.reading.text(node, section.path("into")) if node is not None else None
        header = text.text if isinstance(text, Text) else ""
    if header:
        world.reading.lines.setdefault(f"header {header}", section.line_of("into"))
    return header


def _shared_line(world: World, inner: CaseSection, header: str, line: Node) -> None:
    """Add the pipe between the place where pumps meet and their header, once."""
    known = world.feet.setdefault(header, line)
    name = f"line to {header}"
    if known is not line:
        inner.complain("line", f"a second line to '{header}'", "the line at one of the pumps; 'into: NAME' at the others")
    elif all(run.name != name for run in world.runs):
        parts = read_line_parts(world.reading, line, owner_of("header", header))
        world.runs.append(Run(name, foot_of(header), header, parts))


def foot_of(header: str) -> str:
    """Return the name of the place where pumps meet, before the line that leads to their header."""
    return f"foot of {header}"


def _box(section: CaseSection, node: Node) -> tuple[Uncertain | None, Uncertain | None]:
    """Return what the pump's box says: most flow and most height."""
    box = section.inner(node, "box")
    if box is None:
        return None, None
    box.owner = section.owner
    flow = box.number("most flow", section.path("box most flow"))
    height = box.number("most height", section.path("box most height"))
    box.finish()
    return flow, height


def _tests(section: CaseSection, node: Node) -> tuple[BucketTest, ...]:
    """Return the timed buckets."""
    reading, path, tests = section.reading, section.path("bucket"), []
    for number, entry in enumerate(reading.rows(node), 1):
        text = reading.text(entry, path)
        values = reading.attempt(entry.line, path, partial(_test, text.text, reading.system)) if text else None
        if values is not None:
            named = [reading.named(value, f"{path} {number} {what}", entry.line)
                     for value, what in zip(values, ("volume", "time", "height"), strict=True)]
            tests.append(BucketTest(*(value for value in named if isinstance(value, Uncertain))))
    return tuple(tests)


def _say_a_curve(section: CaseSection, node: Node, tests: Sequence[BucketTest]) -> None:
    """Note bucket tests that say nothing about a curve, in the middle of their bands: one alone, or more flow at more height."""
    rates = [(test.volume.middle / test.time.middle, test.height.middle) for test in tests]
    if len(rates) > 1 and not math.isnan(sum(map(sum, rates))):
        mean = [sum(values) / len(rates) for values in zip(*((flow * flow, head) for flow, head in rates), strict=True)]
        if sum((flow * flow - mean[0]) * (head - mean[1]) for flow, head in rates) < 0.0:
            return
    section.reading.complain(
        node.line, section.path("bucket"), "one bucket test alone" if len(rates) == 1 else "no less flow at the greater height",
        "two tests at different heights, the higher with less flow, or 'box' or 'curve' beside them")


def _test(text: str, system: str) -> tuple[Uncertain, Uncertain, Uncertain]:
    match = _TEST.fullmatch(text)
    if match is None:
        raise UnitProblem(f"'{text}' is no bucket test", _TEST_FORM)
    volume, time = read(match["volume"], "volume", system), read(match["time"], "time", system)
    height = read(match["height"], "length", system)
    if volume.middle <= 0.0 or time.middle <= 0.0 or height.middle < 0.0:
        raise UnitProblem(f"'{text}' is out of physical range", _TEST_FORM)
    return volume, time, height
