"""Fittings, valves and check valves."""

import math

import numpy as np
import pytest

from hydro.elements.fittings import SHUT, CheckValve, LocalLoss, change_of_bore, throttled
from hydro.elements.registry import family
from hydro.quantities.arrays import GRAVITY

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
