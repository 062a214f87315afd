"""The whole file: its sections in the order in which they need each other, and one Build out of them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from hydro.case.keys import SECTIONS
from hydro.case.keys.whole_file import SEVERAL
from hydro.case.names.declared_names import World, survey
from hydro.case.names.same_as import with_same_as
from hydro.case.names.scope import full_places
from hydro.case.rules.connections import judge_names, judge_ways
from hydro.case.rules.geometry import judge_geometry
from hydro.case.sections.chambers import read_chambers
from hydro.case.sections.drains_and_returns import read_drains, read_returns
from hydro.case.sections.pipes import read_pipes
from hydro.case.sections.pumps import foot_of, read_pump, read_pumps
from hydro.case.sections.settings import read_defaults, read_notes, read_water, read_wishes
from hydro.case.sections.tanks import Tanks, read_boxes, read_tanks
from hydro.case.sections.vessels import read_vessel
from hydro.case.syntax.reading import UNREAD, UNREAD_HEIGHT, CaseSection, Reading
from hydro.case.syntax.yaml_nodes import YamlMapping
from hydro.description.build import Build, Drain, Height, Item, Pump, Return, Sump, Vessel

_NO_VESSEL = Item("inside", dict.fromkeys(("length", "width", "height"), UNREAD))

Lines = dict[str, Height]


def read_build(reading: Reading, table: YamlMapping, folder: Path) -> Build:
    """Return the build that a file describes. Mistakes are noted in `reading`; if there are any, do not use the build."""
    reading.many = any(key in table.entries for key in SEVERAL)
    top = CaseSection(reading, table, "", SECTIONS["file"])
    reading.system = top.word("units", "metric")
    tape = top.number("my tape")
    reading.tape = tape.middle if tape is not None and tape is not UNREAD and tape.middle == tape.middle else 0.0
    top.take("catalogue")  # read before everything else, for sizes are sought in it
    title = top.text("title", Path(reading.file).stem.strip("<>") or "a build")
    world = survey(reading, table)
    tank = _vessel(top, "tank")
    sumps, lines, where = _sumps(top, world)
    tanks = _tanks(top, world, tank)
    drains, returns = _ways(top, world, tanks)
    pumps = _pumps(top, world, folder)
    if (pipes := top.take("pipes between")) is not None:
        world.runs += read_pipes(world, pipes)
    pumps = tuple(_pushing(world, pump) for pump in pumps)
    water_node = top.take("water")
    wishes, counts_on = read_wishes(top)
    build = Build(
        title=title, tanks=tuple(tanks.tanks), sumps=sumps, drains=drains, returns=returns, pumps=pumps,
        water=read_water(top, water_node, lines, pumps, world, where),
        overrides=read_defaults(top),
        wishes=wishes, counts_on=counts_on,
        temperature=top.number("temperature"),
        salinity=top.number("salinity"),
        tape=reading.tape, units=reading.system, notes=read_notes(top), file=reading.file,
        boxes=tuple(tanks.boxes), runs=tuple(world.runs), groups=tuple(world.groups))
    top.finish(SEVERAL)
    build = full_places(reading, build, world.tanks, world.inner)
    if judge_names(reading, build, world):
        judge_geometry(reading, build, world.tanks)
        judge_ways(reading, build, world)
    return build


def _vessel(top: CaseSection, name: str) -> Vessel | None:
    """Return the only tank; None where tanks stand in a list of their own."""
    section = top.section(name)
    if section is None:
        return None if "tanks" in top.table.entries else Vessel(name, _NO_VESSEL, UNREAD_HEIGHT)
    top.reading.lines.setdefault(f"tank {name}", section.line)
    vessel = read_vessel(section, name)
    section.finish()
    return vessel


def _sumps(top: CaseSection, world: World) -> tuple[tuple[Sump, ...], Lines, int]:
    """Return the sumps, the lines drawn in them, and the line of the first in the file (0 without one)."""
    several = top.take("sumps")
    alone = top.section("sump")
    sections = [("sump", alone)] if alone is not None else []
    for entry in with_same_as(top.reading, several, "sump") if several is not None else ():
        sections.append((entry.name, entry.section(top.reading, "sump")))
    sumps, lines = [], Lines()
    for name, section in sections:
        top.reading.lines.setdefault(f"sump {name}", section.line)
        vessel = read_vessel(section, name, drilled=False)
        chambers, drawn = read_chambers(section, name)
        section.finish()
        for chamber in chambers:
            if chamber.name in world.chambers and world.chambers[chamber.name] != name:
                line = top.reading.lines.get(f"chamber {chamber.name} in {name}", section.line)
                top.reading.complain(line, f"chamber {chamber.name}", f"the name '{chamber.name}' is used in sump "
                                     f"{world.chambers[chamber.name]} too", "a name of its own for each chamber")
        world.cut(name, chambers)
        lines |= drawn
        sumps.append(Sump(vessel, chambers))
    none = (Sump(Vessel("sump", _NO_VESSEL, UNREAD_HEIGHT), ()),)
    return tuple(sumps) or none, lines, sections[0][1].line if sections else 0


def _tanks(top: CaseSection, world: World, tank: Vessel | None) -> Tanks:
    """Return the tanks and boxes, with what stands in their sections."""
    node, boxes = top.take("tanks"), top.take("overflow boxes")
    tanks = read_tanks(world, node) if node is not None else Tanks()
    if tank is not None:
        tanks.tanks.insert(0, tank)
    tanks.boxes += read_boxes(world, boxes) if boxes is not None else ()
    return tanks


def _ways(top: CaseSection, world: World, tanks: Tanks) -> tuple[tuple[Drain, ...], tuple[Return, ...]]:
    """Return all drains and returns, of the tanks' sections and of the file's."""
    drains = top.take("drains", required=not tanks.drains)
    returns = top.take("returns", required=not tanks.returns)
    return ((*tanks.drains, *(read_drains(world, drains) if drains is not None else ())),
            (*tanks.returns, *(read_returns(world, returns) if returns is not None else ())))


def _pumps(top: CaseSection, world: World, folder: Path) -> tuple[Pump, ...]:
    """Return the pumps."""
    several = top.take("pumps")
    alone = top.section("pump")
    pumps: tuple[Pump, ...] = (read_pump(world, alone, folder),) if alone is not None else ()
    if several is not None:
        pumps += read_pumps(world, several, folder)
    return pumps or (Pump("pump", "", UNREAD_HEIGHT),)


def _pushing(world: World, pump: Pump) -> Pump:
    """Return a pump with the header that pipes were found to leave it at, or with the foot of a line it shares."""
    header = pump.header or world.given.get(pump.name, "")
    return replace(pump, header=foot_of(header) if header in world.feet else header)
