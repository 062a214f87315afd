"""Overflow capacity, one drain blocked, all blocked, the tank's room, the dry emergency: each row on both sides of its limit."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nextafter, pi

import pytest
from builds import band, box, chamber, drain, found, item, loop, mat, plate, pump, seen, slot, stated, three_chambers, way, worked

from hydro.checks import FAILS, HOLDS, TIGHT, UNSURE, CheckKind
from hydro.checks.assessment import assess
from hydro.checks.overflow import (
    DRY,
    capacity,
    dry_drains,
    emergency_alone,
    nothing_comes_down,
    overflow_checks,
    spare_drain,
    tank_room,
)
from hydro.errors import SolveError
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios import results as findings_module
from hydro.scenarios.all_drains_blocked import AllBlocked, raised_when_blocked
from hydro.scenarios.placed_build import at_its_best, held_at
from hydro.scenarios.results import OverflowCase, blocked_line
from hydro.steady.modes import find_steady, free_drains

RIM = 1.57
OVER = nextafter(RIM, 2.0)
NEAR = 0.010
"""Room that waves want under a tank's opening, m."""
CLEAR = RIM - NEAR - 1e-9
LOOP = found(loop())
WORKED = found(worked())
PAIR = found(loop(drains=(drain("a"), drain("b"))))


def carried(with_air, siphons=None, results=LOOP):
    """Return the row on capacity with the tank at a level, drains running with air, and at another where some siphon."""
    air = None if with_air is None else stated(results.state, tank=with_air)
    return capacity(results, OverflowCase((), air, siphons, None))


@pytest.mark.parametrize(("air", "siphons", "verdict"), [
    (CLEAR, None, HOLDS), (CLEAR, OVER, HOLDS), (RIM - NEAR + 1e-9, None, TIGHT), (RIM, None, TIGHT), (RIM, OVER, TIGHT),
    (OVER, None, FAILS), (OVER, RIM, TIGHT), (OVER, OVER, FAILS), (None, None, FAILS), (None, RIM, TIGHT),
])
def test_capacity_on_both_sides(air, siphons, verdict):
    """Drains with air that keep the tank 10 mm below its opening hold; less room is tight, and so is what takes a siphon."""
    assert carried(air, siphons).verdict == verdict


@pytest.mark.parametrize(("highest", "verdict"), [(RIM, TIGHT), (1.50, TIGHT), (OVER, FAILS)])
def test_a_drain_that_flushes_counts_by_its_cycle(highest, verdict):
    """Of a drain that flushes the highest level of its cycle counts: under the opening it is tight, never more, over it fails."""
    air = stated(LOOP.state, tank=OVER)
    row = capacity(LOOP, OverflowCase((), air, None, None, highest))
    assert row.verdict == verdict
    assert (row.value, row.margin) == ((highest, RIM - highest) if verdict == TIGHT else (OVER, RIM - OVER))
    assert ("flushes" in row.because) is (verdict == TIGHT)


def test_a_siphon_goes_before_a_drain_that_flushes():
    """A consistent state in which a drain siphons is what is told; the cycle of one that flushes is asked only without it."""
    row = capacity(LOOP, OverflowCase((), stated(LOOP.state, tank=OVER), 1.52, None, 1.50))
    assert (row.verdict, "only while a drain siphons" in row.because, row.value) == (TIGHT, True, OVER)


def test_a_blocked_neighbour_makes_a_drain_prime_and_cycle():
    """Drain 2 of the worked loop blocked, drain 1 with air would stand over the rim, but it primes under it and cycles.

    By hand it primes at J = 1, 1.068 L/s in its 45.2 mm, for which its throat asks H = (q / (0.60 pi/4 d^2))^2 / 2g = 62.8 mm
    over the lip at 1.470 m: 37 mm under the rim, and more than one diameter. The pump brings J = 1.3.
    """
    case = next(one for one in WORKED.overflows if one.out == WORKED.network.drains[1:])
    area, bore = pi / 4.0 * 0.0452 ** 2, 0.0452
    swept = area * (GRAVITY * bore) ** 0.5
    assert float(case.with_air.pump_flow) > 1.25 * swept
    assert (case.siphons, case.level > RIM) == (None, True)
    assert case.flushes == pytest.approx(1.470 + (swept / (0.60 * area)) ** 2 / (2.0 * GRAVITY), abs=2e-4)
    row = capacity(WORKED, case)
    assert (row.verdict, row.value) == (TIGHT, case.flushes)
    lower = found(worked(tank_opening=case.flushes - 1e-3))
    assert capacity(lower, next(one for one in lower.overflows if one.out == case.out)).verdict == FAILS


def test_a_drain_that_only_may_prime_is_unsure():
    """Between J = 1 and 2 published limits disagree whether a drain primes: a blocked one that hangs on it is unsure."""
    answer = assess(worked(overrides={**worked().overrides, "sweep number": Uncertain(1.0, 1.0, 2.0, "sweep number")}))
    row = answer.check(CheckKind.BLOCKED, "drain 2")
    assert (row.verdict, row.decided_by) == (UNSURE, "sweep number")


def test_capacity_says_why():
    """The reasons tell a siphon that is needed from water that goes over; what holds needs none."""
    assert carried(CLEAR).because == ""
    assert carried(RIM).because == "less room is left than waves want below a rim"
    assert carried(OVER, RIM).because == "only while a drain siphons; running with air the tank goes over"
    assert carried(OVER).because == "water over the tank's lowest opening"


def test_capacity_counts_to_the_lowest_opening():
    """The limit is a cable notch where there is one, not the rim; an opening above the rim is the rim."""
    assert carried(1.5, results=found(loop(tank_opening=1.54))).limit == pytest.approx(1.54, abs=1e-12)
    assert carried(1.5, results=found(loop(tank_opening=1.70))).limit == pytest.approx(RIM, abs=1e-12)


def test_capacity_names_who_is_blocked():
    """Each row has a key of its own: all drains, then each one blocked by name."""
    keys = [row.key for row in overflow_checks(WORKED)]
    assert keys == ["overflow", "blocked drain 1", "blocked drain 2", "tank room", "all blocked", "dry emergency"]
    assert [row.question for row in overflow_checks(WORKED)[:2]] == [
        "overflows carry the pump's best", "drain 1 blocked: the rest carry the pump's best"]


def test_capacity_shows_what_the_closed_water_does():
    """The row carries tank and pump chamber as they stand with only the water in the system, the highest of several ways."""
    other = stated(LOOP.state, tank=1.52, chambers=(0.3, 0.11))
    closed = replace(LOOP.answer, state=stated(LOOP.state, tank=1.51, chambers=(0.3, 0.12)), others=(other,))
    figures = capacity(LOOP, OverflowCase((), LOOP.state, None, closed)).figures
    assert figures == {"with only the water in the system, the tank stands at": (1.52, "length"),
                       "and the pump chamber at": (0.12, "length")}
    assert capacity(LOOP, OverflowCase((), LOOP.state, None, replace(closed, state=None, others=()))).figures == {}
    assert capacity(LOOP, OverflowCase((), LOOP.state, None, None)).figures == {}


def test_capacity_of_the_worked_loop():
    """With air, drain 2 blocked puts the tank at 1.5753 (over its rim: it flushes), drain 1 blocked at 1.5203 (notes, 6)."""
    levels = {overflow.out: overflow.level for overflow in WORKED.overflows}
    first, second = WORKED.network.drains
    assert levels[()] == pytest.approx(1.49528, abs=5e-5)
    assert levels[first,] == pytest.approx(1.5203, abs=1e-4)
    assert levels[second,] == pytest.approx(1.5753, abs=1e-4)
    verdicts = [row.verdict for row in overflow_checks(WORKED)[:3]]
    assert verdicts == [HOLDS, HOLDS, TIGHT]


def test_closed_water_hides_the_flood():
    """With drain 2 blocked and only the worked loop's water, the tank stays at 1.5082 m while the pump draws air (notes, 6)."""
    figures = overflow_checks(WORKED)[2].figures
    assert figures["with only the water in the system, the tank stands at"][0] == pytest.approx(1.5082, abs=1e-4)
    assert figures["and the pump chamber at"][0] == pytest.approx(0.07, abs=1e-3)


def test_overflows_are_judged_with_the_pump_at_its_best():
    """Capacity takes the strong end of the pump and the low end of the edge; the running state stands in the middle."""
    rated = {"pump strength": Uncertain(0.93, 1.0, 1.07, "pump strength"),
             "rim weir coefficient": Uncertain(0.4545, 0.53, 0.62, "rim weir coefficient")}
    both, plain = found(loop(overrides=rated)), LOOP
    assert both.state.tank_level == pytest.approx(plain.state.tank_level, abs=1e-9)
    by_hand = loop(overrides={"pump strength": Uncertain.exact(1.07, "pump strength"),
                              "rim weir coefficient": Uncertain.exact(0.4545, "rim weir coefficient")})
    assert both.overflows[0].level == pytest.approx(found(by_hand).overflows[0].level, abs=1e-9)
    assert both.overflows[0].level > plain.overflows[0].level + 5e-4


def test_overflows_open_the_pumps_valves():
    """A throttled valve on the pump's side is counted as open for capacity, not for how the loop runs."""
    half, whole = (found(loop(returns=(replace(way(), line=(*way().line, item("ball valve", "valve", open=share))),)))
                   for share in (0.5, 1.0))
    assert half.state.tank_level < whole.state.tank_level - 1e-3
    assert half.overflows[0].level == pytest.approx(whole.overflows[0].level, abs=1e-9)


def spare_at(speed):
    """Return the findings of a loop whose main drain flushes at full speed with its spare blocked, the pump at a speed."""
    return found(loop(drains=(drain("main", 1.47, bore=0.0452), drain("spare", 1.51)), tank_opening=1.54,
                      driven_by=pump(speed=speed)))


def test_a_blocked_dry_drain_is_judged_at_the_stated_speed():
    """A spare that is dry at 55 % is no loss there: blocked, the level is the running one; all else is judged at full speed."""
    slow, fast = spare_at(0.55), spare_at(1.0)
    every, main, spare = overflow_checks(slow)[:3]
    assert spare.value == pytest.approx(slow.state.tank_level, abs=1e-6)
    assert spare.verdict == HOLDS
    assert overflow_checks(fast)[2].verdict == TIGHT
    assert [one.value for one in (every, main)] == pytest.approx([one.value for one in overflow_checks(fast)[:2]], abs=1e-6)
    assert "stated speed" in spare.question


def test_the_speed_of_a_capacity_is_told():
    """Where less than full speed is stated, each row on capacity says at which speed it was judged; else none does."""
    every, main, spare = overflow_checks(spare_at(0.55))[:3]
    assert all("pump at 100 % though the file says 55 %" in row.because for row in (every, main))
    assert "pump at the stated 55 %" in spare.because
    assert not any("%" in row.because for speed in (1.0, None) for row in overflow_checks(spare_at(speed))[:3])


def test_a_spare_that_is_wet_at_its_speed_is_judged_at_full_speed():
    """At 80 % the spare carries water: blocked, it is missed, and the pump is taken at full speed."""
    spare = overflow_checks(spare_at(0.8))[2]
    assert spare.verdict == TIGHT
    assert "pump at 100 %" in spare.because


def test_overflows_hold_the_pump_chamber_at_its_line():
    """The pump chamber stands at its running line in the state that capacity is judged by."""
    assert all(float(one.with_air.pump_level) == pytest.approx(0.205, abs=1e-9) for one in WORKED.overflows)
    assert held_at(WORKED.network, 0.3).level == 0.3


def test_the_highest_line_of_several_ways_is_held():
    """Where the loop may run in several ways, capacity is judged from the highest pump chamber of them."""
    results = found(loop(drains=(drain(lip=1.47, bore=0.0362, length=1.3, k=2.6),), total=1.09))
    levels = [float(state.pump_level) for state in results.answer.states]
    assert len(levels) == 2
    assert abs(levels[0] - levels[1]) > 1e-3
    assert float(results.overflows[0].with_air.pump_level) == pytest.approx(max(levels), abs=1e-9)
    assert results.overflows[0].closed is not None


def test_the_closed_water_is_the_most_of_several_ways():
    """What only the water in the system does is asked with the most water that any way to run at the line takes."""
    results = found(loop(drains=(drain(lip=1.47, bore=0.0362, length=1.3, k=2.6),)))
    totals = [float(state.total) for state in results.answer.states]
    assert max(totals) - min(totals) > 0.01
    assert float(results.overflows[0].closed.state.total) == pytest.approx(max(totals), abs=1e-9)


def test_capacity_that_is_not_solved(monkeypatch):
    """Where the state with air is not solved a siphon may still leave the row tight; without one it fails."""
    def failing(*_):
        raise SolveError("overflows", 1, 1.0, "drain", "none")
    monkeypatch.setattr(findings_module, "with_air_only", failing)
    plain = found(loop())
    assert (plain.overflows[0].level, plain.overflows[0].siphons) == (inf, None)
    assert capacity(plain, plain.overflows[0]).verdict == FAILS
    primed = siphon(1.48)
    assert (primed.overflows[0].level, capacity(primed, primed.overflows[0]).verdict) == (inf, TIGHT)


def test_tank_room_on_both_sides():
    """Running, the tank wants 10 mm to its lowest opening, is tight up to it and fails the least bit above, however it runs."""
    for level, verdict in ((CLEAR, HOLDS), (RIM - NEAR + 1e-9, TIGHT), (RIM, TIGHT), (OVER, FAILS)):
        row = tank_room(seen(LOOP, stated(LOOP.state, tank=level)), LOOP.network.tank)
        assert (row.value, row.limit, row.verdict) == (level, RIM, verdict)
    row = tank_room(seen(LOOP, LOOP.state, stated(LOOP.state, tank=OVER)), LOOP.network.tank)
    assert (row.value, row.verdict) == (OVER, FAILS)
    assert row.because == "highest of the levels it may stand at"
    assert tank_room(LOOP, LOOP.network.tank).because == ""


def brought(comes_up, room, top_up=0.0, held=0.0, results=LOOP):
    """Return the row on all drains blocked."""
    return nothing_comes_down(replace(results, blocked_tanks=(AllBlocked(comes_up, top_up, room, held, results.network.tank),)))


WAVES = 2.06 * 0.78 * 0.010
"""What the tank holds in the last 10 mm below its rim, m3."""


@pytest.mark.parametrize(("comes_up", "top_up", "held", "verdict"), [
    (0.05 - WAVES - 1e-9, 0.0, 0.0, HOLDS), (0.05 - WAVES + 1e-9, 0.0, 0.0, TIGHT), (0.05, 0.0, 0.0, TIGHT),
    (0.01, 0.0125, 0.0113, HOLDS), (0.025, 0.0125, 0.0125, TIGHT), (nextafter(0.05, 1.0), 0.0, 0.0, FAILS),
    (0.025, 0.03, 0.0, FAILS), (0.025, 0.0, 0.03, FAILS),
])
def test_all_blocked_on_both_sides(comes_up, top_up, held, verdict):
    """What stands in sump, blocked lines and reservoir may fill the tank to 10 mm below its rim; to the rim itself is tight."""
    row = brought(comes_up, 0.05, top_up, held)
    assert (row.value, row.verdict) == (pytest.approx(comes_up + top_up + held), verdict)


def test_all_blocked_is_remote_with_a_dry_emergency():
    """Where one drain stands dry that carries everything alone, all of them blocked at once is remote: it holds and says so."""
    results = found(loop(drains=(drain(), drain("dry", 1.53))))
    for comes_up, said in ((0.06, True), (0.05, False)):
        row = brought(comes_up, 0.05, results=results)
        assert (row.verdict, "remote" in row.because) == (HOLDS, said)


@pytest.mark.parametrize(("bore", "opening"), [(0.016, None), (0.057, 1.55)])
def test_a_dry_drain_that_cannot_carry_leaves_nothing_remote(bore, opening):
    """One dry drain beside one wet one that is too small, or stands too high, is no emergency: what comes up needs its room."""
    results = found(loop(drains=(drain(), drain("dry", 1.53, bore=bore)), tank_opening=opening))
    case = next(one for one in results.overflows if one.out == results.network.drains[:1])
    assert dry_drains(results, results.network.tank) == 1
    assert case.level > (opening or RIM)
    assert brought(0.06, 0.05, results=results).verdict == FAILS


def test_drains_that_are_all_dry_leave_nothing_remote():
    """Where no drain carries water none was seen to carry it all, and all of them blocked is judged by its volumes."""
    results = seen(PAIR, stated(PAIR.state, flows={"a": 0.0, "b": 0.0}))
    assert brought(0.06, 0.05, results=results).verdict == FAILS


def test_a_drain_that_spouts_is_no_dry_one():
    """A drain out of which water comes up carries water: it does not count as the dry one that stands by for an emergency."""
    for flow, dry in ((0.0, 1), (1e-4, 0), (-1e-4, 0)):
        results = seen(PAIR, stated(PAIR.state, flows={"a": 1e-3, "b": flow}))
        assert dry_drains(results, results.network.tank) == dry


def test_all_blocked_says_what_was_counted():
    """The row tells whether a top-up reservoir was counted, and lists what comes up from where."""
    assert brought(0.01, 0.05).because == "no top-up reservoir was described"
    row = brought(0.01, 0.05, 0.002, 0.003)
    assert row.because == "the whole top-up reservoir is counted"
    assert row.figures == {"from the sump": (0.01, "volume"), "from the drains' lines": (0.003, "volume"),
                           "from the top-up": (0.002, "volume")}


def test_all_blocked_of_a_display_by_arithmetic():
    """44.6 L of dry room take 28.3 L from the sump, and not 20 L of top-up besides: 3.7 L go over (derived: 48.3 - 44.6)."""
    assert brought(0.0283, 0.0446).verdict == HOLDS
    row = brought(0.0283, 0.0446, 0.020)
    assert (row.verdict, row.margin) == (FAILS, pytest.approx(-0.0037, abs=1e-12))


def test_what_comes_up_by_volumes():
    """From the sump comes what stands above plates and intake, from the lines what they hold, and the tank takes it to its rim.

    Derived from the boxes' areas and the running levels: 23.8 L against 120 L of room (notes, 6), lines 1.04 L.
    """
    levels = [float(WORKED.state.levels[k]) for k in WORKED.network.chambers]
    by_hand = 0.21 * (levels[0] - 0.29) + 0.16 * (levels[1] - 0.25) + 0.14 * (levels[2] - 0.07)
    case = WORKED.all_blocked
    assert case.comes_up == pytest.approx(by_hand, rel=1e-9)
    assert case.comes_up == pytest.approx(0.0238, abs=5e-5)
    assert case.held == pytest.approx(0.00104, abs=5e-6)
    assert case.room == pytest.approx(2.06 * 0.78 * (RIM - float(WORKED.state.tank_level)), rel=1e-9)


@pytest.mark.parametrize(("walls", "left"), [
    (three_chambers(0.20, 0.28), (0.28, 0.28, 0.07)),
    ((chamber("inflow", 0.42, slot(0.03)), chamber("media", 0.32, mat(0.30)), chamber("pump")), (0.07, 0.07, 0.07)),
    ((chamber("inflow", 0.42, plate(0.05)), chamber("media", 0.32, plate(0.25)), chamber("pump")), (0.25, 0.25, 0.07)),
])
def test_the_pump_leaves_what_walls_hold(walls, left):
    """A plate keeps the water below its crest, a lower one before it nothing more; slots and mats keep none above the intake."""
    results = found(loop(chambers=walls))
    levels = [float(results.state.levels[k]) for k in results.network.chambers]
    areas = (0.21, 0.16, 0.14)
    by_hand = sum(area * (level - stays) for area, level, stays in zip(areas, levels, left, strict=True))
    assert results.all_blocked.comes_up == pytest.approx(by_hand, rel=1e-9)


def test_a_chamber_below_its_crest_gives_nothing():
    """A chamber that stands below its plate and the intake gives no water, and takes none away from the rest."""
    results = found(loop(chambers=(chamber("inflow", 0.42, plate(0.29)), chamber("pump", 0.30, plate(0.05)), chamber("beyond"))))
    levels = [float(results.state.levels[k]) for k in results.network.chambers]
    by_hand = 0.21 * (levels[0] - 0.29) + 0.15 * (levels[1] - 0.07) + 0.15 * (levels[2] - 0.07)
    assert results.all_blocked.comes_up == pytest.approx(by_hand, rel=1e-6)


def test_the_worst_way_to_run_is_asked_when_all_are_blocked():
    """Of several ways to run the one that leaves the least room in the tank for what can come up counts."""
    results = found(loop(drains=(drain(lip=1.47, bore=0.0362, length=1.3, k=2.6),)))
    asked = [raised_when_blocked(results.loop, {}, state, state.network.tank) for state in results.answer.states]
    margins = [one.room - one.all for one in asked]
    assert max(margins) - min(margins) > 1e-3
    assert results.all_blocked.room - results.all_blocked.all == min(margins)


def test_top_up_is_taken_from_wish_or_override():
    """The reservoir counts as the owner states it, in wishes or in place of the default, at the end that is picked."""
    assert LOOP.all_blocked.top_up == 0.0
    assert found(loop(wishes={"top-up reservoir": band(0.01, 0.02, 0.03)})).all_blocked.top_up == 0.02
    assert found(loop(overrides={"top-up reservoir": Uncertain.exact(0.015, "top-up reservoir")})).all_blocked.top_up == 0.015


def test_dry_drains_in_every_way_to_run():
    """A drain counts as dry where every way to run leaves it below 3.6 L/h."""
    flows = {"a": 1e-3, "b": DRY}
    assert dry_drains(seen(PAIR, stated(PAIR.state, flows=flows)), PAIR.network.tank) == 0
    dry = stated(PAIR.state, flows={**flows, "b": nextafter(DRY, 0.0)})
    assert dry_drains(seen(PAIR, dry), PAIR.network.tank) == 1
    assert dry_drains(seen(PAIR, dry, stated(PAIR.state, flows={"a": 1e-3, "b": 2e-3})), PAIR.network.tank) == 0


@pytest.mark.parametrize(("flows", "value", "verdict", "words"), [
    ({"a": 1e-3, "b": 0.0}, 1.0, HOLDS, ""), ({"a": 0.0, "b": 0.0}, 2.0, HOLDS, ""),
    ({"a": 1e-3, "b": 1e-3}, 0.0, TIGHT, "the same leaf can block them all"),
])
def test_a_dry_emergency_is_asked_for(flows, value, verdict, words):
    """One dry drain is enough; without any the row is tight (common practice, no source)."""
    row = spare_drain(seen(PAIR, stated(PAIR.state, flows=flows)))
    assert (row.value, row.verdict, row.because, row.margin) == (value, verdict, words, value - 1.0)


def test_a_single_drain_has_nothing_left():
    """A single wet drain has its own words."""
    assert spare_drain(LOOP).because == "a single drain: blocked, nothing is left"


def test_a_single_drain_blocked_is_all_blocked():
    """With one drain there are two rows on capacity: all of it, and none of it, which fails."""
    rows = overflow_checks(LOOP)
    assert [row.key for row in rows[:2]] == ["overflow", "blocked drain"]
    assert rows[1].verdict == FAILS


def siphon(opening):
    """Return the findings of a throttled siphon with a drain for the rest beside it."""
    return found(loop(drains=(drain("siphon", 1.44, bore=0.0284, length=1.3, k=14.0), drain("rest", 1.47, bore=0.0452)),
                      tank_opening=opening, driven_by=pump(curve=((0.0, 4.0), (0.75e-3, 2.5), (0.975e-3, 0.0)))))


def test_a_siphon_that_is_needed_is_tight():
    """Two drains that hold the tank below its opening only while one of them siphons are tight, and hold with more room."""
    level, siphons = siphon(1.48).overflows[0].level, siphon(1.48).overflows[0].siphons
    assert siphons < 1.48 < level
    results = siphon(1.48)
    assert capacity(results, results.overflows[0]).verdict == TIGHT
    assert capacity(results, results.overflows[0]).value == level
    results = siphon(level + NEAR + 1e-6)
    assert capacity(results, results.overflows[0]).verdict == HOLDS
    results = siphon(siphons - 1e-6)
    assert capacity(results, results.overflows[0]).verdict == FAILS


def test_the_best_siphon_of_several_is_shown():
    """Where either of two drains may siphon, the lower of the two tank levels says what a siphon can do."""
    pair = (drain("a", 1.44, bore=0.0284, length=1.3, k=20.0), drain("b", 1.44, bore=0.0284, length=1.3, k=24.0))
    results = found(loop(drains=(*pair, drain("rest", 1.47, bore=0.0452)), tank_opening=1.472,
                          driven_by=pump(curve=((0.0, 4.0), (0.9e-3, 2.5), (1.17e-3, 0.0)))))
    network, line = results.loop.network(at_its_best(results.build, {})), float(results.state.pump_level)
    levels = [float(state.tank_level) for state in find_steady(network, held_at(network, line))[0]]
    assert len(levels) == 2
    assert max(levels) - min(levels) > 1e-3
    assert results.overflows[0].siphons == pytest.approx(min(levels), abs=1e-9)


def test_a_drain_with_air_is_rated_by_its_throat():
    """With air the throat rules at high heads: H = (q / (Co pi/4 d^2))^2 / 2g over the lip, with the standard's Co = 0.606."""
    results = found(loop(drains=(drain(lip=1.44, bore=0.0284, length=1.3, k=2.0),), tank_opening=1.50,
                          driven_by=pump(curve=((0.0, 4.0), (0.6e-3, 2.5), (0.9e-3, 0.0)))))
    k = results.network.drains[0]
    flow = float(results.overflows[0].with_air.flows[k])
    throat = (flow / (0.606 * pi / 4.0 * 0.0284 ** 2)) ** 2 / (2.0 * GRAVITY)
    assert results.overflows[0].level == pytest.approx(1.44 + throat, abs=2e-4)


def test_many_siphons_are_followed_not_enumerated(monkeypatch):
    """With more drains that may siphon than are enumerated, capacity follows the most violated guard as running does."""
    asked = []
    follow = findings_module.follow
    monkeypatch.setattr(findings_module, "follow", lambda *given: asked.append(given) or follow(*given))
    small = tuple(drain(f"d{n}", 1.44 + 0.002 * n, bore=0.0284, length=1.3, k=30.0) for n in range(5))
    results = found(loop(drains=small, tank_opening=1.46))
    assert len(free_drains(results.network)) == 5
    assert len(asked) == 1
    assert all(one.level < inf for one in results.overflows)


def with_emergency(bore=0.057, lip=1.50, opening=None):
    """Return the findings of two wet drains and one that stands dry above them."""
    drains = (drain("a", 1.46), drain("b", 1.46), drain("dry", lip, bore=bore))
    return found(loop(drains=drains, tank_opening=opening))


@pytest.mark.parametrize(("more", "verdict"), [
    ({}, HOLDS), ({"bore": 0.016}, TIGHT), ({"lip": 1.55, "opening": 1.54}, TIGHT),
])
def test_an_emergency_drain_is_asked_to_carry_everything(more, verdict):
    """A dry drain that is too small, or whose lip stands over the tank's opening, is no emergency: by the rim's own formula.

    EN 12056-3 forms: q = 0.4545 (2/3) sqrt(2g) pi D H^1.5, q = 0.606 pi/4 D^2 sqrt(2g H).
    """
    results = with_emergency(**more)
    row, = emergency_alone(results)
    flow = float(results.emergencies[0].with_air.pump_flow)
    bore, lip, opening = more.get("bore", 0.057), more.get("lip", 1.50), more.get("opening", RIM)
    edge = (flow / (0.4545 * 2 / 3 * (2 * GRAVITY) ** 0.5 * pi * bore)) ** (2 / 3)
    throat = (flow / (0.606 * pi / 4 * bore ** 2)) ** 2 / (2 * GRAVITY)
    assert (lip + max(edge, throat) <= opening) == (verdict == HOLDS)
    assert row.verdict == verdict
    assert results.emergencies[0].out == results.network.drains[:2]


def test_an_emergency_wants_room_for_waves():
    """An emergency that carries everything with less than 10 mm below the opening is tight, with them it holds."""
    level = with_emergency().emergencies[0].level
    for room, verdict in ((0.0, TIGHT), (NEAR - 1e-6, TIGHT), (NEAR + 1e-6, HOLDS)):
        row, = emergency_alone(with_emergency(opening=level + room))
        assert (row.verdict, "waves" in row.because) == (verdict, verdict == TIGHT)


def test_an_emergency_that_fails_leaves_nothing_remote():
    """All drains blocked is remote only beside an emergency that carries everything: else what comes up must find room."""
    for bore, verdict in ((0.057, HOLDS), (0.016, FAILS)):
        results = with_emergency(bore)
        case = replace(results.all_blocked, top_up=1.0)
        assert nothing_comes_down(replace(results, blocked_tanks=(case,))).verdict == verdict


def test_no_emergency_is_asked_of_wet_drains():
    """Without a dry drain, or with one wet drain only, there is no such row: the rows on each blocked drain say it."""
    assert emergency_alone(PAIR) == []
    assert emergency_alone(found(loop(drains=(drain("a", 1.46), drain("dry", 1.52))))) == []


@pytest.mark.parametrize("line", [0.15, 0.205, 0.30])
def test_the_line_at_which_blocked_drains_find_room(line):
    """At that line what comes up is what the tank has room for, whatever line the loop was described with."""
    high = found(loop(drains=(drain(lip=1.515),), line=line))
    limit = blocked_line(high)
    assert 0.1 < limit < 0.4
    there = found(loop(drains=(drain(lip=1.515),), line=limit)).all_blocked
    assert there.all == pytest.approx(there.room, rel=0.005)


def test_lines_without_a_bound_by_blocked_drains():
    """A tank with room for all there is bounds no line below the sump's opening; one without room for the top-up has none."""
    assert blocked_line(found(loop(tank=box("tank", 2.06, 0.78, 1.5)))) == pytest.approx(0.46, abs=1e-9)
    assert blocked_line(found(loop(wishes={"top-up reservoir": 1.0}))) is None
