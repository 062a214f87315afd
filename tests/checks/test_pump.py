"""How it runs, the pump's curve, the lift, the intake: each row on both sides of its limit."""

from __future__ import annotations

from dataclasses import replace
from math import nextafter, pi, sqrt
from pathlib import Path

import pytest
from builds import CURVE, drain, found, loop, pump, seen, stated, way, worked

import hydro.scenarios.results
from hydro.case import loads
from hydro.checks import FAILS, HOLDS, TIGHT, checks_of
from hydro.checks.pump import how_it_runs, intake, lift_margin, on_curve, pump_checks
from hydro.errors import SolveError
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.results import Results
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, DRAWS_AIR, NONE, STEADY, SURGES, TWO_POINTS, OperatingPoint

LOOP = found(loop())
DEMO = (Path(__file__).parents[2] / "cases" / "demo.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize(("kind", "verdict"), [
    (STEADY, HOLDS), (DRAWS_AIR, FAILS), (CANNOT_LIFT, FAILS), (BACKWARDS, FAILS), (TWO_POINTS, TIGHT), (SURGES, FAILS),
    (NONE, FAILS),
])
def test_how_it_runs_goes_by_the_answer(kind, verdict):
    """Only a steady way to run holds; a point that is not reached again from rest is tight; all else fails."""
    row = how_it_runs(seen(LOOP, kind=kind, reason="said so"))
    assert row.verdict == verdict


def test_how_it_runs_counts_the_ways():
    """One steady way holds with a margin, several are tight, and the value says how many there are."""
    one, two = how_it_runs(LOOP), how_it_runs(seen(LOOP, LOOP.state, LOOP.state, reason="history decides"))
    assert (one.value, one.margin, one.verdict, one.because) == (1.0, 1.0, HOLDS, "")
    assert (two.value, two.margin, two.verdict, two.because) == (2.0, 0.0, TIGHT, "history decides")


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
    """Without a state that runs only rows on the pump are given that do not hold: the intake, 135 mm under water, is none."""
    rows = checks_of(replace(LOOP, stopped={}, answer=replace(LOOP.answer, kind=NONE)))
    assert [row.key for row in rows] == ["steady"]
    assert not [row for row in rows if row.verdict == HOLDS]


def test_all_rows_come_gravest_first():
    """Flood rows come first, then overflow, pump and comfort."""
    assert [row.key for row in checks_of(LOOP)] == [
        "power cut", "sump room", "restart drain", "restart pump", "overflow", "blocked drain", "tank room", "all blocked",
        "dry emergency", "steady", "pump curve", "lift margin", "intake", "turnover", "turnover of all", "speed", "noise drain",
        "way drain"]


LAST = CURVE[-1][0]


@pytest.mark.parametrize(("flow", "verdict"), [(LAST, HOLDS), (nextafter(LAST, 1.0), TIGHT), (1.0, TIGHT)])
def test_pump_curve_on_both_sides(flow, verdict):
    """The pump may work at the last point of its curve; beyond it the row is tight, never worse."""
    row = on_curve(seen(LOOP, stated(LOOP.state, flows={"pump": flow})))
    assert (row.value, row.limit, row.verdict) == (flow, LAST, verdict)


def test_pump_curve_takes_the_largest_flow_and_the_speed():
    """Of several ways to run the largest flow counts; the last point moves in proportion to the speed (affinity)."""
    two = seen(LOOP, LOOP.state, stated(LOOP.state, flows={"pump": 2.0 * LAST}))
    assert on_curve(two).verdict == TIGHT
    assert on_curve(found(loop(driven_by=pump(speed=0.8)))).limit == pytest.approx(0.8 * LAST, rel=1e-12)


def lifted(lift, wanted=0.2, speed=1.0):
    """Return the row on the lift with the tank so far above the pump chamber."""
    results = found(loop(overrides={"lift margin": Uncertain.exact(wanted, "lift margin")}, driven_by=pump(speed=speed)))
    return lift_margin(seen(results, stated(results.state, tank=lift, chambers=(0.0, 0.0))))


@pytest.mark.parametrize(("lift", "verdict"), [
    (3.75, HOLDS), (3.7499, HOLDS), (3.7501, TIGHT), (nextafter(5.0, 0.0), TIGHT), (5.0, FAILS), (5.5, FAILS),
])
def test_lift_margin_on_both_sides(lift, verdict):
    """A quarter of the shut-off head (5 m) must be left where that is asked for; less is tight; nothing left fails."""
    row = lifted(lift, wanted=0.25)
    assert (row.verdict, row.value) == (verdict, pytest.approx(1.0 - lift / 5.0, abs=1e-12))
    assert ("cannot lift" in row.because) is (verdict == FAILS)
    assert (row.soft, row.to_failing) == (False, pytest.approx(1.0 - lift / 5.0, abs=1e-12))


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


def opened(depth, flow, bore=None, **overrides):
    """Return the row on the intake at a depth and a flow, with a bore that somebody measured or none."""
    given = {name.replace("_", " "): Uncertain.exact(value, name.replace("_", " ")) for name, value in overrides.items()}
    measured = None if bore is None else Uncertain.exact(bore, "pump: intake bore")
    return submerged(depth, flow, driven_by=replace(pump(), intake_bore=measured), overrides=given)


@pytest.mark.parametrize(("bore", "flow", "wanted", "draws"), [
    (0.050, 1.0e-3, 0.0750, 0.01322), (0.040, 1.5775e-3, 0.1205, 0.0803), (0.025, 6.31e-4, 0.1264, 0.0842),
])
def test_intake_limits_by_hand(bore, flow, wanted, draws):
    """1.5 bores are wanted, 75 mm over 50 mm; V^2/2g draws air, 13.2 mm at 0.509 m/s, and 1.5 of it go where that is more."""
    row = opened(0.3, flow, bore)
    speed = flow / (pi / 4.0 * bore * bore)
    assert row.limit == pytest.approx(wanted, abs=1e-4)
    assert row.figures["at which it draws air"][0] == pytest.approx(draws, abs=1e-4)
    bell = bore * (1.0 + 2.3 * speed / sqrt(GRAVITY * bore))
    assert row.figures["what ANSI/HI 9.8 asks of a large bell"][0] == pytest.approx(bell, rel=1e-12)


def test_intake_that_nobody_measured():
    """Nobody's measure: the water goes in at 0.5 m/s, so 1 L/s through 50.5 mm, which wants 75.7 mm and draws air at 12.7."""
    row = opened(0.3, 1e-3)
    bore = sqrt(4.0 * 1e-3 / (pi * 0.5))
    assert (bore, 1.5 * bore) == (pytest.approx(0.0505, abs=5e-5), pytest.approx(0.0757, abs=5e-5))
    assert (row.limit, row.figures["bore of the intake"][0]) == (pytest.approx(1.5 * bore), pytest.approx(bore))
    assert row.figures["at which it draws air"][0] == pytest.approx(0.25 / (2.0 * GRAVITY))
    faster = opened(0.3, 1e-3, intake_speed=1.0)
    assert faster.figures["at which it draws air"][0] == pytest.approx(1.0 / (2.0 * GRAVITY))


def test_intake_speed_is_no_figure_of_a_measured_one():
    """Where the intake was measured the usual speed decides nothing and is not assumed; where it was not, it is."""
    measured, guessed = (found(loop(driven_by=replace(pump(), intake_bore=bore)))
                         for bore in (Uncertain.exact(0.05, "pump: intake bore"), None))
    assert "intake speed" not in measured.network.used
    assert "intake speed" in guessed.network.used


@pytest.mark.parametrize(("bore", "flow"), [(None, 1e-3), (0.05, 1e-3), (0.04, 1.2e-3), (0.025, 6.31e-4)])
def test_intake_on_both_sides(bore, flow):
    """1.5 bores of water, or velocity heads, hold, less is tight, no more than the velocity head fails: the pump draws air."""
    wanted, draws = opened(0.3, flow, bore).limit, opened(0.3, flow, bore).figures["at which it draws air"][0]
    assert wanted > draws
    for depth, verdict in ((wanted + 1e-9, HOLDS), (wanted - 1e-9, TIGHT), (draws + 1e-9, TIGHT), (draws - 1e-9, FAILS),
                           (-0.01, FAILS)):
        row = opened(depth, flow, bore)
        assert (row.verdict, row.to_failing) == (verdict, pytest.approx(depth - draws, abs=1e-12))
        assert ("draws air" in row.because) is (verdict == FAILS)
        assert ("whirl" in row.because) is (verdict == TIGHT)


def test_intake_exactly_at_its_limits():
    """A depth of the same float as 1.5 bores holds; of still water just one millimetre still draws air."""
    results = found(loop(driven_by=replace(pump(intake=0.0), intake_bore=Uncertain.exact(0.05, "pump: intake bore"))))
    still = stated(results.state, flows={"pump": 0.0})
    for depth, verdict in ((1.5 * 0.05, HOLDS), (nextafter(1.5 * 0.05, 0.0), TIGHT), (nextafter(1e-3, 1.0), TIGHT),
                           (1e-3, FAILS)):
        assert intake(seen(results, stated(still, chambers=(0.3, depth)))).verdict == verdict


def test_intake_takes_the_worst_way_to_run():
    """The lowest level and the largest flow of several ways to run count; reversed flow counts as none."""
    low = stated(LOOP.state, chambers=(0.3, 0.09), flows={"pump": -1.0})
    row = intake(seen(LOOP, LOOP.state, low))
    assert row.value == pytest.approx(0.02, abs=1e-12)
    assert row.limit == pytest.approx(intake(LOOP).limit, rel=1e-12)
    assert intake(seen(LOOP, low)).figures["bore of the intake"][0] < 1e-3


def test_intake_asks_nothing_of_the_pipe_behind_it():
    """Riser and returns change what flows, not how deep an intake of a given bore wants to be."""
    limits = [submerged(0.3, 1e-3, driven_by=replace(driven, intake_bore=Uncertain.exact(0.05, "pump: intake bore")),
                        returns=(way("a", bore=0.032), way("b", bore=0.022))).limit
              for driven in (pump(riser=False), pump(bore=0.040), pump(bore=0.025))]
    assert limits == [pytest.approx(0.075, rel=1e-12)] * 3


@pytest.mark.parametrize(("written", "bore"), [("intake bore: 30 mm", 0.030), ("intake bore: 2 in", 0.0508), ("", None)])
def test_intake_bore_of_a_case_text(written, bore):
    """An 'intake bore' in a case's pump is the bore that the check goes by; without it the usual speed is taken."""
    text = DEMO.replace("\npump:\n", f"\npump:\n  {written}\n") if written else DEMO
    results = found(loads(text))
    usual = sqrt(4.0 * float(results.state.pump_flow) / (pi * 0.5))
    assert intake(results).figures["bore of the intake"][0] == pytest.approx(usual if bore is None else bore, rel=1e-9)


def test_rows_of_the_worked_loop():
    """The worked loop runs at 5034 L/h within its curve, lifts 1.290 m of 5 m, 135 mm over the intake, 90 wanted (notes, 6)."""
    rows = {row.key: row for row in pump_checks(found(worked()))}
    assert rows["steady"].verdict == rows["pump curve"].verdict == rows["lift margin"].verdict == HOLDS
    assert rows["pump curve"].value * 3.6e6 == pytest.approx(5034.4, abs=0.1)
    assert rows["lift margin"].value == pytest.approx(1.0 - (1.49528 - 0.205) / 5.0, abs=1e-5)
    assert (rows["intake"].value, rows["intake"].verdict) == (pytest.approx(0.135), HOLDS)


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
