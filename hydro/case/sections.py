"""The whole file: its sections in the order in which they need each other, and one Build out of them."""

from __future__ import annotations

from pathlib import Path

from hydro.build import Build, Chamber, Height, Item, Pump, Sump, Vessel
from hydro.case.chambers import read_chambers
from hydro.case.plumbing import read_drains, read_pump, read_returns
from hydro.case.reading import UNREAD, UNREAD_HEIGHT, Reading, Section
from hydro.case.rules import judge
from hydro.case.settings import read_defaults, read_notes, read_water, read_wishes
from hydro.case.vessels import read_vessel
from hydro.case.yaml_nodes import Table
from hydro.units import SYSTEMS

_NO_VESSEL = Item("inside", dict.fromkeys(("length", "width", "height"), UNREAD))
FREEZING, HOT = 273.15, 313.15
MOST_SALT = 42.0
MOST_TAPE = 0.2


def read_build(reading: Reading, table: Table, folder: Path) -> Build:
    """Return the build that a file describes; mistakes are noted in `reading`, and then the build must not be used."""
    top = Section(reading, table, "")
    reading.system = top.word("units", SYSTEMS, "metric")
    tape = top.number("my tape", "length", 0.0, MOST_TAPE)
    reading.tape = tape.middle if tape is not None and tape is not UNREAD and tape.middle == tape.middle else 0.0
    title = top.text("title", Path(reading.file).stem.strip("<>") or "a build")
    tank = _vessel(top, "tank", "{inside: 197 x 99 x 78 cm, bottom: 62 cm above ground}")
    sump_section = top.section("sump", "{inside: 100 x 50 x 45 cm, bottom: at ground, chambers: [...]}", required=True)
    sump = Vessel("sump", _NO_VESSEL, UNREAD_HEIGHT)
    chambers: tuple[Chamber, ...] = ()
    lines: dict[str, Height] = {}
    if sump_section is not None:
        sump = read_vessel(sump_section, "sump")
        chambers, lines = read_chambers(sump_section)
        sump_section.finish()
    drains = top.take("drains", required="[{inlet: ..., line: [...], into: {...}}]")
    returns = top.take("returns", required="[{line: [...], end: HEIGHT}]")
    pump_section = top.section("pump", "{curve: [0 L/h = 5.0 m, 3600 L/h = 3.9 m]}", required=True)
    pump = read_pump(pump_section, chambers, folder) if pump_section is not None else Pump("pump", "", UNREAD_HEIGHT)
    water_node = top.take("water")
    where = sump_section.line if sump_section is not None else 0
    pump_chamber = pump.chamber or (chambers[-1].name if chambers else "")
    wishes, counts_on = read_wishes(reading, top.take("wishes"))
    build = Build(
        title=title, tanks=(tank,), sumps=(Sump(sump, chambers),),
        drains=read_drains(reading, drains, chambers) if drains is not None else (),
        returns=read_returns(reading, returns) if returns is not None else (),
        pumps=(pump,),
        water=read_water(reading, water_node, lines, pump_chamber, where),
        overrides=read_defaults(reading, top.take("defaults")),
        wishes=wishes, counts_on=counts_on,
        temperature=top.number("temperature", "temperature", FREEZING, HOT),
        salinity=top.number("salinity", "salinity", 0.0, MOST_SALT),
        tape=reading.tape, units=reading.system, notes=read_notes(top), file=reading.file)
    top.finish()
    judge(reading, build)
    return build


def _vessel(top: Section, name: str, form: str) -> Vessel:
    section = top.section(name, form, required=True)
    if section is None:
        return Vessel(name, _NO_VESSEL, UNREAD_HEIGHT)
    vessel = read_vessel(section, name)
    section.finish()
    return vessel
