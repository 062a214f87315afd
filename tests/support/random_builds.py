"""Whole builds at random, the same ones for the same seed: usual loops, odd ones, and ones made to go wrong.

    PYTHONPATH=. python tests/support/random_builds.py --count 2000 --seed 1   solve them, prove each answer, print the tally

A flavour shifts where the numbers are drawn from; which answer comes out is for the solver to find. All sizes are invented.
"""

from __future__ import annotations

import argparse
import collections
import math
import random
import sys
import time
from dataclasses import dataclass

from hydro.description.build import BucketTest, Build, Chamber, Drain, GivenWater, Height, Item, Pump, Return, Sump, Vessel
from hydro.quantities.uncertain import Uncertain

FLAVOURS = {"usual": 40, "throttled": 10, "gap": 14, "starved": 9, "weak": 9, "drooping": 11, "slow": 7}
"""Flavour -> how often in a hundred."""
BORES = (0.0196, 0.0226, 0.0262, 0.0284, 0.0328, 0.0362, 0.0402, 0.0452, 0.0514, 0.0570, 0.0670)
"""Odd bores as they are found in pipes and hoses, m."""
LINE, STILL, TOTAL = "line", "still", "total"


@dataclass(frozen=True)
class Case:
    """A build with the drains that are blocked in it (their places in `build.drains`)."""

    seed: str
    number: int
    flavour: str
    build: Build
    blocked: tuple[int, ...]

    def __str__(self) -> str:
        return f"seed {self.seed} number {self.number} ({self.flavour})"


def exact(value, name=""):
    """Return a number without a band."""
    return Uncertain.exact(value, name)


def at(offset, place="ground"):
    """Return a height over a place."""
    return Height(exact(offset), place)


def rating(bore):
    """Return about what a drain carries with air when its rim stands under its own diameter, m3/s (orifice, 0.6)."""
    return 0.6 * math.pi / 4.0 * bore * bore * math.sqrt(2.0 * 9.81 * bore)


class Dice:
    """Draws one build, part by part; what later parts need of earlier ones is kept here."""

    def __init__(self, seed: str, number: int) -> None:
        self.rng = random.Random(f"{seed} {number}")
        self.uniform = self.rng.uniform
        self.flavour = self.rng.choices(list(FLAVOURS), list(FLAVOURS.values()))[0]

    def chance(self, share):
        """Say yes in a share of the cases."""
        return self.rng.random() < share

    def bore(self, low=0.0, high=1.0):
        """Return an odd bore."""
        bore = self.rng.choice([bore for bore in BORES if low <= bore <= high])
        return bore * (1.0 if self.chance(0.7) else self.uniform(0.96, 1.04))

    def vessel(self, name, bottom, length, width, height):
        """Return a vessel about as large as asked for: a box, a tub with sloped walls, or a table of bucket fills."""
        shape = self.rng.choices(("inside", "taper", "bucket fill"), (6, 2, 2))[0]
        values = {"length": length, "width": width, "height": height}
        if shape == "taper":
            slope = self.uniform(0.75, 0.97)
            values = {"rim_length": length, "rim_width": width, "bottom_length": length * slope,
                      "bottom_width": width * slope, "height": height, "corners": self.uniform(0.0, 0.08)}
        made = {key: exact(value) for key, value in values.items()}
        if shape == "bucket fill":
            made["table"] = self.table(length * width, height)
        return Vessel(name, Item(shape, made), bottom)

    def table(self, area, height):
        """Return bucket fills of a vessel whose walls lean a little, up to its rim."""
        lean, count = self.uniform(0.0, 0.25), self.rng.randint(3, 6)
        heights = [height * (k + 1) / count for k in range(count)]
        return tuple((exact(area * z * (1.0 - lean + lean * z / height)), exact(z)) for z in heights)

    def vessels(self):
        """Draw the tank and the sump."""
        self.tank_bottom, self.tank_height = self.uniform(0.45, 1.3), self.uniform(0.4, 0.8)
        self.tank = self.vessel("tank", at(self.tank_bottom), self.uniform(0.7, 2.4), self.uniform(0.35, 0.9), self.tank_height)
        below = self.chance(0.08)
        self.sump_bottom = self.uniform(-2.0, -0.5) if below else self.uniform(0.0, 0.1)
        self.sump_height = self.uniform(0.30, 0.55)
        self.sump_length = self.uniform(0.5, 1.3)
        self.sump = self.vessel("sump", at(self.sump_bottom), self.sump_length, self.uniform(0.3, 0.6), self.sump_height)

    def chambers(self):
        """Draw one to four chambers and what they end in; walls mostly fall in the way the water runs, some do not."""
        count = self.rng.choices((1, 2, 3, 4), (2, 3, 4, 2))[0]
        weights = [self.uniform(0.6, 1.6) for _ in range(count)]
        top = self.sump_height * self.uniform(0.55, 0.8)
        made = []
        for k, weight in enumerate(weights):
            end = None
            if k < count - 1:
                end = self.wall(top)
                top -= self.uniform(0.005, 0.05) if self.chance(0.85) else -0.01
            share = weight / sum(weights)
            gear = exact(self.uniform(0.0005, 0.003)) if self.chance(0.2) else None
            made.append(Chamber(f"chamber {k + 1}", length=exact(share * self.sump_length) if k < count - 1 else None,
                                end=end, gear=gear))
        self.lowest_wall = top
        return tuple(made)

    def wall(self, top):
        """Return a plate, a slot or a mat with its top so high above the sump's bottom."""
        kind = self.rng.choices(("plate", "slot", "mat"), (6, 2, 2))[0]
        values = {"top": at(top, "sump bottom")}
        if kind == "slot":
            values["gap"] = exact(self.uniform(0.015, 0.06))
        if kind == "mat":
            values |= {"grade": self.rng.choice(("coarse", "medium", "fine")), "clogged": exact(self.uniform(0.0, 0.6))}
        elif self.chance(0.3):
            values["width"] = exact(self.uniform(0.12, 0.3))
        return Item(kind, values, label=kind)

    def drains(self):
        """Draw one to four drains and note what they carry with air."""
        throttled = self.flavour == "throttled"
        count = self.rng.randint(2, 3) if throttled else self.rng.choices((1, 2, 3, 4), (4, 4, 2, 1))[0]
        lip = self.uniform(0.04, 0.16)
        self.lip_below_rim = lip
        self.capacity = 0.0
        made = []
        for k in range(count):
            step = self.uniform(0.02, 0.05) if throttled else self.uniform(0.0, 0.02)
            below = max(0.012, lip - k * step)
            bore = self.bore(0.025, 0.06)
            if throttled and k == 0:
                self.siphon = bore
            else:
                self.capacity += rating(bore)
            made.append(self.drain(f"drain {k + 1}", bore, below, throttled and k == 0))
        return tuple(made)

    def drain(self, name, bore, below, throttle):
        """Return one drain with its lip so far below the tank's rim."""
        kind = self.rng.choice(("standpipe", "elbow up"))
        values = {"rim": exact(bore * (1.0 if kind == "standpipe" else self.uniform(1.0, 1.25))), "lip": at(-below, "tank rim")}
        if self.chance(0.15) and not throttle:
            values["strainer"] = "yes"
        if self.chance(0.15):
            values["throat"] = exact(bore * self.uniform(0.8, 1.0))
        fall = self.tank_bottom + self.tank_height - self.sump_bottom
        line = [Item(self.rng.choice(("pipe", "hose", "ribbed hose")) if not throttle else "pipe",
                     {"size": exact(bore), "length": exact(fall * self.uniform(0.7, 1.6))}, label=f"{name}: run")]
        if self.chance(0.5):
            line.insert(0, Item("bulkhead", {"size": exact(bore * self.uniform(0.8, 1.0))}, label=f"{name}: bulkhead"))
        line += [Item("elbow 90", {}, label=f"{name}: elbow") for _ in range(self.rng.randint(0, 3))]
        if throttle:
            self.throttle_k = 10.0 ** self.uniform(1.0, 2.6)
            line.append(Item("K", {"K": exact(self.throttle_k)}, label=f"{name}: valve"))
        end = self.sump_height * self.uniform(0.35, 1.05)
        chamber = 1 if self.chance(0.9) else self.rng.randint(1, self.count)
        return Drain(name, Item(kind, values, label=name), tuple(line), f"chamber {chamber}", at(end, "sump bottom"))

    def wanted(self):
        """Return the flow that the pump is chosen for, m3/s."""
        if self.flavour == "throttled":
            bore, fall = self.siphon, self.tank_bottom + self.tank_height - 0.1 - self.sump_bottom - self.sump_height * 0.7
            full = math.pi / 4.0 * bore * bore * math.sqrt(2.0 * 9.81 * fall / (3.0 + self.throttle_k))
            return full + self.capacity * self.uniform(0.02, 0.4)
        if self.flavour == "gap":
            return self.capacity * self.uniform(1.3, 3.5)
        return self.capacity * self.uniform(0.1, 0.9)

    def returns(self):
        """Draw one to three returns."""
        count = self.rng.choices((1, 2, 3), (5, 3, 1))[0]
        speed = self.uniform(0.7, 2.2)
        bore = min(0.06, max(0.012, math.sqrt(self.flow / count / speed / (math.pi / 4.0))))
        self.mouth = 0.0
        made = [self.one_return(f"return {k + 1}", bore * self.uniform(0.85, 1.2)) for k in range(count)]
        if count == 1 and self.chance(0.5):
            return tuple(made), ()
        riser = bore * math.sqrt(count) * self.uniform(0.9, 1.1)
        return tuple(made), (Item("pipe", {"size": exact(riser), "length": exact(self.uniform(0.5, 2.0))}, label="riser"),)

    def one_return(self, name, bore):
        """Return a line into the tank: drowned or above the water, with or without siphon break and check valve."""
        line = [Item(self.rng.choice(("pipe", "hose")), {"size": exact(bore), "length": exact(self.uniform(0.4, 2.5))},
                     label=f"{name}: run")]
        line += [Item("elbow 90", {}, label=f"{name}: elbow") for _ in range(self.rng.randint(0, 4))]
        if self.chance(0.2):
            values = {"crack": exact(self.uniform(0.0, 0.08))} if self.chance(0.5) else {}
            line.append(Item("check valve", values, label=f"{name}: check valve"))
        below = self.lip_below_rim + self.uniform(-0.06, 0.06)
        hole = None
        if self.chance(0.6):
            values = {"at": at(-below + self.uniform(0.005, 0.05), "tank rim")}
            if self.chance(0.7):
                values["hole"] = exact(self.uniform(0.002, 0.009))
                line.append(Item("siphon break", {}, label=f"{name}: hole"))
                line.append(Item("pipe", {"size": exact(bore), "length": exact(self.uniform(0.05, 0.3))}, label=f"{name}: tail"))
            hole = Item("siphon break", values)
        if self.chance(0.3):
            line.append(Item("nozzle", {"size": exact(bore * self.uniform(0.6, 0.95))}, label=f"{name}: nozzle"))
        self.mouth = max(self.mouth, self.tank_bottom + self.tank_height - min(below, self.lip_below_rim))
        return Return(name, tuple(line), at(-below, "tank rim"), self.rng.choice(("sideways", "down")), hole)

    def pump(self, line, lift):
        """Draw the pump: head to spare over the lift in most flavours, too little of it in others."""
        head, flow = lift * self.uniform(1.25, 2.6), self.flow * self.uniform(1.05, 1.8)
        if self.flavour == "weak":
            head = lift * self.uniform(0.35, 1.1)
        speed = self.uniform(0.35, 0.95) if self.flavour == "slow" else self.uniform(0.6, 1.0) if self.chance(0.2) else None
        if self.flavour == "slow":
            head = lift * self.uniform(0.9, 1.4) / speed ** 2
        known = {"speed": None if speed is None else exact(speed)}
        if self.flavour == "drooping":
            known = {"curve": self.drooping(flow, lift), "speed": None}
        elif self.chance(0.55):
            known["curve"] = self.points(flow, head)
        else:
            known |= {"most_flow": exact(flow), "most_height": exact(head)}
            if self.chance(0.3):
                q = flow * self.uniform(0.4, 0.8)
                lifted = head * (1.0 - (q / flow) ** self.uniform(1.0, 3.0))
                known["tests"] = (BucketTest(exact(0.01), exact(0.01 / q), exact(lifted)),)
        return Pump("pump", f"chamber {self.count}", at(self.intake, "sump bottom"), line=line, **known)

    def points(self, flow, head):
        """Return a falling curve of three to seven points, mostly down to no head."""
        count, bend = self.rng.randint(3, 7), self.uniform(1.2, 2.8)
        last = 1.0 if self.chance(0.8) else self.uniform(0.6, 0.95)
        shares = [last * k / (count - 1) for k in range(count)]
        return tuple((flow * x, head * (1.0 - x ** bend)) for x in shares)

    def drooping(self, flow, lift):
        """Return a curve that rises from shut-off to a peak before it falls."""
        shutoff = lift * self.uniform(0.85, 1.02)
        peak, where = lift * self.uniform(1.08, 1.5), self.uniform(0.2, 0.45)
        return ((0.0, shutoff), (0.5 * where * flow, shutoff + 0.7 * (peak - shutoff)), (where * flow, peak),
                (0.6 * flow, peak * 0.85), (0.8 * flow, peak * 0.55), (flow, 0.0))

    def water(self, running):
        """Return how much water there is, said in one of three ways."""
        if self.flavour == "starved":
            return GivenWater(STILL, at(self.intake + self.uniform(-0.01, 0.06), "sump bottom"))
        kind = self.rng.choices((LINE, STILL, TOTAL), (5, 3, 2))[0]
        if kind == LINE:
            return GivenWater(LINE, at(running, "sump bottom"))
        if kind == STILL:
            return GivenWater(STILL, at(min(0.95 * self.sump_height, running + self.uniform(0.02, 0.15)), "sump bottom"))
        return GivenWater(TOTAL, total=exact(0.0))

    def build(self):
        """Return the build and which of its drains are blocked."""
        self.vessels()
        chambers = self.chambers()
        self.count = len(chambers)
        drains = self.drains()
        self.flow = self.wanted()
        self.intake = self.uniform(0.02, 0.09)
        highest = self.lowest_wall + 0.03 if self.chance(0.15) else self.lowest_wall - 0.01
        running = self.uniform(self.intake + 0.02, max(self.intake + 0.04, highest))
        returns, riser = self.returns()
        pump = self.pump(riser, max(0.2, self.mouth - self.sump_bottom - running))
        water = self.water(running)
        if water.kind == TOTAL:
            water = GivenWater(TOTAL, total=exact(self.total(running)))
        few = len(drains) - 1
        blocked = tuple(self.rng.sample(range(len(drains)), self.rng.randint(1, few))) if few and self.chance(0.25) else ()
        viscosity = {"kinematic viscosity": exact(self.uniform(0.85e-6, 1.15e-6))} if self.chance(0.5) else {}
        return Build("random loop", (self.tank,), (Sump(self.sump, chambers),), drains, returns, (pump,), water,
                     overrides=viscosity), blocked

    def total(self, running):
        """Return about as much water as the loop needs with the pump chamber at its line, taken as boxes, m3."""
        def area(shape):
            values = {name: value.middle for name, value in shape.values.items() if isinstance(value, Uncertain)}
            return values.get("length", values.get("rim_length", 0.0)) * values.get("width", values.get("rim_width", 0.0))
        tank = area(self.tank.shape) * (self.tank_height - self.lip_below_rim + 0.015)
        sump = area(self.sump.shape) * (0.5 * (running + self.lowest_wall))
        return (tank + sump) * self.uniform(0.97, 1.05)


def make(seed, number):
    """Return one case; always the same one for the same seed and number."""
    dice = Dice(str(seed), number)
    build, blocked = dice.build()
    return Case(str(seed), number, dice.flavour, build, blocked)


def cases(seed, count, first=0):
    """Yield cases one after the other."""
    for number in range(first, first + count):
        yield make(seed, number)


def main(arguments=None):
    """Solve random builds, prove every answer again, and print the tally; returns 1 if an answer does not stand."""
    from proofs import answer_to, faults_of

    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", default="1")
    parser.add_argument("--first", type=int, default=0, help="number of the first build")
    chosen = parser.parse_args(arguments)
    tally, broken, begun = collections.Counter(), 0, time.perf_counter()
    for case in cases(chosen.seed, chosen.count, chosen.first):
        answer = answer_to(case)
        tally[answer.kind] += 1
        tally["(with a blocked drain)"] += bool(case.blocked)
        tally["(more than one way to run)"] += answer.kind == "steady" and len(answer.states) > 1
        for fault in faults_of(case, answer):
            broken += 1
            print(f"{case}: {answer.kind}: {fault}")
    for kind, count in tally.most_common():
        print(f"{count:6d}  {100.0 * count / chosen.count:5.1f} %  {kind}")
    print(f"{broken} faults, {time.perf_counter() - begun:.1f} s")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
