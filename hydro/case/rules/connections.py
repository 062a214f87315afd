"""How the named things hang together: what nobody refers to, what leads nowhere, and loops that share no water."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from hydro.case.names.declared_names import World
from hydro.case.names.scope import MOST_TOLD, name_list, near_name
from hydro.case.syntax.list_entries import owner_of
from hydro.case.syntax.reading import Reading
from hydro.description.build import Build
from hydro.quantities.reaching import reached


def judge_names(reading: Reading, build: Build, world: World) -> bool:
    """Note names that two things share, and return whether there are none."""
    before = len(reading.complaints)
    if reading.many and not reading.loose:
        _Ways(reading, build, world).names()
    return len(reading.complaints) == before


def judge_ways(reading: Reading, build: Build, world: World) -> None:
    """Note every mistake in how tanks, sumps, pumps and headers are joined. In the old, single form there is nothing to join."""
    ways = _Ways(reading, build, world)
    joins = reading.many or any(pump.header for pump in build.pumps)
    if not joins or reading.loose or ways.broken():
        return
    before = len(reading.complaints)
    ways.headers()
    if len(reading.complaints) == before:
        ways.pumps()
    ways.tanks()
    if len(reading.complaints) == before:
        ways.loops()


Pipe = tuple[str, str, str]
"""What it is called, and the two places that it joins."""


@dataclass(slots=True)
class _Ways:
    reading: Reading
    build: Build
    world: World
    own: dict[str, str] = field(default_factory=dict)
    pipes: list[Pipe] = field(default_factory=list)
    waters: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        build = self.build
        self.own = {pump.name: pump.header or f"pump {pump.name}'s own header" for pump in build.pumps}
        self.waters = {*(vessel.name for vessel in build.tanks), *(box.name for box in build.boxes),
                       *(chamber.name for chamber in build.chambers)}
        self.pipes = [*((f"drain {drain.name}", drain.tank, drain.into) for drain in build.drains),
                      *((f"edge of {box.name}", box.tank, box.name) for box in build.boxes),
                      *((f"return {way.name}", self.source(way.source), way.tank) for way in build.returns),
                      *((f"pump {pump.name}", pump.chamber, self.own[pump.name]) for pump in build.pumps),
                      *((f"pipe {run.name}", run.start, run.finish) for run in build.runs)]

    def source(self, name: str) -> str:
        """Return the header that a return hangs on."""
        return self.own.get(name) or name or next(iter(self.own.values()), "")

    def broken(self) -> bool:
        """Whether something could not be read that would be missed here: what it joins is not known."""
        places = {place for _, *ends in self.pipes for place in ends}
        build = self.build
        return "" in places or not (build.drains and build.returns and build.chambers and build.tanks)

    def complain(self, key: str, found: str, expected: str, near: str = "") -> None:
        self.reading.complain(self.reading.lines.get(key, 0), key, found, expected, near)

    def of_vessel(self, what: str, name: str) -> str:
        """Return the words for a tank or box as it is described: of twelve the one description."""
        if f"{what} {name}" in self.reading.lines:
            return f"{what} {name}"
        tank = self.world.boxes.get(name, name)
        return f"{what} {self.world.tanks.get(tank) or tank}{name.removeprefix(tank)}"

    def of_pump(self, name: str) -> str:
        """Return the words for a pump as it is described."""
        if len(self.build.pumps) == 1:
            return "pump" if "pump" in self.reading.lines else owner_of("pump", name)
        described = next((group.name for group in self.build.groups if name in group.members), name)
        owners = (owner_of("pump", name), owner_of("pump", described))
        return next((owner for owner in owners if owner in self.reading.lines), "pump")

    def names(self) -> None:
        """Complain of names that two waters, or a water and a header, share, and of drains, returns, pipes or pumps."""
        seen: dict[str, str] = dict.fromkeys(self.tees(), "place where a pump's line parts")
        for what, name in self.named():
            if name in seen and {seen[name], what} not in ({"chamber", "sump"}, {"chamber"}):
                key = self.of_vessel(what, name) if what in ("tank", "box") else f"{what} {name}"
                self.complain(key, f"the name '{name}' is that of a {seen[name]} too",
                              "a name of its own for each tank, box, sump, chamber and header")
            seen.setdefault(name, what)
        build, clean = self.build, not any(one.found.startswith("the name") for one in self.reading.complaints)
        for what, things in (("drain", build.drains), ("return", build.returns), ("pipe", build.runs), ("pump", build.pumps)):
            called: set[str] = set()
            for name in (thing.name for thing in things):
                if name in called and clean:
                    self.complain(self.of_pump(name) if what == "pump" else owner_of(what, name),
                                  f"the name '{name}' is used twice", f"a name of its own for each {what}")
                called.add(name)

    def tees(self) -> list[str]:
        """Return the names that pumps' own headers have in a network."""
        return ["tee" if len(self.build.pumps) == 1 else f"{pump.name} tee" for pump in self.build.pumps if not pump.header]

    def named(self) -> Iterator[tuple[str, str]]:
        """Yield everything that takes a name among the waters."""
        build = self.build
        yield from (("chamber", chamber.name) for chamber in build.chambers)
        yield from (("sump", sump.name) for sump in build.sumps)
        yield from (("tank", vessel.name) for vessel in build.tanks)
        yield from (("box", box.name) for box in build.boxes)
        headers = [pump.header for pump in build.pumps] + [run.start for run in build.runs if run.start_at is None]
        headers += [run.finish for run in build.runs if run.finish_at is None] + [way.source for way in build.returns
                                                                                 if way.source not in self.own]
        yield from (("header", name) for name in dict.fromkeys(headers) if name)

    def headers(self) -> None:
        """Complain of headers that nothing fills, that nothing leaves, or that only one pipe meets."""
        met: dict[str, list[str]] = {}
        for name, *ends in self.pipes:
            for place in ends:
                if place not in self.waters:
                    met.setdefault(place, []).append(name)
        filled, left = self.moving()
        joined = self.joined(met)
        dry = [group for group in joined if not filled.intersection(group)]
        blind = [group for group in joined if filled.intersection(group) and not left.intersection(group)
                 and not (len(group) == 1 and group[0] in self.own.values())]
        idle = {header for group in (*dry, *blind) for header in group}
        known = dict.fromkeys([*self.own, *(pump.header for pump in self.build.pumps if pump.header),
                               *(header for header in met if header not in self.own.values())])
        wet = [name for name in known if name not in idle]
        wrong = [(max(group, key=lambda one: bool(near_name(one, wet))), "no pump pushes into it", "the name") for group in dry]
        wrong += [(next((one for one in group if one not in self.own.values()), group[0]), "nothing leads away from it",
                   "a return or pipe 'from' it, or the name") for group in blind]
        wrong += [(header, f"only one pipe meets there: {names[0]}", "a second one, or the name") for header, names in met.items()
                  if len(names) == 1 and header not in idle and header not in self.own.values()]
        for header, found, instead in wrong[:MOST_TOLD]:
            others = [name for name in wet if name != header]
            self.complain(f"header {header}", found, f"{instead} of a pump or header ({name_list(others)})",
                          near_name(header, others))

    def moving(self) -> tuple[set[str], set[str]]:
        """Return the places that water is brought to from outside the headers, and those that it leaves for outside."""
        filled, left = set[str](), set[str]()
        for name, start, finish in self.pipes:
            wet = bool(self.waters.intersection((start, finish)))
            if name.startswith("pump ") or (name.startswith("drain ") and wet):
                filled.add(finish)
                left.add(start)
            elif name.startswith("return "):
                left.add(start)
            elif wet:
                filled |= {start, finish}
                left |= {start, finish}
        return filled, left

    def joined(self, met: dict[str, list[str]]) -> list[list[str]]:
        """Return the headers, those together that pipes join."""
        beside: dict[str, list[str]] = {}
        for run in self.build.runs:
            if run.start in met and run.finish in met:
                beside.setdefault(run.start, []).append(run.finish)
                beside.setdefault(run.finish, []).append(run.start)
        seen: set[str] = set()
        groups = []
        for header in met:
            if header not in seen:
                group = reached([header], lambda one: beside.get(one, []))
                seen |= group
                groups.append([one for one in met if one in group] if len(group) > 1 else [header])
        return groups

    def pumps(self) -> None:
        """Complain of a pump that feeds nothing."""
        for pump in self.build.pumps:
            header = self.own[pump.name]
            fed = [name for name, *ends in self.pipes if header in ends and not name.startswith("pump ")]
            behind = any(other.chamber == header for other in self.build.pumps)
            if not fed and not behind:
                self.complain(self.of_pump(pump.name), "it feeds nothing",
                              f"a return or pipe with 'from: {pump.header or pump.name}'")

    def tanks(self) -> None:
        """Complain of tanks and boxes that nothing leaves, or that nothing fills."""
        leaves: set[str] = {start for _, start, _ in self.pipes}
        fills: set[str] = {finish for _, _, finish in self.pipes}
        for run in self.build.runs:
            leaves |= {run.start, run.finish}
            fills |= {run.start, run.finish}
        for what, names in (("tank", [tank.name for tank in self.build.tanks]), ("box", [box.name for box in self.build.boxes])):
            for name in names:
                key = self.of_vessel(what, name)
                if name not in leaves:
                    self.complain(key, f"the {what} '{name}' has no drain", f"a drain with 'in: {name}'")
                if name not in fills:
                    self.complain(key, f"the {what} '{name}' has no return: no water comes in", f"a return with 'tank: {name}'")

    def loops(self) -> None:
        """Complain of everything that shares no water with the first tank."""
        joined: dict[str, set[str]] = {}
        pipes = [(start, finish) for _, start, finish in self.pipes]
        pipes += [(sump.chambers[0].name, chamber.name) for sump in self.build.sumps for chamber in sump.chambers]
        for start, finish in pipes:
            joined.setdefault(start, set()).add(finish)
            joined.setdefault(finish, set()).add(start)
        known: set[str] = set()
        tanks = [(self.of_vessel("tank", tank.name), tank.name) for tank in self.build.tanks]
        sumps = [(f"sump {sump.name}", sump.chambers[0].name) for sump in self.build.sumps if sump.chambers]
        for number, (key, start) in enumerate((*tanks, *sumps)):
            if start in known:
                continue
            if number:
                self.complain(key, "it shares no water with the rest", "a file of its own for each loop")
            known |= reached([start], lambda place: joined.get(place, ()))
