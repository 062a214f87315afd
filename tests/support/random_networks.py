"""Whole installations at random, the same ones for the same seed: several tanks, sumps, pumps and headers in one build.

    PYTHONPATH=. python tests/support/random_networks.py --count 500 --seed 1     solve them, prove every answer again, print
    the tally

Tanks stand beside and above each other (what one spills another gets), filters over the sump's rim; pumps push on their own,
into one header, into headers joined by pipes, or one behind another. Which answer comes out is for the solver to find. All
sizes are invented.
"""

from __future__ import annotations

import argparse
import collections
import itertools
import math
import sys
import time
from dataclasses import dataclass, field, replace

from random_builds import BORES, LINE, TOTAL, Case, Dice, at, exact, rating

from hydro.description.build import Build, Chamber, Drain, GivenWater, Item, Run, Sump, Vessel

FLAVOURS = {"usual": 45, "throttled": 9, "gap": 12, "starved": 8, "weak": 9, "drooping": 9, "slow": 8}
"""Flavour -> how often in a hundred."""
WIDE = (*BORES, 0.0814, 0.0994)
"""Bores of drains, m: what several tanks spill one line may have to carry."""
LAYOUTS = {1: ("own", "manifold"), 2: ("own", "shared", "joined", "row", "row with returns"),
           3: ("own", "shared", "joined", "ring", "row", "row with returns")}
L_H = 1.0 / 3.6e6


@dataclass
class Tank:
    """A tank while it is drawn: `into` is the tank that it spills into, `comes` the flow it gets, m3/s."""

    name: str
    bottom: float
    height: float
    length: float
    width: float
    lip: float
    into: Tank | None = None
    fed: bool = True
    comes: float = 0.0
    drains: list[Drain] = field(default_factory=list)

    @property
    def rim(self):
        """Height of the rim, m."""
        return self.bottom + self.height

    @property
    def crest(self):
        """Height of the lowest lip, m."""
        return self.rim - self.lip


@dataclass
class Tub:
    """A sump while it is drawn: where its water comes in, where pumps stand, m."""

    name: str
    bottom: float
    height: float
    length: float
    width: float
    chambers: tuple[Chamber, ...] = ()
    lowest_wall: float = 0.0
    intake: float = 0.05


class NetworkDice(Dice):
    """Draws one installation, part by part."""

    def __init__(self, seed, number, apart=0.0):
        super().__init__(f"{seed} networks", number)
        self.apart = apart
        self.flavour = self.rng.choices(list(FLAVOURS), list(FLAVOURS.values()))[0]
        self.runs, self.tubs, self.tanks = [], [], []

    # -- vessels -------------------------------------------------------------------------------------------------------

    def draw_tubs(self):
        """Draw one or two sumps on about one floor, each cut into one to three chambers."""
        floor, intake = self.uniform(0.0, 0.1), self.uniform(0.03, 0.08)
        for k in range(self.rng.choices((1, 2), (6, 4))[0]):
            step = self.uniform(-0.01, 0.01) if k else 0.0
            tub = Tub(f"sump {k + 1}", floor + step, self.uniform(0.35, 0.55), self.uniform(0.6, 1.4), self.uniform(0.35, 0.7),
                      intake=intake - step)
            self.cut(tub)
            self.tubs.append(tub)
        walls = min(tub.bottom + tub.lowest_wall for tub in self.tubs)
        highest = max(tub.bottom + tub.intake for tub in self.tubs)
        self.running = self.uniform(highest + 0.03, max(highest + 0.05, walls - 0.01))

    def cut(self, tub):
        """Cut a sump into chambers with walls that mostly fall towards the pumps."""
        count, made = self.rng.choices((1, 2, 3), (2, 4, 3))[0], []
        weights = [self.uniform(0.6, 1.6) for _ in range(count)]
        top = tub.height * self.uniform(0.55, 0.8)
        for k, weight in enumerate(weights):
            end, last = None, k == count - 1
            if not last:
                end = self.wall_of(tub, top, k)
                top -= self.uniform(0.005, 0.05) if self.chance(0.85) else -0.01
            gear = exact(self.uniform(0.0005, 0.003)) if self.chance(0.2) else None
            made.append(Chamber(f"{tub.name} chamber {k + 1}", None if last else exact(weight / sum(weights) * tub.length),
                                end=end, gear=gear))
        tub.chambers, tub.lowest_wall = tuple(made), top

    def wall_of(self, tub, top, k):
        """Return the wall that ends a chamber."""
        wall = self.wall(top)
        return replace(wall, values={**wall.values, "top": at(top, f"{tub.name} bottom")}, label=f"{tub.name} wall {k + 1}")

    def draw_tanks(self):
        """Draw two to six tanks: beside each other, above each other, or as a filter over a sump's rim."""
        for k in range(self.rng.choices((2, 3, 4, 5, 6), (4, 4, 3, 2, 1))[0]):
            name, beside = f"tank {k + 1}", [tank for tank in self.tanks if tank.height > 0.35]
            if k and self.chance(0.2):
                self.tanks.append(self.filter(name))
                continue
            tank = Tank(name, self.uniform(0.6, 1.3), self.uniform(0.4, 0.75), self.uniform(0.6, 2.2), self.uniform(0.35, 0.8),
                        self.uniform(0.04, 0.15))
            if beside and self.chance(0.3):
                tank.into = self.rng.choice(beside)
                tank.bottom = tank.into.rim + self.uniform(0.02, 0.3)
                tank.into.fed = self.chance(0.6)
            self.tanks.append(tank)

    def filter(self, name):
        """Return a small tank over a sump's rim that is fed by what another tank spills."""
        rim = max(tub.bottom + tub.height for tub in self.tubs)
        made = Tank(name, rim + self.uniform(0.01, 0.08), self.uniform(0.18, 0.3), self.uniform(0.4, 0.9), self.uniform(0.3, 0.5),
                    self.uniform(0.03, 0.06))
        above = [tank for tank in self.tanks if tank.into is None and tank.crest > made.rim + 0.1]
        if above:
            made.fed = self.chance(0.2)
            self.rng.choice(above).into = made
        return made

    # -- pumps, headers, returns ---------------------------------------------------------------------------------------

    def draw_pressure_side(self):
        """Draw the pumps, the headers between them and the returns that hang there."""
        count = self.rng.choices((1, 2, 3), (3, 5, 3))[0]
        layout = self.rng.choice(LAYOUTS[count])
        names = [f"pump {k + 1}" for k in range(count)]
        headers = {"shared": ["header"] * count, "joined": [f"header {k + 1}" for k in range(count)],
                   "ring": [f"header {k + 1}" for k in range(count)], "manifold": ["header 1"]}.get(layout, [""] * count)
        row = layout.startswith("row")
        if row:  # pump 2 behind pump 1; a third one on its own
            headers[0] = "between"
        sources = [header or name for header, name in zip(headers, names, strict=True) if header != "between"]
        if layout == "row with returns":
            sources.append("between")
        if layout == "manifold":
            sources = ["header 1", "header 2", "header 3"]
        sources = list(dict.fromkeys(sources))
        self.joins(layout, count)
        self.returns = self.hang(sources)
        by_source = collections.Counter()
        for made, flow in self.returns:
            by_source[made.source] += flow
        together = layout in ("shared", "joined", "ring", "manifold")
        off = self.rng.randrange(count) if count > 1 and self.chance(0.3) else -1
        self.pumps = []
        for k, name in enumerate(names):
            fed = {"between", "pump 2"} & set(sources) if row and k < 2 else set(sources) if together else {headers[k] or name}
            share = self.uniform(0.6, 1.4) / count if together else self.uniform(0.6, 1.0)
            flow = sum(by_source[source] for source in fed) * share
            lift = max(self.mouths[source] for source in fed) - self.running
            behind = row and k == 1
            self.pumps.append(self.one_pump(name, headers[k], "between" if behind else "", max(flow, 100 * L_H),
                                            max(0.2, 0.55 * lift if row and k < 2 else lift), off == k))

    def joins(self, layout, count):
        """Draw the pipes between headers: a row of them, a ring, or a manifold with a bridge."""
        pairs = {"joined": [(k + 1, k + 2) for k in range(count - 1)], "ring": [(1, 2), (2, 3), (3, 1)],
                 "manifold": [(1, 2), (1, 3)] + ([(2, 3)] if self.chance(0.5) else [])}.get(layout, [])
        for start, finish in pairs:
            if self.chance(0.3):
                start, finish = finish, start
            name = f"join {start}-{finish}"
            line = [self.pipe(name, self.uniform(0.02, 0.05), self.uniform(0.4, 3.0))]
            if self.chance(0.3):
                line.append(Item("K", {"K": exact(10.0 ** self.uniform(0.0, 2.0))}, label=f"{name}: valve"))
            self.runs.append(Run(name, f"header {start}", f"header {finish}", tuple(line)))

    def pipe(self, name, bore, length):
        """Return a straight run."""
        return Item("pipe", {"size": exact(bore), "length": exact(length)}, label=f"{name}: run")

    def hang(self, sources):
        """Hang a return or two in every tank that is fed, and one at least on every source: (return, its flow wanted)."""
        wanted = [tank for tank in self.tanks if tank.fed or not any(other.into is tank for other in self.tanks)]
        pairs = [(tank, self.rng.choice(sources)) for tank in wanted for _ in range(self.rng.choices((1, 2), (7, 3))[0])]
        pairs += [(self.rng.choice(wanted), source) for source in sources if source not in {used for _, used in pairs}]
        self.mouths = dict.fromkeys(sources, 0.0)
        made = []
        for k, (tank, source) in enumerate(pairs):
            flow = self.uniform(600, 4000) * L_H
            tank.comes += flow
            made.append((self.one_return_of(f"return {k + 1}", tank, source, flow), flow))
        return made

    def one_return_of(self, name, tank, source, flow):
        """Return a line into a tank, by the ways of a single loop, hung on its header."""
        self.lip_below_rim, self.tank_bottom, self.tank_height = tank.lip, tank.bottom, tank.height
        bore = min(0.05, max(0.012, math.sqrt(flow / self.uniform(0.8, 2.2) / (math.pi / 4.0))))
        self.mouth = 0.0
        made = self.one_return(name, bore)
        self.mouths[source] = max(self.mouths[source], self.mouth)
        rim, hole = f"{tank.name} rim", made.hole
        if hole is not None:
            hole = replace(hole, values={**hole.values, "at": replace(hole.values["at"], place=rim)})
        line = made.line
        if self.chance(0.2):
            line = (Item("K", {"K": exact(10.0 ** self.uniform(0.0, 2.0))}, label=f"{name}: valve"), *line)
            line = (line[1], line[0], *line[2:])
        return replace(made, tank=tank.name, source=source, end=replace(made.end, place=rim), hole=hole, line=line)

    def one_pump(self, name, header, behind, flow, lift, off):
        """Return a pump of its own kind with its riser, in one of the sumps or behind another pump."""
        self.flow, self.count, number = flow, 1, int(name[-1])
        tub = self.tubs[(number - 1) % len(self.tubs)]
        self.intake = tub.intake
        flavour = self.flavour
        if self.flavour in ("weak", "drooping", "slow") and self.chance(0.4):
            self.flavour = "usual"
        line = ()
        if header or behind or self.chance(0.5):
            bore = min(0.07, max(0.016, math.sqrt(flow / self.uniform(0.8, 2.0) / (math.pi / 4.0))))
            line = (self.pipe(name, bore, self.uniform(0.4, 2.0)),)
            if self.chance(0.5 if off else 0.2):
                line += (Item("check valve", {}, label=f"{name}: check valve"),)
        made = self.pump(line, lift)
        self.flavour = flavour
        return replace(made, name=name, chamber=behind or tub.chambers[-1].name, header=header, off=off,
                       intake=at(tub.intake + self.apart * (number - 1), f"{tub.name} bottom"))

    # -- overflows -----------------------------------------------------------------------------------------------------

    def draw_drains(self):
        """Draw the drains of every tank, from the highest down, and where they end."""
        gap = self.rng.choice(self.tanks) if self.flavour == "gap" else None
        for tank in sorted(self.tanks, key=lambda tank: -tank.crest):
            share = self.uniform(1.3, 3.0) if tank is gap else self.uniform(0.15, 0.9)
            throttled = self.flavour == "throttled" and self.chance(0.7)
            count = 2 if throttled else self.rng.choices((1, 2, 3), (6, 3, 1))[0]
            wanted = tank.comes / share / (1 if throttled else count)
            tub = self.rng.choice(self.tubs)
            for k in range(count):
                fitting = [bore for bore in WIDE if rating(bore) >= wanted] or [WIDE[-1]]
                bore = fitting[0] if throttled or self.chance(0.7) else self.rng.choice(fitting[:3])
                tank.drains.append(self.one_drain(tank, tub, k, bore, throttled))
            if tank.into is not None:
                tank.into.comes += tank.comes
        self.collect()

    def one_drain(self, tank, tub, k, bore, throttled):
        """Return one drain of a tank: into the tank below, or into the first chamber of a sump."""
        below = max(0.012, tank.lip - k * (self.uniform(0.02, 0.05) if throttled else self.uniform(0.0, 0.02)))
        self.tank_bottom, self.tank_height = tank.bottom, tank.height
        self.sump_bottom, self.sump_height = tub.bottom, tub.height
        if tank.into is not None:
            self.sump_bottom, self.sump_height = tank.into.crest - 0.02, 0.02
        made = self.drain(f"{tank.name} drain {k + 1}", bore, below, throttled and k == 0)
        inlet = replace(made.inlet, values={**made.inlet.values, "lip": at(-below, f"{tank.name} rim")})
        if tank.into is not None:
            room = tank.crest - tank.into.rim
            end = at(self.uniform(-0.08, min(0.2, 0.4 * room)), f"{tank.into.name} rim")
            return replace(made, inlet=inlet, tank=tank.name, into=tank.into.name, end=end)
        high = min(tub.height * self.uniform(0.35, 1.05), tank.crest - tub.bottom - 0.08)
        return replace(made, inlet=inlet, tank=tank.name, into=tub.chambers[0].name, end=at(high, f"{tub.name} bottom"))

    @property
    def count(self):
        """Chambers that a drain of a single loop may end in: one."""
        return 1

    @count.setter
    def count(self, value):
        """A single loop sets it; here drains are led on afterwards."""

    def collect(self):
        """Lead some drains of one sump into a header of their own, which a pipe empties into the sump."""
        for tub in self.tubs:
            ours = [(tank, k) for tank in self.tanks for k, drain in enumerate(tank.drains) if drain.into == tub.chambers[0].name]
            if len(ours) < 2 or not self.chance(0.25):
                continue
            chosen = self.rng.sample(ours, self.rng.randint(2, min(4, len(ours))))
            name, flow = f"{tub.name} collector", 0.0
            for tank, k in chosen:
                drain = tank.drains[k]
                flow += tank.comes / len(tank.drains)
                high = tub.height + self.uniform(-0.05, 0.5 * max(0.1, tank.crest - tub.bottom - tub.height))
                end = at(min(high, tank.crest - tub.bottom - 0.08), f"{tub.name} bottom")
                tank.drains[k] = replace(drain, into=name, end=end)
            bore = min(0.11, max(0.03, math.sqrt(flow / self.uniform(0.5, 2.0) / (math.pi / 4.0))))
            end = at(self.uniform(0.05, 0.9) * tub.height, f"{tub.name} bottom") if self.chance(0.5) else None
            line = (self.pipe(f"{name} pipe", bore, self.uniform(0.5, 2.5)),)
            self.runs.append(Run(f"{name} pipe", name, tub.chambers[0].name, line, finish_at=end))

    def draw_equaliser(self):
        """Join the pump chambers of two sumps by a pipe; left out where both sumps have pumps and water crosses anyway."""
        if len(self.tubs) < 2 or (len(self.pumps) > 1 and self.crossing() and self.chance(0.6)):
            return
        bore = self.uniform(0.03, 0.1)
        ends = [at(self.uniform(0.01, 0.04), f"{tub.name} bottom") for tub in self.tubs]
        self.runs.append(Run("equaliser", *(tub.chambers[-1].name for tub in self.tubs),
                             (self.pipe("equaliser", bore, self.uniform(0.2, 1.5)),), *ends))

    def crossing(self):
        """Whether what one sump's pumps lift comes down into the other one too."""
        parts = {}

        def root(name):
            while parts.setdefault(name, name) != name:
                name = parts[name]
            return name

        pairs = [(drain.tank, drain.into) for tank in self.tanks for drain in tank.drains]
        pairs += [(run.start, run.finish) for run in self.runs]
        pairs += [(made.source, made.tank) for made, _ in self.returns]
        pairs += [(pump.chamber, pump.header or pump.name) for pump in self.pumps]
        pairs += [(pump.name, pump.header) for pump in self.pumps if pump.header]
        pairs += [(a.name, b.name) for tub in self.tubs for a, b in itertools.pairwise(tub.chambers)]
        for a, b in pairs:
            parts[root(a)] = root(b)
        drawn = {pump.chamber for pump in self.pumps if not pump.off}
        return len({root(name) for name in list(parts)}) == 1 and all(tub.chambers[-1].name in drawn for tub in self.tubs)

    # -- all together --------------------------------------------------------------------------------------------------

    def given(self):
        """Return how much water there is: the running line of the first sump, or all of it."""
        tub = self.tubs[0]
        chamber, running = tub.chambers[-1].name, self.running - tub.bottom
        if self.flavour != "starved" and self.chance(0.6):
            return GivenWater(LINE, at(running, f"{tub.name} bottom"), chamber=chamber)
        tanks = sum(tank.length * tank.width * (tank.height - tank.lip + 0.015) for tank in self.tanks)
        low = self.flavour == "starved"
        sumps = sum(tub.length * tub.width * (tub.intake if low else 0.5 * (running + tub.lowest_wall)) for tub in self.tubs)
        share = self.uniform(0.94, 1.01) if low else self.uniform(0.97, 1.05)
        return GivenWater(TOTAL, total=exact((tanks + sumps) * share), chamber=chamber)

    def build(self):
        """Return the build and which of its drains are blocked."""
        self.draw_tubs()
        self.draw_tanks()
        self.draw_pressure_side()
        self.draw_drains()
        self.draw_equaliser()
        tanks = tuple(self.vessel(tank.name, at(tank.bottom), tank.length, tank.width, tank.height) for tank in self.tanks)
        sumps = tuple(Sump(self.tub_vessel(tub), tub.chambers) for tub in self.tubs)
        drains = tuple(drain for tank in self.tanks for drain in tank.drains)
        spare = [k for k, drain in enumerate(drains) if sum(other.tank == drain.tank for other in drains) > 1]
        blocked = (self.rng.choice(spare),) if spare and self.chance(0.2) else ()
        viscosity = {"kinematic viscosity": exact(self.uniform(0.85e-6, 1.15e-6))}
        return Build("random installation", tanks, sumps, drains, tuple(made for made, _ in self.returns), tuple(self.pumps),
                     self.given(), overrides=viscosity, runs=tuple(self.runs)), blocked

    def tub_vessel(self, tub):
        """Return a sump's vessel: a box."""
        values = {"length": exact(tub.length), "width": exact(tub.width), "height": exact(tub.height)}
        return Vessel(tub.name, Item("inside", values), at(tub.bottom))


def make(seed, number, apart=0.0):
    """Return one case, always the same one for the same numbers; each pump's intake lies `apart` (m) over the last one's."""
    dice = NetworkDice(str(seed), number, apart)
    build, blocked = dice.build()
    return Case(str(seed), number, dice.flavour, build, blocked)


def cases(seed, count, first=0, apart=0.0):
    """Yield cases one after the other."""
    for number in range(first, first + count):
        yield make(seed, number, apart)


def main(arguments=None):
    """Solve random networks, prove every answer again, and print the tally; returns 1 if an answer does not stand."""
    from network_proofs import answer_to, faults_of

    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", default="1")
    parser.add_argument("--first", type=int, default=0, help="number of the first network")
    parser.add_argument("--apart", type=float, default=0.0, help="height between the pumps' intakes, m")
    chosen = parser.parse_args(arguments)
    tally, broken, begun, slowest = collections.Counter(), 0, time.perf_counter(), (0.0, "")
    for case in cases(chosen.seed, chosen.count, chosen.first, chosen.apart):
        started = time.perf_counter()
        answer = answer_to(case)
        slowest = max(slowest, (time.perf_counter() - started, str(case)))
        tally[answer.kind] += 1
        tally["(with a blocked drain)"] += bool(case.blocked)
        tally["(more than one way to run)"] += answer.kind == "steady" and len(answer.states) > 1
        for fault in faults_of(case, answer):
            broken += 1
            print(f"{case}: {answer.kind}: {fault}")
    for kind, count in tally.most_common():
        print(f"{count:6d}  {100.0 * count / chosen.count:5.1f} %  {kind}")
    print(f"{broken} faults, {time.perf_counter() - begun:.1f} s, slowest answer {slowest[0]:.2f} s ({slowest[1]})")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
