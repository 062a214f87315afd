"""What 'tank', 'box' and 'sump' mean where they stand, and every place written out by its full name.

Inside a tank's section, and at a drain or return of a tank, 'tank rim' is its own; 'sump bottom' belongs to the chamber
concerned; behind {tank: NAME, ...} it is the tank named there. Where there is one of a kind it is meant everywhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from hydro.case.names.renaming import Rewriting, rewritten
from hydro.case.syntax.reading import UNREAD_HEIGHT, Reading
from hydro.description.build import Build, Drain, Height, Run, Vessel
from hydro.description.heights import GROUND, LIP
from hydro.quantities.parsing import nearest

MOST_TOLD = 12
"""Most names that a complaint lists."""
MOST_COMPARED = 200

T = TypeVar("T")


def name_list(names: Iterable[str]) -> str:
    """Return names for a complaint, the first dozen."""
    known = list(names)
    more = f" and {len(known) - MOST_TOLD} more" if len(known) > MOST_TOLD else ""
    return ", ".join(known[:MOST_TOLD]) + more


def near_name(word: str, names: Iterable[str]) -> str:
    """Return the nearest of some names; of very many only those are looked at that begin alike."""
    known = list(names)
    if len(known) > MOST_COMPARED:
        known = [name for name in known if name[:2].casefold() == word[:2].casefold()][:MOST_COMPARED]
    return nearest(word, known)


@dataclass(frozen=True, slots=True)
class Home:
    """What the short words mean in one section; `lips` are drains by the name they have inside their tank."""

    tank: str = ""
    box: str = ""
    sump: str = ""
    lips: Mapping[str, str] = field(default_factory=dict)


def full_places(reading: Reading, build: Build, repeated: Mapping[str, str], inner: Mapping[str, Mapping[str, str]]) -> Build:
    """Return the build with every place by its full name; whatever names no place is reported.

    `repeated` gives for each of '12 x' tanks the name they are described under, `inner` the drains of each tank by the names
    they have inside it.
    """
    return _Settling(reading, build, repeated, inner).settled()


@dataclass(slots=True)
class _Settling:
    reading: Reading
    build: Build
    repeated: Mapping[str, str]
    inner: Mapping[str, Mapping[str, str]]
    vessels: dict[str, str] = field(default_factory=dict)
    served: dict[str, str] = field(default_factory=dict)
    boxes: dict[str, list[str]] = field(default_factory=dict)
    cut: dict[str, str] = field(default_factory=dict)
    tanks: set[str] = field(default_factory=set)
    members: dict[str, list[str]] = field(default_factory=dict)
    only: dict[str, str] = field(default_factory=dict)
    refused: set[tuple[str, str]] = field(default_factory=set)

    def __post_init__(self) -> None:
        build = self.build
        self.vessels = {vessel.name.casefold(): vessel.name for vessel in build.vessels}
        self.tanks = {tank.name for tank in build.tanks}
        self.served = {box.name: box.tank for box in build.boxes}
        for box in build.boxes:
            self.boxes.setdefault(box.tank, []).append(box.name)
        self.cut = {chamber.name: sump.name for sump in build.sumps for chamber in sump.chambers}
        for tank, description in self.repeated.items():
            self.members.setdefault(description.casefold(), []).append(tank)
        self.only = {kind: vessels[0].name for kind, vessels in
                     (("tank", build.tanks), ("box", build.boxes), ("sump", build.sumps)) if len(vessels) == 1}

    def home(self, water: str = "", sump: str = "") -> Home:
        """Return what is meant at a tank, a box or a chamber."""
        if water in self.cut and water not in self.tanks:
            return Home(sump=self.cut[water])
        tank = self.served.get(water, water if water.casefold() in self.vessels else "")
        boxes = self.boxes.get(tank, [])
        box = water if water in self.served else boxes[0] if len(boxes) == 1 else ""
        return Home(tank, box, sump, self.inner.get(tank, {}))

    def settled(self) -> Build:
        """Return the build with every place written out."""
        build, water = self.build, self.build.water
        drawn = water.chamber or next((pump.chamber for pump in build.pumps if pump.chamber in self.cut), "")
        return replace(
            build, tanks=tuple(map(self.tank, build.tanks)),
            boxes=tuple(self.at(box, self.home(box.name)) for box in build.boxes),
            sumps=tuple(self.at(sump, Home(sump=sump.name)) for sump in build.sumps),
            drains=tuple(map(self.drain, build.drains)),
            returns=tuple(self.at(way, self.home(way.tank)) for way in build.returns),
            pumps=tuple(self.at(pump, self.home(pump.chamber)) for pump in build.pumps),
            runs=tuple(map(self.run, build.runs)), water=self.at(water, self.home(drawn)))

    def at(self, record: T, home: Home) -> T:
        """Return a record with the places in it written out."""
        return rewritten(record, Rewriting(height=lambda height: self.placed(height, home)))

    def tank(self, tank: Vessel) -> Vessel:
        """Return a tank; its bottom counts from another one, never from itself."""
        home = self.home(tank.name)
        bottom = self.at(tank.bottom, replace(home, tank=""))
        return replace(self.at(replace(tank, bottom=UNREAD_HEIGHT), home), bottom=bottom)

    def drain(self, drain: Drain) -> Drain:
        """Return a drain; its end counts from what it ends in, a chamber or another tank."""
        home = self.home(drain.tank, self.cut.get(drain.into, ""))
        below = self.home(drain.into)
        end = replace(home, tank=below.tank or home.tank, box=below.box or home.box) if below.tank else home
        return replace(drain, inlet=self.at(drain.inlet, home), line=self.at(drain.line, home), end=self.at(drain.end, end),
                       drilled=self.at(drain.drilled, home))

    def run(self, run: Run) -> Run:
        """Return a pipe; each mouth counts from the water in which it stands."""
        return replace(run, line=self.at(run.line, Home()), highest=self.at(run.highest, Home()),
                       start_at=self.at(run.start_at, self.home(run.start)),
                       finish_at=self.at(run.finish_at, self.home(run.finish)))

    def placed(self, height: Height, home: Home) -> Height:
        """Return a height with its place by its full name."""
        place = height.place
        if place == GROUND:
            return height
        if place.startswith(LIP):
            name = place.removeprefix(LIP)
            return replace(height, place=LIP + home.lips[name]) if name in home.lips else height
        name, _, part = place.rpartition(" ")
        own = {"tank": home.tank, "box": home.box, "sump": home.sump}.get(name, "")
        if self.repeated.get(home.tank, "").casefold() == name.casefold():
            own = home.tank
        other = name == "box" and home.tank  # the only box, but of another tank
        full = own or self.vessels.get(name.casefold()) or ("" if other else self.only.get(name, ""))
        if not full or (part == "water" and any(full == sump.name for sump in self.build.sumps)):
            if (height.offset.name, place) not in self.refused:
                self.refused.add((height.offset.name, place))
                self.refuse(height, name, part, full)
            return UNREAD_HEIGHT
        return height if full == name else replace(height, place=f"{full} {part}")

    def refuse(self, height: Height, name: str, part: str, full: str) -> None:
        """Complain of a place that is none, or might be several."""
        build = self.build
        kinds = {"tank": [tank.name for tank in build.tanks], "box": [box.name for box in build.boxes],
                 "sump": [sump.name for sump in build.sumps]}
        several = self.members.get(name.casefold()) or kinds.get(name) or []
        nigh = ""
        if full:
            found, expected = f"'{height.place}': it stands differently in each chamber", f"'{full} bottom' or '{full} rim'"
        elif len(several) > 1:
            found = f"'{height.place}' may be that of {len(several)} {name}s" if name in kinds else (
                f"'{height.place}' may be any of {len(several)}")
            expected = f"one by its name: {name_list(f'{one} {part}' for one in several)}"
        elif name in kinds:
            found, expected = f"'{height.place}', but there is no {name} here", f"a place that is there: {self.places(part)}"
        else:
            found = f"'{height.place}' is no place to measure from"
            expected = f"one of {', '.join(f'{kind} {part}' for kind in kinds)}, {self.places(part)}, {LIP}NAME"
            named = near_name(height.place, (f"{one} {part}" for one in self.vessels.values()))
            nigh = nearest(height.place, [f"{kind} {part}" for kind in kinds] + [named] * bool(named))
        key = height.offset.name
        self.reading.complain(self.reading.lines.get(key, 0), key, found, expected, nigh)

    def places(self, part: str) -> str:
        """Return the places that end in a word, for a complaint."""
        return f"{GROUND}, " + name_list(f"{vessel.name} {part}" for vessel in self.build.vessels)
