"""Names that the file leaves out: of the header that each pump delivers into, and of the chamber that closes the balance."""

from __future__ import annotations

from hydro.description.build import Build, Pump, Return


def header_of(build: Build, pump: Pump) -> str:
    """Return the name of the header a pump delivers into."""
    return pump.header or ("tee" if len(build.pumps) == 1 else f"{pump.name} tee")


def fed_from(build: Build, described: Return) -> str:
    """Return the name of the header that feeds a return."""
    for pump in build.pumps:
        if described.source in ("", pump.name):
            return header_of(build, pump)
    return described.source


def closing_chamber(build: Build) -> str:
    """Return the chamber that closes the balance: that named with the water, else the first pump's; '' for none."""
    cut = {chamber.name for chamber in build.chambers}
    return build.water.chamber or next((pump.chamber for pump in build.pumps if pump.chamber in cut), "")
