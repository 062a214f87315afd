"""Power cut, running levels in the sump, restart: each row on both sides of its limit.

Levels and flows are put in by hand; a check only compares, so the comparison is what is tested. Limits come from the build.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import inf, nextafter

import pytest
from builds import CURVE, band, chamber, cut_to, drain, found, loop, plate, pump, seen, stated, way, worked

from hydro.checks import FAILS, HOLDS, TIGHT, UNSURE, CheckKind
from hydro.checks.assessment import assess
from hydro.checks.flood import cut_fits, flood_checks, pump_starts, sump_room
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, DRAWS_AIR, STEADY, TWO_POINTS

RIM = 0.46
CASES = tuple(product((True, False), repeat=2))
BROKEN = way(hole_at=1.484)
"""A return with a siphon break of unknown bore, taken at its word."""


def cut(build, wanted=0.4, *, breaks=0.4, valves=0.4, both=0.4):
    """Return the row on the power cut with the sump ending at given levels: nothing counted on, one of the two, both."""
    return cut_fits(cut_to(found(build), {(False, False): wanted, (True, False): breaks, (False, True): valves,
                                           (True, True): both}))


def test_power_cut_holds_up_to_its_limit():
    """The row holds where the sump ends exactly at its rim less the wanted room, with a margin of nothing."""
    row = cut(loop(), RIM)
    assert (row.verdict, row.limit, row.value, row.margin) == (HOLDS, RIM, RIM, 0.0)


def test_power_cut_fails_just_above_its_limit():
    """The row fails where the sump ends the least bit higher and nothing else would help."""
    over = nextafter(RIM, 1.0)
    row = cut(loop(), over, breaks=over, valves=over, both=over)
    assert (row.verdict, row.margin < 0.0) == (FAILS, True)
    assert row.because == "siphon breaks plugged, check valves stuck or none"


@pytest.mark.parametrize(("room", "limit", "beyond"), [(0.03, 0.43, TIGHT), (-0.03, RIM, FAILS)])
def test_power_cut_leaves_the_wanted_room(room, limit, beyond):
    """The room that the owner wants is kept below the lowest opening, else the row is tight; less than no room is none."""
    row = cut(loop(wishes={"room at the sump rim": room}))
    assert (row.limit, row.origin) == (pytest.approx(limit, abs=1e-12), "stated")
    for level, verdict in ((row.limit, HOLDS), (nextafter(row.limit, 1.0), beyond)):
        assert cut(loop(wishes={"room at the sump rim": room}), level, breaks=1, valves=1, both=1).verdict == verdict


@pytest.mark.parametrize(("level", "verdict"), [(0.43 - 1e-9, HOLDS), (0.43 + 1e-9, TIGHT), (RIM - 1e-9, TIGHT),
                                                (RIM + 1e-9, FAILS)])
def test_power_cut_between_room_and_opening_is_tight(level, verdict):
    """Water that stays under the opening with less than the wanted 30 mm is tight, and water over the opening fails."""
    row = cut(loop(wishes={"room at the sump rim": 0.03}), level, breaks=level, valves=level, both=level)
    assert (row.verdict, row.to_failing) == (verdict, pytest.approx(RIM - level, abs=1e-12))
    assert ("less room than is wanted" in row.because) is (verdict == TIGHT)


@pytest.mark.parametrize(("high", "verdict", "decided_by"), [(0.207, TIGHT, ""), (0.235, UNSURE, "chamber pump: line")])
def test_power_cut_is_unsure_where_a_band_passes_the_opening(high, verdict, decided_by):
    """With 6 mm left under the opening of 20 wanted, a line 2 mm higher leaves the row tight, one 30 mm higher decides it.

    The inflow stands at its plate either way: 30 mm more in the 0.40 m of the pump chamber are 11.8 mm over the sump's 1.02 m.
    """
    rest = found(loop()).stopped[False, False].sump_level
    build = loop(line=band(0.205, 0.205, high), sump_opening=rest + 0.006, wishes={"room at the sump rim": 0.020})
    row = assess(build).check(CheckKind.POWER_CUT)
    assert (row.verdict, row.decided_by) == (verdict, decided_by)


def test_power_cut_takes_25_mm_where_nobody_says():
    """Without a wish 25 mm of room are kept below the lowest opening (common practice, no source), and the row says so."""
    row = cut(replace(loop(sump_opening=0.44), wishes={}))
    assert row.limit == pytest.approx(0.44 - 0.025, abs=1e-12)
    assert "common practice, no source" in row.origin


def test_an_opening_above_the_rim_is_the_rim():
    """A lowest opening said to be above the sump's rim is taken at the rim: water goes over there first."""
    assert cut(loop(sump_opening=0.60)).limit == RIM


def test_power_cut_rests_on_siphon_breaks():
    """Where a plugged break floods it fails, as a stuck valve does: nobody sees it plugged; counted on by the owner it holds."""
    row = cut(loop(returns=(BROKEN,)), 0.5, breaks=RIM, both=RIM)
    assert row.verdict == FAILS
    assert row.reasons[-1] == "only siphon breaks that work keep the water off the floor, and a hole plugs unseen"
    counted = cut(loop(returns=(BROKEN,), counts_on=("siphon breaks",)), 0.5, breaks=RIM - 0.006, both=RIM - 0.006)
    assert counted.verdict == HOLDS


def test_shallow_mouths_make_it_matter_nothing_whether_a_hole_plugs():
    """With the mouths at the lip, 1.470 m, the tank falls no lower whatever the hole does; at 1.30 m it is 0.17 m of tank."""
    for end, more in ((1.470, 0.0), (1.30, 2.06 * 0.78 * 0.17)):
        stopped = found(loop(returns=(way(end=end, hole_at=1.484),))).stopped
        assert stopped[False, False].comes_down - stopped[True, False].comes_down == pytest.approx(more, abs=1e-6)


def test_power_cut_needs_breaks_that_make_it_fit():
    """Counted breaks that still let the least bit too much down save nothing."""
    over = nextafter(RIM, 1.0)
    assert cut(loop(returns=(BROKEN,)), over, breaks=over, valves=over, both=over).verdict == FAILS


def test_a_break_too_small_is_not_counted():
    """A hole of a fifth of the pipe's bore (0.24 is asked for, common practice) leaves the verdict at fails, and says why."""
    row = cut(loop(returns=(way(hole_at=1.484, hole=0.2 * 0.0284),)), 0.5, breaks=0.4, valves=0.5)
    assert row.verdict == FAILS
    assert "too small to be counted" in row.because


@pytest.mark.parametrize(("ratio", "counted"), [(0.24, True), (0.2399, False)])
def test_a_break_counts_from_its_ratio_on(ratio, counted):
    """A hole counts from 0.24 of the pipe's bore on, 6 mm in 25 mm, that ratio included (common practice, no source)."""
    results = found(loop(returns=(way(bore=0.03, hole_at=1.484, hole=0.3 * 0.03),), driven_by=pump(bore=0.03)))
    k = results.network.returns[0]
    end = replace(results.element(k).end, ratio=ratio)
    assert replace(results, network=results.network.changed({k: {"end": end}})).breaks_counted() is counted


def test_one_return_without_a_break_spoils_the_others():
    """Breaks count only where every return that can siphon below the lowest lip has one."""
    assert not found(loop(returns=(BROKEN, way("second")))).breaks_counted()
    assert found(loop(returns=(BROKEN, way("second", hole_at=1.48)))).breaks_counted()


@pytest.mark.parametrize(("end", "counted"), [(1.470, True), (1.4699, False)])
def test_a_mouth_at_the_lip_needs_no_break(end, counted):
    """A mouth no lower than the lowest lip cannot siphon the tank below it and needs no break; any lower it does."""
    assert found(loop(returns=(BROKEN, way("second", end=end)))).breaks_counted() is counted


def test_the_lowest_lip_says_who_needs_a_break():
    """A mouth between two lips lies above the lowest one, to which the tank falls anyway, and needs no break."""
    assert found(loop(drains=(drain(), drain("high", 1.48)), returns=(BROKEN, way("second", end=1.475)))).breaks_counted()


def test_only_a_check_valve_is_a_fail():
    """Where nothing but a check valve that holds makes it fit, the row fails and says that one grain keeps it open."""
    row = cut(loop(), 0.5, breaks=0.5, valves=RIM, both=0.4)
    assert row.verdict == FAILS
    assert "only a check valve that holds keeps the water off the floor" in row.because


def test_a_check_valve_and_breaks_together_are_a_fail():
    """Where it takes a check valve and working breaks at once, the row fails and names both."""
    row = cut(loop(returns=(BROKEN,)), 0.5, breaks=0.5, valves=0.5, both=RIM)
    assert row.verdict == FAILS
    assert "together with siphon breaks" in row.because


def test_breaks_have_to_leave_the_wanted_room_too():
    """Siphon breaks or a check valve that keep the sump below its rim, but not the wanted room below it, save nothing."""
    build = loop(returns=(BROKEN,), wishes={"room at the sump rim": 0.03})
    row = cut(build, 0.5, breaks=0.44, valves=0.44, both=0.44)
    assert (row.verdict, row.because) == (FAILS, "siphon breaks plugged, check valves stuck or none")


@pytest.mark.parametrize(("counts_on", "way_back", "wanted"), [
    ((), BROKEN, (False, False)), (("siphon breaks",), BROKEN, (True, False)), (("check valves",), BROKEN, (False, True)),
    (("siphon breaks", "check valves"), BROKEN, (True, True)), (("siphon breaks",), way(), (False, False)),
    (("siphon breaks",), way(hole_at=1.484, hole=0.004), (False, False)),
])
def test_what_is_counted_on(counts_on, way_back, wanted):
    """Nothing is counted on unless the owner says so, and breaks only where every one is large enough."""
    assert found(loop(returns=(way_back,), counts_on=counts_on)).wanted_cut() == wanted


@pytest.mark.parametrize(("counts_on", "level"), [((), 0.41), (("siphon breaks",), 0.42), (("check valves",), 0.43),
                                                  (("siphon breaks", "check valves"), 0.44)])
def test_power_cut_judges_the_wanted_case(counts_on, level):
    """The value is the level of the case that counts on just what the owner counts on."""
    assert cut(loop(returns=(BROKEN,), counts_on=counts_on), 0.41, breaks=0.42, valves=0.43, both=0.44).value == level


def test_power_cut_lists_all_four_answers():
    """The row carries what comes down in each of the four cases, under words that tell them apart."""
    figures = cut(loop()).figures
    assert len(figures) == 4
    for breaks, holds in CASES:
        words = (f"comes down, siphon breaks {'working' if breaks else 'plugged'}, "
                 f"check valves {'holding' if holds else 'stuck or none'}")
        assert figures[words] == (pytest.approx(0.01 + 0.02 * breaks + 0.04 * holds), "volume")


def test_power_cut_of_a_whole_build():
    """The worked loop holds at its rim, is tight with more room wanted than is left, and fails with deeper mouths (notes, 6)."""
    row = cut_fits(found(worked()))
    assert (row.verdict, row.margin) == (HOLDS, pytest.approx(20.88e-3 / 0.51, abs=1e-4))
    wish = {"room at the sump rim": row.margin + 1e-4}
    assert cut_fits(found(worked(wishes=wish))).verdict == TIGHT
    deeper = (way("a", 1.30), way("b", 1.30))
    assert cut_fits(found(worked(returns=deeper))).verdict == FAILS


def test_sump_room_on_both_sides():
    """Running, the highest chamber may stand 10 mm below the sump's lowest opening; nearer waves reach it, above it fails."""
    results = found(loop(sump_opening=0.33))
    for level, verdict in ((0.32 - 1e-9, HOLDS), (0.32 + 1e-9, TIGHT), (0.33, TIGHT), (nextafter(0.33, 1.0), FAILS)):
        row = sump_room(seen(results, stated(results.state, chambers=(level, 0.2))))
        assert (row.value, row.limit, row.verdict) == (level, 0.33, verdict)


def test_sump_room_takes_the_worst_way_to_run():
    """Of several ways to run the one with the highest chamber counts, whichever chamber it is."""
    results = found(loop())
    row = sump_room(seen(results, results.state, stated(results.state, chambers=(0.2, 0.47))))
    assert (row.value, row.verdict) == (0.47, FAILS)


def test_a_chamber_over_the_rim_while_running_is_seen():
    """A cable notch below the head over a plate lets water out while running, though the power cut itself would fit."""
    narrow = (chamber("inflow", 0.15, plate(0.33)), chamber("pump"))
    build = loop(chambers=narrow, sump_opening=0.34, returns=(way(end=1.47),), line=0.15)
    results = found(build)
    rows = {row.key: row.verdict for row in flood_checks(results)}
    assert rows["power cut"] == HOLDS
    assert rows["sump room"] == FAILS


@pytest.mark.parametrize(("room", "verdict"), [(1e-9, HOLDS), (-1e-9, FAILS)])
def test_pump_starts_at_its_limit(room, verdict):
    """The pump starts while its shut-off head is no less than what it must lift from the sump at rest."""
    results = cut_to(found(loop()), dict.fromkeys(CASES, 0.4))
    shutoff = CURVE[0][1]
    row = pump_starts(seen(results, stated(results.state, tank=shutoff + 0.4 - room)))
    assert (row.value, row.limit, row.verdict) == (shutoff, pytest.approx(shutoff - room, abs=1e-12), verdict)


def test_pump_starts_exactly_at_its_limit():
    """Shut-off head and lift of the same float are enough."""
    results = cut_to(found(loop()), dict.fromkeys(CASES, 0.0))
    assert pump_starts(seen(results, stated(results.state, tank=5.0))).verdict == HOLDS


def test_pump_starts_from_its_own_chamber_at_its_lowest():
    """The lift counts from the lowest level at which the pump's chamber can come to rest, not from a chamber behind a plate."""
    results = cut_to(found(loop()), {**dict.fromkeys(CASES, (0.4, 0.3)), (True, True): (0.29, 0.21)})
    row = pump_starts(results)
    assert row.limit == pytest.approx(float(results.state.tank_level) - 0.21, abs=1e-12)


def test_pump_starts_over_the_easier_return():
    """Of two returns the easier one decides; a mouth in the air and a line's highest point count above the tank's water."""
    level = float(found(loop()).state.tank_level)

    def lift(*returns):
        return pump_starts(cut_to(found(loop(returns=returns)), dict.fromkeys(CASES, 0.2))).limit

    high, over = way("high", 1.60, points="up"), replace(way("over"), highest=way(end=1.75).end)
    assert lift(way("low", 1.40)) == pytest.approx(level - 0.2, abs=0.01)
    assert lift(high) == pytest.approx(1.40, abs=1e-12)
    assert lift(over) == pytest.approx(1.55, abs=1e-12)
    assert lift(high, over) == pytest.approx(1.40, abs=1e-12)


def test_pump_starts_at_its_speed():
    """Shut-off head goes with the square of the speed (affinity)."""
    row = pump_starts(found(loop(driven_by=pump(speed=0.9))))
    assert row.value == pytest.approx(CURVE[0][1] * 0.81, rel=1e-12)


@pytest.mark.parametrize(("kind", "verdict"), [(STEADY, HOLDS), (DRAWS_AIR, HOLDS), (CANNOT_LIFT, FAILS), (BACKWARDS, FAILS),
                                               (TWO_POINTS, FAILS)])
def test_a_pump_that_does_not_lift_does_not_start(kind, verdict):
    """A pump that cannot lift, runs backwards or only holds a point it does not reach from rest fails the restart."""
    row = pump_starts(seen(found(loop()), kind=kind, reason="said so"))
    assert row.verdict == verdict
    assert (row.because == "said so") is (verdict == FAILS)


def test_flood_rows_ask_each_drain():
    """There is one row on the cut, one on the running sump, one on each drain, one on the pump."""
    keys = [row.key for row in flood_checks(found(worked()))]
    assert keys == ["power cut", "sump room", "restart drain 1", "restart drain 2", "restart pump"]


def test_wishes_with_a_band_move_with_the_picks():
    """A wanted room with a band is taken at the end that is picked."""
    results = found(loop(wishes={"room at the sump rim": band(0.01, 0.02, 0.05)}))
    moved = replace(results, sample={"wishes: room at the sump rim": "high"})
    assert (cut_fits(results).limit, cut_fits(moved).limit) == (pytest.approx(0.44), pytest.approx(0.41))


def test_no_room_is_infinite():
    """Every limit of these rows is a number."""
    assert all(-inf < row.limit < inf for row in flood_checks(found(loop())))
