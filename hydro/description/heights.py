"""Where a height is: 'so much above or below a place', made a level above the ground.

The ground is the datum (0 m). 'NAME rim' of a vessel stands its shape's height above 'NAME bottom', 'lip of NAME' is the lip
of that drain's inlet. Heights may hang on one another ('sump bottom' below 'tank bottom'), only not in a circle. 'NAME
water' is a tank's level with the pumps running: known only when somebody has solved for it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NoReturn

from hydro.description.build import Build, Height, Vessel
from hydro.errors import Complaint, InputError
from hydro.quantities.uncertain import Sample, Uncertain

LIP = "lip of "
GROUND, BOTTOM, RIM, WATER = "ground", " bottom", " rim", " water"


def places_of(build: Build) -> tuple[str, ...]:
    """Return the places of a build by name; besides them 'lip of NAME' for each drain."""
    upper = (*build.tanks, *(box.vessel for box in build.boxes))
    return (GROUND, *(vessel.name + part for vessel in upper for part in (BOTTOM, RIM, WATER)),
            *(sump.name + part for sump in build.sumps for part in (BOTTOM, RIM)))


class WaterUnknown(ValueError):
    """A height hangs on a tank's running level, which nobody has given."""


class CircularHeights(InputError):
    """Heights that hang on each other in a circle; `places` are the places it leads through."""

    def __init__(self, file: str, key: str, circle: tuple[str, ...]) -> None:
        self.places = frozenset(circle)
        super().__init__([Complaint(file, 0, key, f"this height goes round in a circle ({' -> '.join(circle)})",
                                    "a chain of heights that ends at the ground")])


def resolve(height: Height, build: Build, sample: Sample, tank_water: Mapping[str, Any] | None = None) -> Any:
    """Return a height above the ground in metres (an array where a pick is one).

    `tank_water` gives running levels by the vessel's name, in metres above the ground. InputError where heights hang on each
    other in a circle or on something that the build does not have, `WaterUnknown` where a level is needed and not given.
    """
    return _Places(build, sample, tank_water).height(height, ())


def place_level(place: str, build: Build, sample: Sample, tank_water: Mapping[str, Any] | None = None) -> Any:
    """Return the level of a place by name ('tank rim', 'lip of left'), as `resolve` does."""
    return _Places(build, sample, tank_water).place(place, ())


def vessel_height(vessel: Vessel, sample: Sample) -> Any:
    """Return the inner height of a vessel from its bottom to its rim, in metres; KeyError where its shape has none."""
    values = vessel.shape.values
    value = values.get("height")
    if value is None:
        # A table of bucket fills without a height of its own is taken to end at the rim.
        rows = values["table"]
        last = rows[-1] if isinstance(rows, tuple) else None
        value = last[1] if isinstance(last, tuple) else None
    if not isinstance(value, Uncertain):
        raise TypeError(f"{vessel.name}: the height of '{vessel.shape.kind}' is not a number")
    return value.at(sample)


@dataclass(frozen=True, slots=True)
class _Places:
    """The places of one build under one choice of values. `trail`: the places that wait for the one being resolved."""

    build: Build
    sample: Sample
    tank_water: Mapping[str, Any] | None

    def height(self, height: Height, trail: tuple[str, ...]) -> Any:
        if height.place in trail:
            circle = (*trail[trail.index(height.place):], height.place)
            raise CircularHeights(self.build.file, height.offset.name, circle)
        return height.offset.at(self.sample) + self.place(height.place, trail)

    def place(self, place: str, trail: tuple[str, ...]) -> Any:
        trail = (*trail, place)
        if place == GROUND:
            return 0.0
        if place.startswith(LIP):
            return self.height(self._lip(place.removeprefix(LIP)), trail)
        name, _, part = place.rpartition(" ")
        vessel = next((vessel for vessel in self.build.vessels if vessel.name == name), None)
        if vessel is None or part not in ("bottom", "rim", "water"):
            self._refuse("", f"the place '{place}'", f"one of {', '.join(places_of(self.build))}, {LIP}NAME")
        if part == "water":
            if self.tank_water is None or name not in self.tank_water:
                raise WaterUnknown(f"a height hangs on the running level of '{name}', which is not known yet")
            return self.tank_water[name]
        bottom = self.height(vessel.bottom, trail)
        return bottom if part == "bottom" else bottom + vessel_height(vessel, self.sample)

    def _lip(self, name: str) -> Height:
        for drain in self.build.drains:
            if drain.name == name:
                lip = drain.inlet.values.get("lip")
                if isinstance(lip, Height):
                    return lip
        self._refuse("", f"'{LIP}{name}'", "the name of a drain whose inlet has a lip")

    def _refuse(self, key: str, found: str, expected: str) -> NoReturn:
        raise InputError([Complaint(self.build.file, 0, key, found, expected)])
