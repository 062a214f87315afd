"""The return pump: its curve, what it is known by, and its line."""

import numpy as np
import pytest

from hydro.elements.fittings import CheckValve, LocalLoss
from hydro.elements.line import Line
from hydro.elements.pump import PumpCurve, PumpLine, fitted_exponent, fitted_speed, from_box, from_tests
from hydro.solve import System, solve

L_H = 1.0 / 3.6e6
POINTS = [(0.0, 5.0), (1800 * L_H, 4.7), (3600 * L_H, 3.9), (5000 * L_H, 2.9), (6200 * L_H, 1.6), (7200 * L_H, 0.0)]
DROOPING = [(0.0, 3.0), (1000 * L_H, 3.4), (3000 * L_H, 2.9), (5000 * L_H, 0.5)]


def running(up, down, start=1e-3, **changes):
    """Return the flow of a pump with a line between two given levels."""
    made = {"curve": PumpCurve.of(POINTS), "line": Line.of([LocalLoss.of(4.0, 0.0284)]), "intake": -0.5} | changes
    pump = PumpLine("pump", **made)
    found = solve(System(((pump.residual, 0, 1),), (None, None), (None,), {0: up, 1: down}, None), [up, down], [start], most=300)
    assert found.solved
    return found.flows[0]


def test_the_curve_passes_through_its_points():
    """At each point given the curve has the head given; shut-off and best head are those of the points."""
    curve = PumpCurve.of(POINTS)
    assert [curve.head(q)[0] for q, _ in POINTS] == pytest.approx([h for _, h in POINTS], abs=1e-12)
    assert (curve.shutoff, curve.best, curve.droops) == (5.0, 5.0, False)


def test_the_curve_falls_everywhere():
    """Through falling points the curve falls everywhere, steeply at reversed flow, straight on beyond the last point."""
    curve = PumpCurve.of(POINTS)
    flows = np.linspace(-1e-3, 4e-3, 400).tolist()
    assert all(curve.head(q)[1] <= 0.0 for q in flows)
    assert curve.head(-100 * L_H)[0] > 6.0
    step = curve.head(8000 * L_H)[0] - curve.head(7600 * L_H)[0]
    assert curve.head(8400 * L_H)[0] - curve.head(8000 * L_H)[0] == pytest.approx(step)


def test_points_that_begin_above_no_flow_are_carried_back():
    """Carried back to no flow on the first slope, then steep: no pump runs backwards for want of a point at 0."""
    curve = PumpCurve.of(POINTS[2:])
    assert curve.head(3600 * L_H)[0] == pytest.approx(3.9)
    assert 3.9 < curve.shutoff < 6.0
    assert curve.head(1e-12)[0] == pytest.approx(curve.head(-1e-12)[0], abs=1e-6)
    assert curve.head(-360 * L_H)[0] > curve.shutoff + 3.0


@pytest.mark.parametrize("points", [POINTS, POINTS[2:], DROOPING], ids=["full", "from 3600 L/h on", "drooping"])
@pytest.mark.parametrize("valve", [False, True], ids=["plain", "check valve"])
@pytest.mark.parametrize("spare", [3.0, 1.0, 0.05, -0.2, -3.0, -10.0])
def test_the_point_of_a_pump_is_found_from_any_start(points, valve, spare):
    """From any start the solver finds one point, also where the best head lies far below the lift and the pump stands."""
    parts = [LocalLoss.of(4.0, 0.0284), *([CheckValve.of(2.0, 0.0284)] if valve else [])]
    curve = PumpCurve.of(points)
    lift = float(curve.best) - spare
    flows = [running(0.0, lift, start, curve=curve, line=Line.of(parts), outlet=outlet)
             for start in (2e-3, 1e-4, 0.0, -1e-6, -1e-3) for outlet in (-1e4, lift - 0.3)]
    assert flows == pytest.approx([flows[0]] * len(flows), abs=1e-8)
    assert flows[0] > 10 * L_H if spare > 0.0 else -1500 * L_H < flows[0] <= 0.0


def test_affinity():
    """At a share s of full speed flow goes with s and head with s^2; both ways of asking agree."""
    curve = PumpCurve.of(POINTS)
    assert curve.head(0.6 * 3600 * L_H, 0.6)[0] == pytest.approx(0.36 * 3.9)
    assert curve.at_speed(0.6).head(0.9e-3)[0] == pytest.approx(curve.head(0.9e-3, 0.6)[0], rel=1e-12)
    assert curve.scaled(0.93).head(1e-3)[0] == pytest.approx(0.93 * curve.head(1e-3)[0], rel=1e-12)


def test_a_drooping_curve_is_solved_on_its_falling_envelope():
    """The envelope never rises and is the true curve from the peak on; droop and best head are told from the points."""
    curve = PumpCurve.of(DROOPING)
    assert curve.droops
    assert (curve.shutoff, curve.best) == (3.0, 3.4)
    heads = [curve.head(q, true=False)[0] for q in np.linspace(0.0, 5000 * L_H, 60).tolist()]
    assert (np.diff(heads) < 0.0).all()
    assert curve.head(4000 * L_H, true=False)[0] == pytest.approx(curve.head(4000 * L_H)[0], abs=1e-3)
    assert curve.head(0.0, true=False)[0] == pytest.approx(3.4, abs=1e-3)


@pytest.mark.parametrize("exponent", [1.0, 2.0, 3.0])
def test_the_box_curve_is_its_formula(exponent):
    """The curve from a box is H0 (1 - (q/Q0)^n) within 0.3 % of H0 everywhere."""
    curve = from_box(2e-3, 4.0, exponent)
    for share in np.linspace(0.0, 1.0, 33).tolist():
        assert curve.head(share * 2e-3)[0] == pytest.approx(4.0 * (1.0 - share**exponent), abs=0.012)


def test_two_bucket_tests_make_a_curve():
    """Two tests alone give the parabola through both, with its shut-off head derived from them."""
    curve = from_tests([(1e-3, 1.5), (5e-4, 3.0)])
    assert [curve.head(q)[0] for q in (1e-3, 5e-4)] == pytest.approx([1.5, 3.0], rel=2e-3)
    assert curve.shutoff == pytest.approx(3.5)  # 3.0 + 1.5/3: a quarter of the square costs a third of the difference


@pytest.mark.parametrize("tests", [[(1e-3, 1.5)], [(1e-3, 1.5), (1e-3, 1.2)], [(1e-3, 1.5), (1.2e-3, 1.5)],
                                   [(1e-3, 1.5), (5e-4, 1.0)]])
def test_tests_that_make_no_curve_are_refused(tests):
    """One test, two at one flow, two at one height, or more head with more flow say nothing about a curve."""
    with pytest.raises(ValueError, match="bucket tests"):
        from_tests(tests)


def test_a_test_moves_the_curve_through_itself():
    """Fitted to a test at another speed, speed and exponent are those the test was made with."""
    curve = PumpCurve.of(POINTS)
    assert fitted_speed(curve, [(1e-3, curve.head(1e-3, 0.87)[0])]) == pytest.approx(0.87, rel=1e-6)
    assert fitted_exponent(2e-3, 4.0, [(1.1e-3, 4.0 * (1.0 - 0.55**1.7))]) == pytest.approx(1.7)
    assert fitted_exponent(2e-3, 4.0, [(1.1e-3, 3.999)]) == 3.0
    assert fitted_exponent(2e-3, 4.0, []) == 2.0


def test_a_pump_with_little_water_draws_air():
    """Where the water stands at the intake the pump moves what comes, not what its curve would give."""
    assert running(0.0, 1.5) > 4000 * L_H
    pump = PumpLine("pump", PumpCurve.of(POINTS), Line.of([LocalLoss.of(4.0, 0.0284)]), 0.07)
    feed = PumpLine("feed", PumpCurve.of(POINTS), Line.of([]), -9.0, driven=1.0, target=800 * L_H)
    system = System(((feed.residual, 0, 1), (pump.residual, 1, 2)), (None,) * 3, (None,) * 2, {0: 0.0, 2: 1.5}, None)
    found = solve(system, [0.0, 0.2, 1.5], [800 * L_H] * 2, most=300)
    assert found.solved
    assert found.flows[1] == pytest.approx(800 * L_H, rel=1e-6)
    assert found.heads[1] == pytest.approx(0.07, abs=5e-4)


def test_a_stopped_pump_lets_the_tank_back_unless_a_valve_holds():
    """Standing still it is a resistance both ways; a check valve that holds stops the way back."""
    assert running(0.2, 1.5, running=0.0, stopped=1e6) < -500 * L_H
    line = Line.of([LocalLoss.of(4.0, 0.0284), CheckValve.of(2.0, 0.0284)])
    assert running(0.2, 1.5, running=0.0, stopped=1e6, line=line) == pytest.approx(0.0, abs=0.1 * L_H)


def test_water_that_runs_back_pays_for_leaving_the_pump():
    """1.3 m over a still pump drive 2973 L/h back through K 4 of its line, K 10 of its impeller and K 1 at its exit.

    V = (2g 1.3/15)^0.5 = 1.30377 m/s on 28.4 mm (6.33471e-4 m2): 8.2590e-4 m3/s; without the exit (K 14) 3078 L/h.
    Forward, out of the sump, there is no such exit.
    """
    per_k = 1.0 / (2.0 * 9.80665 * 6.33471e-4 ** 2)
    back = running(0.2, 1.5, running=0.0, stopped=10.0 * per_k, leaving=per_k)
    assert back == pytest.approx(-8.2590e-4, rel=1e-3)
    assert running(0.2, 1.5, running=0.0, stopped=10.0 * per_k) == pytest.approx(-3077.5 * L_H, rel=1e-3)
    forward = [running(1.5, 0.2, running=0.0, stopped=10.0 * per_k, leaving=leaving) for leaving in (0.0, per_k)]
    assert forward[0] == pytest.approx(forward[1], rel=1e-9)


def test_a_driven_pump_carries_what_it_is_told():
    """With a given flow the levels do not matter, and the head to spare says what it would have needed."""
    assert running(0.2, 30.0, driven=1.0, target=1e-3) == pytest.approx(1e-3)
    pump = PumpLine("pump", PumpCurve.of(POINTS), Line.of([LocalLoss.of(4.0, 0.0284)]), 0.0)
    flow = running(0.2, 1.5)
    assert pump.spare_head(flow, 0.2, 1.5) == pytest.approx(0.0, abs=2e-5)
