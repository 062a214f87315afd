"""What no single value shows: heights against each other, chambers along the sump, names and bores.

Works on middles. A height that hangs on the tank's running level is not known yet and is left alone, as is everything
that could not be read (it is not a number, and compares with nothing).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from typing import Any

from hydro.build import Build, Drain, Height, Item, Return
from hydro.case.reading import Reading
from hydro.elements.registry import KINDS
from hydro.errors import InputError
from hydro.places import LIP, Circle, WaterUnknown, place_level, places_of, resolve
from hydro.rough import Rough
from hydro.units import nearest, show

SLACK = 1e-6
"""Differences below a thousandth of a millimetre are rounding."""


def judge(reading: Reading, build: Build) -> None:
    """Note every mistake that shows only when values are held against each other."""
    judge = _Judge(reading, build)
    for height in heights_in(build):
        judge.place(height)
    judge.circles()
    judge.vessels()
    judge.along_the_sump()
    for drain in build.drains:
        judge.drain(drain)
    for way in build.returns:
        judge.way_back(way)
    judge.water()


def heights_in(thing: Any) -> Iterator[Height]:
    """Yield every height in a build or a part of one."""
    if isinstance(thing, Height):
        yield thing
    elif isinstance(thing, tuple):
        for member in thing:
            yield from heights_in(member)
    elif isinstance(thing, Item):
        yield from heights_in(tuple(thing.values.values()))
    elif dataclasses.is_dataclass(thing) and not isinstance(thing, Rough):
        for field in dataclasses.fields(thing):
            yield from heights_in(getattr(thing, field.name))


@dataclasses.dataclass(slots=True)
class _Judge:
    reading: Reading
    build: Build

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
        return show(value, "length", self.reading.system)

    def complain(self, name: str, found: str, expected: str, near: str = "") -> None:
        self.reading.complain(self.reading.lines.get(name, 0), name, found, expected, near)

    def between(self, height: Height | None, vessel: str) -> None:
        """Complain where a height lies below a vessel's bottom or above its rim."""
        if not isinstance(height, Height):
            return
        level, bottom, rim = self.level(height), self.mark(f"{vessel} bottom"), self.mark(f"{vessel} rim")
        if level > rim + SLACK:
            self.complain(height.offset.name, f"{self.length(level - rim)} above the {vessel} rim",
                          f"a height below the {vessel} rim")
        elif level < bottom - SLACK:
            self.complain(height.offset.name, f"{self.length(bottom - level)} below the {vessel} bottom",
                          f"a height above the {vessel} bottom")

    def place(self, height: Height) -> None:
        """Complain where a height is measured from what is not there."""
        name = height.place.removeprefix(LIP)
        drains = [drain.name for drain in self.build.drains]
        if height.place not in places_of(self.build) and name not in drains:
            known = ", ".join(drains) or "no drain has a name"
            self.complain(height.offset.name, f"there is no drain '{name}'", f"'{LIP}NAME' with one of: {known}",
                          nearest(name, drains))

    def circles(self) -> None:
        """Complain of each circle of heights once; every circle leads through a bottom or a lip."""
        seen: set[frozenset[str]] = set()
        lips = [drain.inlet.values.get("lip") for drain in self.build.drains]
        for height in (self.build.tank.bottom, self.build.sump.bottom, *lips):
            if not isinstance(height, Height):
                continue
            try:
                resolve(height, self.build, {})
            except Circle as circle:
                if circle.places not in seen:
                    self.complain(height.offset.name, circle.complaints[0].found, circle.complaints[0].expected)
                seen.add(circle.places)
            except (InputError, WaterUnknown, KeyError, TypeError):
                continue

    def vessels(self) -> None:
        """Hold the lowest openings against their vessels."""
        self.between(self.build.tank.lowest_opening, "tank")
        self.between(self.build.sump.lowest_opening, "sump")

    def along_the_sump(self) -> None:
        """Hold the chambers against the sump's length, and what they end in against its height."""
        values = self.build.sump.shape.values
        sump = values.get("length", values.get("rim_length"))
        whole = sump.middle if isinstance(sump, Rough) else None
        position, shares, told = 0.0, 0.0, False
        for chamber in self.build.chambers:
            if chamber.end is not None:
                for height in heights_in(chamber.end):
                    self.between(height, "sump")
            self.between(chamber.gear_top, "sump")
            stated = chamber.at or chamber.length
            if stated is not None and whole is None and not told:
                told = True
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
        self.shares(shares)

    def shares(self, total: float) -> None:
        """Hold the chambers' shares against the whole."""
        shared = [chamber for chamber in self.build.chambers if chamber.share is not None]
        measured = [chamber for chamber in self.build.chambers if chamber.length is not None or chamber.at is not None]
        if shared and measured:
            share = shared[-1].share
            self.complain(share.name if share else "", "shares and lengths beside each other", "one of the two for all")
        if shared and total > 1.0 + SLACK:
            share = shared[-1].share
            self.complain(share.name if share else "", f"the chambers' shares add up to {100 * total:.0f} %",
                          "at most 100 %")

    def drain(self, drain: Drain) -> None:
        """Hold a drain's lip, end and line against tank, sump and each other."""
        lip, turns = drain.inlet.values.get("lip"), drain.inlet.values.get("turns")
        if isinstance(lip, Height):
            self.between(lip, "tank")
            if self.level(drain.end) >= self.level(lip):
                self.complain(drain.end.offset.name, "the drain ends above its inlet", "an end below the lip")
            inside = self.mark("tank bottom") - SLACK <= self.level(lip) <= self.mark("tank rim") + SLACK
            if inside and isinstance(turns, tuple) and len(turns) == 2:
                self.turning(lip, turns)
        bottom, end = self.mark("sump bottom"), self.level(drain.end)
        if end < bottom - SLACK:
            self.complain(drain.end.offset.name, f"{self.length(bottom - end)} below the sump bottom",
                          "an end above the sump bottom")
        if drain.inlet.kind and not has_bore(drain.line):
            self.no_bore(drain.name, "drain")

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
        """Hold a return's mouth against the tank, and its line against the pump's for a bore."""
        bottom, end = self.mark("tank bottom"), self.level(way.end)
        if end < bottom - SLACK:
            self.complain(way.end.offset.name, f"{self.length(bottom - end)} below the tank bottom",
                          "a mouth in or above the tank")
        if not has_bore(way.line) and not has_bore(self.build.pump.line):
            self.no_bore(way.name, "return")

    def no_bore(self, name: str, what: str) -> None:
        owner = name if name.startswith(f"{what} ") else f"{what} {name}"
        around = (owner, "pump") if what == "return" else (owner,)
        if any(told.key.startswith(around) for told in self.reading.complaints):
            return  # a part that could not be read may be the one with the bore
        key = f"{owner}: end"
        self.reading.complain(self.reading.lines.get(key, 0), f"{owner}: line", "no part of the line names its bore",
                              "a pipe or hose with its size, such as 'pipe 40 PN10 120 cm'")

    def water(self) -> None:
        """Hold the stated water level and the pump's intake against the sump."""
        self.between(self.build.pump.intake, "sump")
        given = self.build.water
        if given.level is None:
            return
        self.between(given.level, "sump")
        level, intake = self.level(given.level), self.level(self.build.pump.intake)
        if given.kind == "line" and self.mark("sump bottom") - SLACK <= level <= intake <= self.mark("sump rim"):
            self.complain(given.level.offset.name, f"{self.length(intake - level)} below the pump's intake: the pump draws air",
                          "a running line above the intake ('intake: HEIGHT' at the pump)")


def has_bore(line: tuple[Item, ...]) -> bool:
    """Whether any part of a line names a size."""
    return any(field.name in item.values for item in line if item.kind in KINDS
               for field in KINDS[item.kind].fields if field.dimension == "size")
