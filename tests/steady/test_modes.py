"""How a loop runs, or why it does not: hand-made builds for each named answer, with thresholds worked out here."""

import math

import pytest
from builds import box, drain, found, item, loop, pump, way
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, minimize_scalar
from single_drains import BORE, L_H, LIP, PRIMES, SWEEPS, G, driven, single

from hydro.checks import FAILS
from hydro.checks.pump import intake
from hydro.description.build import Drain
from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.scenarios.placed_build import closing_of, place
from hydro.steady import modes as regimes
from hydro.steady import pump_lift as lifting
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, DRAWS_AIR, STEADY, SURGES, TWO_POINTS


def answer(build):
    """Return how a build runs."""
    return found(build).answer


def modes(state):
    """Return the modes in which the drains of a state stand."""
    return [state.network.links[k].element.mode for k in state.network.drains]


def throttled(k, higher=0.030):
    """Return a siphon throttled by a valve of K, with an open channel whose lip stands higher beside it."""
    siphon = drain("siphon", lip=LIP, bore=BORE, k=k)
    return loop(drains=[siphon, drain("channel", lip=LIP + higher, bore=0.057)], driven_by=driven(0.6))


@pytest.mark.parametrize("share", [0.2, 0.3])
def test_a_drain_within_its_rating_runs_with_air(share):
    """Below the flow that sweeps air out an open drain runs with air, in one way only."""
    result = answer(single(share))
    assert (result.kind, result.others, modes(result.state)) == (STEADY, (), [WITH_AIR])
    assert result.state.pump_flow < SWEEPS


@pytest.mark.parametrize("share", [0.5, 0.6, 0.8])
def test_an_open_drain_in_the_gap_surges(share):
    """Between its vented rating and what its full pipe carries an un-throttled drain has no steady state: it surges."""
    result = answer(single(share))
    assert result.kind == SURGES
    low, high = result.states
    element = low.network.links[low.network.drains[0]].element
    assert SWEEPS < high.pump_flow < element.full_flow(0.4 * BORE, low.levels[1])


def test_surging_is_bounded():
    """The tank swings between 0.4 D, where the siphon breaks, and 1.36 D, where J = 1; the sump gets what the tank gives."""
    result = answer(single(0.6))
    low, high = result.states
    assert low.tank_level == pytest.approx(LIP + 0.4 * BORE, abs=1e-5)
    assert high.tank_level == pytest.approx(LIP + PRIMES, abs=2e-4)
    assert result.figures["lowest tank level"] == low.tank_level
    assert result.figures["highest tank level"] == high.tank_level
    assert result.figures["highest pump chamber level"] == low.pump_level


def test_a_wide_rim_has_to_drown_first():
    """Under a rim 1.6 times as wide as the pipe the tank rises to the rim's diameter: J is past 1 there, and then it primes."""
    result = answer(loop(drains=[drain(bore=BORE, rim=1.6 * BORE, lip=LIP)], driven_by=driven(0.6)))
    low, high = result.states
    assert result.kind == SURGES
    assert high.tank_level == pytest.approx(LIP + 1.6 * BORE, abs=1e-5)
    assert low.tank_level == pytest.approx(LIP + 0.4 * 1.6 * BORE, abs=1e-5)
    assert high.pump_flow > SWEEPS


def test_surging_moves_the_pump_chamber():
    """With a given amount of water the pump chamber falls while the tank rises: both bounds hold the same water."""
    state = answer(single(0.3)).state
    result = answer(single(0.6, total=state.total + 0.02))
    low, high = result.states
    assert result.kind == SURGES
    assert low.total == pytest.approx(high.total, abs=1e-9)
    gained = 2.06 * 0.78 * (high.tank_level - low.tank_level)
    lost = sum(low.network.waters[k].body.stored(low.levels[k])[0] - high.network.waters[k].body.stored(high.levels[k])[0]
               for k in low.network.chambers)
    held = [state.network.links[k].element.held(state.flows[k])[0] for state in (low, high) for k in state.network.drains]
    assert gained == pytest.approx(lost + held[0] - held[1], abs=1e-8)
    assert result.figures["lowest pump chamber level"] == high.pump_level < low.pump_level


def test_a_throttled_siphon_with_an_open_channel_is_steady():
    """Throttled to just under the pump's flow the siphon stays full, and the channel beside it takes the little that is left."""
    result = answer(throttled(45.0))
    assert result.kind == STEADY
    siphons = [state for state in result.states if modes(state) == [SIPHON, WITH_AIR]]
    assert len(siphons) == 1
    state = siphons[0]
    first, second = (state.flows[k] for k in state.network.drains)
    assert first + second == pytest.approx(state.pump_flow, abs=1e-9)
    assert 0.0 < second < 0.3 * first
    assert state.tank_level > LIP + 0.030


def test_without_its_throttle_the_same_siphon_surges():
    """With the valve open the siphon carries too much and with air too little; it alone swings, the channel stays with air."""
    result = answer(loop(drains=[drain("siphon", lip=LIP, bore=BORE), drain("channel", lip=LIP + 0.06, bore=0.0196)],
                         driven_by=driven(0.6)))
    low, high = result.states
    assert (result.kind, modes(low)[1], modes(high)[1]) == (SURGES, WITH_AIR, WITH_AIR)
    assert low.tank_level == pytest.approx(LIP + 0.4 * BORE, abs=1e-5)
    assert high.tank_level == pytest.approx(LIP + PRIMES, abs=2e-4)


def test_a_throttled_siphon_obeys_its_pipe():
    """As a siphon the head over the lip is what the full pipe needs: K, friction left out, checked by hand within 6 %."""
    state = next(state for state in answer(throttled(45.0)).states if SIPHON in modes(state))
    flow, chamber = state.flows[state.network.drains[0]], state.levels[1]
    speed = flow / (math.pi / 4.0 * BORE ** 2)
    fall = state.tank_level - max(chamber, 0.24)
    assert (45.0 + 1.0 + 0.5) * speed ** 2 / (2.0 * G) == pytest.approx(fall, rel=0.06)


def test_a_weak_pump_cannot_lift():
    """A pump whose best head of 1.1 m lies below the 1.27 m to its mouth in the air moves nothing."""
    weak = pump(curve=[(0.0, 1.1), (1000 * L_H, 0.8), (2000 * L_H, 0.0)])
    result = answer(loop(driven_by=weak, returns=[way(end=1.475)]))
    assert result.kind == CANNOT_LIFT
    assert result.state.pump_flow == pytest.approx(0.0, abs=1e-9)
    assert result.figures == {"best head": pytest.approx(1.1), "must lift": pytest.approx(1.475 - 0.205, abs=1e-3)}


def test_a_weak_pump_runs_backwards():
    """With its mouth under the lip and no check valve such a pump lets the tank run back; a check valve or a hole stops that."""
    weak = pump(curve=[(0.0, 1.1), (1000 * L_H, 0.8), (2000 * L_H, 0.0)])
    mouth = {"end": 1.40}
    assert answer(loop(driven_by=weak, returns=[way(**mouth)])).kind == BACKWARDS
    assert answer(loop(driven_by=weak, returns=[way(**mouth, valve=True)])).kind == CANNOT_LIFT
    assert answer(loop(driven_by=weak, returns=[way(**mouth, hole_at=1.49)])).kind == CANNOT_LIFT


def test_a_pump_that_holds_the_tank_up_does_not_run_backwards():
    """Where the best head is above the lip over the chamber, and below the mouth, nothing runs back: it just cannot lift."""
    weak = pump(curve=[(0.0, 1.30), (1000 * L_H, 0.8), (2000 * L_H, 0.0)])
    assert answer(loop(driven_by=weak, returns=[way(end=1.53)])).kind == CANNOT_LIFT


def test_a_check_valve_may_hold_a_weak_pump():
    """A cracking head larger than the head to spare keeps the water down, and the answer says how much it would take."""
    weak = pump(curve=[(0.0, 1.30), (1000 * L_H, 0.8), (2000 * L_H, 0.0)])
    stiff = way(end=1.475)
    stiff = type(stiff)(stiff.name, (*stiff.line, item("check valve", "return", K=2.0, crack=0.05)), stiff.end, stiff.points)
    assert answer(loop(driven_by=weak, returns=[way(end=1.475)])).kind == STEADY
    result = answer(loop(driven_by=weak, returns=[stiff]))
    assert result.kind == CANNOT_LIFT
    assert result.figures["must lift to open the check valves"] - result.figures["must lift"] == pytest.approx(0.05)


def test_too_little_water_draws_air():
    """With 60 L less than its line stands for the pump draws its chamber down to the intake, with head to spare."""
    state = answer(loop()).state
    result = answer(loop(total=state.total - 0.060))
    assert result.kind == DRAWS_AIR
    assert result.state.pump_level == pytest.approx(0.07, abs=1e-3)
    assert 0.0 < result.state.pump_flow < state.pump_flow
    assert result.figures["spare head"] > 0.0


DROOP = [(0.0, 1.28), (800 * L_H, 1.46), (1800 * L_H, 1.44), (3000 * L_H, 0.8), (4000 * L_H, 0.0)]
MOUTH, LEVEL, LOSSES = 1.515, 0.205, 10.0


def drooping(points, losses=LOSSES):
    """Return a loop with a drooping pump that lifts through nothing but K over a mouth in the air."""
    riser = pump(curve=points, riser=False)
    return loop(driven_by=riser, returns=[way(end=MOUTH, length=0.0, k=losses)])


def spare(points, flow, losses=LOSSES):
    """Return the head of a curve through points less lift, K and exit, m: the loop above by hand."""
    speed = flow / (math.pi / 4.0 * 0.0284 ** 2)
    curve = PchipInterpolator(*zip(*points, strict=True))
    return float(curve(flow)) - (MOUTH - LEVEL) - (losses + 1.0) * speed * speed / (2.0 * G) - 1e-3 * flow


def test_two_operating_points():
    """A drooping curve meets the loop's demand twice; both points are found, and the pump does not start from rest."""
    unstable, stable = brentq(lambda q: spare(DROOP, q), 1e-6, 700 * L_H), brentq(lambda q: spare(DROOP, q), 900 * L_H, 3e3 * L_H)
    result = answer(drooping(DROOP))
    assert result.kind == TWO_POINTS
    assert result.figures["stable flow"] == pytest.approx(stable, rel=1e-3)
    assert result.figures["unstable flow"] == pytest.approx(unstable, rel=5e-3)
    assert result.figures["spare head at rest"] == pytest.approx(1.28 - (MOUTH - LEVEL), abs=2e-3)


STEEP = [(0.0, 1.28), (1800 * L_H, 1.64), (3000 * L_H, 0.9), (4000 * L_H, 0.0)]


@pytest.mark.parametrize(("curve", "losses"), [(DROOP, LOSSES), (STEEP, 300.0)], ids=["at the peak", "left of the peak"])
def test_two_points_close_together(curve, losses):
    """Also a curve that stands just 0.05 mm above the demand at its best has its two points found, close as they lie."""
    best = minimize_scalar(lambda q: -spare(curve, q, losses), bounds=(50 * L_H, 2000 * L_H), method="bounded")
    points = [(flow, head + float(best.fun) + 5e-5) for flow, head in curve]
    ends = [brentq(lambda q: spare(points, q, losses), *pair) for pair in ((50 * L_H, best.x), (best.x, 2000 * L_H))]
    result = answer(drooping(points, losses))
    assert result.kind == TWO_POINTS
    assert [result.figures[name] for name in ("unstable flow", "stable flow")] == pytest.approx(ends, rel=0.05)


@pytest.mark.parametrize("best", [0.07, 0.31, 0.5, 0.86])
@pytest.mark.parametrize("excess", [1e-5, -1e-5])
def test_the_summit_of_a_hill_is_found(monkeypatch, best, excess):
    """Golden section finds where a hill rises above zero, however narrowly, and its top where it does not."""
    monkeypatch.setattr(lifting, "forced", lambda state, flow, k: (excess - (flow - best) ** 2, state))
    flow, value = lifting.summit(None, 0, 0.0, 1.0)
    assert (value > 0.0) is (excess > 0.0)
    assert flow == pytest.approx(best, abs=math.sqrt(1e-5))
    assert value == pytest.approx(excess, abs=1e-5)


def test_a_drooping_pump_that_starts_is_steady():
    """With its shut-off head above the lift a drooping pump starts, and runs at the one point where its true curve is met."""
    points = [(0.0, 1.35), *DROOP[1:]]
    flow = brentq(lambda q: spare(points, q), 900 * L_H, 3e3 * L_H)
    result = answer(drooping(points))
    assert (result.kind, result.others) == (STEADY, ())
    assert result.state.pump_flow == pytest.approx(flow, rel=1e-3)


def test_a_point_left_of_the_peak():
    """Where the demand is met on the rising part of the curve the pump runs there, not on the envelope the solver uses."""
    points = [(0.0, 1.34), (1800 * L_H, 1.64), (3000 * L_H, 0.9), (4000 * L_H, 0.0)]
    flow = brentq(lambda q: spare(points, q, 200.0), 100 * L_H, 1700 * L_H)
    result = answer(drooping(points, 200.0))
    assert result.kind == STEADY
    assert result.state.pump_flow == pytest.approx(flow, rel=1e-3)
    assert flow < 1000 * L_H


def test_a_drooping_pump_that_never_reaches_the_demand():
    """Where even the peak lies below what the loop asks for at that flow the pump cannot lift, though its best head is higher."""
    points = [(0.0, 1.14), (1800 * L_H, 1.39), (3000 * L_H, 0.6), (4000 * L_H, 0.0)]
    result = answer(loop(driven_by=pump(curve=points, riser=False), returns=[way(end=MOUTH, length=0.0, k=60.0)]))
    assert result.kind == CANNOT_LIFT
    assert result.figures["best head"] > result.figures["must lift"] > result.figures["shut-off head"]


def test_many_drains_are_followed_from_a_dry_start():
    """With more drains than can be tried in every combination the answer is one reachable state, and says so."""
    drains: list[Drain] = [drain(f"drain {k}", lip=1.46 + 0.002 * k, bore=0.0262) for k in range(6)]
    result = answer(loop(drains=drains, driven_by=driven(0.5)))
    assert (result.kind, result.one_reachable) == (STEADY, True)
    assert modes(result.state) == [WITH_AIR] * 6


def test_surging_draws_the_pump_chamber_down_under_its_line():
    """With a line for the water the tank's swing comes out of the pump chamber; what it holds over the intake is less: air."""
    results = found(single(0.6))
    low, high = results.answer.states
    chamber = low.network.waters[low.network.pump_chamber].body
    gained = 2.06 * 0.78 * (high.tank_level - low.tank_level)
    over_intake = chamber.stored(0.205)[0] - chamber.stored(0.07)[0]
    assert low.pump_level == high.pump_level == pytest.approx(0.205)
    assert gained > over_intake
    assert results.answer.figures["lowest pump chamber level"] == pytest.approx(0.07, abs=1e-3)
    assert intake(results).verdict == FAILS


def test_surging_within_the_pump_chamber_keeps_the_water():
    """Over a small tank the pump chamber falls by what the tank and the inflow chamber take up (conservation, lines aside)."""
    result = answer(single(0.6, tank=box("tank", 0.8, 0.4, 0.65)))
    low, high = result.states
    gained = 0.8 * 0.4 * (high.tank_level - low.tank_level)
    area = low.network.waters[low.network.pump_chamber].body.stored(0.205)[1]
    assert result.figures["highest pump chamber level"] == pytest.approx(0.205)
    assert result.figures["lowest pump chamber level"] == pytest.approx(0.205 - gained / area, abs=0.004)


@pytest.mark.parametrize(("count", "pairs", "states"), [(4, 65, 16), (5, 16, 3)])
def test_the_search_for_flushing_drains_stays_bounded(monkeypatch, count, pairs, states):
    """Up to four drains all combinations are asked, 3^4 - 2^4 = 65 with a flushing one among them and 2^4 for the extremes.

    With five, only one, two or all of those that change to and fro flush: here all, 5 + 10 + 1 = 16, for the dry
    start shows none; with it and the extremes, all with air and all as siphons, that is three states.
    """
    build = loop(drains=[drain(f"d{k}", lip=1.45 + 0.002 * k, bore=0.03) for k in range(count)], line=0.205)
    fixed = place(build)
    network = fixed.network()
    closing = closing_of(fixed, network)
    monkeypatch.setattr(regimes, "free_drains", lambda network: list(network.drains))
    asked = []
    monkeypatch.setattr(regimes, "_bounds", lambda *arguments: asked.append("pair"))
    solve_true = regimes.solve_true
    monkeypatch.setattr(regimes, "solve_true", lambda *arguments, **named: (asked.append("state"),
                                                                            solve_true(*arguments, **named))[1])
    assert regimes.flushing(network, closing) is not None
    assert (asked.count("pair"), asked.count("state")) == (pairs, states)
