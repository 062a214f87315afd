"""What is collected while a build is walked through once: waters, links, and where each named thing stands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hydro.description import heights as places
from hydro.description.build import Build, Vessel
from hydro.elements import limits
from hydro.elements.registry import PartContext
from hydro.elements.waters import Body
from hydro.network.model import JUNCTION, Link, Network, Water
from hydro.network.naming import closing_chamber
from hydro.quantities.arrays import Number, each, lesser
from hydro.quantities.uncertain import Sample
from hydro.quantities.water import water_properties


def viscosity_of(build: Build, context: PartContext) -> Number:
    """Return the kinematic viscosity: overridden, else from the water's temperature and salinity."""
    override = build.overrides.get(limits.VISCOSITY.name)
    if override is not None:
        return context.value(override)
    temperature = context.default(limits.TEMPERATURE) if build.temperature is None else context.value(build.temperature)
    salinity = context.value(build.salinity) if build.salinity is not None else 0.0
    return each(lambda kelvin, salt: water_properties(kelvin, salt).kinematic_viscosity, temperature, salinity)


class Assembler:
    """The waters and links so far. `place` gives a water's place by the name it is known by in the build."""

    def __init__(self, build: Build, sample: Sample, tank_water: Mapping[str, Number] | None) -> None:
        self.build = build
        self.context = PartContext(sample, dict(build.overrides),
                             lambda height: places.resolve(height, build, sample, tank_water), 1e-6)
        self.context.viscosity = viscosity_of(build, self.context)
        self.waters: list[Water] = []
        self.links: list[Link] = []
        self.full: Number = 0.0
        self.place: dict[str, int] = {}
        self.sumps: list[tuple[int, ...]] = []
        self.tees: tuple[Any, ...] = ()
        self.groups: dict[str, list[int]] = {name: [] for name in
                                             ("drains", "barriers", "edges", "returns", "runs", "pumps")}

    def water(self, made: Water, known_as: str = "") -> int:
        """Add a water and return its place."""
        self.place[known_as or made.name] = len(self.waters)
        self.waters.append(made)
        return len(self.waters) - 1

    def junction(self, name: str) -> int:
        """Return the place of a water or header by its name; a header that is not there yet is added."""
        return self.place[name] if name in self.place else self.water(Water(name, JUNCTION))

    def link(self, group: str, made: Link) -> int:
        """Add a link to a group ('' for none) and return its place."""
        if group:
            self.groups[group].append(len(self.links))
        self.links.append(made)
        return len(self.links) - 1

    def opening(self, vessel: Vessel, body: Body) -> Number:
        """Return the height of a vessel's lowest opening, at most its rim."""
        if vessel.lowest_opening is None:
            return body.rim
        return lesser(self.context.height(vessel.lowest_opening), body.rim)

    def network(self) -> Network:
        """Return the network of the waters and links collected."""
        closing: Any = self.place.get(closing_chamber(self.build), self.sumps[0][-1] if self.sumps else -1)
        return Network(tuple(self.waters), tuple(self.links), self.full, self.context.used, tuple(self.sumps), closing,
                       tees=self.tees, **{name: tuple(places) for name, places in self.groups.items()})
