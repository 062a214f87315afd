"""What no single value shows: heights against each other, chambers along the sump, names and bores.

Works on middles. A height that hangs on the tank's running level is not known yet and is left alone, as is everything
that could not be read (it is not a number, and compares with nothing).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import Any

from hydro.case.names.renaming import numbers_in, parts_in
from hydro.case.names.scope import name_list, near_name
from hydro.case.rules.misplaced import misplaced
from hydro.case.rules.tuned import judge_tuned
from hydro.case.syntax.reading import Reading
from hydro.description.build import Build, Drain, Height, Item, Pump, Return, Sump, Vessel
from hydro.description.heights import LIP, CircularHeights, WaterUnknown, place_level, resolve
from hydro.elements.registry import KINDS
from hydro.errors import InputError
from hydro.quantities.parsing import show
from hydro.quantities.uncertain import Uncertain

SLACK = 1e-6
"""Differences below a thousandth of a millimetre are rounding."""


def judge_geometry(reading: Reading, build: Build, repeated: Mapping[str, str]) -> None:
    """Note every mistake that shows only when values are held against each other; `repeated` as for `scope.full_places`."""
    judge = Judge(reading, build, repeated)
    judge.lips()
    judge.circles()
    judge.vessels()
    for sump in build.sumps:
        judge.along(sump)
    for drain in build.drains:
        judge.drain(drain)
    for way in build.returns:
        judge.way_back(way)
    judge.water()
    misplaced(judge)
    judge_tuned(judge)


@dataclasses.dataclass(slots=True)
class Judge:
    """What judges a file: levels above the ground, and complaints by the name of a number."""

    reading: Reading
    build: Build
    repeated: Mapping[str, str]
    seen: set[tuple[str, ...]] = dataclasses.field(default_factory=set)
    vessel: dict[str, Vessel] = dataclasses.field(default_factory=dict)
    cut: dict[str, Sump] = dataclasses.field(default_factory=dict)

    def __post_init__(self) -> None:
        self.vessel = {vessel.name: vessel for vessel in self.build.vessels}
        self.cut = {chamber.name: sump for sump in self.build.sumps for chamber in sump.chambers}

    def fresh(self, *things: Any) -> bool:
        """Whether nothing with the same numbers was judged before: of twins one is enough."""
        names = tuple(number.name for number in numbers_in(things))
        known = names in self.seen
        self.seen.add(names)
        return not known or not names

    def level(self, height: Height | None) -> float:
        """Return a height above the ground, not a number where it is not known."""
        if not isinstance(height, Height):
            return math.nan
        try:
            return float(resolve(height, self.build, {}))
        except (WaterUnknown, InputError, KeyError, TypeError):
            return math.nan

    def mark(self, place: str) -> float:
        """Return the level of a place."""
        try:
            return float(place_level(place, self.build, {}))
        except (WaterUnknown, InputError, KeyError, TypeError):
            return math.nan

    def length(self, value: float) -> str:
        """Return a length in the file's units."""
        return show(value, "length", self.reading.system)

    def complain(self, name: str, found: str, expected: str, near: str = "") -> None:
        """Complain at the line of a number."""
        self.reading.complain(self.reading.lines.get(name, 0), name, found, expected, near)

    def complain_of(self, item: Item, key: str, found: str, expected: str) -> None:
        """Complain of a part of a line; `key` names the height at which the line ends, or from which it draws."""
        lines, numbers = self.reading.lines, [number.name for number in numbers_in(item)]
        line = next((lines[name] for name in (*numbers, key) if name in lines), 0)
        self.reading.complain(line, item.label, found, expected)

    def between(self, height: Height | None, vessel: str) -> None:
        """Complain where a height lies below a vessel's bottom or above its rim."""
        if not isinstance(height, Height):
            return
        level, bottom, rim = self.level(height), self.mark(f"{vessel} bottom"), self.mark(f"{vessel} rim")
        name = self.repeated.get(vessel) or vessel
        if level > rim + SLACK:
            self.complain(height.offset.name, f"{self.length(level - rim)} above the {name} rim",
                          f"a height below the {name} rim")
        elif level < bottom - SLACK:
            self.complain(height.offset.name, f"{self.length(bottom - level)} below the {name} bottom",
                          f"a height above the {name} bottom")

    def lips(self) -> None:
        """Complain where a height is measured from a drain that is not there."""
        drains = {drain.name: None for drain in self.build.drains}
        for height in parts_in(self.build, Height):
            name = height.place.removeprefix(LIP)
            if height.place.startswith(LIP) and name not in drains:
                known = name_list(drains) or "no drain has a name"
                self.complain(height.offset.name, f"there is no drain '{name}'", f"'{LIP}NAME' with one of: {known}",
                              near_name(name, drains))

    def circles(self) -> None:
        """Complain of each circle of heights once; every circle leads through a bottom or a lip."""
        seen: set[frozenset[str]] = set()
        lips = [drain.inlet.values.get("lip") for drain in self.build.drains]
        for height in (*(vessel.bottom for vessel in self.build.vessels), *lips):
            if not isinstance(height, Height) or not self.fresh("circle", height):
                continue
            try:
                resolve(height, self.build, {})
            except CircularHeights as circle:
                if circle.places not in seen:
                    self.complain(height.offset.name, circle.complaints[0].found, circle.complaints[0].expected)
                seen.add(circle.places)
            except (InputError, WaterUnknown, KeyError, TypeError):
                continue

    def vessels(self) -> None:
        """Hold the lowest openings against their vessels, and the edge of a box against its tank."""
        for vessel in self.build.vessels:
            if vessel.lowest_opening is not None and self.fresh(vessel):
                self.between(vessel.lowest_opening, vessel.name)
        for box in self.build.boxes:
            if self.fresh(box.edge, box.vessel, self.vessel.get(box.tank)):
                for height in parts_in(box.edge, Height):
                    self.between(height, box.tank)

    def along(self, sump: Sump) -> None:
        """Hold the chambers against a sump's length, and what they end in against its height."""
        values = sump.vessel.shape.values
        long = values.get("length", values.get("rim_length"))
        whole = long.middle if isinstance(long, Uncertain) else None
        position, shares, said = 0.0, 0.0, False
        for chamber in sump.chambers:
            if chamber.end is not None:
                for height in parts_in(chamber.end, Height):
                    self.between(height, sump.name)
            self.between(chamber.gear_top, sump.name)
            stated = chamber.at or chamber.length
            if stated is not None and whole is None and not said:
                said = True
                self.complain(stated.name, "the length of the sump is not known",
                              "'plan: LENGTH x WIDTH' at the sump, or 'share: 40 %' at each chamber but the last")
            if chamber.at is not None:
                if chamber.at.middle <= position:
                    self.complain(chamber.at.name, f"ends at {self.length(chamber.at.middle)}, not beyond the chamber "
                                  f"before it ({self.length(position)})",
                                  "chambers in the order in which the water passes")
                position = chamber.at.middle
            elif chamber.length is not None:
                position += chamber.length.middle
            shares += chamber.share.middle if chamber.share is not None else 0.0
            if whole is not None and stated is not None and position > whole + SLACK:
                self.complain(stated.name, f"ends at {self.length(position)}, beyond the sump ({self.length(whole)})",
                              "chambers that fit into the sump's length")
                position = math.nan
        self.shares(sump, shares)

    def shares(self, sump: Sump, total: float) -> None:
        """Hold the chambers' shares against the whole."""
        shared = [chamber for chamber in sump.chambers if chamber.share is not None]
        measured = [chamber for chamber in sump.chambers if chamber.length is not None or chamber.at is not None]
        if shared and measured:
            share = shared[-1].share
            self.complain(share.name if share else "", "shares and lengths beside each other", "one of the two for all")
        if shared and total > 1.0 + SLACK:
            share = shared[-1].share
            self.complain(share.name if share else "", f"the chambers' shares add up to {100 * total:.0f} %",
                          "at most 100 %")

    def drain(self, drain: Drain) -> None:
        """Hold a drain's lip, end and line against its tank, what it ends in and each other."""
        sump = self.cut.get(drain.into)
        below = sump.vessel if sump is not None else self.vessel.get(drain.into)
        if not self.fresh(drain, self.vessel.get(drain.tank), below):
            return
        lip, turns = drain.inlet.values.get("lip"), drain.inlet.values.get("turns")
        if isinstance(lip, Height):
            self.between(lip, drain.tank)
            if self.level(drain.end) >= self.level(lip):
                self.complain(drain.end.offset.name, "the drain ends above its inlet", "an end below the lip")
            inside = self.mark(f"{drain.tank} bottom") - SLACK <= self.level(lip) <= self.mark(f"{drain.tank} rim") + SLACK
            if inside and isinstance(turns, tuple) and len(turns) == 2:
                self.turning(lip, turns)
        if below is not None:
            bottom, end = self.mark(f"{below.name} bottom"), self.level(drain.end)
            if end < bottom - SLACK:
                self.complain(drain.end.offset.name, f"{self.length(bottom - end)} below the {below.name} bottom",
                              f"an end above the {below.name} bottom")
        if drain.inlet.kind and not has_bore(drain.line):
            self.no_bore(drain.end.offset.name)

    def turning(self, lip: Height, turns: tuple[Any, ...]) -> None:
        """Hold the present lip of an elbow that turns against its lowest and highest position."""
        lowest, present, highest = self.level(turns[0]), self.level(lip), self.level(turns[1])
        if lowest > highest:
            self.complain(turns[0].offset.name, "the lowest position is above the highest", "'LOWEST .. HIGHEST'")
        elif present < lowest - SLACK or present > highest + SLACK:
            off = lowest - present if present < lowest else present - highest
            side = "below the lowest" if present < lowest else "above the highest"
            self.complain(lip.offset.name, f"the lip is {self.length(off)} {side} position that 'turns' allows",
                          "a present position within 'turns'")

    def way_back(self, way: Return) -> None:
        """Hold a return's mouth against its tank, and its line against the pump's for a bore."""
        if not self.fresh(way, self.vessel.get(way.tank)):
            return
        bottom, end = self.mark(f"{way.tank} bottom"), self.level(way.end)
        if end < bottom - SLACK:
            name = self.repeated.get(way.tank) or way.tank
            self.complain(way.end.offset.name, f"{self.length(bottom - end)} below the {name} bottom",
                          "a mouth in or above the tank")
        hole = way.hole.values.get("at") if way.hole is not None else None
        if isinstance(hole, Height) and self.level(hole) < bottom - SLACK:
            name = self.repeated.get(way.tank) or way.tank
            self.complain(hole.offset.name, f"{self.length(bottom - self.level(hole))} below the {name} bottom",
                          "a siphon break above the mouth, just under the water")
        alone = len(self.build.pumps) == 1 and len(self.build.returns) == 1 and not self.build.runs
        if not has_bore(way.line) and not (alone and has_bore(self.build.pump.line)):
            self.no_bore(way.end.offset.name, "pump")

    def only_way(self, pump: Pump) -> tuple[Item, ...]:
        """Return the line of the return that a pump feeds alone: the two are one line."""
        fed = [way for way in self.build.returns if way.source in (pump.name, pump.header) or len(self.build.pumps) == 1]
        return fed[0].line if len(fed) == 1 and not self.build.runs else ()

    def no_bore(self, key: str, *around: str) -> None:
        """Complain of a line without a bore; `key` names the height at which it ends."""
        owner = key.removesuffix(": end")
        if any(one.key.startswith((owner, *around)) for one in self.reading.complaints):
            return  # a part that could not be read may be the one with the bore
        lines = self.reading.lines
        self.reading.complain(lines.get(key) or lines.get(owner, 0), f"{owner}: line", "no part of the line names its bore",
                              "a pipe or hose with its size, such as 'pipe 40 PN10 120 cm'")

    def water(self) -> None:
        """Hold the stated water level and the pumps' intakes against the sump."""
        for pump in self.build.pumps:
            sump = self.cut.get(pump.chamber)
            if sump is not None and self.fresh(pump, sump.vessel):
                self.between(pump.intake, sump.name)
                if self.reading.many and pump.line and not has_bore((*pump.line, *self.only_way(pump))):
                    self.no_bore(f"{pump.intake.offset.name.removesuffix(': intake')}: end")
        given = self.build.water
        drawn = [pump for pump in self.build.pumps if pump.chamber in self.cut]
        chamber = given.chamber or (drawn[0].chamber if drawn else "")
        if given.level is None or chamber not in self.cut:
            return
        name = self.cut[chamber].name
        self.between(given.level, name)
        level = self.level(given.level)
        intake = max((self.level(pump.intake) for pump in drawn if pump.chamber == chamber), default=math.nan)
        if given.kind == "line" and self.mark(f"{name} bottom") - SLACK <= level <= intake <= self.mark(f"{name} rim"):
            self.complain(given.level.offset.name, f"{self.length(intake - level)} below the pump's intake: the pump draws air",
                          "a running line above the intake ('intake: HEIGHT' at the pump)")


def has_bore(line: tuple[Item, ...]) -> bool:
    """Whether any part of a line names a size."""
    return any(field.name in item.values for item in line if item.kind in KINDS
               for field in KINDS[item.kind].fields if field.dimension == "size")
