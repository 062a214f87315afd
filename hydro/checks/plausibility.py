"""What a description says that can hardly be meant: pipes too short for their heights, bores in a wrong unit, plates wider than
their sump, a tank that stands inside it. Asked back, not refused: each has a build in which it is true.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from hydro.description.build import Build, Drain, Height, Item, Pump, Return
from hydro.description.heights import RIM, place_level, resolve
from hydro.errors import InputError
from hydro.quantities.formatting import show
from hydro.quantities.uncertain import Uncertain

ROUGH = 0.10
"""Lengths are taken with a tape along the pipe, heights with another: they may disagree by this share."""
BORES_OF_A_FITTING = 4.0
"""So many bores of height a fitting, a valve or an elbow's upright end bridges itself (common practice, no source)."""
PUMP_HEIGHT = 0.25
"""The outlet of a pump may stand so far above its intake, m (common practice, no source)."""
WIDEST = 0.315
"""The widest plastic drain pipe that is sold for houses, m outside (EN 1329, from memory)."""
INSIDE = 0.02
"""A tank's bottom so far below the rim of a sump lies inside the sump's height, m: less is a rough tape."""


@dataclass(frozen=True)
class DescribedHeights:
    """The heights of a build without a solution: a tank's water is taken to stand at the lowest lip in it."""

    build: Build

    @cached_property
    def water(self) -> dict[str, float]:
        """The level that each tank or box is taken to have, by its name, m."""
        levels = dict[str, float]()
        for vessel in self.build.vessels:
            lips = [self._level(drain.inlet.values.get("lip"), {}) for drain in self.build.drains if drain.tank == vessel.name]
            edges = [self._level(box.edge.values.get("at"), {}) for box in self.build.boxes if box.tank == vessel.name]
            known = [level for level in (*lips, *edges) if level == level]
            levels[vessel.name] = min(known) if known else self.place(vessel.name + RIM, {})
        return levels

    def level(self, height: object) -> float:
        """Return a level above the ground, m; not a number where it hangs on something else."""
        return self._level(height, self.water)

    def place(self, name: str, water: dict[str, float] | None = None) -> float:
        """Return the level of a place by name, m; not a number where it is not known."""
        try:
            return float(place_level(name, self.build, {}, self.water if water is None else water))
        except (InputError, ValueError, KeyError, TypeError):
            return math.nan

    def _level(self, height: object, water: dict[str, float]) -> float:
        if not isinstance(height, Height):
            return math.nan
        try:
            return float(resolve(height, self.build, {}, water))
        except (InputError, ValueError, KeyError, TypeError):
            return math.nan


def implausible(build: Build, heights: DescribedHeights) -> list[str]:
    """Return a question for each thing that can hardly be meant, in the order of the file."""
    return [*dict.fromkeys((*_short(build, heights), *_wide_bores(build), *_wide_plates(build), *_inside(build, heights)))]


def _short(build: Build, heights: DescribedHeights) -> Iterator[str]:
    """Ask about lines whose runs of pipe do not reach from one end to the other."""
    for drain in build.drains:
        yield from _too_short(build, drain.line, _fall(drain, heights))
    for way in build.returns:
        pump = _feeding(build, way)
        if pump is not None:
            yield from _too_short(build, (*pump.line, *way.line), _lift(pump, way, heights))


def _too_short(build: Build, line: Sequence[Item], height: float) -> Iterator[str]:
    runs = [item for item in line if item.kind != "bulkhead" and _number(item, "length") is not None]
    lengths = [number.high for item in runs for number in (_number(item, "length"),) if number is not None]
    bores = [number.high for item in line for number in (_number(item, "size"),) if number is not None]
    if not lengths or not bores:
        return
    bridged = BORES_OF_A_FITTING * max(bores) * (len(line) - len(runs))
    if sum(lengths) + bridged < (1.0 - ROUGH) * height:
        long, high = (show(value, "length", build.units) for value in (sum(lengths), height))
        yield (f"{_owner(line[-1])}: its pipes and hoses are {long} long together, and {high} of height lie between its ends; a "
               "length may be missing or in a wrong unit")


def _fall(drain: Drain, heights: DescribedHeights) -> float:
    """Return how far a drain's line has to reach down, m. A standpipe may be counted into it or not, an upright elbow is not."""
    top = heights.level(drain.inlet.values.get("lip"))
    if drain.inlet.kind == "standpipe":
        top = min(top, heights.place(f"{drain.tank} bottom"))
    elif (rim := _number(drain.inlet, "rim")) is not None:
        top -= BORES_OF_A_FITTING * rim.high
    return top - heights.level(drain.end)


def _lift(pump: Pump, way: Return, heights: DescribedHeights) -> float:
    """Return how far the line from a pump to a return's mouth has to reach, over its highest point or its siphon break, m."""
    start, end = heights.level(pump.intake) + PUMP_HEIGHT, heights.level(way.end)
    tops = [heights.level(height) for height in (way.highest, way.hole.values.get("at") if way.hole is not None else None)]
    top = max((level for level in tops if level == level), default=-math.inf)
    return 2.0 * top - start - end if top > max(start, end) else end - start


def _feeding(build: Build, way: Return) -> Pump | None:
    """Return the pump that feeds a return by the two lines that are described, None where other pipes lie between."""
    fed = [pump for pump in build.pumps if way.source in (pump.name, pump.header) or len(build.pumps) == 1]
    in_sump = {chamber.name for chamber in build.chambers}
    return fed[0] if len(fed) == 1 and fed[0].chamber in in_sump and not build.runs else None


def _wide_bores(build: Build) -> Iterator[str]:
    """Ask about inlets and parts wider than any pipe that is sold."""
    for item in (*(drain.inlet for drain in build.drains), *(item for line in build.lines for item in line)):
        for name in ("rim", "throat", "bore", "size"):
            number = _number(item, name)
            if number is not None and number.low > WIDEST:
                yield (f"{_owner(item)}: '{item.kind}' is {1000.0 * number.middle:.0f} mm wide, and pipe is sold up to "
                       f"{1000.0 * WIDEST:.0f} mm; {100.0 * number.middle:.3g} mm may be meant")


def _wide_plates(build: Build) -> Iterator[str]:
    """Ask about what chambers end in where it is wider than the sump."""
    for sump in build.sumps:
        across = sump.vessel.shape.values.get("width", sump.vessel.shape.values.get("rim_width"))
        for chamber in sump.chambers:
            width = None if chamber.end is None else _number(chamber.end, "width")
            if chamber.end is not None and width is not None and isinstance(across, Uncertain) and width.low > 1.01 * across.high:
                wide, room = (show(number.middle, "length", build.units) for number in (width, across))
                yield f"chamber {chamber.name}: its {chamber.end.kind} is {wide} wide, but the {sump.name} is {room} wide"


def _inside(build: Build, heights: DescribedHeights) -> Iterator[str]:
    """Ask about tanks whose bottom lies between bottom and rim of a sump."""
    for tank in build.tanks:
        at = heights.place(f"{tank.name} bottom")
        for sump in build.sumps:
            under = heights.place(f"{sump.name} rim") - at
            if under > INSIDE and at > heights.place(f"{sump.name} bottom") + INSIDE:
                yield (f"{tank.name}: its bottom lies {show(under, 'length', build.units)} under the rim of the {sump.name}; "
                       "it can only stand beside it")


def _owner(item: Item) -> str:
    """Return whose part an item is, from its label: 'drain left'."""
    return item.label.rpartition(":")[0] or "a line"


def _number(item: Item, name: str) -> Uncertain | None:
    value = item.values.get(name)
    return value if isinstance(value, Uncertain) else None
