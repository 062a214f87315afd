"""Several pumps, tanks and sumps against a second solution by nested bracketing, and against closed forms."""

import math
import random
from dataclasses import replace

import pytest
from independent import ENTRANCE, ORIFICE, STACK, WEIR, G, Line, area, ft_Crane
from network_described import Wall
from random_networks import L_H
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from hydro.description.build import Build, Chamber, Drain, GivenWater, Height, Item, Pump, Return, Run, Sump, Vessel
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import place, run_placed
from hydro.steady.operating_point import CANNOT_LIFT, DRAWS_AIR, STEADY

NU = 1.0e-6
"""Kinematic viscosity of the builds made here, m2/s."""


# -- builds by hand --------------------------------------------------------------------------------------------------------


def exact(value):
    """Return a number without a band."""
    return Uncertain.exact(float(value))


def high(value):
    """Return a height over the ground."""
    return Height(exact(value), "ground")


def vessel(name, bottom, length, width, height):
    """Return a box."""
    return Vessel(name, Item("inside", {"length": exact(length), "width": exact(width), "height": exact(height)}), high(bottom))


def pipe(bore, length, label="run"):
    """Return a straight run."""
    return Item("pipe", {"size": exact(bore), "length": exact(length)}, label=label)


def losses(k, bore, label="losses"):
    """Return a loss K on a bore."""
    return Item("K", {"K": exact(k), "size": exact(bore)}, label=label)


def spill(name, tank, lip, bore, length, end):
    """Return a standpipe into the first chamber."""
    return Drain(name, Item("standpipe", {"rim": exact(bore), "lip": high(lip)}, label=name), (pipe(bore, length, name),),
                 "inflow", high(end), tank)


WALL = Item("plate", {"top": Height(exact(0.30), "ground")}, label="wall")
SUMP = Sump(vessel("sump", 0.0, 1.2, 0.5, 0.45), (Chamber("inflow", exact(0.7), end=WALL), Chamber("pumps")))


def installation(pumps, returns, drains, tanks, water, runs=()):
    """Return a build over the same sump of two chambers, the pumps in its second."""
    return Build("by hand", tuple(tanks), (SUMP,), tuple(drains), tuple(returns), tuple(pumps), water,
                 overrides={"kinematic viscosity": exact(NU)}, runs=tuple(runs))


def solved(build):
    """Return the answer to a build, its flows and its levels by name."""
    loop = place(build)
    answer = run_placed(loop, loop.network())
    state = answer.state
    flows = {link.name: flow for link, flow in zip(state.network.links, state.flows, strict=True)}
    return answer, flows, {water.name: level for water, level in zip(state.network.waters, state.levels, strict=True)}


# -- a second solution -----------------------------------------------------------------------------------------------------


class Pair:
    """Two tanks on one header that two unequal pumps press, drawn at random, and solved by nested bracketing."""

    def __init__(self, number):
        draw = random.Random(f"pair {number}").uniform
        self.level, self.lips = draw(0.12, 0.25), (draw(1.3, 1.5), draw(1.5, 1.8))
        self.sides = [(draw(0.8, 1.8), draw(0.4, 0.7)) for _ in range(2)]
        self.bores = [(draw(0.057, 0.075), draw(1.0, 2.0)) for _ in range(2)]
        self.ends = [lip + draw(-0.1, 0.05) for lip in self.lips]
        self.returns = [(draw(0.019, 0.026), draw(1.0, 3.0), draw(1.0, 8.0)) for _ in range(2)]
        self.risers = [(draw(0.020, 0.028), draw(0.8, 1.6)) for _ in range(2)]
        most = [draw(2500, 5000) * L_H for _ in range(2)]
        tops = [draw(2.6, 3.4), draw(3.0, 5.0)]
        self.curves = [tuple((x * most[k], tops[k] * (1.0 - x ** draw(1.5, 2.2))) for x in (0.0, 0.3, 0.55, 0.8, 1.0))
                       for k in range(2)]
        self.fits = [(PchipInterpolator(*zip(*curve, strict=True)), curve[-1][0]) for curve in self.curves]
        self.pushes = [Line((pipe(*riser),), NU, leaves=False) for riser in self.risers]
        self.ways = [Line((pipe(bore, length), losses(k, bore)), NU) for bore, length, k in self.returns]
        self.spills = [Line((pipe(*bore),), NU, ENTRANCE) for bore in self.bores]
        self.wall = Wall({"ground": 0.0}, 0.0, 0.5)

    def build(self, water):
        """Return it as described."""
        tanks = [vessel(f"tank {k}", self.lips[k] - 0.5, *self.sides[k], 0.6) for k in range(2)]
        drains = [spill(f"drain {k}", f"tank {k}", self.lips[k], *self.bores[k], 0.35) for k in range(2)]
        returns = [Return(f"return {k}", (pipe(bore, length), losses(loss, bore)), high(self.ends[k]), "down", None,
                          tank=f"tank {k}", source="header") for k, (bore, length, loss) in enumerate(self.returns)]
        pumps = [Pump(f"pump {k}", "pumps", high(0.04), self.curves[k], line=(pipe(*self.risers[k]),), header="header")
                 for k in range(2)]
        return installation(pumps, returns, drains, tanks, water)

    def pumped(self, k, head):
        """Return what a pump gives against a head over its chamber, m3/s."""
        curve, most = self.fits[k]
        if float(curve(0.0)) <= head:
            return 0.0
        return brentq(lambda q: float(curve(q)) - self.pushes[k].loss(q) - head, 1e-9, most, xtol=1e-13)

    def tank(self, k, q, inflow):
        """Return the level of a tank that spills a flow, m."""
        bore = self.bores[k][0]
        edge = (q / (WEIR * (2.0 / 3.0) * math.sqrt(2.0 * G) * math.pi * bore)) ** (2.0 / 3.0)
        throat = (q / (ORIFICE * area(bore) * math.sqrt(2.0 * G))) ** 2
        return self.lips[k] + max(edge, throat, self.spills[k].loss(q) + max(inflow, 0.35) - self.lips[k])

    def returned(self, k, head, inflow):
        """Return what a return carries at the header's head, m3/s."""
        def short(q):
            return max(self.ends[k], self.tank(k, q, inflow)) + self.ways[k].loss(q) - head
        return brentq(short, 1e-9, 0.01, xtol=1e-13) if short(1e-9) < 0.0 else 0.0

    def at(self, level):
        """Return the flows of pumps and returns, and the level of the inflow chamber, with the pumps' chamber at a level."""
        def inflow(q):
            return brentq(lambda up: self.wall.wall_flow(WALL, up, level) - q, level, level + 1.0, xtol=1e-12)

        def surplus(head):
            given = sum(self.pumped(k, head - level) for k in range(2))
            up = inflow(max(given, 1e-9))
            return given - sum(self.returned(k, head, up) for k in range(2))
        head = brentq(surplus, min(self.ends) + 1e-6, 8.0, xtol=1e-12)
        pumped = [self.pumped(k, head - level) for k in range(2)]
        up = inflow(sum(pumped))
        return pumped, [self.returned(k, head, up) for k in range(2)], up

    def total(self, level):
        """Return all the water with the pumps' chamber at a level, m3."""
        _, returned, up = self.at(level)
        volume = 0.7 * 0.5 * up + 0.5 * 0.5 * level + sum(line.volume for line in (*self.pushes, *self.ways))
        for k, q in enumerate(returned):
            length, width = self.sides[k]
            volume += length * width * (self.tank(k, q, up) - self.lips[k] + 0.5)
            bore, run = self.bores[k]
            volume += min(1.0, (1000.0 * q / (STACK * (1000.0 * bore) ** (8.0 / 3.0))) ** 0.6) * run * area(bore)
        return volume


@pytest.mark.parametrize("number", range(20))
def test_a_second_solution_agrees(number):
    """Two unequal pumps on one header with two tanks: nested bracketing on formulas of its own finds the same flows to 0.1 %."""
    pair = Pair(number)
    water = GivenWater("line", high(pair.level), chamber="pumps")
    level = pair.level
    if number % 2:
        total = pair.total(pair.level)
        water = GivenWater("total", total=exact(total), chamber="pumps")
        level = brentq(lambda level: pair.total(level) - total, 0.08, 0.28, xtol=1e-9)
    answer, flows, levels = solved(pair.build(water))
    pumped, returned, inflow = pair.at(level)
    assert answer.kind == STEADY
    assert [flows["pump 0"], flows["pump 1"]] == pytest.approx(pumped, rel=1e-3, abs=1e-7)
    assert [flows["return 0"], flows["return 1"]] == pytest.approx(returned, rel=1e-3, abs=1e-7)
    assert levels["inflow"] == pytest.approx(inflow, abs=2e-4)
    assert levels["pumps"] == pytest.approx(level, abs=2e-4)


# -- closed forms ----------------------------------------------------------------------------------------------------------

LEVEL, MOUTH, BORE = 0.20, 1.55, 0.025
"""For closed forms: level of the pumps' chamber while running, the mouth in the air, the bore that losses count on, m."""


def square(k, bore=BORE):
    """Return the coefficient of q^2 that K stands for, s2/m5."""
    return k / (2.0 * G * area(bore) ** 2)


def curve_of(shutoff, fall, points=80):
    """Return H = shutoff - fall q^2 in points so close that what lies between them does not count (0.02 %)."""
    most = math.sqrt(shutoff / fall)
    return tuple((most * k / points, shutoff - fall * (most * k / points) ** 2) for k in range(points + 1))


def closed_form(pumps, k=6.0):
    """Return the answer for one tank under a header with a return of K, and an exit, and some pumps."""
    tank = vessel("tank", 1.0, 1.5, 0.6, 0.6)
    returned = Return("return", (losses(k, BORE),), high(MOUTH), "down", None, source="header")
    drains = [Drain("drain", Item("standpipe", {"rim": exact(0.0994), "lip": high(1.45)}, label="drain"),
                    (pipe(0.0994, 1.4),), "inflow", high(0.35))]
    return solved(installation(pumps, [returned], drains, [tank], GivenWater("line", high(LEVEL), chamber="pumps")))


def one(name, shutoff, fall, k=3.0, source="pumps", header="header", **more):
    """Return a pump with a quadratic curve and a riser of K."""
    return Pump(name, source, high(0.05), curve_of(shutoff, fall), line=(losses(k, BORE),), header=header, **more)


STEEP, FLAT = 6.0e5, 2.5e5


def test_two_unequal_pumps_in_parallel():
    """With one shut-off head two unequal quadratic pumps work as one: Q = C sqrt(H0 - x), x = (lift + s C^2 H0)/(1 + s C^2)."""
    answer, flows, levels = closed_form([one("a", 3.0, STEEP), one("b", 3.0, FLAT)])
    share = [1.0 / math.sqrt(fall + square(3.0)) for fall in (STEEP, FLAT)]
    s, c, lift = square(6.0 + 1.0), sum(share), MOUTH - LEVEL
    x = (lift + s * c * c * 3.0) / (1.0 + s * c * c)
    assert answer.kind == STEADY
    assert levels["header"] - LEVEL == pytest.approx(x, abs=1e-4)
    assert [flows["a"], flows["b"]] == pytest.approx([one * math.sqrt(3.0 - x) for one in share], rel=2e-4)


def test_two_pumps_of_other_heads_in_parallel():
    """With unequal shut-off heads the header stands where sqrt((Ha-x)/A) + sqrt((Hb-x)/B) = sqrt((x-lift)/s)."""
    answer, flows, levels = closed_form([one("a", 2.9, STEEP), one("b", 3.4, FLAT)])
    a, b, s, lift = STEEP + square(3.0), FLAT + square(3.0), square(7.0), MOUTH - LEVEL
    x = brentq(lambda x: math.sqrt((2.9 - x) / a) + math.sqrt((3.4 - x) / b) - math.sqrt((x - lift) / s), lift, 2.9, xtol=1e-12)
    assert answer.kind == STEADY
    assert levels["header"] - LEVEL == pytest.approx(x, abs=1e-4)
    assert [flows["a"], flows["b"]] == pytest.approx([math.sqrt((2.9 - x) / a), math.sqrt((3.4 - x) / b)], rel=5e-4)


def test_two_unequal_pumps_in_a_row():
    """One behind the other heads add: q = sqrt((Ha + Hb - lift)/(a + b + all losses)), where neither could lift alone."""
    answer, flows, _ = closed_form([one("a", 1.1, STEEP, header="between"), one("b", 0.9, FLAT, source="between")])
    q = math.sqrt((1.1 + 0.9 - (MOUTH - LEVEL)) / (STEEP + FLAT + 2.0 * square(3.0) + square(7.0)))
    assert max(1.1, 0.9) < MOUTH - LEVEL
    assert answer.kind == STEADY
    assert [flows["a"], flows["b"]] == pytest.approx([q] * 2, rel=3e-4)


@pytest.mark.parametrize("heads", [(0.7, 0.6), (1.2, 0.1)])
def test_a_row_that_is_too_weak_cannot_lift(heads):
    """Where both heads together stay below the lift the first pump is named too weak for what the second leaves to it."""
    answer, flows, _ = closed_form([one("a", heads[0], STEEP, header="between"), one("b", heads[1], FLAT, source="between")])
    assert sum(heads) < MOUTH - LEVEL
    assert answer.kind == CANNOT_LIFT
    assert answer.figures["must lift"] == pytest.approx(MOUTH - LEVEL - heads[1], abs=2e-3)  # what is left to the first
    assert max(map(abs, flows.values())) < 1e-6


def test_a_row_without_water_is_not_called_too_weak():
    """A row whose heads together pass the lift, with no water over its intake, draws air; neither pump is too weak."""
    pumps = [one("a", 1.1, STEEP, header="between"), one("b", 0.9, FLAT, source="between")]
    tank = vessel("tank", 1.0, 1.5, 0.6, 0.6)
    returned = Return("return", (losses(6.0, BORE),), high(MOUTH), "down", None, source="header")
    drains = [Drain("drain", Item("standpipe", {"rim": exact(0.0994), "lip": high(1.45)}, label="drain"), (pipe(0.0994, 1.4),),
                    "inflow", high(0.35))]
    water = GivenWater("total", total=exact(0.70 * 0.5 * 0.3 + 0.9 * 0.45), chamber="pumps")
    answer, flows, levels = solved(installation(pumps, [returned], drains, [tank], water))
    assert answer.kind == DRAWS_AIR
    assert levels["pumps"] < 0.05 + 1e-3  # the intake; below it nothing moves, either way
    assert max(map(abs, flows.values())) < 1e-6


@pytest.mark.parametrize(("back", "returned"), [(4e-4, 3e-4), (1e-4, 6e-4)])
def test_a_still_pump_without_check_valve_leaks_back(back, returned):
    """From the header x = (K + riser) q^2 runs back through a still pump, K = 10 + 1 on its riser's bore; the other gives both.

    Turned round for a closed form: x = (square(11) + r) back^2 fixes the riser's loss, K of the return and H0 follow.
    """
    x, lift = 1.9, MOUTH - LEVEL
    riser = 2.0 * G * area(BORE) ** 2 * x / back ** 2 - 11.0
    k = 2.0 * G * area(BORE) ** 2 * (x - lift) / returned ** 2 - 1.0
    shutoff = x + (FLAT + square(3.0)) * (back + returned) ** 2
    answer, flows, levels = closed_form([one("works", shutoff, FLAT), one("still", 3.0, FLAT, riser, off=True)], k)
    assert min(riser, k) > 0.0
    assert answer.kind == STEADY
    assert levels["header"] - LEVEL == pytest.approx(x, abs=3e-4)
    assert (flows["still"], flows["return"]) == pytest.approx((-back, returned), rel=5e-4)


def test_a_check_valve_holds_a_still_pump_shut():
    """With a check valve in the still pump's riser all that the other one gives goes up: q^2 = (H0 - lift)/(a + r + s)."""
    still = one("still", 3.0, FLAT, off=True)
    held = replace(still, line=(*still.line, Item("check valve", {}, label="valve")))
    answer, flows, _ = closed_form([one("works", 3.0, FLAT), held])
    q = math.sqrt((3.0 - (MOUTH - LEVEL)) / (FLAT + square(3.0) + square(7.0)))
    assert answer.kind == STEADY
    assert (flows["still"], flows["return"]) == pytest.approx((0.0, q), rel=3e-4, abs=1e-9)


def test_a_weaker_pump_is_pressed_shut():
    """A pump whose best head lies below what the other one keeps in the header is named; the other one works as if alone."""
    valve = Item("check valve", {"crack": exact(0.0)}, label="valve")
    weak = one("weak", 1.45, STEEP)
    answer, flows, levels = closed_form([one("strong", 3.0, FLAT), replace(weak, line=(*weak.line, valve))])
    q = math.sqrt((3.0 - (MOUTH - LEVEL)) / (FLAT + square(3.0) + square(7.0)))
    assert levels["header"] - LEVEL == pytest.approx(MOUTH - LEVEL + square(7.0) * q * q, rel=3e-4)
    assert levels["header"] - LEVEL > 1.45 > MOUTH - LEVEL
    assert answer.kind == CANNOT_LIFT
    assert answer.state.network.links[answer.which].name == "weak"
    assert flows["return"] == pytest.approx(q, rel=3e-4)


def test_a_sump_that_nothing_leads_back_into_is_named():
    """A line given in a sump that only loses water cannot be kept: there is no steady state, and the reason names its chamber."""
    tank = vessel("tank", 1.0, 1.5, 0.6, 0.6)
    other = Sump(vessel("other", 0.0, 0.8, 0.5, 0.45), (Chamber("lost"),))
    drains = [Drain("drain", Item("standpipe", {"rim": exact(0.0814), "lip": high(1.45)}, label="drain"),
                    (pipe(0.0814, 1.4),), "inflow", high(0.35))]
    returns = [Return("first", (losses(6.0, BORE),), high(MOUTH), "down", None, source="from lost"),
               Return("second", (losses(6.0, BORE),), high(MOUTH), "down", None, source="own")]
    pumps = [one("from lost", 3.0, FLAT, source="lost", header=""), one("own", 3.0, FLAT, header="")]
    build = replace(installation(pumps, returns, drains, [tank], GivenWater("line", high(0.2), chamber="lost")),
                    sumps=(SUMP, other))
    loop = place(build)
    answer = run_placed(loop, loop.network())
    assert answer.kind == "no steady state"
    assert "lost" in answer.reason


def fork(bridge):
    """Return one pump on a ring of three headers with a pipe of K from each to the next, two returns at the far ones."""
    pump = one("pump", 3.0, FLAT, header="near")
    tanks = [vessel(f"tank {k}", 1.0, 1.0, 0.6, 0.6) for k in range(2)]
    returns = [Return(f"return {k}", (losses(6.0, BORE),), high(MOUTH), "down", None, tank=f"tank {k}", source=f"far {k}")
               for k in range(2)]
    drains = [Drain(f"drain {k}", Item("standpipe", {"rim": exact(0.0814), "lip": high(1.45)}, label=f"drain {k}"),
                    (pipe(0.0814, 1.4),), "inflow", high(0.35), f"tank {k}") for k in range(2)]
    runs = [Run(f"leg {k}", "near", f"far {k}", (losses(4.0, BORE),)) for k in range(2)]
    runs.append(Run("bridge", "far 0", "far 1", (losses(bridge, BORE),)))
    return solved(installation([pump], returns, drains, tanks, GivenWater("line", high(LEVEL), chamber="pumps"), runs))


@pytest.mark.parametrize("bridge", [0.1, 50.0])
def test_nothing_crosses_a_balanced_bridge(bridge):
    """A bridge between two equal legs of a ring carries nothing, whatever it lets through (Wheatstone), and each leg half."""
    answer, flows, _ = fork(bridge)
    q = math.sqrt((3.0 - (MOUTH - LEVEL)) / (FLAT + square(3.0) + (square(4.0) + square(7.0)) / 4.0))
    assert answer.kind == STEADY
    assert flows["bridge"] == pytest.approx(0.0, abs=1e-9)
    assert [flows["leg 0"], flows["return 1"]] == pytest.approx([q / 2.0] * 2, rel=3e-4)


# -- tanks that get no water beside pumps that run -------------------------------------------------------------------------


def standing(pumps, returns, names, water):
    """Return the answer, flows and levels with tanks of 1.5 m x 0.6 m from 1.00 m up, their lips at 1.45 m."""
    tanks = [vessel(name, 1.0, 1.5, 0.6, 0.6) for name in names]
    drains = [spill(f"{name} drain", name, 1.45, 0.0994, 1.4, 0.35) for name in names]
    return solved(installation(pumps, returns, drains, tanks, water))


def fed(name, source, mouth=MOUTH):
    """Return a return of K 6 into a tank."""
    return Return(f"into {name}", (losses(6.0, BORE),), high(mouth), "down", None, tank=name, source=source)


def test_a_circle_leaves_the_chamber_its_intake():
    """All runs back through a still pump, under the lift of 1.35 m; of 0.40 m3 chambers keep 0.05 and 0.30 m, the tank the rest.

    0.40 - 0.7 x 0.5 x 0.30 - 0.5 x 0.5 x 0.05 = 0.2825 m3 on 1.5 x 0.6 m are 0.3139 m; full to its lip it would hold 0.405 m3.
    """
    back = square(11.0 + 3.0)
    assert 1.6 * back / (FLAT + square(3.0) + back) < MOUTH - LEVEL
    pumps = [one("works", 1.6, FLAT), one("still", 3.0, FLAT, off=True)]
    answer, flows, levels = standing(pumps, [fed("tank", "header")], ["tank"],
                                     GivenWater("total", total=exact(0.40), chamber="pumps"))
    assert answer.kind == DRAWS_AIR
    assert (levels["pumps"], levels["inflow"]) == pytest.approx((0.05, 0.30), abs=1e-3)
    assert levels["tank"] == pytest.approx(1.3139, abs=2e-3)
    assert abs(flows["into tank"]) < 1e-8


def test_a_pump_behind_draws_a_standing_tank_down_to_its_mouth():
    """Between a still pump and one that runs hangs a return: its tank is drawn down to the mouth, the rest comes through.

    q^2 = (H0 - lift)/(a + losses): K 10 of the still impeller, both risers with check valves of 100 f_T (Crane), the return.
    """
    valve = Item("check valve", {"crack": exact(0.0)}, label="valve")
    row = [one("still", 3.0, FLAT, header="between", off=True), one("runs", 3.0, FLAT, source="between")]
    answer, flows, levels = standing([replace(pump, line=(*pump.line, valve)) for pump in row],
                                     [fed("tank", "header"), fed("aside", "between", 1.30)], ["tank", "aside"],
                                     GivenWater("line", high(LEVEL), chamber="pumps"))
    q = math.sqrt((3.0 - (MOUTH - LEVEL)) / (FLAT + square(10.0 + 2.0 * (3.0 + 100.0 * ft_Crane(BORE)) + 7.0)))
    assert answer.kind == STEADY
    assert levels["aside"] == pytest.approx(1.30, abs=5e-3)
    assert (flows["still"], flows["runs"]) == pytest.approx((q, q), rel=5e-4)


def test_a_drooping_pump_beside_a_standing_tank():
    """Left of its peak a drooping pump meets lift + (K + exit) V^2/2g while a tank stands by; the same by line and by amount."""
    curve = ((0.0, 2.0), (0.5e-3, 2.2), (1.0e-3, 2.4), (1.4e-3, 1.6), (1.8e-3, 0.0))
    pump = Pump("drooping", "pumps", high(0.05), curve, line=(losses(3.0, BORE),), header="header")
    hung = [pump], [fed("tank", "header"), fed("aside", "header", 3.0)], ["tank", "aside"]
    answer, flows, levels = standing(*hung, GivenWater("line", high(LEVEL), chamber="pumps"))
    true = PchipInterpolator(*zip(*curve, strict=True))
    q = brentq(lambda q: float(true(q)) - (MOUTH - LEVEL) - square(10.0) * q * q, 1e-4, 1.0e-3)
    assert q < 0.8e-3  # where the curve rises
    assert flows["drooping"] == pytest.approx(q, rel=1e-3)
    total = GivenWater("total", total=exact(float(answer.state.total)), chamber="pumps")
    _, by_amount, stand = standing(*hung, total)
    assert by_amount["drooping"] == pytest.approx(flows["drooping"], rel=1e-5)
    assert stand["aside"] == pytest.approx(levels["aside"], abs=1e-6)
