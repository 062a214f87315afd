"""Turnover, speed, noise, nearness to a change of mode: each row on both sides of its limit."""

from __future__ import annotations

from dataclasses import replace
from math import nextafter, pi, sqrt

import pytest
from builds import band, box, found, item, loop, pump, seen, stated, way, worked

from hydro.checks import FAILS, HOLDS, TIGHT, UNSURE
from hydro.checks.check import Check, CheckKind, held
from hydro.checks.comfort import comfort_checks, noise, return_speed, steadiness, turnover
from hydro.elements.drain import FLUSHING_HIGH, FLUSHING_LOW, SIPHON, WITH_AIR
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain

LOOP = found(loop())
K = LOOP.network.drains[0]
PER_HOUR = 1.0 / 3600.0


def turned(times, **wishes):
    """Return the row on the tank's turnover at so many times an hour, under wishes for 'least' and 'most' turnover."""
    results = found(loop(wishes={f"{name} turnover": value * PER_HOUR for name, value in wishes.items()}))
    volume = 2.06 * 0.78 * 0.5
    state = stated(results.state, tank=0.92 + 0.5, flows={"pump": times * PER_HOUR * volume})
    return turnover(seen(results, state))[0]


@pytest.mark.parametrize(("times", "wishes", "verdict"), [
    (3.01, {}, HOLDS), (2.99, {}, TIGHT), (9.99, {}, HOLDS), (10.01, {}, TIGHT),
    (4.01, {"least": 4.0}, HOLDS), (3.99, {"least": 4.0}, FAILS), (50.0, {"least": 4.0}, HOLDS),
    (5.99, {"most": 6.0}, HOLDS), (6.01, {"most": 6.0}, FAILS), (0.5, {"most": 6.0}, HOLDS),
    (4.01, {"least": 4.0, "most": 6.0}, HOLDS), (3.99, {"least": 4.0, "most": 6.0}, FAILS),
    (6.01, {"least": 4.0, "most": 6.0}, FAILS),
])
def test_turnover_on_both_sides(times, wishes, verdict):
    """A missed wish fails; the default range of 3 to 10 (no source) cannot fail a build; one end of a wish may be free."""
    row = turned(times, **wishes)
    assert (row.verdict, row.value) == (verdict, pytest.approx(times * PER_HOUR, rel=1e-9))


def test_turnover_gives_the_nearer_end():
    """Of the two ends of the range the row shows the one that is nearer, or missed."""
    assert turned(4.0).limit == pytest.approx(3.0 * PER_HOUR)
    assert turned(9.0).limit == pytest.approx(10.0 * PER_HOUR)
    assert turned(2.0).limit == pytest.approx(3.0 * PER_HOUR)
    assert turned(12.0).limit == pytest.approx(10.0 * PER_HOUR)


def test_turnover_in_the_middle_shows_the_least():
    """Just as far from both ends the row shows the least turnover."""
    results = found(loop(tank=box("tank", 2.0, 1.0, 0.65), tank_bottom=1.0,
                          wishes={"least turnover": 0.25, "most turnover": 0.75}))
    row = turnover(seen(results, stated(results.state, tank=1.5, flows={"pump": 0.5})))[0]
    assert (row.question, row.verdict) == ("turnover of the tank, at least", HOLDS)


def test_turnover_at_its_limits_by_rows():
    """A value of the same float as its limit holds, one beyond does not, whichever verdict stands for that."""
    for kind, beyond in ((CheckKind.SUMP_ROOM, nextafter(2.0, 3.0)), (CheckKind.INTAKE, nextafter(2.0, 1.0))):
        assert held(kind, "q", 2.0, 2.0, "o").verdict == HOLDS
        assert held(kind, "q", beyond, 2.0, "o").verdict == FAILS
        assert held(kind, "q", beyond, 2.0, "o", otherwise=TIGHT).verdict == TIGHT
        assert held(kind, "q", beyond, 2.0, "o").margin < 0.0


def test_turnover_of_all_counts_other_water_and_never_fails():
    """All the water, with what the owner adds to it, is turned over fewer times; a wish for the tank does not fail that row."""
    plain, more = found(loop()), found(loop(wishes={"other water": 0.5, "least turnover": 9.0 * PER_HOUR}))
    rows = [turnover(results)[1] for results in (plain, more)]
    flow, total = float(plain.state.pump_flow), float(plain.state.total)
    assert rows[0].value == pytest.approx(flow / total, rel=1e-9)
    assert rows[1].value == pytest.approx(flow / (total + 0.5), rel=1e-9)
    assert (rows[1].key, rows[1].verdict) == ("turnover of all", TIGHT)


def test_other_water_moves_with_the_picks():
    """Other water with a band is taken at the end that is picked."""
    results = found(loop(wishes={"other water": band(0.1, 0.2, 0.3)}))
    low = turnover(replace(results, sample={"wishes: other water": "low"}))[1].value
    assert low == pytest.approx(float(results.state.pump_flow) / (float(results.state.total) + 0.1), rel=1e-9)


def test_no_flow_is_no_turnover():
    """Reversed flow counts as none."""
    assert turned(-3.0).value == 0.0


AREA = pi / 4.0 * 0.0284 ** 2


def fast(*speeds, **build):
    """Return the row on speed with the pump's line at given speeds, one for each way to run."""
    results = found(loop(**build))
    return return_speed(seen(results, *(stated(results.state, flows={"pump": speed * AREA}) for speed in speeds)))


@pytest.mark.parametrize(("speed", "verdict"), [(1.5 - 1e-9, HOLDS), (1.5 + 1e-9, TIGHT), (2.4 - 1e-9, TIGHT),
                                                (2.4 + 1e-9, FAILS)])
def test_speed_on_both_sides(speed, verdict):
    """Up to 1.5 m/s (5 ft/s) the returns are quiet, up to 2.4 m/s (8 ft/s) brisk, and beyond that too fast."""
    row = fast(speed)
    assert (row.verdict, row.value, row.limit) == (verdict, pytest.approx(speed, rel=1e-12), 1.5)
    assert row.word == {HOLDS: "calm", TIGHT: "brisk", FAILS: "too fast"}[verdict]


def test_speed_exactly_at_its_limits():
    """Speeds of the same float as the limits are within them."""
    for name in ("quiet return speed", "most return speed"):
        value = fast(1.0).value * 1.7
        overrides = {"quiet return speed": Uncertain.exact(1.0, "quiet return speed"), name: Uncertain.exact(value, name)}
        row = fast(1.7 * (fast(1.0).value), overrides=overrides)
        assert row.verdict == (HOLDS if name == "quiet return speed" else TIGHT)


def test_speed_takes_the_fastest_way_to_run():
    """Of several ways to run the fastest counts."""
    assert fast(1.0, 2.0).value == pytest.approx(2.0, rel=1e-12)
    assert fast(2.0, 1.0).value == pytest.approx(2.0, rel=1e-12)


def test_speed_names_the_narrowest_run():
    """The fastest run is named, also in a branch that is cut in two by a siphon break along it."""
    narrow = way("narrow", bore=0.020, hole_at=1.484, hole=0.008, mark=True)
    results = found(loop(returns=(way(k=20.0), narrow), driven_by=pump(bore=0.040)))
    row = return_speed(results)
    before = results.network.place("narrow before the break")
    assert row.value == pytest.approx(float(results.state.flows[before]) / (pi / 4.0 * 0.020 ** 2), rel=1e-9)
    assert row.because == "fastest in return narrow: pipe"


def loud(number, mode=WITH_AIR, results=LOOP, bore=0.057, *more):
    """Return the row on noise of a drain at J = `number` in a mode; `more` are further (J, mode)."""
    states = []
    for one, kind in ((number, mode), *more):
        flow = one * pi / 4.0 * bore ** 2 * sqrt(GRAVITY * bore)
        state = stated(results.state, flows={"drain": flow})
        states.append(replace(state, network=state.network.in_modes({K: kind})))
    return noise(seen(results, *states), K)


@pytest.mark.parametrize(("number", "mode", "word", "words"), [
    (0.3 - 1e-9, WITH_AIR, "quiet", ""), (0.3 + 1e-9, WITH_AIR, "audible", "gurgles"),
    (1.0 - 1e-9, WITH_AIR, "audible", "gurgles"), (1.0 + 1e-9, WITH_AIR, "loud", "roars"), (5.0, WITH_AIR, "loud", "roars"),
    (0.0, WITH_AIR, "quiet", ""), (2.0, SIPHON, "quiet", "without air"), (0.1, FLUSHING_LOW, "loud", "flushes"),
    (0.1, FLUSHING_HIGH, "loud", "flushes"),
])
def test_noise_on_both_sides(number, mode, word, words):
    """A drain is quiet up to J = 0.3 (Simpson 1968, as quoted) and as a full siphon, audible to 1, loud above and flushing."""
    row = loud(number, mode)
    assert (row.word, words in row.because) == (word, True)


def test_noise_takes_every_way_to_run():
    """The loudest way to run counts, and a drain that may run with air or as a siphon is not called full."""
    assert loud(0.1, WITH_AIR, LOOP, 0.057, (0.5, WITH_AIR)).verdict == TIGHT
    assert loud(0.5, WITH_AIR, LOOP, 0.057, (0.1, WITH_AIR)).value == pytest.approx(0.5, rel=1e-9)
    assert loud(2.0, SIPHON, LOOP, 0.057, (2.0, WITH_AIR)).word == "loud"
    assert loud(0.1, WITH_AIR, LOOP, 0.057, (0.1, FLUSHING_HIGH)).verdict == FAILS


def test_noise_counts_the_water_that_runs_with_air():
    """A drain that runs as a siphon or with air is as loud as its J with air, however fast the siphon is."""
    row = loud(2.0, SIPHON, LOOP, 0.057, (0.5, WITH_AIR))
    assert (row.word, row.value) == ("audible", pytest.approx(0.5, rel=1e-9))


def test_noise_exactly_at_its_limits():
    """J of the same float as a limit is still quiet, or still audible; reversed flow makes no noise."""
    value = loud(0.7).value
    for name, verdict in (("quiet number", HOLDS), ("sweep number", TIGHT)):
        results = found(loop(overrides={name: Uncertain.exact(value, name)}))
        assert loud(0.7, results=results).verdict == verdict
    assert loud(-1.0).value == 0.0


def near(head, number, results=LOOP):
    """Return the row on steadiness of a drain with air at a head over its lip (in rim diameters) and at J = `number`."""
    flow = number * pi / 4.0 * 0.057 ** 2 * sqrt(GRAVITY * 0.057)
    return steadiness(seen(results, stated(results.state, tank=1.47 + head * 0.057, flows={"drain": flow})), K)


@pytest.mark.parametrize(("head", "verdict", "words"), [
    (0.85 - 1e-9, HOLDS, ""), (0.85 + 1e-9, TIGHT, "close to where its inlet drowns"),
    (1.0 - 1e-9, TIGHT, "close to where its inlet drowns"), (1.0 + 1e-9, FAILS, "its inlet drowns"),
])
def test_within_15_percent_of_a_change_of_mode(head, verdict, words):
    """A drain that would prime (1.0 D and J = 1, from memory) is settled below 85 % of that, near a change up to it."""
    row = near(head, 1.5)
    assert (row.verdict, row.value) == (verdict, pytest.approx(1.0 - head, abs=1e-9))
    assert row.because.startswith(words)
    assert (row.because == "") is (verdict == HOLDS)


def test_either_threshold_keeps_a_drain_with_air():
    """High head alone or fast flow alone does not make a drain siphon: the larger of the two margins counts."""
    assert near(1.5, 0.5).value == pytest.approx(0.5, abs=1e-9)
    assert near(0.5, 1.5).value == pytest.approx(0.5, abs=1e-9)


def test_steadiness_takes_the_smallest_margin():
    """Of several ways to run the nearest to a change counts."""
    far, close = (stated(LOOP.state, tank=1.47 + head * 0.057, flows={"drain": 3e-3}) for head in (0.2, 0.9))
    for states in ((far, close), (close, far)):
        assert steadiness(seen(LOOP, *states), K).value == pytest.approx(0.1, abs=1e-9)


def test_steadiness_exactly_at_its_limits():
    """A margin of the same float as the nearness asked for holds; a margin of nothing is still near a change."""
    value = near(0.9, 1.5).value
    results = found(loop(overrides={"nearness to a change of mode": Uncertain.exact(value, "nearness to a change of mode")}))
    assert near(0.9, 1.5, results).verdict == HOLDS
    k = LOOP.network.drains[0]
    element = replace(LOOP.element(k), primes_at=0.0, sweeps_at=0.0)
    network = LOOP.network.changed({k: {"primes_at": 0.0, "sweeps_at": 0.0}})
    state = replace(stated(LOOP.state, tank=float(element.inlet.crest), flows={"drain": 0.0}), network=network)
    row = steadiness(seen(LOOP, state), k)
    assert (row.value, row.verdict) == (0.0, TIGHT)
    assert row.because.startswith("close to")


def test_comfort_rows_ask_each_drain():
    """There are two rows on turnover, one on speed, and for each drain one on noise and one on its way of running."""
    assert [row.key for row in comfort_checks(found(worked()))] == [
        "turnover", "turnover of all", "speed", "noise drain 1", "noise drain 2", "way drain 1", "way drain 2"]


def row(verdict, because=""):
    """Return a bare row."""
    return Check(CheckKind.SPEED, "question", 1.0, 2.0, 1.0, verdict, "origin", (because,) if because else ())


@pytest.mark.parametrize("before", [HOLDS, TIGHT, UNSURE, FAILS])
@pytest.mark.parametrize("after", [HOLDS, TIGHT, UNSURE, FAILS])
def test_but_never_makes_a_verdict_better(before, after):
    """A reason may make a verdict worse or stay beside it; a better verdict changes nothing."""
    rank = [HOLDS, TIGHT, UNSURE, FAILS]
    changed = row(before, "first").downgraded("then", after)
    better = rank.index(after) < rank.index(before)
    assert changed.verdict == (before if better else after)
    assert changed.because == ("first" if better else "first; then")


def test_but_is_tight_unless_told():
    """A reason alone makes a row tight, and stands alone where there was none."""
    assert (row(HOLDS).downgraded("then").verdict, row(HOLDS).downgraded("then").because) == (TIGHT, "then")
    assert row(FAILS, "first").downgraded("then") == row(FAILS, "first")


def test_instead_replaces_the_verdict():
    """A reason that the comparison cannot see takes its place, for better or worse."""
    assert (row(FAILS, "first").with_verdict(HOLDS, "then").verdict, row(FAILS).with_verdict(HOLDS, "then").because) == (HOLDS,
                                                                                                                         "then")


def test_a_pump_at_rest_has_no_speed():
    """A pump's line of its own is not asked for; lines without any run of pipe have no speed and name none."""
    assert return_speed(found(loop(driven_by=pump(riser=False)))).because == "fastest in return return: pipe"
    bare = replace(way(), line=(item("K", "return", K=2.0, size=0.0284),))
    row = return_speed(found(loop(driven_by=pump(riser=False), returns=(bare,))))
    assert (row.value, row.because, row.verdict) == (0.0, "", HOLDS)
