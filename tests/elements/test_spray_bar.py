"""Spray bars: the jets' law, the march against one with friction at each flow, the spread, and the end of a line."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from hydro.description.build import Item
from hydro.elements.line import LineLink, prepare_line
from hydro.elements.pipe import Pipe
from hydro.elements.registry import KINDS, PartContext, Reader, load_all
from hydro.elements.spray_bar import COEFFICIENT, SprayBar
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain
from hydro.solve import System, solve

ROUGHNESS, VISCOSITY, CD = 1.5e-6, 1e-6, 0.62
SHORT = [(0.0204, 0.6, 24, 0.004), (0.0284, 1.2, 30, 0.005), (0.0402, 1.5, 20, 0.008)]
"""Bars of up to 45 bores with holes of up to the bar's area: bore, length, holes, bore of a hole."""
LONG = [(0.0204, 2.0, 40, 0.004), (0.0284, 2.8, 60, 0.004), (0.0204, 0.6, 24, 0.006)]
"""Longer ones, and one with holes of twice the bar's area."""
SPEEDS = (0.25, 0.5, 1.0, 2.0, 3.0)


def area(bore):
    """Return the area of a bore, m2."""
    return math.pi / 4.0 * bore * bore


def bar(bore, length, holes, hole, regain=0.7, coefficient=CD):
    """Return a bar of smooth plastic."""
    return SprayBar.of(bore, length, holes, hole, coefficient, regain, ROUGHNESS, VISCOSITY)


def marched(flow, bore, length, holes, hole, regain):
    """Return total head and jets, first to last, at a flow: friction evaluated in every stretch at the flow it has there."""
    stretch = Pipe.of(bore, length / holes, ROUGHNESS, VISCOSITY)

    def march(last):
        through, head, jets = 0.0, last, []
        for _ in range(holes):
            jet = CD * area(hole) * math.sqrt(2.0 * GRAVITY * head)
            jets.insert(0, jet)
            head += stretch.loss(through + jet)[0]
            head -= regain * ((through + jet) ** 2 - through**2) / (2.0 * GRAVITY * area(bore) ** 2)
            through += jet
        return through, head + (through / area(bore)) ** 2 / (2.0 * GRAVITY), jets

    last = brentq(lambda head: march(head)[0] - flow, 1e-9, 50.0, xtol=1e-15, rtol=1e-14)
    return march(last)[1:]


@pytest.mark.parametrize("regain", [0.4, 0.7, 1.0])
@pytest.mark.parametrize("made", SHORT + LONG)
def test_the_march_meets_the_nominal_flow(made, regain):
    """At 1 m/s, where its friction is taken, a bar loses what a march found by bracketing loses, its jets spread alike."""
    flow = area(made[0])
    head, jets = marched(flow, *made, regain)
    one = bar(*made, regain=regain)
    assert one.loss(flow)[0] == pytest.approx(head, rel=1e-5)
    assert one.first_to_last == pytest.approx(jets[0] / jets[-1], rel=1e-5)
    assert one.weakest == pytest.approx(min(jets) / max(jets), rel=1e-5)


@pytest.mark.parametrize("speed", SPEEDS)
@pytest.mark.parametrize("regain", [0.4, 0.7, 1.0])
@pytest.mark.parametrize(("made", "head_off", "spread_off"), [*((made, 0.035, 0.03) for made in SHORT),
                                                              *((made, 0.10, 0.12) for made in LONG)])
def test_what_one_coefficient_leaves_out(made, head_off, spread_off, regain, speed):
    """From 0.25 to 3 m/s the head is off by less than 3.5 % and the spread by 3 points; of long bars by 10 % and 12 points."""
    flow = speed * area(made[0])
    head, jets = marched(flow, *made, regain)
    one = bar(*made, regain=regain)
    assert one.loss(flow)[0] == pytest.approx(head, rel=head_off)
    assert one.first_to_last == pytest.approx(jets[0] / jets[-1], abs=spread_off)
    assert one.weakest == pytest.approx(min(jets) / max(jets), abs=spread_off)


def test_a_single_hole_is_torricellis():
    """One hole at the end of a wide short bar with full regain loses (q / (Cd a))^2 / 2g."""
    one = bar(0.1, 0.01, 1, 0.01, regain=1.0)
    flow = 1e-3
    assert one.loss(flow)[0] == pytest.approx((flow / (CD * area(0.01))) ** 2 / (2.0 * GRAVITY), rel=1e-3)
    assert one.first_to_last == one.weakest == 1.0


def test_many_holes_in_a_wide_bar_are_holes_side_by_side():
    """Where the bar is wide, n holes lose what one hole of n times the area does, evenly spread."""
    one = bar(0.2, 0.5, 12, 0.006)
    flow = 2e-3
    assert one.loss(flow)[0] == pytest.approx((flow / (12 * CD * area(0.006))) ** 2 / (2.0 * GRAVITY), rel=1e-3)
    assert one.first_to_last == pytest.approx(1.0, abs=1e-3)


def test_regain_against_friction():
    """With full regain the last hole of a short bar gives the most; in a long thin one friction gives the first one more."""
    assert bar(0.0284, 0.3, 30, 0.005, regain=1.0).first_to_last < 0.92
    assert bar(0.0204, 2.0, 40, 0.004, regain=0.4).first_to_last > 1.15


def test_without_friction_the_spread_is_the_momentums():
    """In a very short bar with full regain the total head is the same all along: a jet's square falls by the speed's square."""
    bore, holes, hole = 0.0284, 20, 0.006
    one = bar(bore, 1e-6, holes, hole, regain=1.0)
    flow = one.open * area(bore) * CD * math.sqrt(2.0 * GRAVITY * 0.2)  # some flow: the spread does not depend on it
    total = one.loss(flow)[0]
    last = CD * area(hole) * math.sqrt(2.0 * GRAVITY * total)
    beyond = flow - one.first_to_last * last
    head = total - (beyond / area(bore)) ** 2 / (2.0 * GRAVITY)
    assert one.first_to_last * last == pytest.approx(CD * area(hole) * math.sqrt(2.0 * GRAVITY * head), rel=1e-6)


def test_the_rule_of_the_trade():
    """Holes of the bar's own area spread within 15 % in a short bar, those of half of it within 5 %, of twice it beyond 25 %."""
    spread = {holes: bar(0.0204, 0.6, holes, 0.004, regain=0.9) for holes in (13, 26, 52)}
    assert [round(one.open, 2) for one in spread.values()] == [0.5, 1.0, 2.0]
    assert spread[13].weakest > 0.95
    assert 0.85 < spread[26].weakest < spread[13].weakest
    assert spread[52].weakest < 0.75


def test_holes_that_would_draw_in_give_nothing():
    """With holes of many times the bar's area some would draw in: they give nothing, and the loss stays positive."""
    one = bar(0.0204, 0.3, 60, 0.008, regain=1.0)
    assert one.weakest == 0.0
    assert one.loss(1e-3)[0] > 0.0


def test_counts_are_whole():
    """A count is rounded, and is at least one."""
    assert bar(0.0284, 1.0, 11.6, 0.005) == bar(0.0284, 1.0, 12, 0.005)
    assert bar(0.0284, 1.0, 0.2, 0.005) == bar(0.0284, 1.0, 1, 0.005)


def test_arrays_of_bars():
    """Bars made from arrays, of different counts too, are those made from floats."""
    designs = [(*made, regain) for made in SHORT + LONG for regain in (0.4, 1.0)]
    together = bar(*(np.array(column, dtype=float) for column in zip(*designs, strict=True)))
    for k, design in enumerate(designs):
        alone = bar(*map(float, design))
        for name in ("k", "quadratic", "first_to_last", "weakest", "open", "volume"):
            assert getattr(together, name)[k] == pytest.approx(getattr(alone, name), rel=1e-12)


def described(*items):
    """Return items and the making of a line."""
    load_all()
    made = [Item(word, {name: Uncertain.exact(value, f"{word} {name}") for name, value in values.items()}, label=word)
            for word, values in items]
    return made, PartContext({}, {}, lambda height: 0.0, VISCOSITY)


BAR = ("spray bar", {"size": 0.0284, "length": 0.8, "holes": 20.0, "hole": 0.005})


def test_a_bar_ends_its_line():
    """Behind a spray bar no exit loss is entered, before it the change of bore is; behind a pipe the exit loss stays."""
    ended = prepare_line(*described(("pipe", {"size": 0.0402, "length": 1.0}), BAR))
    assert [part.label for part in ended.parts][-2:] == ["spray bar: change of bore", "spray bar"]
    open_end = prepare_line(*described(("pipe", {"size": 0.0402, "length": 1.0})))
    assert open_end.parts[-1].label == "line: exit"
    assert ended.bore == 0.0284


def test_a_bar_is_a_part_of_the_registry():
    """The registry's word makes the bar with the defaults noted, and a coefficient written behind the word changes it."""
    (item,), context = described(BAR)
    made = KINDS["spray bar"].make(Reader(item, context, 0.0402))[0]
    assert made.loss(1e-3) == pytest.approx(bar(0.0284, 0.8, 20, 0.005).loss(1e-3), rel=2e-3)
    assert {"spray hole coefficient", "spray bar regain", "pipe roughness"} <= set(context.used)
    item = replace(item, values=item.values | {COEFFICIENT.name: Uncertain.exact(0.8, "wide")})
    assert KINDS["spray bar"].make(Reader(item, context, 0.0402))[0].k < made.k


@pytest.mark.parametrize(("level", "outlet"), [(0.9, 1.0), (1.3, 1.0)])
def test_drowned_or_in_the_air(level, outlet):
    """A line with a bar works against the mouth's height in the air, against the level under water: closed form within 0.1 %."""
    line = prepare_line(*described(BAR))
    system = System(((LineLink("return", line, outlet).residual, 0, 1),), (None, None), (None,), {0: 2.0, 1: level}, None)
    flow = solve(system, [2.0, level], [1e-3]).flows[0]
    assert flow == pytest.approx(math.sqrt((2.0 - max(level, outlet)) / line.quadratic), rel=1e-3)
