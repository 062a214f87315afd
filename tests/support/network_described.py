"""A described build read once more: what each part of it asks for, by formulas of its own, at the levels and flows of a state.

Who is connected to whom and how high comes from the build, not from the network made of it; lines, rims, walls and holes are
asked with the formulas of `independent` (Colebrook by iteration, weir, orifice, Villemonte; no rounded corners).
"""

from __future__ import annotations

import itertools
import math

from independent import G, Inlet, Line, Loop, area, size
from proofs import AT_INTAKE, NOTHING

from hydro.description.build import Item
from hydro.quantities.uncertain import Uncertain

STOPPED, LEAVES, HOLE, PROJECTING = 10.0, 1.0, 0.61, 0.78
"""The middles of the defaults: K of a still impeller, K of what leaves it backwards, the coefficient of a drilled hole, K of a
pipe's end in the water."""
NEAR, SHARE = 1.5e-3, 0.005
"""What a described part may miss: m of head for rounded corners, and a share of the head lost, for friction's fit."""
COVER = 2.5e-3
"""Half the band of levels over which a mouth is half drowned, m."""
OPENING = 1e-5
"""A flow over which a check valve's cracking head has built up, m3/s."""


class Wall(Loop):
    """A wall of a described sump, asked with the formulas of the second solution."""

    def __init__(self, places, bottom, width):
        self.places, self._width = {**places, "sump bottom": bottom}, width

    @property
    def width(self):
        """The sump's width, m."""
        return self._width


class Described:
    """A build read once more: what each part of it asks for, by its name, at the levels and flows of a state."""

    def __init__(self, case):
        self.case, self.build = case, case.build
        self.viscosity = case.build.overrides["kinematic viscosity"].middle
        self.places = {"ground": 0.0}
        for vessel in case.build.vessels:
            bottom = self.places[f"{vessel.name} bottom"] = vessel.bottom.offset.middle
            values = vessel.shape.values
            height = values["table"][-1][1] if "table" in values else values["height"]
            self.places[f"{vessel.name} rim"] = bottom + height.middle

    def height(self, height):
        """Return a height above the ground, m."""
        return height.offset.middle + self.places[height.place]

    def faults(self, state):
        """Yield the described parts that a state contradicts."""
        self.level = {water.name: state.levels[k] for k, water in enumerate(state.network.waters)}
        self.flow = {link.name: state.flows[k] for k, link in enumerate(state.network.links)}
        self.links = {link.name: link.element for link in state.network.links}
        self.tee = {pump.name: pump.header or ("tee" if len(self.build.pumps) == 1 else f"{pump.name} tee")
                    for pump in self.build.pumps}
        alone = {name for name, tee in self.tee.items() if tee not in self.level}
        for described in self.build.returns:
            if described.source not in alone:
                yield from self.a_return(described, self.tee.get(described.source, described.source))
        for pump in self.build.pumps:
            yield from self.a_pump(pump, pump.name in alone)
        for k, drain in enumerate(self.build.drains):
            yield from self.a_drain(drain, k in self.case.blocked)
        for run in self.build.runs:
            yield from self.a_run(run)
        for sump in self.build.sumps:
            yield from self.walls(sump)

    def both_ways(self, name, line, q, fall, valve=False, over=-math.inf):
        """Yield where a line's loss at a flow, either way, is not the head between its ends.

        A valve bars the way back, and so does a mouth that hangs `over` the water (m): half drowned it takes back what comes.
        """
        if abs(q) < NOTHING or (q < 0.0 and (valve or over > -COVER)):
            if q < -10.0 * NOTHING and (valve or over > COVER):
                yield f"{name} runs back through what shuts it ({3.6e6 * q:.1f} L/h)"
            if fall > line.crack + NEAR:
                yield f"{name} stands still with {1e3 * fall:.1f} mm to drive it"
            if fall < -NEAR and abs(q) < NOTHING and not (valve or over > -COVER):
                yield f"{name} does not run back with {-1e3 * fall:.1f} mm to drive it"
            return
        lost = math.copysign(line.loss(abs(q)), q)
        if abs(q) < OPENING and lost - line.crack - NEAR < fall < lost:
            return
        if abs(fall - lost) > NEAR + SHARE * abs(lost):
            yield f"{name}: {1e3 * fall:.2f} mm between its ends, {1e3 * lost:.2f} mm by hand"

    def mouth(self, described):
        """Return the head that a return lifts to (m), and how far its mouth or its hole hangs over the tank's water, m."""
        tank, end = self.level[described.tank], self.height(described.end)
        if described.hole is not None:
            end = max(end, self.height(described.hole.values["at"]))
        return max(tank, end), end - tank

    def a_return(self, described, header):
        """Yield what contradicts a return: from its header, past its drilled hole, to its mouth."""
        marks = [k for k, item in enumerate(described.line) if item.kind == "siphon break"]
        yield from self.from_header(described, described.line, marks, self.level[header], described.name)

    def from_header(self, described, items, marks, head, name):
        """Yield what contradicts a line from a head to the mouth of a return, m."""
        out, over = self.mouth(described)
        valve = any(item.kind == "check valve" for item in items)
        if not marks or described.hole is None or "hole" not in described.hole.values:
            yield from self.both_ways(name, Line(items, self.viscosity), self.flow[name], head - out, valve, over)
            return
        before = Line(items[:marks[0]], self.viscosity, leaves=False)
        after = Line((going_on(before.bore), *items[marks[0] + 1:]), self.viscosity)
        node = self.level[f"{described.name} at its siphon break"]
        jet = self.flow[f"{described.name}: siphon break"]
        beyond = self.flow[described.name]
        yield from self.hole(described, node, jet)
        if beyond > NOTHING and jet >= 0.0:
            dynamic = 1.0 / (2.0 * G * area(before.bore) ** 2)
            lost = before.loss(beyond + jet) + dynamic * (beyond + jet) ** 2
            # Full to its mouth, unless the pressure at the hole is below the air's: then it only has to come up to the hole.
            full = max(self.level[described.tank], self.height(described.end)) + after.loss(beyond) - dynamic * beyond ** 2
            out = max(full, self.height(described.hole.values["at"]))
            opens = beyond + jet < OPENING and lost - before.crack - NEAR < head - out < lost
            if abs(head - out - lost) > NEAR + SHARE * lost and not opens:
                yield f"{name}: {1e3 * (head - out):.2f} mm from header to hole, {1e3 * lost:.2f} mm by hand"

    def hole(self, described, node, jet):
        """Yield what contradicts the jet out of a drilled hole."""
        bore = size(described.hole, "hole")
        head = node - max(self.level[described.tank], self.height(described.hole.values["at"]))
        by_hand = HOLE * area(bore) * math.sqrt(2.0 * G * max(0.0, head))
        slack = HOLE * area(bore) * math.sqrt(2.0 * G * NEAR)
        if abs(jet - by_hand) > slack:
            yield f"{described.name}: hole passes {3.6e6 * jet:.2f} L/h, {3.6e6 * by_hand:.2f} L/h by hand"

    def a_pump(self, pump, alone):
        """Yield what contradicts a pump with its line: it stands on its curve, or at its intake with head to spare."""
        described = next((one for one in self.build.returns if one.source == pump.name), None) if alone else None
        items = (*pump.line, *(described.line if described else ()))
        q, up = self.flow[pump.name], self.level[pump.chamber]
        valve = any(item.kind == "check valve" for item in items)
        in_sumps = {chamber.name for sump in self.build.sumps for chamber in sump.chambers}
        over, down = -math.inf, None
        if alone:
            down, over = self.mouth(described)
            if f"{described.name} at its siphon break" in self.level:
                return  # the hole cuts the pump's line in two: `not_solved` and the balance hold both halves
        else:
            down = self.level[self.tee[pump.name]]
        line = Line(items, self.viscosity, leaves=alone) if items else NoLine()
        if pump.off:
            bore = line.losses[0][1] if items else self.first_bore(pump)
            in_chamber = pump.chamber in in_sumps
            # Back out of its intake the water runs into a standing chamber, where its velocity head is lost.
            line.losses.append((STOPPED + (LEAVES if in_chamber and q < 0.0 else 0.0), bore))
            if in_chamber and up < self.height(pump.intake) + AT_INTAKE and abs(q) < NOTHING and up > down:
                return  # its intake lies in the air: nothing goes in, whatever sucks behind it
            yield from self.both_ways(pump.name, line, q, up - down, valve, over)
            return
        element = self.links[pump.name]
        true = element.curve.head(max(q, 0.0), element.speed)[0]
        if q < NOTHING:
            return  # what holds it back is the claim's matter
        spare = up - down + true - line.loss(q)
        wet = pump.chamber not in in_sumps or up > self.height(pump.intake) + AT_INTAKE
        if spare < -NEAR - SHARE * line.loss(q) or (wet and spare > NEAR + SHARE * line.loss(q)):
            yield f"{pump.name}: {spare:.4f} m off its curve at {3.6e6 * q:.1f} L/h"

    def first_bore(self, pump):
        """Return the bore that a still pump without a line of its own is counted on: its first return's, m."""
        header = pump.header or pump.name
        ways = [one for one in self.build.returns if one.source == header]
        return next(size(item, "size") for item in ways[0].line if "size" in item.values) if ways else 1.0

    def a_drain(self, drain, blocked):
        """Yield what contradicts a drain: with air the largest of edge, throat and pipe; as a siphon of edge and pipe."""
        q, tank, element = self.flow[drain.name], self.level[drain.tank], self.links[drain.name]
        crest = self.height(drain.inlet.values["lip"])
        inlet = Inlet(drain, crest, self.places[f"{drain.tank} bottom"])
        line = Line(drain.line, self.viscosity, inlet.entrance)
        if q < -NOTHING and not blocked:
            yield from self.backwards(drain, inlet, line, -q)
            return
        if blocked or q < NOTHING:
            if abs(q) > NOTHING:
                yield f"{drain.name} carries {3.6e6 * q:.2f} L/h though it is blocked"
            if not blocked and element.surging < 0.5 and tank > crest + NEAR and self.pipe_free(drain, crest, tank):
                yield f"{drain.name} takes nothing with {1e3 * (tank - crest):.2f} mm over its lip"
            return
        if element.surging > 0.5:
            return
        pipe = line.loss(q) + max(self.level[drain.into], self.height(drain.end)) - crest
        needed = max(inlet.over_edge(q) if element.primed > 0.5 else inlet.with_air(q), pipe)
        if abs(tank - crest - needed) > NEAR + SHARE * line.loss(q):
            yield f"{drain.name}: {1e3 * (tank - crest):.2f} mm over its lip, {1e3 * needed:.2f} mm by hand"

    def backwards(self, drain, inlet, line, q):
        """Yield what contradicts a drain that water comes up through: it stands over lip and end below, the rest is its loss."""
        below, tank = self.level[drain.into], self.level[drain.tank]
        if below < max(inlet.crest, self.height(drain.end)) - COVER:
            yield f"{drain.name} carries {3.6e6 * q:.2f} L/h back, with {1e3 * (inlet.crest - below):.1f} mm missing to its lip"
        drives, lost = below - max(tank, inlet.crest + inlet.over_edge(q)), line.loss(q)
        if abs(drives - lost) > NEAR + SHARE * lost:
            yield f"{drain.name}: {1e3 * drives:.2f} mm drive it back, {1e3 * lost:.2f} mm by hand"

    def pipe_free(self, drain, crest, tank):
        """Whether where a drain ends stands below the tank that feeds it."""
        return max(self.level[drain.into], self.height(drain.end)) < tank - NEAR

    def a_run(self, run):
        """Yield what contradicts a pipe between headers or waters."""
        waters = {vessel.name for vessel in self.build.tanks} | {chamber.name for chamber in self.build.chambers}
        line = Line(run.line, self.viscosity, PROJECTING if run.start in waters else 0.0, leaves=run.finish in waters)
        free = self.height(run.finish_at) if run.finish_at is not None else -math.inf
        up, down = self.level[run.start], self.level[run.finish]
        if run.start in waters and min(up - self.height(run.start_at), down - free) < 0.05:
            return  # a pipe between waters with an end near the surface: the law alone holds
        yield from self.both_ways(run.name, line, self.flow[run.name], up - max(down, free), False, free - down)

    def walls(self, sump):
        """Yield what contradicts the walls of a sump."""
        wall = Wall(self.places, self.places[f"{sump.name} bottom"], size(sump.vessel.shape, "width"))
        for chamber, after in itertools.pairwise(sump.chambers):
            q = self.flow[chamber.end.label]
            up, down = self.level[chamber.name], self.level[after.name]
            if q < NOTHING or up < down:
                continue
            moved = [up + move for move in (-NEAR, NEAR) if up + move >= down]
            slack = max(1e-6, *(abs(wall.wall_flow(chamber.end, level, down) - q) for level in moved))
            by_hand = wall.wall_flow(chamber.end, up, down)
            if abs(by_hand - q) > slack + 0.01 * q:
                yield f"{chamber.end.label} passes {3.6e6 * q:.1f} L/h, {3.6e6 * by_hand:.1f} L/h by hand"


class NoLine:
    """A pump without a pipe of its own."""

    def __init__(self):
        self.losses, self.crack = [], 0.0

    def loss(self, q):
        """Return the head lost at a flow, m."""
        return sum(k * (q / area(bore)) ** 2 / (2.0 * G) for k, bore in self.losses)


def going_on(bore):
    """Return a part that names a bore and loses nothing: what a line goes on from."""
    return Item("K", {"size": Uncertain.exact(bore), "K": Uncertain.exact(1e-12)}, label="bore before")
