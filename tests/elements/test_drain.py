"""A drain: its inlet, its line, and the ways in which it runs."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.elements.drain import FLUSHING_HIGH, FLUSHING_LOW, SIPHON, WITH_AIR, DrainLine
from hydro.elements.fittings import LocalLoss
from hydro.elements.holding import Filling
from hydro.elements.line import Line
from hydro.elements.narrowing import Narrow, narrow_places
from hydro.elements.pipe import Pipe
from hydro.elements.rim import Rim
from hydro.solve import System, solve

calm = settings(max_examples=40, derandomize=True, deadline=None, database=None)
L_H = 1.0 / 3.6e6
LIP, LENGTH = 1.0722, 1.30
MODES = (WITH_AIR, SIPHON, FLUSHING_HIGH, FLUSHING_LOW)


def drain(bore=0.0452, k=2.6, length=LENGTH, **more):
    """Return a drain that falls from its lip to a level at the datum."""
    line = Line.of([Pipe.of(bore, length, 1.5e-6, 0.95e-6), LocalLoss.of(k + 1.0, bore)])
    return DrainLine("drain", Rim.of(LIP, bore, bore, 0.60, 0.60), line, end=-0.05, **more)


def taken(made, head, down=0.0):
    """Return the flow that a drain takes at a head over its lip."""
    up = LIP + head
    found = solve(System(((made.residual, 0, 1),), (None, None), (None,), {0: up, 1: down}, None), [up, down], [5e-4], most=300)
    assert found.solved
    return found.flows[0]


REGIMES = [(0.0284, 1021, 4949, 689, 1.5), (0.0362, 1873, 8272, 1264, 1.4), (0.0452, 3263, 13170, 2202, 1.35)]


@pytest.mark.parametrize(("bore", "vented", "full", "fed", "until"), REGIMES)
def test_the_stages_of_three_drains(bore, vented, full, fed, until):
    """Throat, full pipe and edge carry what another computation of the same laws gave (regression values, to 0.5 %)."""
    made = drain(bore)
    assert taken(made, bore) / L_H == pytest.approx(vented, rel=5e-3)
    assert made.full_flow(0.4 * bore, 0.0) / L_H == pytest.approx(full, rel=5e-3)
    by_edge = [(head * bore / made.inlet.weir_resistance) ** 1.5 for head in (0.4, until)]
    assert by_edge[0] / L_H == pytest.approx(fed, rel=5e-3)
    assert by_edge[1] == pytest.approx(made.full_flow(until * bore, 0.0), rel=0.06)  # `until` is given to 0.05 D


@calm
@given(st.sampled_from(MODES), st.floats(-0.02, 0.15), st.floats(0.0, 0.1), st.floats(-0.3, 1.0), st.floats(0.0, 0.3))
def test_more_head_never_carries_less(mode, head, more, down, deeper):
    """In a fixed mode a higher tank never lowers a drain's flow, and a higher level below never raises it."""
    made = drain().in_mode(mode)
    for q in (1e-5, 3e-4, 1.5e-3):
        here = made.residual(q, LIP + head, down)[0]
        assert made.residual(q, LIP + head + more, down)[0] >= here
        assert made.residual(q, LIP + head, down + deeper)[0] <= here + 1e-12
        assert made.residual(1.1 * q, LIP + head, down)[0] < here


def test_primed_it_carries_more():
    """As a siphon a drain takes several times what it takes with air, held by its edge or its pipe and not by its throat."""
    made = drain()
    assert taken(made.in_mode(SIPHON), 1.2 * 0.0452) > 2.0 * taken(made, 1.2 * 0.0452)
    assert taken(made.in_mode(SIPHON), 0.3 * 0.0452) == pytest.approx(
        (0.3 * 0.0452 / made.inlet.weir_resistance) ** 1.5, rel=0.02
    )


def test_a_drowned_end_holds_the_tank_back():
    """Below a lip, the level that the end is drowned in stands against the fall: only the rest drives the full pipe."""
    made = drain()
    assert made.full_flow(0.05, 0.6) == pytest.approx(drain(length=LENGTH).full_flow(0.05 - 0.6, 0.0), rel=1e-9)
    assert taken(made, 0.05, down=LIP + 0.045) < 0.5 * taken(made, 0.05)


@pytest.mark.parametrize("mode", MODES)
def test_a_dry_drain_takes_nothing(mode):
    """With the tank below the lip less than 10 mL/h passes, in any mode, and nothing comes back."""
    assert abs(taken(drain().in_mode(mode), -0.05)) < 0.01 * L_H
    assert abs(taken(drain(), -0.3, down=LIP + 0.2)) < 0.01 * L_H


def test_a_blocked_drain_takes_nothing():
    """Blocked, a drain takes less than 10 mL/h under 10 cm of head; with half its openings, half as much as before."""
    made = drain()
    faults = made.faults()
    assert abs(taken(drain(**faults["blocked"]), 0.1)) < 0.01 * L_H
    half = DrainLine("drain", made.inlet.fouled(0.5), made.line, made.end)
    assert taken(half, 0.03) == pytest.approx(0.5 * taken(made, 0.03), rel=0.02)


def test_flushing_holds_the_tank():
    """Flushing, a drain holds the tank at one bore of head or more, or at 0.4 of it, whatever it carries."""
    high, low = drain().in_mode(FLUSHING_HIGH), drain().in_mode(FLUSHING_LOW)
    assert high.surge_head >= 1.0 * 0.0452
    assert low.surge_head == pytest.approx(0.4 * 0.0452)
    for flushing in (high, low):
        for q in (1e-4, 1e-3):
            assert flushing.residual(q, LIP + flushing.surge_head, 0.0)[0] == pytest.approx(0.0, abs=2e-6)


def test_a_mode_is_named_as_it_was_set():
    """A drain put into a mode answers with its name; it may settle with air or as a siphon only."""
    assert [drain().in_mode(mode).mode for mode in MODES] == list(MODES)
    assert drain().modes() == (WITH_AIR, SIPHON)


def test_it_primes_only_when_drowned_and_swept():
    """With air it stays below one bore of head or below J = 1; with both above, the guard passes to the siphon."""
    made = drain()
    sweep = 1.01 / made.air_number(1.0)
    low, high = LIP + 0.9 * 0.0452, LIP + 1.1 * 0.0452
    margins = [made.guards(q, up, 0.0)[0].margin for q, up in ((sweep, low), (0.9 * sweep, high), (sweep, high))]
    assert [margin > 0.0 for margin in margins] == [True, True, False]
    assert made.guards(sweep, high, 0.0)[0].next_mode == SIPHON


def test_a_siphon_breaks_when_its_head_falls():
    """As a siphon it stays while the full pipe needs more than 0.4 bores and than its own edge, else it draws air."""
    made = drain().in_mode(SIPHON)
    full = made.full_flow(0.5 * 0.0452, 0.0)
    strong = drain(breaks_by=0.0).in_mode(SIPHON)
    assert strong.guards(full, LIP + 0.5 * 0.0452, 0.0)[0].margin == pytest.approx(0.1, abs=2e-4)
    assert strong.guards(0.97 * full, LIP + 0.4 * 0.0452, 0.0)[0].margin < 0.0
    guard = made.guards(full, LIP + 0.5 * 0.0452, 0.0)[0]
    assert guard.margin < 0.0
    assert guard.next_mode == WITH_AIR


def test_the_vented_rating_is_the_smaller_of_rim_and_stack():
    """With air a drain is rated by its rim at the priming head, or by a third of its pipe where that is less."""
    made = drain()
    assert made.vented_rating() == pytest.approx(made.inlet.flow_at(0.0452))
    narrow = DrainLine("drain", Rim.of(LIP, 0.09, 0.09, 0.6, 0.6), made.line, -0.05)
    assert narrow.vented_rating() / L_H == pytest.approx(4639, rel=0.002)  # 45.2 mm a third full, EN 12056-3, recomputed


def test_what_a_line_holds():
    """A siphon's line is full, a dry one nearly empty, and a vented one holds more the more it carries."""
    made = drain()
    volume = made.line.volume
    assert made.in_mode(SIPHON).held(1e-3)[0] == pytest.approx(volume)
    held = [made.held(q)[0] / volume for q in (0.0, 2e-4, 7e-4, 5e-2)]
    assert held[0] < 1e-3
    assert held == sorted(held)
    assert held[-1] == 1.0


def test_the_worked_drains_hold_what_they_hold():
    """The two drains of the invented loop are filled to 0.2246 and 0.1608 (another computation; regression values)."""
    fillings = []
    for bore, litres in ((0.0452, 2440.5), (0.0570, 2593.9)):
        made = drain(bore)
        fillings.append(made.held(litres * L_H)[0] / made.line.volume)
    assert fillings == pytest.approx([0.2246, 0.1608], abs=1e-4)


def test_j_is_counted_on_the_longest_run():
    """The air number is counted on the bore of the longest run, whatever narrower piece stands before it."""
    line = Line.of([Pipe.of(0.03, 0.1, 0.0, 1e-6), Pipe.of(0.05, 1.0, 0.0, 1e-6), LocalLoss.of(1.0, 0.05)])
    assert DrainLine("drain", Rim.of(LIP, 0.05, 0.05, 0.6, 0.6), line, 0.0).full_bore == 0.05


def test_the_budget_names_every_part():
    """The head budget lists the parts of the line, and they add up to what it loses."""
    made = drain()
    parts = made.budget(1e-3, LIP, 0.0)
    assert sum(head for _, head in parts) == pytest.approx(made.line.loss(1e-3)[0], abs=2e-6)
    assert len(parts) == len(made.line.parts)


def test_a_throttled_line_lets_go_what_it_backs_up():
    """The leg that the valve's loss holds up stands full: K V^2/(2g) of the fall, more than the filling of a vented stack."""
    made = drain(k=60.0)
    flow = 1500 * L_H
    speed = flow / (math.pi / 4.0 * 0.0452 ** 2)
    backed = 61.0 * speed ** 2 / (2.0 * 9.80665) / LIP
    friction = made.line.pipes[0].loss(flow)[0] / LIP
    assert backed > made.held(flow)[0] / made.line.volume
    assert made.runs_out(flow, 0.0) / made.line.volume == pytest.approx(backed + friction, rel=1e-3)
    assert made.runs_out(4.0 * flow, 0.0) == pytest.approx(made.line.volume)
    assert made.runs_out(0.0, 0.0) == pytest.approx(made.held(0.0)[0])


def test_an_open_line_lets_go_what_it_holds():
    """Without a throttle the filling of a vented stack is the most, and as a siphon or while it flushes all of the line."""
    made = drain()
    assert made.runs_out(700 * L_H, 0.0) == made.held(700 * L_H)[0]
    for mode in (SIPHON, FLUSHING_LOW, FLUSHING_HIGH):
        assert made.in_mode(mode).runs_out(700 * L_H, 0.0) == pytest.approx(made.line.volume)


def test_a_narrow_place_asks_for_its_own_head():
    """With air a narrow place rules the head by q = Co A sqrt(2 g (H + drop)); as a siphon it is but a part of the pipe."""
    plain = drain(0.057)
    made = replace(plain, narrows=(Narrow.of(0.028, 0.05, 0.60),))
    flow = 2000 * L_H
    head = (flow / (0.60 * math.pi / 4.0 * 0.028 ** 2)) ** 2 / (2.0 * 9.80665) - 0.05
    assert head > plain.inlet.needed(flow)[0]
    assert made.needed(flow)[0] == pytest.approx(head, rel=1e-9)
    assert taken(made, head) == pytest.approx(flow, rel=1e-3)
    assert made.vented_rating() == pytest.approx(0.60 * math.pi / 4.0 * 0.028 ** 2 * (2.0 * 9.80665 * 0.107) ** 0.5)
    assert made.in_mode(SIPHON).residual(flow, LIP + 0.03, 0.0) == plain.in_mode(SIPHON).residual(flow, LIP + 0.03, 0.0)
    assert made.needed(100 * L_H) == plain.needed(100 * L_H)


def test_narrow_places_are_found_along_the_line():
    """A wide pipe before a narrow one: the narrow place lies as far down the fall as the wide pipe reaches along the line."""
    line = Line.of([Pipe.of(0.05, 0.3, 0.0, 1e-6, label="a"), LocalLoss.of(0.1, 0.03, "change"),
                    Pipe.of(0.03, 0.9, 0.0, 1e-6, label="b"), LocalLoss.of(1.0, 0.03, "exit")])
    place, = narrow_places(line, 0.05, 1.0, 0.6)
    assert place.drop == pytest.approx(0.25)
    assert place.flow_at(0.1) == pytest.approx(0.6 * math.pi / 4.0 * 0.03 ** 2 * (2.0 * 9.80665 * 0.35) ** 0.5)
    assert place.flow_at(-0.5) == 0.0
    level, = narrow_places(line, 0.05, 1.0, 0.6, "b")
    assert level.drop == 0.0


def test_a_bulkhead_under_a_standpipe_has_the_standpipes_water_over_it():
    """A bulkhead of 40 mm under 450 mm of standpipe asks for no head at the lip up to 8144 L/h, and for 40 mm at 8500.

    Orifice 0.606 on A = 1.256637e-3 m2: at 0.450 m q = 0.606 A (2g 0.450)^0.5 = 2.26236e-3 m3/s = 8144.5 L/h. 8500 L/h
    (2.36111e-3) need 0.450 (2.36111/2.26236)^2 = 0.49014 m over the bulkhead, 40.1 mm over the lip; at the lip's height 490 mm.
    """
    line = Line.of([LocalLoss.of(0.5, 0.040, "entrance"), Pipe.of(0.040, 0.08, 0.0, 1e-6, label="bulkhead")])
    place, = narrow_places(line, 0.050, 1.0, 0.606, depth=0.450)
    assert place.drop == 0.450
    assert place.flow_at(0.0) == pytest.approx(8144.5 * L_H, rel=1e-4)
    assert place.needed(8500 * L_H)[0] == pytest.approx(0.04014, abs=2e-5)
    assert place.needed(8100 * L_H)[0] < 0.0


def test_backed_up_water_of_a_throttled_drain_is_counted_once():
    """3000 L/h through K 60 on 45 mm hold up 0.840 m of a fall of 1.1222 m: 1.55 L of 2.07 L, while it runs and when it stops.

    A = 1.59043e-3 m2, V = 0.52397 m/s, V^2/(2g) = 0.013998 m, times 60 0.83988 m: 74.84 % of 1.30 m of pipe (2.06756 L).
    Friction of the bare pipe adds a hundredth. Falling with air the pipe would hold (q/Q)^0.6, Q = 3.15e-4 x 45^(8/3) = 8.07 L/s,
    or 0.260 of it. With the end drowned to 0.30 m over the datum the same loss is more than all of the fall of 0.7722 m.
    """
    line = Line.of([Pipe.of(0.045, 1.30, 0.0, 1e-12), LocalLoss.of(60.0, 0.045)])
    made = DrainLine("drain", Rim.of(LIP, 0.057, 0.045, 0.53, 0.606), line, end=-0.05)
    friction = line.pipes[0].loss(3000 * L_H)[0] / (LIP + 0.05)
    by_hand = 2.06756e-3 * (0.83988 / 1.1222 + friction)
    assert friction < 0.02
    assert made.held(3000 * L_H)[0] == pytest.approx(by_hand, rel=1e-4)
    assert made.runs_out(3000 * L_H, -0.05) == made.held(3000 * L_H)[0]
    assert made.runs_out(3000 * L_H, 0.30) == pytest.approx(2.06756e-3, rel=1e-4)


def test_a_throttled_drain_that_runs_evenly_passes_on_what_comes():
    """Through time a backed-up line in which nothing changes gives out what comes in, and what it held when nothing comes."""
    line = Line.of([Pipe.of(0.045, 1.30, 1.5e-6, 1e-6), LocalLoss.of(60.0, 0.045)])
    made = DrainLine("drain", Rim.of(LIP, 0.057, 0.045, 0.53, 0.606), line, end=-0.05)
    held = made.held(3000 * L_H)[0]
    out, slope = Filling.of(made).passing(held, 3000 * L_H, 0.5)
    assert out == pytest.approx(3000 * L_H, rel=1e-6)
    nearby = Filling.of(made).passing(held, 3000 * L_H + 1e-8, 0.5)[0]
    assert (nearby - out) / 1e-8 == pytest.approx(slope, rel=1e-3)
    left, gone = held, 0.0
    for _ in range(400):
        out = Filling.of(made).passing(left, 0.0, 0.2)[0]
        left, gone = left - 0.2 * out, gone + 0.2 * out
    assert gone == pytest.approx(held, rel=0.02)


def test_a_full_pipe_carries_no_more_than_its_rim_feeds():
    """A 50 mm rim over a free fall of 1.12 m feeds 9893 L/h at H = D; one of 120 mm all that the 50 mm pipe takes.

    Edge: (2/3) 0.53 (2g)^0.5 pi 0.050^2.5 = 2.7481e-3 m3/s. Pipe alone, K 2: V = (2g (1.1222 + 0.12)/2)^0.5 = 3.4904 m/s on
    1.9635e-3 m2.
    """
    line = Line.of([LocalLoss.of(2.0, 0.050)])
    small = DrainLine("drain", Rim.of(LIP, 0.050, 0.050, 0.53, 0.606), line, end=-0.05)
    assert small.siphon_rating(-0.1) == (pytest.approx(2.7481e-3, rel=1e-3), "edge")
    assert small.full_flow(0.05, -0.1) > 2.0 * 2.7481e-3
    large = DrainLine("drain", Rim.of(LIP, 0.120, 0.120, 0.53, 0.606), line, end=-0.05)
    assert large.siphon_rating(-0.1) == (pytest.approx(3.4904 * 1.9635e-3, rel=1e-3), "pipe")
