"""The way from a described build to its network: each part of the loop is made here, by asking the registry of elements."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from hydro import limits, places
from hydro.build import Build, Drain, Item, Return
from hydro.elements import drain as drains
from hydro.elements import pump as pumps
from hydro.elements.fittings import LocalLoss
from hydro.elements.line import Line, LineLink, Mouth, first_bore, read_line
from hydro.elements.narrowing import narrow_places
from hydro.elements.registry import KINDS, Making, Reader, load_all
from hydro.elements.return_line import Break, Hole
from hydro.elements.waters import Body, Plan, read_plan
from hydro.errors import Complaint, InputError
from hydro.network import CHAMBER, JUNCTION, TANK, Link, Network, Water
from hydro.ops import GRAVITY, Number, each, first, greater, lesser
from hydro.rough import Picks
from hydro.water import water


def make_network(build: Build, picks: Picks | None = None, tank_water: Number | None = None) -> Network:
    """Return the network of a build with the values that `picks` chooses.

    `tank_water` is the running level that heights from 'tank water' are counted from, m; needed only where a height is.
    """
    load_all()
    maker = _Maker(build, picks or {}, tank_water)
    maker.vessels()
    maker.drains()
    maker.pump_and_returns()
    return maker.network()


def viscosity_of(build: Build, making: Making) -> Number:
    """Return the kinematic viscosity: overridden, else from the water's temperature and salinity."""
    override = build.overrides.get(limits.VISCOSITY.name)
    if override is not None:
        return making.value(override)
    temperature = making.value(build.temperature or limits.TEMPERATURE.rough())
    salinity = making.value(build.salinity) if build.salinity is not None else 0.0
    return each(lambda kelvin, salt: water(kelvin, salt).kinematic_viscosity, temperature, salinity)


def widest(line: Line) -> Number:
    """Return the largest bore of a line's runs, m: where a hole sits is not always said, and a wide pipe takes more air."""
    bore = line.bore
    for pipe in line.pipes:
        bore = greater(bore, pipe.bore)
    return bore


def _bend(described: Drain) -> str:
    """Return the label of the first bend behind an elbow in the tank's wall: the line is level up to it. Else ''."""
    if KINDS[described.inlet.kind].word != "elbow up":
        return ""
    return next((item.label for item in described.line if KINDS[item.kind].word in ("elbow 90", "bend 90")), "")


class _Maker:
    """Collects waters and links while the build is walked through once."""

    def __init__(self, build: Build, picks: Picks, tank_water: Number | None) -> None:
        self.build = build
        self.making = Making(picks, dict(build.overrides),
                             lambda height: places.resolve(height, build, picks, tank_water), 1e-6)
        self.making.viscosity = viscosity_of(build, self.making)
        self.waters: list[Water] = []
        self.links: list[Link] = []
        self.full: Number = 0.0
        self.groups: dict[str, list[int]] = {"drains": [], "barriers": [], "returns": []}
        self.pump = -1
        self.chamber: dict[str, int] = {}

    def vessels(self) -> None:
        """Make the tank, the sump's chambers and the walls between them."""
        build, making = self.build, self.making
        tank = read_plan(Reader(build.tank.shape, making))
        body = tank.whole(build.tank.name, making.height(build.tank.bottom))
        self.waters.append(Water(build.tank.name, TANK, body, opening=self._opening(build.tank, body)))
        plan = read_plan(Reader(build.sump.shape, making))
        bottom = making.height(build.sump.bottom)
        whole = plan.whole(build.sump.name, bottom)
        opening = self._opening(build.sump, whole)
        for chamber, piece in zip(build.chambers, self._cut(plan, bottom, whole), strict=True):
            if chamber.gear is not None:
                top = making.height(chamber.gear_top) if chamber.gear_top is not None else whole.rim
                gear = making.value(chamber.gear)
                if first(piece.stored(top)[0]) <= first(gear):
                    raise InputError([Complaint(build.file, 0, chamber.gear.name, "more than the chamber holds up to that height",
                                                "a smaller volume, or gear that reaches higher")])
                piece = piece.displaced(gear, top)
            self.chamber[chamber.name] = len(self.waters)
            self.waters.append(Water(chamber.name, CHAMBER, piece, opening=opening))
        for chamber, following in zip(build.chambers, build.chambers[1:], strict=False):
            if chamber.end is not None:
                if plan.width is None and "width" not in chamber.end.values:
                    expected = "'width: 50 cm' at the plate, slot or mat, or 'plan: LENGTH x WIDTH' at the sump"
                    raise InputError([Complaint(build.file, 0, chamber.end.label, "the sump's width is not known", expected)])
                maker = KINDS[chamber.end.kind].make(Reader(chamber.end, making))
                element = maker(plan.width, bottom, whole.rim)
                ends = self.chamber[chamber.name], self.chamber[following.name]
                # A wall faces the pump: beyond its chamber the water passes the walls the other way.
                up, down = ends[::-1] if self.chamber.get(build.pump.chamber, ends[1]) <= ends[0] else ends
                self._link("barriers", Link(chamber.end.label or f"wall of {chamber.name}", element, up, down))

    def _opening(self, vessel: Any, body: Body) -> Number:
        if vessel.lowest_opening is None:
            return body.rim
        return lesser(self.making.height(vessel.lowest_opening), body.rim)

    def _cut(self, plan: Plan, bottom: Number, whole: Body) -> list[Body]:
        """Cut the sump into its chambers, by share or by length."""
        chambers, value = self.build.chambers, self.making.value
        if len(chambers) == 1:
            return [replace(whole, name=chambers[0].name)]
        if any(chamber.share is not None for chamber in chambers):
            shares = [None if chamber.share is None else value(chamber.share) for chamber in chambers]
            rest = 1.0 - sum(share for share in shares if share is not None)
            return [whole.part(chamber.name, rest if share is None else share)
                    for chamber, share in zip(chambers, shares, strict=True)]
        bodies: list[Body] = []
        start: Number = 0.0
        for chamber in chambers:
            end = (value(chamber.at) if chamber.at is not None
                   else start + value(chamber.length) if chamber.length is not None else plan.length)
            if chamber is chambers[-1] and chamber.length is None:
                end = plan.length
            bodies.append(plan.stretch(chamber.name, bottom, start, end))
            start = end
        return bodies

    def _link(self, group: str, link: Link) -> None:
        if group:
            self.groups[group].append(len(self.links))
        self.links.append(link)

    def drains(self) -> None:
        """Make the overflows."""
        making = self.making
        values = {name: making.default(default) for name, default in
                  (("primes_at", drains.PRIMES_AT), ("sweeps_at", drains.SWEEPS_AT),
                   ("breaks_at", drains.BREAKS_AT), ("breaks_by", drains.BREAKS_BY))}
        for described in self.build.drains:
            reader = Reader(described.inlet, making, first_bore(described.line, making))
            inlet = KINDS[described.inlet.kind].make(reader)
            line = read_line(described.line, making, entrance=inlet.entrance, where_from=described.name)
            end = making.height(described.end)
            narrows = narrow_places(line, inlet.throat, inlet.crest - end, inlet.orifice, _bend(described))
            element = drains.Drain(described.name, inlet, line, end, narrows=narrows, **values)
            self._link("drains", Link(described.name, element, 0, self.chamber[described.chamber]))

    def curve(self) -> pumps.Curve:
        """Return the pump's curve from whatever is known of it."""
        pump, value, default = self.build.pump, self.making.value, self.making.default
        tests = [(value(test.volume) / value(test.time), value(test.height)) for test in pump.tests]
        if pump.curve:
            shape = pumps.Curve.of(pump.curve)
        elif pump.most_flow is not None and pump.most_height is not None:
            flow, height = value(pump.most_flow), value(pump.most_height)
            exponent = (pumps.fitted_exponent(flow, height, tests) if tests else default(pumps.BOX_EXPONENT))
            shape = pumps.from_box(flow, height, exponent)
        else:
            return pumps.from_tests(tests).scaled(default(pumps.STRENGTH))
        strength = default(pumps.STRENGTH)
        if tests:
            shape = shape.at_speed(pumps.fitted_speed(shape, tests))
        return shape.scaled(strength)

    def pump_and_returns(self) -> None:
        """Make the pump's line and the returns; with one return they are one link."""
        pump, making = self.build.pump, self.making
        chamber = self.chamber[pump.chamber]
        fixed = {"curve": self.curve(), "intake": making.height(pump.intake),
                 "speed": making.value(pump.speed) if pump.speed is not None else 1.0}
        alone = len(self.build.returns) == 1
        lines = [self._return(described, (*pump.line, *described.line) if alone else described.line)
                 for described in self.build.returns]
        if alone:
            before, beyond, link = lines[0]
            still = self._still(before)
            if beyond is None:
                element = pumps.PumpLine(pump.name, line=before, stopped=still, outlet=link.outlet, end=link.end, **fixed)
                self.pump = len(self.links)
                self._link("returns", Link(pump.name, element, chamber, 0))
            else:
                self.pump = len(self.links)
                self._link("", Link(pump.name, pumps.PumpLine(pump.name, line=before, stopped=still, **fixed),
                                    chamber, len(self.waters)))
                self._beyond(self.build.returns[0], beyond, link)
            return
        riser = read_line(pump.line, making, exit_loss=False, where_from=pump.name) if first_bore(pump.line, making) \
            is not None else Line.of([])
        self.full = self.full + riser.volume
        tee = len(self.waters)
        self.waters.append(Water("tee", JUNCTION))
        self.pump = len(self.links)
        element = pumps.PumpLine(pump.name, line=riser, stopped=self._still(riser if riser.parts else lines[0][0]), **fixed)
        self._link("", Link(pump.name, element, chamber, tee))
        for described, (before, beyond, link) in zip(self.build.returns, lines, strict=True):
            if beyond is None:
                self._link("returns", Link(described.name, replace(link, line=before), tee, 0))
            else:
                self._link("", Link(f"{described.name} before the break", LineLink(described.name, before), tee,
                                    len(self.waters)))
                self._beyond(described, beyond, link)

    def _still(self, line: Line) -> Number:
        """Return the resistance of the stopped pump on the first bore of its line."""
        return LocalLoss.of(self.making.default(pumps.STOPPED), line.first_bore).quadratic

    def _return(self, described: Return, items: Sequence[Item]) -> tuple[Line, Line | None, LineLink]:
        """Return the line up to the siphon break, the line beyond it (None: no hole that leaks), and the end's link."""
        making = self.making
        outlet = making.height(described.end)
        hole = self._break(described)
        marks = [k for k, item in enumerate(items) if KINDS[item.kind].family == "break"]
        whole = read_line(items, making, where_from=described.name)
        self.full = self.full + whole.volume
        across = whole.bore if described.points == "sideways" else 0.0 * whole.bore
        reach = None if hole is None or hole.hole is None else hole.hole / widest(whole)
        # A hole below the mouth lets water in instead of air: then it is what the tank can siphon down to.
        lowest = outlet - across / 2.0 if hole is None else lesser(outlet - across / 2.0, hole.stop)
        end = Mouth(described.name, lowest, None if hole is None else hole.stop, reach,
                    None if described.highest is None else making.height(described.highest))
        link = LineLink(described.name, whole, outlet, end=end)
        if not marks or hole is None or hole.hole is None:
            return whole, None, link
        before = read_line(items[:marks[0]], making, exit_loss=False, where_from=described.name)
        beyond = read_line(items[marks[0]:], making, before=before.bore, where_from=described.name)
        # The hole feels the static head: the velocity head is paid before it and regained behind it, as far as there is one.
        area = math.pi / 4.0 * before.bore * before.bore
        dynamic = lesser(1.0 / (2.0 * GRAVITY * area * area), beyond.quadratic)
        return (replace(before, quadratic=before.quadratic + dynamic),
                replace(beyond, quadratic=beyond.quadratic - dynamic), link)

    def _break(self, described: Return) -> Break | None:
        if described.hole is None:
            return None
        made = KINDS[described.hole.kind].make(Reader(described.hole, self.making))
        assert isinstance(made, Break)
        return made

    def _beyond(self, described: Return, beyond: Line, link: LineLink) -> None:
        """Add the junction at a siphon break, the line beyond it and the hole."""
        hole = self._break(described)
        assert hole is not None
        assert hole.hole is not None
        node = len(self.waters)
        self.waters.append(Water(f"{described.name} at its siphon break", JUNCTION))
        self._link("returns", Link(described.name, replace(link, line=beyond), node, 0))
        self._link("", Link(f"{described.name}: siphon break",
                            Hole.of(described.name, hole.height, hole.hole, hole.coefficient), node, 0))

    def network(self) -> Network:
        """Return what was collected."""
        return Network(tuple(self.waters), tuple(self.links), self.full, self.making.used, 0,
                       tuple(self.chamber.values()), self.chamber[self.build.pump.chamber],
                       tuple(self.groups["drains"]), tuple(self.groups["barriers"]), tuple(self.groups["returns"]),
                       self.pump)



