"""From rough inputs to verdicts: one input at a time at each of its ends, and data too rough ever to hold."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest
from builds import band, chamber, cut_to, drain, found, loop, plate, pump, seen, stated, way, worked

import hydro.checks.assessment
import hydro.checks.sensitivity
from hydro.checks import FAILS, HOLDS, ONLY_JUST, CheckKind, checks_of
from hydro.checks.assessment import assess
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


@pytest.mark.parametrize(("verdict", "words"), [(FAILS, "fails with 'hose' at its low end"),
                                                (ONLY_JUST, "holds only just with 'hose' at its low end")])
def test_one_end_makes_it_only_just(verdict, words):
    """A row that no longer holds at one end of one input is only just, names input and end, and other rows stay."""
    rows = judged_over_bands(
        LOOP, [moved("pipe", "high"), moved("hose", "low", tank_room=(verdict, -0.01)), moved("bend", "low")]
    )
    row = row_of(rows, "tank room")
    assert (row.verdict, row.because) == (ONLY_JUST, words)
    assert [one for one in rows if one.key != "tank room"] == [one for one in checks_of(LOOP) if one.key != "tank room"]


def test_the_worst_end_is_named():
    """Of several ends that a row does not survive the worst is named: a fail before an only just, then the smallest margin."""
    rows = judged_over_bands(LOOP, [moved("a", "low", tank_room=(FAILS, -0.02)), moved("b", "high", tank_room=(FAILS, -0.03)),
                        moved("c", "low", tank_room=(ONLY_JUST, -0.09)), moved("d", "low", tank_room=(FAILS, -0.01))])
    assert row_of(rows, "tank room").because == "fails with 'b' at its high end"


def test_a_row_that_does_not_hold_is_left():
    """A row that is only just or fails in the middle keeps its own reason."""
    rows = judged_over_bands(LOOP, [moved("hose", "low", intake=(FAILS, -1.0))])
    assert row_of(rows, "intake") == row_of(checks_of(LOOP), "intake")


def test_an_end_at_which_nothing_runs_counts():
    """Where the loop does not run at an end, every row that says nothing there is only just, and names that end."""
    silent = Shift(Uncertain(0.0, 1.0, 2.0, "curve"), "low", LOOP, {"steady": row_of(checks_of(LOOP), "steady")})
    rows = judged_over_bands(LOOP, [moved("pipe", "low"), silent])
    assert row_of(rows, "power cut").verdict == ONLY_JUST
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
    assert {row.verdict for row in rows} <= {ONLY_JUST, FAILS}


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


def test_a_line_with_a_band_makes_the_cut_only_just():
    """A power cut that fits from the line as drawn and not from 10 mm higher is only just by the line (found: it was ignored)."""
    fits = found(loop())
    room = 0.46 - fits.stopped[False, False].sump_level
    wishes = {"room at the sump rim": room - 1e-3}
    row = assess(loop(line=band(0.195, 0.205, 0.215), wishes=wishes)).check(CheckKind.POWER_CUT)
    assert (row.verdict, row.margin > 0.0) == (ONLY_JUST, True)
    assert "'chamber pump: line' at its high end" in row.because
    assert assess(loop(line=band(0.205, 0.205, 0.2051), wishes=wishes)).check(CheckKind.POWER_CUT).verdict == HOLDS


def test_a_hole_near_its_ratio_is_only_just():
    """A hole that counts in the middle of the ratio's band (0.2 to 0.4, from memory) and not at its high end is only just."""
    overrides = {"siphon break ratio": Uncertain(0.2, 0.3, 0.4, "siphon break ratio")}
    build = loop(returns=(way(end=1.40, hole_at=1.465, hole=0.35 * 0.0284),), counts_on=("siphon breaks",), overrides=overrides)
    row = assess(build).check(CheckKind.POWER_CUT)
    assert row.verdict == ONLY_JUST
    assert "'siphon break ratio' at its high end" in row.because
    large = replace(build, returns=(way(end=1.40, hole_at=1.465, hole=0.45 * 0.0284),))
    assert assess(large).check(CheckKind.POWER_CUT).verdict == HOLDS


def test_a_rough_lip_by_assess():
    """A tank that stays just below its opening in the middle and not with the lip 5 mm higher is only just by that lip."""
    level = float(LOOP.state.tank_level)
    for room, verdict in ((0.003, ONLY_JUST), (0.007, HOLDS)):
        row = assess(loop(drains=(drain(lip=band(1.465, 1.470, 1.475)),), tank_opening=level + room)).check(CheckKind.TANK_ROOM)
        assert row.verdict == verdict
        assert ("'drain drain: lip' at its high end" in row.because) is (verdict == ONLY_JUST)


PUMPED = ("overflow", "tank room", "sump room", "restart drain", "restart pump", "steady", "pump curve", "lift margin",
          "turnover", "turnover of all", "speed", "noise drain", "way drain")
QUIET = {"drains": (drain(bore=0.110),), "wishes": {"least turnover": 1 / 3600}}


def quiet(**given):
    """Return the verdicts of a loop in which every row holds that can, by key."""
    curve = given.pop("curve", ((0.0, 3.0), (8e-4, 0.0)))
    build = loop(**{**QUIET, "driven_by": pump(curve=curve, **given)}, line=0.25, returns=(way(end=1.465, k=9.0),))
    return {row.key: (row.verdict, row.because) for row in judged_over_bands(found(build), [])}


def test_a_curve_may_hold():
    """With points of a curve, or buckets beside the box, the rows that rest on the pump may hold."""
    assert {quiet()[key][0] for key in PUMPED} == {HOLDS}
    tested = quiet(curve=(), most_flow=8e-4, most_height=3.0, tests=((0.01, 30.0, 1.5),))
    assert {tested[key][0] for key in PUMPED if key not in ("pump curve",)} == {HOLDS}


def test_a_box_label_never_holds():
    """Where the box label is all that is known of the pump, no row that rests on the pump holds, and each says why."""
    rows = quiet(curve=(), most_flow=8e-4, most_height=3.0)
    assert {rows[key][0] for key in PUMPED} == {ONLY_JUST}
    assert all("the label on its box" in rows[key][1] for key in PUMPED)
    assert HOLDS not in {verdict for verdict, _ in rows.values()}


def test_a_box_label_blocked():
    """A blocked drain that the rest make good holds with a curve, and not with a label."""
    pair = {"drains": (drain("a"), drain("b"))}
    small = ((0.0, 3.0), (4e-4, 0.0))
    verdicts = [row_of(judged_over_bands(found(loop(**pair, driven_by=driven)), []), "blocked a").verdict
                for driven in (pump(curve=small), pump(curve=(), most_flow=4e-4, most_height=3.0))]
    assert verdicts == [HOLDS, ONLY_JUST]


@pytest.mark.parametrize(("about", "words"), [({"tank_about": True}, "the tank is a box marked 'about'"),
                                              ({"sump_about": True}, "the sump is a box marked 'about'"), ({}, "")])
def test_a_box_marked_about_never_holds(about, words):
    """Power cut and all drains blocked go by volumes: with a tank or a sump marked 'about' neither ever holds."""
    rows = judged_over_bands(found(loop(**about)), [])
    for key in ("power cut", "all blocked"):
        row = row_of(rows, key)
        assert row.verdict == (ONLY_JUST if about else HOLDS)
        assert words in row.because
    assert row_of(rows, "tank room").verdict == HOLDS


def test_rough_data_leave_what_does_not_hold():
    """A row that fails is not made anything else by rough data."""
    rows = judged_over_bands(cut_to(found(loop(sump_about=True)), dict.fromkeys(LOOP.stopped, 0.6)), [])
    assert (row_of(rows, "power cut").verdict, "about" in row_of(rows, "power cut").because) == (FAILS, False)
    label = found(loop(driven_by=pump(curve=(), most_flow=2e-3, most_height=5.0)))
    before, after = row_of(checks_of(label), "intake"), row_of(judged_over_bands(label, []), "intake")
    assert before.verdict == ONLY_JUST
    assert after == before


def test_near_a_change_of_mode_is_only_just():
    """A drain within 15 % of priming is only just, and with it the whole build."""
    near = stated(LOOP.state, tank=1.47 + 0.9 * 0.057, flows={"drain": 6e-3})
    row = row_of(judged_over_bands(seen(LOOP, near), []), "way drain")
    assert (row.verdict, row.value) == (ONLY_JUST, pytest.approx(0.1, abs=1e-9))


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
    assert [row.key for row in answer.checks] == ["steady", "intake"]


def test_several_inputs_together_make_it_only_just():
    """Inputs that each take 3 and 4 parts of a margin of 5.1 leave it, of 4.9 they make the row only just together."""
    margin = row_of(checks_of(LOOP), "tank room").margin

    def both(share):
        ends = [moved(name, "low", tank_room=(HOLDS, margin - by * margin / share)) for name, by in (("a", 3.0), ("b", 4.0))]
        return row_of(judged_over_bands(LOOP, ends), "tank room")

    assert (both(5.1).verdict, both(4.9).verdict) == (HOLDS, ONLY_JUST)
    assert "together" in both(4.9).because


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
    """A whole build is as good as its worst row; what does not run has its one row and no line."""
    answer = assess(worked())
    assert answer.verdict == FAILS == max((row.verdict for row in answer.checks), key=[HOLDS, ONLY_JUST, FAILS].index)
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
