"""Emptying, equalising and siphons through time: the project's own elements and engine against published examples.

Sources as in each docstring; 'computed' values follow from the printed inputs in closed form. Textbooks use g = 9.81 m/s2, the
library 9.80665: 0.02 % of a time. All within 0.5 %.
"""

import math
from dataclasses import replace

import pytest
from reservoirs import FOOT, INCH, area

from hydro.elements.fittings import LocalLoss
from hydro.elements.line import Line, LineLink
from hydro.elements.waters import Body
from hydro.network.model import CHAMBER, OUTSIDE, TANK, Link, Network, Water
from hydro.steady.state import State
from hydro.transient.integrate import Watch, history
from hydro.transient.state import moment_of

pytestmark = pytest.mark.published
FAR_BELOW = -100.0
CLOSE = 5e-3


def opening(bore, coefficient=1.0, outlet=0.0):
    """Return an orifice of a bore as a way out: q = Cd a sqrt(2 g h), its jet at `outlet`."""
    return LineLink("opening", Line.of([LocalLoss.of(1.0 / coefficient ** 2, bore)]), outlet)


def followed(waters, link, until):
    """Return the time at which `until` (a margin of an instant) falls to nothing, s."""
    network = Network(waters, (Link("opening", link, 0, 1),), sumps=((1,),), pump_chamber=1, pumps=(0,))
    levels = tuple(water.body.bottom + water.body.height if water.level is None else water.level for water in waters)
    start = moment_of(State(network, None, levels, (1e-4,), 0))

    def watches(moment):
        if moment.flags:
            return []
        return [Watch("mark", until, lambda now: (replace(now, flags=frozenset({"there"})), "there"))]

    went = history(start, watches, enough=lambda moment, events: "there" if events else "", longest=1e5)
    assert went.ended == "there"
    return went.end.time


def emptied(surface, bore, high, low, coefficient=1.0):
    """Return the time in which a tank of upright walls falls from `high` to `low` over its orifice, s."""
    waters = (Water("tank", TANK, Body.box("tank", 0.0, surface, high)), Water("outside", OUTSIDE, level=FAR_BELOW))
    return followed(waters, opening(bore, coefficient), lambda now: now.tank_level - low)


def bore_of(section):
    """Return the bore of a round opening of an area, m."""
    return math.sqrt(4.0 * section / math.pi)


def test_a_tank_falls_to_half():
    """Cengel and Cimbala, Ex. 5-2: 3 ft across, jet of half an inch, from 4 ft to 2 ft takes 757 s."""
    assert emptied(area(3 * FOOT), 0.5 * INCH, 4 * FOOT, 2 * FOOT) == pytest.approx(757, rel=CLOSE)


def test_a_tank_with_a_square_hole():
    """An exam-preparation problem: 4 ft across, 5 square inches, from 6 ft to 2 ft takes 94 s (93.38 without rounded roots)."""
    time = emptied(area(4 * FOOT), bore_of(5 * INCH ** 2), 6 * FOOT, 2 * FOOT)
    assert time == pytest.approx(93.38, rel=CLOSE)
    assert time == pytest.approx(94, rel=0.01)


@pytest.mark.parametrize(("surface", "section", "high", "time"),
                         [(area(1.2), area(0.05), 3.0, 750.78), (3.2, 10e-4, 5.0, 5384.7)], ids=["6.17", "6.19"])
def test_emptying_to_the_last(surface, section, high, time):
    """Choudhary and Om Prakash, Fluid Mechanics, Ex. 6.17 and 6.19 (times computed from the inputs): empty, Cd 0.6."""
    assert emptied(surface, bore_of(section), high, 1e-6, 0.6) == pytest.approx(time, rel=CLOSE)


def test_two_tanks_level_out():
    """Computed: 0.5 and 0.3 m2 joined by a hole of 20 mm, Cd 0.6, 0.3 m apart, are level after 246.0 s."""
    waters = (Water("higher", TANK, Body.box("higher", 0.0, 0.5, 1.3)), Water("lower", CHAMBER, Body.box("lower", 0.0, 0.3, 1.0)))
    time = followed(waters, opening(0.020, 0.6, outlet=FAR_BELOW), lambda now: now.levels[0] - now.levels[1] - 3e-7)
    assert time == pytest.approx(246.0, rel=CLOSE)


def test_a_siphon_fills_a_can():
    """Cengel and Cimbala, Ex. 5-7: a tube of 5 mm, 0.75 m of fall: 3.84 m/s, 4 L in 53.1 s."""
    waters = (Water("tank", TANK, Body.box("tank", 0.0, 1e3, 2.0)), Water("outside", OUTSIDE, level=FAR_BELOW))
    time = followed(waters, opening(0.005, outlet=1.25), lambda now: 0.004 - now.left[0])
    assert time == pytest.approx(53.1, rel=CLOSE)
    assert 0.004 / time / area(0.005) == pytest.approx(3.84, rel=CLOSE)
