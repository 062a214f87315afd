"""Every limit that a check holds something against, and the few general figures, with their source. All can be overridden.

What is a wish of the owner rather than a limit of physics says so: 'common practice, no source'.
"""

from __future__ import annotations

from hydro.description.build import Build
from hydro.elements.registry import Default, register_defaults
from hydro.quantities.uncertain import Uncertain
from hydro.quantities.water import water_properties


def _practice(name: str, value: float, dimension: str, source: str = "common practice, no source") -> Default:
    return Default(name, value, value, value, dimension, source)


VISCOSITY = Default("kinematic viscosity", 1e-7, 1e-6, 1e-5, "viscosity", "from the water's temperature and salinity",
                    divides=True)
TEMPERATURE = Default("water temperature", 288.15, 298.15, 301.15, "temperature", "25 °C where none is given; 15 to 28 °C")
ROOM = _practice("room at the sump rim", 0.025, "length")
TANK_RIM = _practice("room at the tank rim", 0.010, "length",
                     "waves and the film on the walls, at a running sump's rim too; common practice, no source")
LEAST_TURNOVER = _practice("least turnover", 3.0 / 3600.0, "turnover")
MOST_TURNOVER = _practice("most turnover", 10.0 / 3600.0, "turnover")
QUIET_SPEED = _practice("quiet return speed", 1.5, "speed",
                        "5 ft/s with fast valves or pump starts, a plastic valve maker's note; common practice")
MOST_SPEED = _practice("most return speed", 2.4, "speed", "8 ft/s in plastic pipe, a plastic valve maker's note")
LIFT_MARGIN = _practice("lift margin", 0.2, "share", "shut-off head over what must be lifted; common practice, no source")
NEAR_CHANGE = _practice("nearness to a change of mode", 0.15, "share", "chosen here: margin below which a mode is not trusted")
TOP_UP = _practice("top-up reservoir", 0.0, "volume", "none described")

ALL = (VISCOSITY, TEMPERATURE, ROOM, TANK_RIM, LEAST_TURNOVER, MOST_TURNOVER, QUIET_SPEED, MOST_SPEED, LIFT_MARGIN, NEAR_CHANGE,
       TOP_UP)
register_defaults(*ALL)


def limit_of(build: Build, default: Default) -> Uncertain:
    """Return a limit with its band: the owner's wish, an override, or the default."""
    return build.wishes.get(default.name) or build.overrides.get(default.name) or default.uncertain()


def water_density(build: Build) -> float:
    """Return the density of a build's water, kg/m3; 1000 outside the range in which it is known."""
    temperature = build.temperature or build.overrides.get(TEMPERATURE.name) or TEMPERATURE.uncertain()
    try:
        return water_properties(temperature.middle, 0.0 if build.salinity is None else build.salinity.middle).density
    except ValueError:
        return 1000.0
