"""How it runs, the pump's curve, the lift, the intake: each row on both sides of its limit."""

from __future__ import annotations

from dataclasses import replace
from math import nextafter, pi, sqrt

import pytest
from builds import CURVE, drain, found, loop, pump, seen, stated, way, worked

import hydro.scenarios.results
from hydro.checks import FAILS, HOLDS, ONLY_JUST, checks_of
from hydro.checks.pump import how_it_runs, intake, lift_margin, on_curve, pump_checks
from hydro.errors import SolveError
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.results import Results
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, DRAWS_AIR, NONE, STEADY, SURGES, TWO_POINTS, OperatingPoint

LOOP = found(loop())


@pytest.mark.parametrize(("kind", "verdict"), [
    (STEADY, HOLDS), (DRAWS_AIR, FAILS), (CANNOT_LIFT, FAILS), (BACKWARDS, FAILS), (TWO_POINTS, ONLY_JUST), (SURGES, FAILS),
    (NONE, FAILS),
])
def test_how_it_runs_goes_by_the_answer(kind, verdict):
    """Only a steady way to run holds; a point that is not reached again from rest is only just; all else fails."""
    row = how_it_runs(seen(LOOP, kind=kind, reason="said so"))
    assert row.verdict == verdict


def test_how_it_runs_counts_the_ways():
    """One steady way holds with a margin, several are only just, and the value says how many there are."""
    one, two = how_it_runs(LOOP), how_it_runs(seen(LOOP, LOOP.state, LOOP.state, reason="history decides"))
    assert (one.value, one.margin, one.verdict, one.because) == (1.0, 1.0, HOLDS, "")
    assert (two.value, two.margin, two.verdict, two.because) == (2.0, 0.0, ONLY_JUST, "history decides")


def test_how_it_runs_names_what_is_wrong():
    """The reason begins with the named answer where that is not plain from it."""
    assert how_it_runs(seen(LOOP, kind=DRAWS_AIR, reason="no water")).because == "draws air: no water"
    surging = how_it_runs(seen(LOOP, LOOP.state, LOOP.state, kind=SURGES, reason="it flushes"))
    assert (surging.because, surging.value, surging.verdict) == ("it flushes", 0.0, FAILS)


def test_no_state_leaves_one_row():
    """Where the equations gave no state there is one row, and it fails."""
    silent = Results(LOOP.loop, {}, LOOP.network, OperatingPoint(NONE, None, (), "not solved"))
    assert [(row.key, row.verdict) for row in pump_checks(silent)] == [("steady", FAILS)]
    assert checks_of(silent) == pump_checks(silent)


def test_a_state_that_is_not_trusted_is_not_stopped_from(monkeypatch):
    """Where no combination of modes holds nothing is said of power cuts and overflows; a state that is missing is an error."""
    monkeypatch.setattr(hydro.scenarios.results, "operating_point", lambda *_: OperatingPoint(NONE, LOOP.state, (), "none holds"))
    untrusted = hydro.scenarios.results.results_of(LOOP.loop)
    assert (untrusted.stopped, untrusted.overflows, untrusted.all_blocked) == ({}, (), None)
    silent = Results(LOOP.loop, {}, LOOP.network, OperatingPoint(NONE, None, (), "not solved"))
    with pytest.raises(SolveError, match="not solved"):
        assert silent.state


def test_a_state_that_is_not_trusted_leaves_the_pumps_rows():
    """Without a state that runs only rows on the pump are given, and none of them holds: the intake is 135 mm under water."""
    rows = checks_of(replace(LOOP, stopped={}, answer=replace(LOOP.answer, kind=NONE)))
    assert [row.key for row in rows] == ["steady", "intake"]
    assert not [row for row in rows if row.verdict == HOLDS]


def test_all_rows_come_gravest_first():
    """Flood rows come first, then overflow, pump and comfort."""
    assert [row.key for row in checks_of(LOOP)] == [
        "power cut", "sump room", "restart drain", "restart pump", "overflow", "blocked drain", "tank room", "all blocked",
        "dry emergency", "steady", "pump curve", "lift margin", "intake", "turnover", "turnover of all", "speed", "noise drain",
        "way drain"]


LAST = CURVE[-1][0]


@pytest.mark.parametrize(("flow", "verdict"), [(LAST, HOLDS), (nextafter(LAST, 1.0), ONLY_JUST), (1.0, ONLY_JUST)])
def test_pump_curve_on_both_sides(flow, verdict):
    """The pump may work at the last point of its curve; beyond it the row is only just, never worse."""
    row = on_curve(seen(LOOP, stated(LOOP.state, flows={"pump": flow})))
    assert (row.value, row.limit, row.verdict) == (flow, LAST, verdict)


def test_pump_curve_takes_the_largest_flow_and_the_speed():
    """Of several ways to run the largest flow counts; the last point moves in proportion to the speed (affinity)."""
    two = seen(LOOP, LOOP.state, stated(LOOP.state, flows={"pump": 2.0 * LAST}))
    assert on_curve(two).verdict == ONLY_JUST
    assert on_curve(found(loop(driven_by=pump(speed=0.8)))).limit == pytest.approx(0.8 * LAST, rel=1e-12)


def lifted(lift, wanted=0.2, speed=1.0):
    """Return the row on the lift with the tank so far above the pump chamber."""
    results = found(loop(overrides={"lift margin": Uncertain.exact(wanted, "lift margin")}, driven_by=pump(speed=speed)))
    return lift_margin(seen(results, stated(results.state, tank=lift, chambers=(0.0, 0.0))))


@pytest.mark.parametrize(("lift", "verdict"), [
    (3.75, HOLDS), (3.7499, HOLDS), (3.7501, ONLY_JUST), (nextafter(5.0, 0.0), ONLY_JUST), (5.0, FAILS), (5.5, FAILS),
])
def test_lift_margin_on_both_sides(lift, verdict):
    """A quarter of the shut-off head (5 m) must be left where that is asked for; less is only just; nothing left fails."""
    row = lifted(lift, wanted=0.25)
    assert (row.verdict, row.value) == (verdict, pytest.approx(1.0 - lift / 5.0, abs=1e-12))
    assert ("cannot lift" in row.because) is (verdict == FAILS)


def test_lift_margin_shows_its_heads():
    """The row carries the shut-off head, which goes with the square of the speed, and what is lifted; 20 % is the default."""
    row = lifted(2.0, speed=0.9)
    assert row.figures == {"shut-off head": (pytest.approx(5.0 * 0.81), "length"), "to be lifted": (pytest.approx(2.0), "length")}
    row = lift_margin(LOOP)
    assert row.limit == 0.2
    assert "common practice, no source" in row.origin


def submerged(depth, flow, **build):
    """Return the row on the intake at a depth of water over it and a flow."""
    results = found(loop(**build))
    return intake(seen(results, stated(results.state, chambers=(0.3, 0.07 + depth), flows={"pump": flow})))


def test_intake_limit_by_hand():
    """S = D (1 + 2.3 V/sqrt(g D)): 25 mm at 600 US gal/h asks for 174 mm, 40 mm at 1500 for 224 mm (trade notes, rule 11)."""
    gallon = 3.785411784e-3 / 3600.0
    for bore, flow, wanted in ((0.025, 600 * gallon, 0.174), (0.040, 1500 * gallon, 0.224), (0.050, 1500 * gallon, 0.182)):
        row = submerged(0.3, flow, driven_by=pump(bore=bore))
        speed = flow / (pi / 4.0 * bore * bore)
        assert row.limit == pytest.approx(bore * (1.0 + 2.3 * speed / sqrt(GRAVITY * bore)), rel=1e-12)
        assert row.limit == pytest.approx(wanted, abs=2e-3)


def test_intake_on_both_sides():
    """Water over the intake as deep as the rule asks holds, less is only just, and a millimetre at most draws air and fails."""
    wanted = submerged(0.3, 1e-3).limit
    for depth, verdict in ((wanted + 1e-9, HOLDS), (wanted - 1e-9, ONLY_JUST), (1.01e-3, ONLY_JUST), (0.99e-3, FAILS),
                           (-0.01, FAILS)):
        row = submerged(depth, 1e-3)
        assert row.verdict == verdict
        assert ("draws air" in row.because) is (verdict == FAILS)


def test_intake_exactly_at_its_limits():
    """A depth of the same float as the rule's holds; a depth of just one millimetre still draws air."""
    results = found(loop(driven_by=pump(intake=0.0)))
    still = stated(results.state, flows={"pump": 0.0})
    bore = float(results.element(results.network.pump).line.first_bore)
    assert intake(seen(results, stated(still, chambers=(0.3, bore)))).verdict == HOLDS
    assert intake(seen(results, stated(still, chambers=(0.3, nextafter(bore, 0.0))))).verdict == ONLY_JUST
    assert intake(seen(results, stated(still, chambers=(0.3, 1e-3)))).verdict == FAILS
    assert intake(seen(results, stated(still, chambers=(0.3, nextafter(1e-3, 1.0))))).verdict == ONLY_JUST


def test_intake_takes_the_worst_way_to_run():
    """The lowest level and the largest flow of several ways to run count; reversed flow counts as none."""
    results = LOOP
    low = stated(results.state, chambers=(0.3, 0.09), flows={"pump": -1.0})
    row = intake(seen(results, results.state, low))
    assert row.value == pytest.approx(0.02, abs=1e-12)
    assert row.limit == pytest.approx(intake(results).limit, rel=1e-12)
    assert intake(seen(results, low)).limit == pytest.approx(0.0284, rel=1e-12)


def test_intake_without_a_riser_takes_the_returns_bore():
    """Where the pump has no line of its own the bore of the first return counts."""
    row = submerged(0.3, 0.0, driven_by=pump(riser=False), returns=(way("a", bore=0.032), way("b", bore=0.022)))
    assert row.limit == pytest.approx(0.032, rel=1e-12)


def test_intake_takes_the_riser_where_there_is_one():
    """Where the pump has a line of its own its first bore counts, whatever the returns behind it have."""
    row = submerged(0.3, 0.0, driven_by=pump(bore=0.040), returns=(way("a", bore=0.032), way("b", bore=0.022)))
    assert row.limit == pytest.approx(0.040, rel=1e-12)


def test_rows_of_the_worked_loop():
    """The worked loop runs at 5034 L/h within its curve, lifts 1.290 m of 5 m, with 135 mm over the intake (notes, 6)."""
    rows = {row.key: row for row in pump_checks(found(worked()))}
    assert rows["steady"].verdict == rows["pump curve"].verdict == rows["lift margin"].verdict == HOLDS
    assert rows["pump curve"].value * 3.6e6 == pytest.approx(5034.4, abs=0.1)
    assert rows["lift margin"].value == pytest.approx(1.0 - (1.49528 - 0.205) / 5.0, abs=1e-5)
    assert (rows["intake"].value, rows["intake"].verdict) == (pytest.approx(0.135), ONLY_JUST)


def test_a_pump_that_draws_air_fails_in_two_rows():
    """With too little water the pump chamber falls to the intake: the way it runs and the intake both fail."""
    results = found(loop(total=0.915))
    assert results.answer.kind == DRAWS_AIR
    rows = {row.key: row.verdict for row in pump_checks(results)}
    assert rows["steady"] == rows["intake"] == FAILS


def test_a_drain_between_two_ways_fails():
    """A small drain that floods with air and breaks as a siphon leaves no steady way to run."""
    results = found(loop(drains=(drain(lip=1.47, bore=0.0362, length=1.3, k=2.6),)))
    assert results.answer.kind == SURGES
    assert how_it_runs(results).verdict == FAILS
