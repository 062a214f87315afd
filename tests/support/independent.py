"""A second solution of vented loops, by nested bracketing (scipy.optimize.brentq) on plain formulas.

Nothing of the library's laws, network or solver is used: sizes are read from the described build, and the formulas stand here
once more, without rounded corners: Colebrook by iteration, hard maxima, Villemonte's bracket as published.

    pump chamber's level  <-  the amount of water
      pump's flow         <-  head of the curve = what tank, lines and chamber ask for
        tank's level      <-  the drains carry that flow
          each drain      <-  head over its lip = largest of edge, throat, bulkhead and full pipe
        chambers' levels  <-  each wall passes that flow
        head at the tee   <-  the returns carry that flow
"""

from __future__ import annotations

import math

from fluids.fittings import ft_Crane
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from hydro.quantities.uncertain import Uncertain

G = 9.80665
WEIR, ORIFICE, STRAINER, ENTRANCE = 0.53, 0.606, 0.5, 0.5
PLATE, SLOT, ROUGHNESS, RIBBED, BULKHEAD = 0.62, 0.61, 1.5e-6, 2.5, 0.08
NOZZLE, CRACK = 0.05, 0.02
GRADES = {"coarse": 4000 / 3.6e6, "medium": 2000 / 3.6e6, "fine": 1000 / 3.6e6}
"""The middles of the defaults, as the data sheets give them."""
STACK = 2.5e-4 * 0.25 ** (-1.0 / 6.0)
"""Wyly and Eaton: Q = STACK r^(5/3) D^(8/3), L/s and mm."""


def area(bore):
    """Return the section of a bore, m2."""
    return math.pi / 4.0 * bore * bore


def friction(reynolds, relative):
    """Return Darcy's factor: laminar below 2000, Colebrook above 4000, the two blended by 3t^2 - 2t^3 between."""
    laminar = 64.0 / reynolds
    if reynolds <= 2000.0:
        return laminar
    x = 8.0
    for _ in range(50):
        x = -2.0 * math.log10(relative / 3.7 + 2.51 * x / reynolds)
    t = min(1.0, (reynolds - 2000.0) / 2000.0)
    return laminar + (3.0 * t * t - 2.0 * t ** 3) * (1.0 / (x * x) - laminar)


def size(item, name):
    """Return a written number of an item."""
    return item.values[name].middle


class Inlet:
    """A rim with what lies behind it, while it takes in air: each place lets through Co a sqrt(2g times the water over it).

    The upright pipe has the rim's bore up to its bulkhead, which lies at the bottom of the vessel under a standpipe and one rim
    diameter under an elbow's lip; what stands in it over the bulkhead presses too. Without a bulkhead it is the line's own pipe.
    The pipe behind is never narrower in the builds drawn here.
    """

    def __init__(self, drain, crest, bottom):
        inlet, self.crest = drain.inlet, crest
        first = next(item for item in drain.line if "size" in item.values)
        self.rim = size(inlet, "rim")
        standing = self.rim if first.kind == "bulkhead" else size(first, "size")
        self.throat = min(self.rim, size(inlet, "throat") if "throat" in inlet.values else standing)
        share = STRAINER if inlet.values.get("strainer") == "yes" else 1.0
        self.edge = share * WEIR * (2.0 / 3.0) * math.sqrt(2.0 * G) * math.pi * self.rim
        self.places = [(share * ORIFICE * area(self.throat), 0.0)]
        if first.kind == "bulkhead":
            depth = self.rim if inlet.kind == "elbow up" else crest - bottom
            self.places.append((ORIFICE * area(size(first, "size")), depth))
        self.entrance = ENTRANCE + (30.0 * ft_Crane(self.throat) if inlet.kind == "elbow up" else 0.0)

    def over_edge(self, q):
        """Return the head over the lip that the edge alone asks for, m."""
        return (q / self.edge) ** (2.0 / 3.0)

    def with_air(self, q):
        """Return the head over the lip that edge, throat and bulkhead ask for, m."""
        return max(self.over_edge(q), *(q * q / (2.0 * G * opening * opening) - depth for opening, depth in self.places))


class Line:
    """A line as runs of pipe and losses K on a bore, read from described items."""

    def __init__(self, items, viscosity, entrance=0.0, leaves=True):
        self.viscosity, self.runs, self.losses, self.crack = viscosity, [], [], 0.0
        bore = next(size(item, "size") for item in items if "size" in item.values)
        self.losses.append((entrance, bore))
        for item in items:
            new = size(item, "size") if "size" in item.values else bore
            if new != bore:
                square = (min(new, bore) / max(new, bore)) ** 2
                self.losses.append((0.5 * (1.0 - square) if new < bore else (1.0 - square) ** 2, min(new, bore)))
            bore = new
            self.add(item, bore)
        if leaves:
            self.losses.append((1.0, bore))
        self.bore = bore

    def add(self, item, bore):
        """Take in one item."""
        if item.kind in ("pipe", "hose", "ribbed hose", "bulkhead"):
            length = BULKHEAD if item.kind == "bulkhead" else size(item, "length")
            self.runs.append((length, bore, RIBBED if item.kind == "ribbed hose" else 1.0))
        elif item.kind == "check valve":
            self.losses.append((100.0 * ft_Crane(bore), bore))
            self.crack += size(item, "crack") if "crack" in item.values else CRACK
        elif item.kind != "siphon break":
            self.losses.append(({"elbow 90": 30.0 * ft_Crane(bore), "nozzle": NOZZLE}.get(item.kind) or size(item, "K"), bore))

    def loss(self, q):
        """Return the head lost at a flow q > 0, m."""
        head = self.crack + sum(k * (q / area(bore)) ** 2 / (2.0 * G) for k, bore in self.losses)
        for length, bore, factor in self.runs:
            speed = q / area(bore)
            f = factor * friction(speed * bore / self.viscosity, ROUGHNESS / bore)
            head += f * length / bore * speed * speed / (2.0 * G)
        return head

    @property
    def volume(self):
        """Return the water in it when full, m3."""
        return sum(length * area(bore) for length, bore, _ in self.runs)


class Loop:
    """A described build, solved by brackets."""

    def __init__(self, build):
        self.build, self.viscosity = build, build.overrides["kinematic viscosity"].middle
        self.places = {"ground": 0.0}
        for name, vessel in (("tank", build.tank), ("sump", build.sump)):
            self.places[f"{name} bottom"] = vessel.bottom.offset.middle
            self.places[f"{name} rim"] = vessel.bottom.offset.middle + size(vessel.shape, "height")
        inlets = [Inlet(drain, self.level(drain.inlet.values["lip"]), self.places["tank bottom"]) for drain in build.drains]
        self.drains = [(drain, inlet, Line(drain.line, self.viscosity, inlet.entrance))
                       for drain, inlet in zip(build.drains, inlets, strict=True)]
        alone = len(build.returns) == 1
        riser = build.pump.line
        self.riser = None if alone or not riser else Line(riser, self.viscosity, leaves=False)
        self.returns = [(way, Line([*(riser if alone else ()), *way.line], self.viscosity)) for way in build.returns]
        flows, heads = zip(*build.pump.curve, strict=True)
        self.speed = build.pump.speed.middle if build.pump.speed else 1.0
        self.curve, self.most = PchipInterpolator(flows, heads), flows[-1] * self.speed

    def level(self, height):
        """Return a height above the ground, m."""
        return height.offset.middle + self.places[height.place]

    def drain_flow(self, drain, inlet, line, tank, chamber):
        """Return what one drain carries with air at a level of the tank, m3/s."""
        if tank <= inlet.crest:
            return 0.0
        end = max(chamber, self.level(drain.end))

        def needed(q):
            return max(inlet.with_air(q), line.loss(q) + end - inlet.crest) - (tank - inlet.crest)
        return brentq(needed, 1e-12, 1.0, xtol=1e-13)

    def wall_flow(self, wall, up, down):
        """Return what passes a wall between two chambers, m3/s (up not below down)."""
        values, sump = wall.values, self.places["sump bottom"]
        width = size(wall, "width") if "width" in values else self.width
        top = self.level(values["top"])
        h1, h2 = max(0.0, up - top), max(0.0, down - top)
        q = PLATE * (2.0 / 3.0) * math.sqrt(2.0 * G) * width * h1 ** 1.5 * (1.0 - (h2 / h1) ** 1.5) ** 0.385 if h1 > 0.0 else 0.0
        if wall.kind == "slot":
            gap = size(wall, "gap")
            middle = sump + 0.5 * gap
            q += SLOT * width * gap * math.sqrt(2.0 * G * max(0.0, max(up, middle) - max(down, middle)))
        if wall.kind == "mat":
            clean = size(wall, "flow") if "flow" in values else GRADES[values["grade"]]
            wetted = clean * (1.0 - size(wall, "clogged")) * min(1.0, (up - sump) / (top - sump))
            drop = (up - down) / 0.01
            q += wetted * (-0.5 + math.sqrt(0.25 + 2.0 * drop))  # 0.5 s + 0.5 s^2 = drop
        return q

    @property
    def width(self):
        """Return the sump's width at its rim, m."""
        values = self.build.sump.shape.values
        return (values.get("width") or values["rim_width"]).middle

    def chambers(self, q, level):
        """Return the chambers' levels at a flow, from the pump chamber's level upwards, m."""
        levels = [level]
        for chamber in reversed(self.build.chambers[:-1]):
            down = levels[0]
            levels.insert(0, brentq(lambda up, wall=chamber.end, down=down: self.wall_flow(wall, up, down) - q, down, down + 5.0,
                                    xtol=1e-12))
        return levels

    def tank(self, q, chamber):
        """Return the tank's level at which the drains carry a flow, m."""
        low = min(self.level(drain.inlet.values["lip"]) for drain, _, _ in self.drains)
        return brentq(lambda tank: sum(self.drain_flow(*drain, tank, chamber) for drain in self.drains) - q,
                      low, low + 3.0, xtol=1e-11)

    def asked(self, q, tank, level):
        """Return the head that the returns ask of the pump at a flow, m: to the water, the mouth, or a hole above both."""
        ends = [(max(tank, self.level(way.end), *([self.level(way.hole.values["at"])] if way.hole else [])), line)
                for way, line in self.returns]
        if len(ends) == 1:
            return ends[0][0] - level + ends[0][1].loss(q)

        def passed(head):
            return sum(brentq(lambda part, end=end, line=line: end + line.loss(part) - head, 1e-12, 1.0, xtol=1e-13)
                       if head > end + line.loss(1e-12) else 0.0 for end, line in ends)
        low = min(end for end, _ in ends)
        head = brentq(lambda head: passed(head) - q, low, low + 60.0, xtol=1e-11)
        return head - level + (self.riser.loss(q) if self.riser else 0.0)

    def flow_at(self, level):
        """Return the pump's flow with its chamber at a level, m3/s; next to nothing where it cannot lift from there."""
        def spare(q):
            tank = self.tank(q, self.chambers(q, level)[0])
            return self.speed ** 2 * float(self.curve(q / self.speed)) - self.asked(q, tank, level)
        return brentq(spare, 1e-7, self.most * 0.9999, xtol=1e-11) if spare(1e-7) > 0.0 else 1e-7

    def water(self, level):
        """Return all the water with the pump chamber at a level, vessels being boxes, m3."""
        q = self.flow_at(level)
        levels = self.chambers(q, level)
        tank = self.tank(q, levels[0])
        shape = self.build.tank.shape
        volume = size(shape, "length") * size(shape, "width") * (tank - self.places["tank bottom"])
        left = size(self.build.sump.shape, "length")
        for chamber, height in zip(self.build.chambers, levels, strict=True):
            length = chamber.length.middle if chamber.length else left
            left -= length
            volume += length * self.width * (height - self.places["sump bottom"])
            if chamber.gear is not None:
                high = size(self.build.sump.shape, "height")
                volume -= chamber.gear.middle * min(1.0, (height - self.places["sump bottom"]) / high)
        for drain, inlet, line in self.drains:
            part = self.drain_flow(drain, inlet, line, tank, levels[0])
            volume += self.in_a_drain(part, line, inlet.crest - self.level(drain.end))
        return volume + sum(line.volume for _, line in self.returns) + (self.riser.volume if self.riser else 0.0)

    @staticmethod
    def in_a_drain(q, line, fall):
        """Return the water in a drain's line, m3: the film of a stack, or the column that its losses hold up over its end."""
        film = sum(min(1.0, (1000.0 * q / (STACK * (1000.0 * bore) ** (8.0 / 3.0))) ** 0.6) * length * area(bore)
                   for length, bore, _ in line.runs)
        column = min(1.0, line.loss(q) / fall) * line.volume if q > 0.0 and fall > 0.0 else 0.0
        return max(film, column)

    def flow(self):
        """Return the pump's flow, m3/s, with the water that the build gives: a line or a total."""
        given = self.build.water
        if given.kind == "line":
            return self.flow_at(self.level(given.level))
        low = self.level(self.build.pump.intake) + 0.002
        high = self.places["sump rim"]
        level = brentq(lambda level: self.water(level) - given.total.middle, low, high, xtol=1e-9)
        return self.flow_at(level)


def readable(case):
    """Whether a case is one for this solution: at most two drains into the first chamber, points of a curve, plain lines."""
    build = case.build
    boxes = build.tank.shape.kind == build.sump.shape.kind == "inside"
    plain = all(way.hole is None or "hole" not in way.hole.values for way in build.returns)
    return (not case.blocked and len(build.drains) <= 2 and bool(build.pump.curve) and case.flavour != "drooping" and plain
            and isinstance(build.overrides.get("kinematic viscosity"), Uncertain)
            and all(drain.into == build.chambers[0].name for drain in build.drains)
            and (build.water.kind == "line" or (build.water.kind == "total" and boxes)))
