"""From rough inputs to verdicts: one input at a time at each of its ends, and which one decides."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest
from builds import band, box, chamber, drain, found, loop, plate, pump, seen, stated, way, worked

import hydro.checks.assessment
import hydro.checks.sensitivity
from hydro.checks import FAILS, HOLDS, TIGHT, UNSURE, CheckKind, checks_of
from hydro.checks.assessment import assess
from hydro.checks.check import COMFORT
from hydro.checks.sensitivity import Shift, given_water, judged_over_bands, shifts, uncertain_inputs
from hydro.checks.sensitivity import band as band_of
from hydro.errors import SolveError
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of
from hydro.scenarios.running_line import highest_line
from hydro.steady.operating_point import NONE, OperatingPoint

LOOP = found(loop())
LIP = Uncertain(1.465, 1.470, 1.475, "lip")


def moved(name, end, **rows):
    """Return a shift that gives some of the loop's rows a verdict and a margin."""
    by_key = {row.key: row for row in checks_of(LOOP)}
    for key, (verdict, margin) in rows.items():
        key = key.replace("_", " ")
        by_key[key] = replace(by_key[key], verdict=verdict, margin=margin)
    return Shift(Uncertain(0.0, 1.0, 2.0, name), end, LOOP, by_key)


def row_of(rows, key):
    """Return a row by key."""
    return next(row for row in rows if row.key == key)


def test_it_holds_where_no_end_fails():
    """Rows that hold in the middle and at every end stay as they are."""
    assert judged_over_bands(LOOP, []) == checks_of(LOOP)
    assert judged_over_bands(LOOP, [moved("a", "low"), moved("a", "high")]) == checks_of(LOOP)


@pytest.mark.parametrize(("there", "margin", "verdict", "words", "decided_by"), [
    (FAILS, -0.01, UNSURE, "fails with 'hose' at its low end", "hose"), (TIGHT, 0.005, HOLDS, "", "")])
def test_one_end_that_fails_makes_it_unsure(there, margin, verdict, words, decided_by):
    """A row that fails at one end of one input is unsure and names input and end; an end at which it is tight changes nothing."""
    rows = judged_over_bands(
        LOOP, [moved("pipe", "high"), moved("hose", "low", tank_room=(there, margin)), moved("bend", "low")]
    )
    row = row_of(rows, "tank room")
    assert (row.verdict, row.because, row.decided_by) == (verdict, words, decided_by)
    assert [one for one in rows if one.key != "tank room"] == [one for one in checks_of(LOOP) if one.key != "tank room"]


def test_the_worst_end_is_named():
    """Of several ends at which a row fails the one with the smallest margin is named, whatever is tight elsewhere."""
    rows = judged_over_bands(LOOP, [moved("a", "low", tank_room=(FAILS, -0.02)), moved("b", "high", tank_room=(FAILS, -0.03)),
                        moved("c", "low", tank_room=(TIGHT, -0.09)), moved("d", "low", tank_room=(FAILS, -0.01))])
    row = row_of(rows, "tank room")
    assert (row.because, row.decided_by) == ("fails with 'b' at its high end", "b")


def test_a_row_that_fails_is_left():
    """A row that fails in the middle keeps its own reason and hangs on no single figure."""
    rows = judged_over_bands(LOOP, [moved("hose", "low", blocked_drain=(FAILS, -9.0)),
                                    moved("hose", "high", blocked_drain=(HOLDS, 1.0))])
    assert row_of(rows, "blocked drain") == row_of(checks_of(LOOP), "blocked drain")
    assert (row_of(rows, "blocked drain").verdict, row_of(rows, "blocked drain").decided_by) == (FAILS, "")


def test_a_tight_row_may_be_unsure():
    """A row that is tight in the middle and fails at an end is unsure, with both reasons; one that fails nowhere stays tight."""
    tight = found(loop(tank_opening=float(LOOP.state.tank_level) + 0.005))
    fails, stays = (Shift(Uncertain(0.0, 1.0, 2.0, "hose"), "low", tight,
                          {key: replace(row, verdict=verdict, margin=margin) if key == "tank room" else row
                           for key, row in ((row.key, row) for row in checks_of(tight))})
                    for verdict, margin in ((FAILS, -0.001), (TIGHT, 0.001)))
    row = row_of(judged_over_bands(tight, [fails]), "tank room")
    assert (row.verdict, row.decided_by) == (UNSURE, "hose")
    assert row.because == "less room is left than is wanted at a tank's rim; fails with 'hose' at its low end"
    assert row_of(judged_over_bands(tight, [stays]), "tank room").verdict == TIGHT


def test_an_end_at_which_nothing_runs_counts():
    """Where the loop does not run at an end, every row that says nothing there is unsure, and names that end."""
    silent = Shift(Uncertain(0.0, 1.0, 2.0, "curve"), "low", LOOP, {"steady": row_of(checks_of(LOOP), "steady")})
    rows = judged_over_bands(LOOP, [moved("pipe", "low"), silent])
    assert (row_of(rows, "power cut").verdict, row_of(rows, "power cut").decided_by) == (UNSURE, "curve")
    assert row_of(rows, "power cut").because.endswith("does not run with 'curve' at its low end")
    assert row_of(rows, "steady").verdict == HOLDS


def test_an_end_that_cannot_be_solved_is_a_shift(monkeypatch):
    """An end at which the equations are not solved comes back as one that does not run, and its rows fail."""
    place_, middle = place(loop(drains=(drain(lip=LIP),))), found(loop(drains=(drain(lip=LIP),)))

    def failing(*given):
        if "low" in given[1].values():
            raise SolveError("running", 1, 1.0, "pump", "none")
        return results_of(*given)

    monkeypatch.setattr(hydro.checks.sensitivity, "results_of", failing)
    low, high = shifts(place_, middle)
    assert (low.end, low.results.answer.kind, low.results.answer.state) == ("low", NONE, None)
    assert "no solution" in low.results.answer.reason
    assert {key: row.verdict for key, row in low.checks.items()} == {"steady": FAILS}
    assert (high.end, high.results.answer.state is None) == ("high", False)
    rows = judged_over_bands(middle, [low, high])
    assert {row.verdict for row in rows if row.kind.stake != COMFORT} == {UNSURE, FAILS}


def test_each_band_is_moved_to_both_ends():
    """Each input with a band gives a shift at either end, one whose middle is an end a single one, an exact one none."""
    build = loop(drains=(drain(lip=band(1.465, 1.470, 1.470), bore=band(0.056, 0.057, 0.058)),))
    found_ = list(shifts(place(build), found(build)))
    assert [(one.uncertain.name, one.end) for one in found_] == [
        ("drain drain: lip", "low"), ("drain drain: rim", "low"), ("drain drain: rim", "high"), ("drain drain: size", "low"),
        ("drain drain: size", "high")]
    crest = {one.end: one.results.element(one.results.network.drains[0]).inlet.crest for one in found_[:1]}
    assert crest == {"low": 1.465}


def test_what_is_uncertain():
    """Uncertain are inputs used that have a band, the amount of water, wishes, limits put in place, and a hole's ratio."""
    build = loop(
        line=band(0.20, 0.205, 0.21),
        wishes={"top-up reservoir": band(0.01, 0.02, 0.03), "other water": 0.1},
        overrides={"lift margin": Uncertain(0.1, 0.2, 0.3, "lift margin"), "ribbed hose friction": Uncertain(2, 2.5, 3, "hose"),
                   "siphon break ratio": Uncertain(0.2, 0.3, 0.4, "siphon break ratio")},
        returns=(way(hole_at=1.484, hole=0.01),),
    )
    assert [uncertain.name for uncertain in uncertain_inputs(found(build))] == [
        "chamber pump: line", "lift margin", "siphon break ratio", "wishes: top-up reservoir"]
    assert uncertain_inputs(LOOP) == []
    one_bored = loop(returns=(way("a", hole_at=1.484, hole=0.01), way("b")),
                     overrides={"siphon break ratio": Uncertain(0.2, 0.3, 0.4, "siphon break ratio")})
    assert [uncertain.name for uncertain in uncertain_inputs(found(one_bored))] == ["siphon break ratio"]
    unbored = loop(
        returns=(way(hole_at=1.484),), overrides={"siphon break ratio": Uncertain(0.2, 0.3, 0.4, "siphon break ratio")}
    )
    assert uncertain_inputs(found(unbored)) == []


@pytest.mark.parametrize(("water", "name"), [({"line": 0.2}, "chamber pump: line"), ({"still": 0.35}, "water: still"),
                                             ({"total": 1.0}, "water: total")])
def test_the_amount_of_water_has_a_name(water, name):
    """The number that says how much water there is is known by its name, in each of its three forms."""
    assert given_water(loop(**water)).name == name


def test_a_line_with_a_band_makes_the_cut_unsure():
    """A power cut that fits from the line as drawn and not from 10 mm higher hangs on the line (found: it was ignored)."""
    rest = found(loop()).stopped[False, False].sump_level
    row = assess(loop(line=band(0.195, 0.205, 0.215), sump_opening=rest + 1e-3)).check(CheckKind.POWER_CUT)
    assert (row.verdict, row.margin > 0.0, row.decided_by) == (UNSURE, True, "chamber pump: line")
    assert "'chamber pump: line' at its high end" in row.because
    assert assess(loop(line=band(0.205, 0.205, 0.2051), sump_opening=rest + 1e-3)).check(CheckKind.POWER_CUT).verdict == HOLDS


def test_a_line_that_takes_wanted_room_alone_leaves_the_cut():
    """Where a line at its high end takes some of the wanted room and not the opening, the power cut holds."""
    rest = found(loop()).stopped[False, False].sump_level
    wishes = {"room at the sump rim": 0.46 - rest - 1e-3}
    assert assess(loop(line=band(0.195, 0.205, 0.215), wishes=wishes)).check(CheckKind.POWER_CUT).verdict == HOLDS
    assert assess(loop(line=0.215, wishes=wishes)).check(CheckKind.POWER_CUT).verdict == TIGHT


def test_a_hole_near_its_ratio_is_unsure():
    """A hole that counts in the middle of a ratio's band and not at its high end is unsure by that ratio."""
    overrides = {"siphon break ratio": Uncertain(0.2, 0.3, 0.4, "siphon break ratio")}
    build = loop(returns=(way(end=1.40, hole_at=1.465, hole=0.35 * 0.0284),), counts_on=("siphon breaks",), overrides=overrides)
    row = assess(build).check(CheckKind.POWER_CUT)
    assert (row.verdict, row.decided_by) == (UNSURE, "siphon break ratio")
    assert "'siphon break ratio' at its high end" in row.because
    large = replace(build, returns=(way(end=1.40, hole_at=1.465, hole=0.45 * 0.0284),))
    assert assess(large).check(CheckKind.POWER_CUT).verdict == HOLDS


def test_a_rough_lip_by_assess():
    """A tank that stays just below its opening in the middle and not with the lip 5 mm higher is unsure by that lip."""
    level = float(LOOP.state.tank_level)
    for room, verdict in ((0.003, UNSURE), (0.007, TIGHT), (0.011, HOLDS)):
        row = assess(loop(drains=(drain(lip=band(1.465, 1.470, 1.475)),), tank_opening=level + room)).check(CheckKind.TANK_ROOM)
        assert row.verdict == verdict
        assert row.decided_by == ("drain drain: lip" if verdict == UNSURE else "")
        assert ("'drain drain: lip' at its high end" in row.because) is (verdict == UNSURE)


def test_what_decides_is_named_once_with_all_that_hangs_on_it():
    """An input is named once, with every check that hangs on it, the one on which most hang first; nothing else is named."""
    level = float(LOOP.state.tank_level)
    rest = LOOP.stopped[False, False].sump_level
    answer = assess(loop(drains=(drain(lip=band(1.465, 1.470, 1.475)),), tank_opening=level + 0.003, sump_opening=rest + 0.001,
                         line=band(0.195, 0.205, 0.265)))
    named = {name: [check.key for check in checks] for name, checks in answer.deciding.items()}
    assert named == {"drain drain: lip": ["overflow", "tank room"], "chamber pump: line": ["power cut"]}
    assert [*named] == ["drain drain: lip", "chamber pump: line"]
    assert {check.key for check in answer.checks if check.verdict == UNSURE} == {key for keys in named.values() for key in keys}
    assert assess(loop()).deciding == {}


def test_comfort_is_told_as_it_is_in_the_middle():
    """No end of any input changes what is told of comfort, and no input is named for it."""
    far = moved("hose", "low", noise_drain=(FAILS, -9.0), turnover=(FAILS, -9.0), speed=(FAILS, -9.0), way_drain=(FAILS, -9.0))
    before, after = ([row for row in rows if row.kind.stake == COMFORT]
                     for rows in (checks_of(LOOP), judged_over_bands(LOOP, [far])))
    assert before == after


def test_comfort_never_enters_the_verdict():
    """A tank that is turned over too fast for a wish, loudly and in too fast a pipe, is as good as its floor and its pump."""
    pair = (drain("a"), drain("b"), drain("dry", 1.53))
    wild = ((0.0, 9.0), (1.6e-3, 7.0), (4.0e-3, 0.0))
    answer = assess(loop(drains=pair, driven_by=pump(curve=wild), returns=(way(bore=0.0284),),
                         wishes={"most turnover": 0.5 / 3600.0}))
    assert answer.check(CheckKind.TURNOVER).verdict == answer.check(CheckKind.SPEED).verdict == FAILS
    assert answer.verdict == max((row.verdict for row in answer.checks if row.kind.stake != COMFORT),
                                 key=[HOLDS, TIGHT, UNSURE, FAILS].index)
    assert answer.verdict != FAILS


PUMPED = ("overflow", "tank room", "sump room", "restart drain", "restart pump", "steady", "pump curve", "lift margin")
BOXED = {"box curve exponent": Uncertain(1.0, 2.0, 3.0, "box curve exponent")}
MOST, HIGHEST = 1.4e-3, 3.0


def label(**given):
    """Return what is said of a loop whose pump is known by 5040 L/h and 3.0 m on its box alone."""
    return assess(loop(**{"driven_by": pump(curve=(), most_flow=MOST, most_height=HIGHEST), "overrides": BOXED, **given}))


def bent(n):
    """Return the findings of the loop on the curve H0 (1 - (q/Q0)^n), put in as points."""
    shares = [k / 40.0 for k in range(41)]
    return found(loop(driven_by=pump(curve=[(MOST * share, HIGHEST * (1.0 - share ** n)) for share in shares])))


LEVELS = [float(bent(n).state.tank_level) for n in (1.0, 2.0, 3.0)]
"""The tank's running level for n = 1, 2 and 3."""


def test_a_box_label_holds_where_every_bend_of_its_curve_does():
    """On a box label a row holds that holds for n = 1, 2 and 3, each solved on points of its own."""
    answer = label(drains=(drain("a"), drain("b"), drain("dry", 1.53)))
    assert {answer.check(kind).verdict for kind in (CheckKind.CAPACITY, CheckKind.TANK_ROOM, CheckKind.SUMP_ROOM,
                                                    CheckKind.POWER_CUT, CheckKind.STEADY)} == {HOLDS}
    assert label(tank_opening=LEVELS[2] + 0.011).check(CheckKind.TANK_ROOM).verdict == HOLDS


@pytest.mark.parametrize(("opening", "verdict", "decided_by"), [
    (LEVELS[2] + 0.0005, TIGHT, ""), (0.5 * (LEVELS[1] + LEVELS[2]), UNSURE, "box curve exponent"),
    (0.5 * (LEVELS[0] + LEVELS[1]), FAILS, ""),
])
def test_a_box_label_is_unsure_where_one_bend_fails(opening, verdict, decided_by):
    """A tank that runs over for n = 3 alone hangs on n; for n = 2 it fails; with half a millimetre left for n = 3 it is tight."""
    assert LEVELS[0] < LEVELS[1] < LEVELS[2]
    row = label(tank_opening=opening).check(CheckKind.TANK_ROOM)
    assert (row.verdict, row.decided_by) == (verdict, decided_by)


def test_a_box_label_is_rated_at_its_most_for_what_comes_down():
    """Overflows have to carry what the label's pump lifts for n = 3, the pump at its best: what fails there fails."""
    row = label(tank_opening=0.5 * (LEVELS[1] + LEVELS[2])).check(CheckKind.CAPACITY)
    assert (row.verdict, row.value) == (FAILS, pytest.approx(LEVELS[2], abs=1e-4))


@pytest.mark.parametrize(("more", "words"), [
    ({}, ()), ({"tank_about": True}, ("the tank is measured as a box, 'about'",)),
    ({"sump_about": True, "driven_by": pump(curve=(), most_flow=MOST, most_height=HIGHEST)},
     ("the pump is known by the label on its box only", "the sump is measured as a box, 'about'")),
    ({"driven_by": pump(curve=(), most_flow=MOST, most_height=HIGHEST, tests=((0.01, 12.0, 1.5),))}, ()),
])
def test_what_is_known_roughly_is_named_once(more, words):
    """A label on a box without a bucket test and a vessel marked 'about' are named once, beside the checks, in none of them."""
    answer = assess(loop(**more))
    assert answer.known_roughly == words
    assert not any(name in row.because for row in answer.checks for name in ("label", "'about'"))


def about(share, room):
    """Return the row on the power cut with the sump's length known within a share, and so much room under its opening."""
    chambers = (chamber("inflow", share=0.6, end=plate(0.29)), chamber("pump"))
    rest = found(loop(chambers=chambers)).stopped[False, False].sump_level
    sump = box("sump", band(1.02 * (1.0 - share), 1.02, 1.02 * (1.0 + share)), 0.50, 0.46)
    return assess(loop(sump=sump, sump_about=True, chambers=chambers, sump_opening=rest + room)).check(CheckKind.POWER_CUT)


def test_a_box_marked_about_is_judged_over_its_band():
    """A sump whose length is good to 5 % holds what comes down with 20 mm to spare at either end, and is unsure with 2 mm.

    What comes down stays as it is and what stands in the sump goes with its length: 5 % less length raise the share that came
    down, 0.13 m of the level at rest, by 7 mm.
    """
    assert (about(0.05, 0.020).verdict, about(0.05, 0.020).decided_by) == (HOLDS, "")
    assert (about(0.05, 0.002).verdict, about(0.05, 0.002).decided_by) == (UNSURE, "sump: length")
    assert about(0.0, 0.002).verdict == HOLDS


def test_near_a_change_of_mode_is_told():
    """A drain within 15 % of priming is said to be near a change of its way of running."""
    near = stated(LOOP.state, tank=1.47 + 0.9 * 0.057, flows={"drain": 6e-3})
    row = row_of(judged_over_bands(seen(LOOP, near), []), "way drain")
    assert (row.word, row.value) == ("near a change", pytest.approx(0.1, abs=1e-9))


def shifted(tank, named="x", end="low"):
    """Return a shift in which the tank stands at a level."""
    return Shift(Uncertain(0.0, 1.0, 2.0, named), end, seen(LOOP, stated(LOOP.state, tank=tank)), {})


def test_band_by_hand():
    """Deviations of single inputs are squared and added, apart for each side: 3 and 4 mm make 5 mm, 5 and 12 mm make 13."""
    middle = seen(LOOP, stated(LOOP.state, tank=1.5))
    ends = [replace(shifted(1.5 + by), uncertain=Uncertain.exact(0.0, f"input {k}"))
            for k, by in enumerate((-0.003, 0.005, -0.004, 0.012, 0.0))]
    low, value, high = band_of(middle, ends, lambda results: float(results.state.tank_level))
    assert (low, value, high) == (pytest.approx(1.495), 1.5, pytest.approx(1.513))
    assert band_of(middle, [], lambda results: float(results.state.tank_level)) == (1.5, 1.5, 1.5)


def test_an_input_counts_once_to_each_side():
    """Of the two ends of one input the worse one counts: 3 and 4 mm to the same side make 4 mm."""
    middle = seen(LOOP, stated(LOOP.state, tank=1.5))
    ends = [replace(shifted(1.5 + by), uncertain=Uncertain.exact(0.0, "input")) for by in (0.003, 0.004)]
    assert band_of(middle, ends, lambda results: float(results.state.tank_level)) == (1.5, 1.5, pytest.approx(1.504))


def test_band_passes_over_what_does_not_run():
    """An end without a state has no figure and widens nothing."""
    silent = replace(shifted(1.9), results=seen(LOOP, state=None, others=()))
    low, _, high = band_of(LOOP, [silent, shifted(float(LOOP.state.tank_level) + 0.002)],
                           lambda results: float(results.state.tank_level))
    assert low == float(LOOP.state.tank_level)
    assert high == pytest.approx(low + 0.002, abs=1e-12)


def test_bands_of_an_assessment():
    """Flow and level come with the root of the summed squares of what single inputs do, the bucket with 10 L over flow."""
    build = loop(drains=(drain(lip=band(1.465, 1.470, 1.475)),), driven_by=pump(length=band(1.6, 1.7, 1.9)))
    answer = assess(build)
    rises = [float(shift.results.state.tank_level) - float(answer.results.state.tank_level) for shift in answer.shifts]
    up, down = (sqrt(sum(rise * rise for rise in rises if (rise > 0.0) is side)) for side in (True, False))
    low, middle, high = answer.tank_levels["tank"]
    assert (high - middle, middle - low) == (pytest.approx(up, rel=1e-9), pytest.approx(down, rel=1e-9))
    assert answer.bucket == tuple(pytest.approx(0.010 / flow) for flow in reversed(answer.flow))


def test_the_pessimistic_line():
    """The safe line is that with the single input at its worst end that lowers it most, never the amount of water."""
    build = loop(line=band(0.15, 0.205, 0.30), returns=(way(end=band(1.450, 1.455, 1.457)),))
    answer = assess(build)
    wanted = answer.wanted_line
    low = place(build).network({"return return: end": "low"})
    assert (wanted.breaks, wanted.holds) == (False, False)
    assert wanted.safe == pytest.approx(highest_line(low, False, False, 0.0), abs=1e-4)
    assert wanted.safe < wanted.height - 5e-3
    assert wanted.worst == "return return: end at its low end"
    others = [line for line in answer.lines if line is not wanted]
    assert all(line.safe == line.height and line.worst == "" for line in others)


def test_inputs_together_lower_the_line_further():
    """Two inputs that each lower the sump's room lower the safe line further than the worse of them alone."""
    lip, end = band(1.465, 1.470, 1.475), band(1.450, 1.455, 1.460)
    both = assess(loop(drains=(drain(lip=lip),), returns=(way(end=end),))).wanted_line
    single = [assess(loop(drains=(drain(lip=lip),))).wanted_line, assess(loop(returns=(way(end=end),))).wanted_line]
    assert both.safe < min(line.safe for line in single) - 1e-3
    assert both.height == pytest.approx(single[0].height, abs=2e-5)


def test_an_input_that_only_helps_lowers_no_line():
    """Where the one uncertain input can only raise the line, or there is none, the safe line is the line and nothing is named."""
    for build in (loop(returns=(way(end=band(1.455, 1.455, 1.458)),)), loop()):
        wanted = assess(build).wanted_line
        assert (wanted.safe, wanted.worst) == (wanted.height, "")


@pytest.mark.parametrize(("given", "name", "end"), [
    ({"sump_opening": band(0.43, 0.44, 0.445)}, "sump: lowest opening", "low"),
    ({"sump_bottom": band(-0.02, 0.0, 0.01)}, "sump: bottom", "low"),
    ({"wishes": {"room at the sump rim": band(0.0, 0.01, 0.03)}}, "wishes: room at the sump rim", "high"),
])
def test_the_pessimistic_line_asks_limits_too(given, name, end):
    """A lower opening, another bottom or more room lower the safe line too; it counts from the sump's bottom in the middle."""
    answer = assess(loop(**given, returns=(way(end=1.465),)))
    network = answer.loop.network({name: end})
    room = 0.03 if "room" in name else 0.0
    bottom = float(network.waters[network.chambers[0]].body.bottom)
    wanted = answer.wanted_line
    assert wanted.worst == f"{name} at its {end} end"
    assert wanted.safe <= highest_line(network, False, False, room) - bottom + 4e-5
    assert wanted.safe < wanted.height - 1e-3


def test_the_pessimistic_line_does_not_count_on_a_doubtful_hole():
    """Where a hole is no longer counted at an end of the ratio's band, the safe line is no higher than with plugged breaks."""
    overrides = {"siphon break ratio": Uncertain(0.2, 0.3, 0.4, "siphon break ratio")}
    answer = assess(loop(returns=(way(end=1.455, hole_at=1.468, hole=0.35 * 0.0284),), counts_on=("siphon breaks",),
                         overrides=overrides))
    plugged = next(line for line in answer.lines if (line.breaks, line.holds) == (False, False))
    assert answer.wanted_line.breaks
    assert answer.wanted_line.safe <= plugged.height + 4e-5 < answer.wanted_line.height
    assert answer.wanted_line.worst == "siphon break ratio at its high end"


def test_a_state_that_is_not_trusted_gives_no_lines(monkeypatch):
    """Where no combination of modes holds an assessment has the rows on the pump that do not hold, and nothing else."""
    untrusted = replace(LOOP, answer=replace(LOOP.answer, kind=NONE), stopped={})
    monkeypatch.setattr(hydro.checks.assessment, "results_of", lambda *_: untrusted)
    answer = assess(loop())
    assert (answer.lines, answer.shifts, answer.flow) == ((), (), None)
    assert [row.key for row in answer.checks] == ["steady"]


def test_several_inputs_together_make_it_unsure():
    """Inputs that take 3 and 4 parts of a margin of 5.1 leave it, of 4.9 they make the row unsure together, by the larger."""
    margin = row_of(checks_of(LOOP), "tank room").margin

    def both(share):
        ends = [moved(name, "low", tank_room=(HOLDS, margin - by * margin / share)) for name, by in (("a", 3.0), ("b", 4.0))]
        return row_of(judged_over_bands(LOOP, ends), "tank room")

    assert (both(5.1).verdict, both(4.9).verdict) == (HOLDS, UNSURE)
    assert ("together" in both(4.9).because, both(4.9).decided_by) == (True, "b")


@pytest.mark.parametrize(("key", "share", "verdict"), [("intake", 5.1, HOLDS), ("intake", 4.9, UNSURE),
                                                       ("lift margin", 5.1, HOLDS), ("lift margin", 4.9, UNSURE)])
def test_several_inputs_together_may_use_up_a_reserve(key, share, verdict):
    """What is wanted beyond the hard limit, 1.5 bores over the velocity head or a fifth of the head, may be used up, not more."""
    row = row_of(checks_of(LOOP), key)
    assert (row.verdict, row.reserve > 0.0) == (HOLDS, True)
    ends = [moved(name, "low", **{key.replace(" ", "_"): (TIGHT, row.margin - by * row.to_failing / share)})
            for name, by in (("a", 3.0), ("b", 4.0))]
    assert row_of(judged_over_bands(LOOP, ends), key).verdict == verdict


def test_several_ways_to_run_at_several_ends_are_no_sum():
    """That two inputs each leave two ways to run at an end adds up to nothing: steady running is no figure."""
    ends = [moved(name, "low", steady=(TIGHT, 0.0)) for name in "abc"]
    assert row_of(judged_over_bands(LOOP, ends), "steady").verdict == HOLDS


def test_the_line_counts_from_the_sumps_bottom():
    """Running lines are heights above the sump's bottom: a whole loop raised by 10 cm keeps them."""
    heights = []
    for raised in (0.0, 0.1):
        build = loop(sump_bottom=raised, chambers=(chamber("inflow", 0.62, plate(0.29 + raised)), chamber("pump")),
                     driven_by=pump(intake=0.07 + raised), line=0.205 + raised, tank_bottom=0.92 + raised,
                     drains=(drain(lip=1.47 + raised, end=0.24 + raised),), returns=(way(end=1.455 + raised),))
        heights.append(assess(build).wanted_line.height)
    assert heights[0] == pytest.approx(heights[1], abs=2e-5)


def test_the_verdict_is_the_worst_of_all_rows(monkeypatch):
    """A whole build is as good as its worst row on floor and pump; what does not run has its one row and no line."""
    for build, verdict in ((worked(), TIGHT), (worked(returns=(way("a", 1.30), way("b", 1.30))), FAILS)):
        answer = assess(build)
        assert answer.verdict == verdict == max((row.verdict for row in answer.checks if row.kind.stake != COMFORT),
                                                key=[HOLDS, TIGHT, UNSURE, FAILS].index)
    monkeypatch.setattr(
        "hydro.scenarios.results.operating_point", lambda *_: OperatingPoint(NONE, None, (), "the equations were not solved")
    )
    dry = assess(loop())
    assert (dry.verdict, dry.lines, dry.flow, dry.wanted_line, dry.bucket) == (FAILS, (), None, None, None)
    with pytest.raises(KeyError):
        dry.check(CheckKind.POWER_CUT)


def test_what_was_assumed():
    """Every default that was used is listed with its source, and nothing that was stated."""
    build = replace(loop(), overrides={})
    names = [uncertain.name for uncertain in assess(build).assumed]
    assert "rim weir coefficient" in names
    assert "pump: intake" not in names
    assert names == sorted(names)
