"""What headers are called that nobody named: each pump pushes into one."""

from __future__ import annotations

from hydro.build import Build, Pump, Return


def header_of(build: Build, pump: Pump) -> str:
    """Return the name of the header a pump pushes into."""
    return pump.header or ("tee" if len(build.pumps) == 1 else f"{pump.name} tee")


def fed_from(build: Build, described: Return) -> str:
    """Return the name of the header that feeds a return."""
    for pump in build.pumps:
        if described.source in ("", pump.name):
            return header_of(build, pump)
    return described.source
