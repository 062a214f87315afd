"""Fittings, valves and check valves."""

import math

import numpy as np
import pytest

from hydro.description.build import Item
from hydro.elements.fittings import FITTINGS, SHUT, THROTTLED, TRICKLE, CheckValve, LocalLoss, change_of_bore, throttled
from hydro.elements.registry import PartContext, Reader, family
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain

GATE = ((0.25, 24.0), (0.5, 4.5), (0.75, 0.9))


def test_a_loss_is_k_velocity_heads():
    """K velocity heads of the bore are lost, by the definition of K."""
    bore, flow = 0.03, 1.5e-3
    speed = flow / (math.pi / 4.0 * bore**2)
    assert LocalLoss.of(2.7, bore).loss(flow)[0] == pytest.approx(2.7 * speed**2 / (2.0 * GRAVITY), rel=1e-6)


def test_equal_bores_lose_nothing():
    """A change of bore that is none has K = 0."""
    assert change_of_bore(0.03, 0.03).k == 0.0


def test_a_widening_loses_more_than_a_narrowing_of_a_great_step():
    """Into a very large bore the whole velocity head is lost, out of one half of it: the limits of both formulas."""
    assert change_of_bore(0.01, 10.0).k == pytest.approx(1.0, abs=1e-5)
    assert change_of_bore(10.0, 0.01).k == pytest.approx(0.5, abs=1e-5)


@pytest.mark.parametrize(("opening", "k"), [*GATE, (1.0, 0.18), (math.sqrt(0.25 * 0.25), 24.0)])
def test_a_throttled_valve_passes_through_its_table(opening, k):
    """At the openings of its table and fully open a valve has just the K given there."""
    assert throttled(GATE, opening, 0.18) == pytest.approx(k, rel=1e-12)


def test_closing_a_valve_raises_its_k():
    """From open to nearly shut K never falls, for floats as for arrays, and half way between two points it is their root."""
    openings = np.linspace(0.02, 1.0, 50)
    ks = throttled(GATE, openings, 0.18)
    assert (np.diff(ks) < 0.0).all()
    assert ks == pytest.approx([throttled(GATE, x, 0.18) for x in openings.tolist()], rel=1e-12)
    assert throttled(GATE, 0.375, 0.18) == pytest.approx(math.sqrt(24.0 * 4.5), rel=1e-12)


@pytest.mark.parametrize("word", ["gate valve", "ball valve"])
def test_valves_know_their_opening(word):
    """Both valves of the registry take an opening."""
    assert "open" in [field.name for field in family("part")[word].fields]


def made(word, overrides=None, **written):
    """Return a valve of the registry on a bore of 40 mm, with the names of what it took besides what is written."""
    values = {name: value if isinstance(value, str) else Uncertain.exact(value, name) for name, value in written.items()}
    context = PartContext({}, overrides or {}, lambda height: height.offset.at({}), 1e-6)
    (valve,) = family("part")[word].make(Reader(Item(word, values, label=word), context, bore=0.040))
    return valve, set(context.used) - set(written)


@pytest.mark.parametrize("word", ["gate valve", "ball valve"])
@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_k_of_a_throttled_valve_is_known_to_a_factor_of_two(word, factor):
    """The default's band spans half and twice the table's K, and its ends scale K just so; the band is told as used."""
    assert (THROTTLED.low, THROTTLED.middle, THROTTLED.high) == (0.5, 1.0, 2.0)
    scaled = {THROTTLED.name: Uncertain.exact(factor, THROTTLED.name)}
    (plain, used), (other, _) = made(word, open=0.4), made(word, scaled, open=0.4)
    assert other.k == pytest.approx(factor * plain.k, rel=1e-12)
    assert other.loss(1e-3)[0] == pytest.approx(factor * plain.loss(1e-3)[0], rel=1e-6)
    assert used == {FITTINGS.name, THROTTLED.name}


@pytest.mark.parametrize("written", [{}, {"open": 1.0}, {"K": 45.0}], ids=str)
def test_a_valve_that_is_not_throttled_has_no_such_band(written):
    """Fully open, or by a K of the owner's own, a valve does not take the band of throttled ones."""
    assert THROTTLED.name not in made("gate valve", **written)[1]


def test_a_valve_never_loses_less_than_open():
    """At the low end of its band a valve that is hardly closed loses what it loses open, not less."""
    low = {THROTTLED.name: Uncertain.exact(0.5, THROTTLED.name)}
    nearly, whole = made("gate valve", low, open=0.99)[0], made("gate valve", open=1.0)[0]
    assert nearly.k == whole.k


@pytest.mark.parametrize("opening", [0.05, 0.25, 0.6, 0.99])
def test_the_opening_of_a_k(opening):
    """The opening that is read off the table at a valve's K is the one that gives this K."""
    assert made("ball valve", open=opening)[0].open_share() == pytest.approx(opening, abs=1e-9)


def test_a_valve_to_be_tuned_is_open_until_then():
    """A valve that is tuned has its open K before anything is solved, and carries the trickle that it is to leave."""
    (valve, used), whole = made("gate valve", open="tuned"), made("gate valve")[0]
    assert (valve.k, valve.opened, valve.trickle) == (whole.k, whole.k, TRICKLE.middle)
    assert used == {FITTINGS.name, TRICKLE.name}


def test_a_holding_valve_lets_nothing_back():
    """A metre of head pushes less than half a litre an hour back through a valve that holds."""
    valve = CheckValve.of(2.0, 0.03)
    assert valve.loss(-0.5 / 3.6e6)[0] < -1.0
    assert valve.back == SHUT


def test_a_stuck_valve_is_a_fitting_both_ways():
    """Stuck open it loses backwards just what it loses forward without its cracking head."""
    stuck = CheckValve.of(2.0, 0.03, crack=0.02, back=0.0)
    assert stuck.loss(-1e-3)[0] == pytest.approx(-LocalLoss.of(2.0, 0.03).loss(1e-3)[0], rel=1e-12)


def test_the_cracking_head_is_there_at_a_trickle():
    """From 36 L/h on the whole cracking head is lost besides K, within 1 %."""
    valve = CheckValve.of(2.0, 0.03, crack=0.05)
    assert valve.loss(1e-5)[0] - LocalLoss.of(2.0, 0.03).loss(1e-5)[0] == pytest.approx(0.05, rel=0.011)
