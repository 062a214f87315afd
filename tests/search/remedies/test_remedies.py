"""Remedies: the smallest change of each kind that makes a check hold. Most figures are worked out here by volumes and areas."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import pytest
from builds import above, drain, found, item, loop, pump, uncertain, way, worked
from many_builds import sump, two_sumps
from report_cases import ROOT, assessed
from rooms import room

from hydro import assess
from hydro.case import loads
from hydro.checks import FAILS, HOLDS, TIGHT, UNSURE, CheckKind, checks_of
from hydro.checks.assessment import Assessment
from hydro.checks.check import COMFORT, RANK
from hydro.description.build import Build, Drain, Height
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import opening_of
from hydro.scenarios.running_line import highest_line
from hydro.search.remedies import KINDS, Remedy, RemedyReport, Step, changes_of, failing, find_remedies
from hydro.search.remedies import mending as mending_module
from hydro.search.remedies.change import with_numbers
from hydro.search.remedies.measures import measure_for
from hydro.search.remedies.proof import Base, fed, prove_remedy
from hydro.search.remedies.pumps import pump_changes
from hydro.search.remedies.search import least, least_passing

MM = 1e-3


def exact(**changes: object) -> Build:
    """Return a small loop whose power cut runs over the sump by what is asked of it; nothing in it has a band."""
    return loop(**changes)  # type: ignore[arg-type]


def remedy(found_there: RemedyReport, key: str, kind: str) -> Remedy:
    """Return the first remedy of a kind for a row."""
    row = next(one for one in found_there.rows if one.check.key == key)
    return next(one for one in row.remedies if one.kind == kind)


def kinds_for(found_there: RemedyReport, key: str) -> list[str]:
    """Return the kinds of a row's remedies in their order."""
    return [one.kind for one in next(one for one in found_there.rows if one.check.key == key).remedies]


def flooding(**changes: object) -> Build:
    """Return a loop in which a power cut runs over: its return ends 0.25 m under the rim and has no siphon break."""
    return exact(**{"returns": [way(end=1.32)], "line": 0.25, **changes})


@cache
def mended_flood() -> RemedyReport:
    """Return the remedies of the power cut of that loop."""
    return find_remedies(flooding(), keys=("power cut",))


def over(build: Build) -> tuple[float, float]:
    """Return the sump's level after the power cut and its limit, m."""
    row = assess(build).check(CheckKind.POWER_CUT)
    assert row.verdict == FAILS
    return row.value, row.limit


def test_the_pen_is_drawn_at_the_highest_line():
    """The line to draw is the highest running line, found by another way, down to the next millimetre."""
    build = exact(line=0.30)
    assert assess(build).check(CheckKind.POWER_CUT).verdict == FAILS
    line = highest_line(found(build).network, False, False, 0.0)
    there = remedy(find_remedies(build, keys=("power cut",)), "power cut", "pen")
    assert line is not None
    assert there.value == pytest.approx(math.floor(line / MM) * MM, abs=1e-9)
    assert there.said("metric").startswith("draw the running line lower by ")


def test_a_mouth_is_raised_by_the_volume_that_is_too_much():
    """Each millimetre of mouth keeps one of the tank: it is raised by the excess volume over the tank's area."""
    level, limit = over(flooding())
    needed = 1.02 * 0.50 * (level - limit) / (2.06 * 0.78)
    there = remedy(mended_flood(), "power cut", "hole")
    assert there.verdict == HOLDS
    assert there.value == pytest.approx(1.32 + math.ceil(needed / MM) * MM, abs=1e-9)


def test_a_sump_is_made_higher_by_what_runs_over():
    """Above its plates the sump is one box: walls higher by the excess level, to the next centimetre that is sold."""
    build = flooding(returns=[way(end=1.40)])
    level, limit = over(build)
    there = remedy(find_remedies(build, keys=("power cut",)), "power cut", "tub")
    length, height = 1.02 * (level - limit) / (limit - 0.25), level - limit
    longer, higher = (math.ceil(more / 0.010) for more in (length, height))
    # Of two changes of the same kind the one with fewer steps is named.
    expected = 1.02 + 0.010 * longer if longer < higher else 0.46 + 0.010 * higher
    assert there.value == pytest.approx(expected, abs=1e-9)


def test_a_longer_sump_by_area():
    """A sump longer by dL holds w line dL more running, w limit dL more at rest: dL = L (level - limit)/(limit - line)."""
    build = flooding(returns=[way(end=1.40)])
    level, limit = over(build)
    change = next(one for one in changes_of(place(build)) if one.what == "sump: longer")
    needed = 1.02 * (level - limit) / (limit - 0.25)
    mark = math.ceil(needed / 0.010) - 1
    assert assess(change.at(mark).build).check(CheckKind.POWER_CUT).verdict == HOLDS
    assert assess(change.at(mark - 1).build).check(CheckKind.POWER_CUT).verdict == FAILS


def elbows(lowest: float, highest: float) -> Build:
    """Return the worked loop with elbows in place of its standpipes, that turn between two heights above the ground."""
    turned = []
    for one in worked().drains:
        lip, rim = one.inlet.values["lip"], one.inlet.values["rim"]
        assert isinstance(lip, Height)
        assert isinstance(rim, Uncertain)
        inlet = item("elbow up", one.name, rim=rim, lip=lip)
        turns = tuple(above("ground", end) for end in (lowest, highest))
        turned.append(replace(one, inlet=replace(inlet, values={**inlet.values, "turns": turns})))
    return replace(worked(), drains=tuple(turned))


def short_of_room(build: Build) -> float:
    """Return the room that is left with air and drain 2 blocked less the 10 mm that waves want, m: less than nothing here."""
    results = found(build)
    case = next(one for one in results.overflows if one.out == results.network.drains[1:])
    return opening_of(results.network, results.network.tank) - 0.010 - case.level


def test_an_elbow_is_turned_by_what_the_tank_stands_over():
    """With drain 2 blocked the tank stands 5.27 mm over its rim: the other lip goes down by as much, to the next millimetre."""
    build = elbows(1.40, 1.50)
    margin = short_of_room(build)
    there = remedy(find_remedies(build, keys=("blocked drain 2",)), "blocked drain 2", "elbow")
    # A tank that stands lower lets the pump deliver a little more: less than the rest of that millimetre.
    assert there.value == pytest.approx(1.470 - math.ceil(-margin / MM) * MM, abs=1e-9)
    assert there.what == "drain 1: lip down"


def test_an_elbow_stays_within_its_turns():
    """An elbow that turns down by 4 mm only is no remedy where 16 mm are needed."""
    assert "elbow" not in kinds_for(find_remedies(elbows(1.466, 1.50), keys=("blocked drain 2",)), "blocked drain 2")


def test_a_standpipe_is_cut():
    """Of standpipes the one that still runs is cut shorter by the same 16 mm: 6 to the rim and 10 below it."""
    there = remedy(find_remedies(worked(), keys=("blocked drain 2",)), "blocked drain 2", "saw")
    assert there.value == pytest.approx(1.454, abs=1e-9)
    assert there.said("metric") == "cut the standpipe of drain 1 shorter by 16 mm, its lip to 1454 mm above the ground"


def test_a_valve_that_is_there_is_closed_a_little():
    """Where a return runs too fast a valve that is there is closed: to the first step at which V = q/A is 1.5 m/s or less."""
    build = loop(returns=[way(bore=0.0284, k=0.0, end=1.42)], driven_by=throttled(pump()), drains=wide_drains())
    row = assess(build).check(CheckKind.SPEED)
    assert row.verdict == TIGHT
    result = find_remedies(build, keys=("speed",))
    there = remedy(result, "speed", "valve")
    assert kinds_for(result, "speed")[0] == "valve"
    assert assess(there.build).check(CheckKind.SPEED).value <= 1.5
    wider = next(one for one in changes_of(place(build)) if one.what == there.what).at(there.mark - 1).build
    assert assess(wider).check(CheckKind.SPEED).value > 1.5


def throttled(driven: object) -> object:
    """Return the pump with a gate valve in its line."""
    return replace(driven, line=(*driven.line, item("gate valve", "pump")))  # type: ignore[attr-defined, type-var]


def wide_drains() -> tuple[Drain, ...]:
    """Return two drains of which either carries everything, and a dry one."""
    return (drain("left", 1.45, 0.0994), drain("right", 1.45, 0.0994), drain("dry", 1.51, 0.0994))


def test_speed_is_mended_by_wider_pipe():
    """A single return whose pipe is alone too fast is laid in the next size: V falls with the square of the bore."""
    build = loop(returns=[way(bore=0.022, length=2.0, k=0.0, end=1.42)], driven_by=pump(bore=0.0592, k=0.0), drains=wide_drains())
    before = assess(build)
    assert before.check(CheckKind.SPEED).verdict != HOLDS
    there = remedy(find_remedies(build, keys=("speed",)), "speed", "pipe")
    assert there.what == "return: wider"
    assert assess(there.build).check(CheckKind.SPEED).value <= 1.5


def test_a_pump_that_cannot_lift_becomes_larger():
    """A pump with less than the wanted head to spare is replaced by the first larger one that has it: its height grows as s^2."""
    small = tuple((q, 0.3 * h) for q, h in pump().curve)
    build = loop(driven_by=pump(curve=small), drains=wide_drains())
    row = assess(build).check(CheckKind.LIFT_MARGIN)
    assert row.verdict == TIGHT
    there = remedy(find_remedies(build, keys=("lift margin",)), "lift margin", "pump")
    share = there.value
    needed = row.figures["to be lifted"][0] / 0.8
    assert 1.5 * (share - 0.05) ** 2 < needed + 0.01
    assert 1.5 * share ** 2 >= needed - 0.01
    assert "larger pump" in there.said("metric")


def test_turnover_is_brought_down_by_a_pump_of_less_flow():
    """A narrow range of turnover is met by a pump of less flow and the same height, where a smaller one of its sort is not."""
    build = loop(drains=(drain("a", 1.45), drain("b", 1.46), drain("c", 1.52)),
                 wishes={"least turnover": 4.6 / 3600.0, "most turnover": 4.8 / 3600.0})
    assert assess(build).check(CheckKind.TURNOVER).verdict == FAILS
    there = remedy(find_remedies(build, keys=("turnover",)), "turnover", "pump")
    assert 4.6 <= 3600.0 * assess(there.build).check(CheckKind.TURNOVER).value <= 4.8
    assert [there.build.pump.curve[k][1] for k in range(6)] == [h for _, h in pump().curve]


def test_points_close_together_stay_apart():
    """A curve with a point at 1 L/h is scaled with the decimals that keep its flows rising: at 40 % it is written 0.4 L/h."""
    curve = ((0.0, 4.0), (1.0 / 3.6e6, 3.99), (3000.0 / 3.6e6, 3.0), (6000.0 / 3.6e6, 0.0))
    for change in pump_changes(loop(driven_by=pump(curve=curve))):
        for k in range(len(change.marks)):
            flows = [q for q, _ in change.at(k).build.pump.curve]
            assert flows == sorted(set(flows))


def side(name: str, lip: float) -> Drain:
    """Return a drain whose inlet is a hole in the wall: nothing about it can be turned or cut."""
    made = drain(name, lip, 0.0994)
    return replace(made, inlet=item("side outlet", f"drain {name}", bore=0.0994, lip=above("ground", lip)))


def test_two_changes_where_no_single_one_does_it():
    """With the line at its highest more flow would flood at a power cut: more flow and a lower line together mend it."""
    def build(line: float) -> Build:
        return loop(drains=(side("a", 1.45), side("b", 1.45), side("c", 1.50)), line=line,
                    wishes={"least turnover": 5.6 / 3600.0, "most turnover": 20.0 / 3600.0})
    highest = highest_line(found(build(0.2)).network, False, False, 0.0)
    assert highest is not None
    made = build(math.floor(highest / MM) * MM)
    assert assess(made).check(CheckKind.TURNOVER).verdict == FAILS
    (row,) = find_remedies(made, keys=("turnover",)).rows
    (there,) = row.remedies
    assert there.verdict == HOLDS
    assert there.what.endswith(" and water: down")
    # The new line is the highest one of the loop with the other change in it.
    wider = replace(there.build, water=made.water)
    again = highest_line(found(wider).network, False, False, 0.0)
    assert again is not None
    assert there.value == pytest.approx(math.floor(again / MM) * MM, abs=1e-9)


def test_one_drain_more_stands_dry():
    """A loop with one drain gets another like it, its lip over the running water at the first 5 mm at which it stays dry."""
    (row,) = find_remedies(exact(), keys=("dry emergency",)).rows
    assert row.check.verdict == TIGHT
    (there,) = row.remedies
    assert there.kind == "drain"
    added, old = there.build.drains
    results = assess(there.build).results
    water = float(results.state.levels[results.network.tanks[0]])
    assert there.value - 0.010 < water < there.value == added.inlet.values["lip"].offset.middle  # type: ignore[union-attr]
    assert (added.line[0].values["size"].middle, added.into) == (old.line[0].values["size"].middle, old.into)  # type: ignore[union-attr]


def test_a_line_in_doubt_is_not_drawn_lower():
    """Where little stands over the intake already, the line is not drawn down to it, though the power cut would then fit."""
    deep, shallow = exact(line=0.30), exact(line=0.30, driven_by=pump(intake=0.22))
    pens = [[there for row in find_remedies(build, keys=("power cut",)).rows for there in row.remedies if there.kind == "pen"]
            for build in (deep, shallow)]
    assert assess(shallow).check(CheckKind.INTAKE).verdict == TIGHT
    assert assess(deep).check(CheckKind.INTAKE).verdict == HOLDS
    assert [len(found_there) for found_there in pens] == [1, 0]
    change = next(one for one in changes_of(place(shallow)) if one.what == "water: down")
    lower = assess(change.at(round((0.30 - pens[0][0].value) / MM) - 1).build)
    assert lower.check(CheckKind.POWER_CUT).verdict == HOLDS
    assert lower.check(CheckKind.INTAKE).margin < assess(shallow).check(CheckKind.INTAKE).margin - 0.01


def test_comfort_does_not_refuse_what_the_floor_asks():
    """A smaller pump is offered against a flood though it turns the tank over less than is wished, and what it costs is told."""
    turned = assess(worked()).check(CheckKind.TURNOVER).value
    build = worked(wishes={"least turnover": 0.99 * turned, "most turnover": 10.0 * turned})
    assert assess(build).check(CheckKind.TURNOVER).verdict == HOLDS
    there = remedy(find_remedies(build, keys=("blocked drain 2",)), "blocked drain 2", "pump")
    assert assess(there.build).check(CheckKind.BLOCKED, "drain 2").verdict == HOLDS
    assert assess(there.build).check(CheckKind.TURNOVER).verdict == FAILS
    assert there.costs == ("turnover", "turnover of all")


def test_a_nicety_asks_for_no_large_change():
    """For noise and speed there is neither a new sump nor one drain more, nor another pump, nor the same at several drains."""
    result = find_remedies(worked())
    comfort = [one for one in result.rows if one.check.kind.stake == COMFORT]
    assert comfort
    assert result.rows[-len(comfort):] == tuple(comfort), "comfort comes last"
    what = {change.what: change for change in changes_of(place(worked()))}
    for there in (there for one in comfort for there in one.remedies):
        assert there.kind not in ("tub", "drain", "pump")
        assert not what[there.what].joint


@pytest.mark.parametrize("name", ["worked-loop", "shared-stack"])
def test_what_is_measured_decides(name):
    """An unsure check has the verdict that is told once the figures named are known to be in the middle of their bands."""
    assessment = assessed(ROOT / "cases" / f"{name}.yaml")
    build, middle = assessment.build, {row.key: row for row in checks_of(assessment.results)}
    check = next(row for row in assessment.checks if row.verdict == UNSURE)
    measure = measure_for(assessment, check, middle[check.key])
    assert measure is not None
    assert measure.names[0] == check.decided_by
    known = {one.name: Uncertain.exact(one.middle, one.name) for one in measure.inputs}
    there = assess(replace(with_numbers(build, known), overrides={**build.overrides, **known}))
    assert {row.key: row.verdict for row in there.checks}[check.key] == measure.verdict


def test_nothing_is_measured_where_a_change_is_needed():
    """A check that fails in the middle, or holds, has no figure to measure: only one that is unsure has."""
    assessment = assess(flooding())
    middle = {row.key: row for row in checks_of(assessment.results)}
    assert {measure_for(assessment, row, middle[row.key]) for row in assessment.checks if row.verdict != UNSURE} == {None}


def test_the_first_remedy_is_told_before_the_others_are_looked_for():
    """What is told first is a remedy that holds, while little was tried; the verdicts of the build stand before it."""
    steps: list[Step] = []
    result = find_remedies(flooding(), heard=steps.append)
    assert (steps[0].row, steps[0].remedy) == (None, None)
    first = steps[1]
    assert first.first
    assert first.remedy is not None
    assert first.row is not None
    assert {row.key: row.verdict for row in assess(first.remedy.build).checks}[first.row.check.key] == HOLDS
    told = [step.remedy.what for step in steps[2:] if step.remedy is not None]
    assert sorted(told) == sorted(there.what for one in result.rows for there in one.remedies)


def test_nothing_in_doubt_is_mended_first_while_something_fails(monkeypatch):
    """A drain more would make the dry emergency hold, but the power cut fails: without a quick remedy for that none is first."""
    monkeypatch.setattr(mending_module, "NEAR", {CheckKind.POWER_CUT: ()})
    monkeypatch.setattr(mending_module, "OTHERS", ("one drain more",))
    for build, first in ((flooding(), False), (exact(), True)):
        verdicts = {row.key: row.verdict for row in assess(build).checks}
        assert (verdicts["power cut"], verdicts["dry emergency"]) == (HOLDS if first else FAILS, TIGHT)
        steps: list[Step] = []
        find_remedies(build, keys=("power cut", "dry emergency"), heard=steps.append)
        assert any(step.first for step in steps) is first


def test_a_down_turned_elbow_is_taken_off():
    """Without its elbow the bare hole draws no lower than its lip: 70 mm of 1.60 x 0.80 m, 89.6 L less come down.

    The mouth hangs 220 mm under the rim and draws the tank there; the lip is at 150 mm, and the other drain's higher still.
    """
    path = ROOT / "cases" / "paludarium.yaml"
    before = assessed(path)
    steps: list[Step] = []
    result = find_remedies(before.build, path.read_text(encoding="utf-8"), keys=("power cut",), heard=steps.append)
    there = remedy(result, "power cut", "elbow")
    assert steps[1].remedy is not None
    assert (steps[1].first, steps[1].remedy.what) == (True, there.what)
    dropper, after = there.build.drains[0], assess(there.build)
    assert (dropper.inlet.kind, dropper.inlet.values["lip"]) == ("side outlet", before.build.drains[0].inlet.values["lip"])
    down = [one.results.stopped[False, False].comes_down for one in (before, after)]
    assert down[0] - down[1] == pytest.approx(1.60 * 0.80 * 0.07, abs=2e-3)
    assert after.check(CheckKind.POWER_CUT).verdict == HOLDS
    assert [line.new for line in there.lines] == ["    inlet: {side outlet: 57 mm, lip: 15 cm below tank rim}"]


def test_a_siphon_break_stays_under_the_water():
    """A mouth is raised alone where its siphon break sits just under the water already; none is drilled over the lowest lip."""
    build = exact(returns=[way(end=1.30, hole_at=1.468, hole=0.001)], line=0.25)
    assert assess(build).check(CheckKind.POWER_CUT).verdict == FAILS
    there = remedy(find_remedies(build, keys=("power cut",)), "power cut", "hole")
    (raised,) = there.build.returns
    assert raised.end.offset.middle > build.returns[0].end.offset.middle
    assert raised.hole == build.returns[0].hole
    assert "and its siphon break" not in there.said("metric")
    loop_placed = place(build)
    lip = min(loop_placed.height("ground") + one.inlet.values["lip"].offset.middle for one in build.drains)
    for change in (one for one in changes_of(loop_placed) if "break" in one.what and one.what.endswith(("up", "drilled"))):
        assert max(change.marks) <= lip


def test_each_of_two_pumps_gets_its_valve():
    """A stand-by that lets water back gets a check valve, and so does the pump that runs: tomorrow they change places."""
    path = ROOT / "cases" / "stand-by-flows-back.yaml"
    result = find_remedies(assessed(path).build, path.read_text(encoding="utf-8"), keys=("back-flow stand-by",))
    there = remedy(result, "back-flow stand-by", "valve")
    assert [one.line[-1].kind for one in there.build.pumps] == ["check valve", "check valve"]
    assert there.said("metric") == "fit a check valve behind duty and behind stand-by"
    assert [one.new.strip() for one in there.lines] == [
        "line: [pipe 40 PN10 70 cm, check valve]",
        "- {name: stand-by, same as: duty, line: [pipe 40 PN10 70 cm, check valve], off: yes, into: riser}"]


def test_no_remedy_leaves_a_tank_without_water():
    """A pump at 40 % of its speed has 16 % of its head and brings nothing up to the nursery: the proof stops at that tank."""
    assessment = assessed(ROOT / "cases" / "two-heights-one-header.yaml")
    build, middle = assessment.build, {row.key: row for row in checks_of(assessment.results)}
    base = Base(build, {row.key: row for row in assessment.checks}, middle, assessment.shifts, assessment.results, True)
    assert fed(assessment.results) == {"show", "nursery"}
    slow = replace(build, pumps=tuple(replace(one, speed=Uncertain.exact(0.4, "pump: speed")) for one in build.pumps))
    assert "nursery" not in fed(found(slow))
    assert prove_remedy(base, slow, "power cut").stopped_by in {"show", "nursery"}
    assert prove_remedy(base, build, "lift margin").whole


def test_noise_is_not_moved_to_the_next_drain():
    """Of two drains alike, both a little loud, none is cut by a millimetre so that the other one gurgles more."""
    path = ROOT / "cases" / "floods.yaml"
    assert [assessed(path).check(CheckKind.NOISE, name).verdict for name in ("left", "right")] == [TIGHT, TIGHT]
    assert all(row.remedies == () for row in find_remedies(assessed(path).build, keys=("noise left", "noise right")).rows)


def test_water_that_falls_is_told():
    """A standpipe cut shorter lowers the tank's water by what it then stands lower; one drain more, dry, by nothing."""
    build = assessed(ROOT / "cases" / "floods.yaml").build
    report = find_remedies(build, keys=("dry emergency",))
    there, dry = (remedy(report, "dry emergency", kind) for kind in ("saw", "drain"))
    fallen = float(found(build).state.tank_level) - float(found(there.build).state.tank_level)
    assert there.lower == {"tank": pytest.approx(fallen, abs=1e-4)}
    assert dry.lower == {}


def test_mouths_that_fallen_water_bares_are_told():
    """With both standpipes of the turtle pool 30 mm shorter its water stands 30 mm lower, under mouths that were 6 mm deep."""
    text = (ROOT / "cases" / "floods.yaml").read_text(encoding="utf-8")
    high = text.replace("end: 30 cm below tank rim", "end: 11 cm below tank rim")
    before = found(loads(high))
    lower, bared = mending_module.water_after(before, loads(high.replace("lip: 12 cm below", "lip: 15 cm below")))
    assert lower == {"tank": pytest.approx(0.030, abs=5e-4)}
    assert bared == ("return 1",)
    assert mending_module.water_after(before, before.loop.build) == ({}, ())


def test_what_leaves_a_check_unsure_or_the_tank_low_comes_last():
    """Remedies by which a failing check is only unsure, or that take 50 mm of water out of the tank, stand behind the others."""
    build = assessed(ROOT / "cases" / "blocked-over-rim.yaml").build
    (row,) = find_remedies(build, keys=("blocked left",)).rows
    told = [(there.verdict, max(there.lower.values(), default=0.0) > 0.05) for there in row.remedies]
    assert (UNSURE, False) in told
    assert (HOLDS, True) in told
    assert told[:3] == [(HOLDS, False)] * 3
    assert (HOLDS, False) not in told[told.index((UNSURE, False)):]


def test_a_smaller_pump_is_the_same_one_turned_down():
    """By the laws of similar pumps 90 % of the speed gives 90 % of the flow and 81 % of the height: both are told as one."""
    change = next(one for one in pump_changes(loop()) if one.what == "pump: smaller")
    smaller = change.at(1)
    turned = replace(loop(), pumps=(replace(loop().pump, speed=Uncertain.exact(0.90, "pump: speed")),))
    flows = [float(found(build).state.flows[0]) for build in (smaller.build, turned)]
    assert flows[0] == pytest.approx(flows[1], rel=2e-3)
    assert "or run it at 90 % of its speed if it has a controller" in smaller.said("metric")


def test_what_holds_has_nothing_to_mend():
    """Rows that hold are not asked, and a key that holds brings nothing; whether the build fails is told all the same."""
    result = find_remedies(worked(), keys=("power cut",))
    assert result.rows == ()
    assert result.complete
    assert not failing(result)
    assert failing(find_remedies(flooding(), keys=("suction",)))


def harmed(before: Assessment, after: Assessment, comfort: bool) -> list[str]:
    """Return the checks that may not be as they are: worse on floor or pump, or in doubt with less left than a tape shows.

    A drain that is new, blocked, is held against the overflow with nothing blocked; with `comfort` no comfort is worse either.
    """
    known = {row.key: row for row in before.checks}
    bad = []
    for row in after.checks:
        old = known.get(row.key) or (before.check(CheckKind.CAPACITY) if row.kind is CheckKind.BLOCKED else None)
        if row.kind.stake == COMFORT:
            bad += [row.key] if comfort and RANK[row.verdict] > RANK[old.verdict if old else HOLDS] else []
        elif RANK[row.verdict] > RANK[old.verdict if old else HOLDS]:
            bad.append(row.key)
        elif row.verdict != HOLDS and old is not None and old.verdict == row.verdict and row.key in known:
            least = MM if row.dimension == "length" else 0.01 * max(abs(old.value), abs(old.limit))
            bad += [row.key] if old.margin - row.margin > least + 1e-9 else []
    return bad


def checked(build: Build, result: RemedyReport) -> int:
    """Hold every remedy to its promise by a full assessment and to being the smallest; return how many there are."""
    before = assess(build)
    verdicts = {row.key: row.verdict for row in before.checks}
    changes = {change.what: change for change in changes_of(place(build))}
    count = 0
    for one in result.rows:
        comfort = one.check.kind.stake == COMFORT
        order = [(there.late, KINDS.index(there.kind)) for there in one.remedies]
        assert order == sorted(order)
        for there in one.remedies:
            count += 1
            asked = assess(there.build)
            after = {row.key: row for row in asked.checks}
            assert after[one.check.key].verdict == there.verdict
            assert RANK[there.verdict] < RANK[one.check.verdict]
            assert harmed(before, asked, comfort) == []
            assert {after[key].kind.stake for key in there.costs} <= {COMFORT}
            assert set(there.mends) == {key for key, row in after.items() if row.verdict == HOLDS != verdicts.get(key, HOLDS)}
            if there.mark:
                less = assess(changes[there.what].at(there.mark - 1).build)
                worse = RANK[{row.key: row.verdict for row in less.checks}[one.check.key]] > RANK[there.verdict]
                assert worse or harmed(before, less, comfort)
    return count


def banded(build: Build) -> Build:
    """Return a build with the bands of two defaults back: coefficients of the rim."""
    overrides = {name: value for name, value in build.overrides.items() if not name.startswith("rim ")}
    return replace(build, overrides=overrides)


@pytest.mark.parametrize(("build", "keys", "most"), [
    (worked(), None, 6), (flooding(), None, 3), (banded(worked()), ("blocked drain 2", "noise drain 2", "speed"), 5)],
    ids=["worked", "flooding", "with bands"])
def test_every_remedy_keeps_its_promise_and_is_the_smallest(build, keys, most):
    """Asked again in full each remedy does what it says and harms nothing; with one mark less it does not."""
    assert checked(build, find_remedies(build, keys=keys)) >= most


def test_the_order_is_the_same_every_time():
    """Two runs give the same remedies in the same order."""
    first, second = (find_remedies(flooding(), keys=("power cut", "intake")) for _ in range(2))
    told = [[(one.check.key, there.kind, there.what, there.mark) for one in run.rows for there in one.remedies]
            for run in (first, second)]
    assert told[0] == told[1] != []


def test_racks_change_all_alike():
    """In a room of racks described once, what is done to one is done to all of them, and only then is it a remedy."""
    build = room(3)
    result = find_remedies(build, keys=("all blocked rack",))
    remedies = [there for one in result.rows for there in one.remedies]
    lips = [there for there in remedies if "lip" in there.what]
    assert lips
    for there in lips:
        moved = {round(after.inlet.values["lip"].offset.middle - before.inlet.values["lip"].offset.middle, 6)  # type: ignore[union-attr]
                 for before, after in zip(build.drains, there.build.drains, strict=True)}
        assert len(moved) == 1
        assert "the same at each of 3 x rack overflow" in there.said("metric")


def test_ctrl_c_keeps_what_was_found(monkeypatch):
    """A search that is stopped keeps the rows it was through with and says that it is not complete."""
    real = mending_module._remedies
    rows = []

    def stopped(work, row, few):
        if rows:
            raise KeyboardInterrupt
        rows.append(row.key)
        return real(work, row, few)
    monkeypatch.setattr(mending_module, "_remedies", stopped)
    result = find_remedies(flooding())
    assert not result.complete
    assert [one.check.key for one in result.rows] == rows
    assert result.asked > 1


def test_a_pump_that_draws_air_gets_more_water():
    """A line under the intake is drawn over it again: what then runs is told with what running costs."""
    result = find_remedies(loop(line=0.05, drains=wide_drains()), keys=("intake", "steady"))
    for key in ("steady", "intake"):
        there = remedy(result, key, "pen")
        assert there.value > 0.07
        after = {row.key: row for row in assess(there.build).checks}
        before = {row.key: row.verdict for row in result.assessment.checks}
        assert set(there.costs) == {name for name, row in after.items() if RANK[row.verdict] > RANK[before.get(name, HOLDS)]}
        assert {after[name].verdict for name in there.costs} <= {TIGHT}


def test_nothing_is_tried_where_nothing_runs(monkeypatch):
    """A build without a running state has rows but no remedies: what a change would break could not be said."""
    build = worked()
    unsolved = assess(build)
    none = replace(unsolved, results=replace(unsolved.results, stopped={}))
    monkeypatch.setattr(mending_module, "assess", lambda asked: none)
    result = find_remedies(build)
    assert result.tried == 0
    assert result.rows
    assert {one.remedies for one in result.rows} == {()}


@pytest.mark.parametrize("count", [1, 2, 3, 7, 64, 300])
def test_the_least_number_is_found(count):
    """Of numbers from some point on that pass, the first is found, whichever it is."""
    for first in range(count):
        assert least_passing(lambda k, first=first: k >= first, count) == first
    assert least_passing(lambda k: False, count) is None
    assert least(lambda k: k >= count, -1, count) == count


def test_defaults_with_a_band_ask_for_more():
    """With the rims' bands back drain 1 has to take the tank from a lip further down than in the middle of them."""
    tight = remedy(find_remedies(worked(), keys=("blocked drain 2",)), "blocked drain 2", "saw")
    loose = find_remedies(banded(worked()), keys=("blocked drain 2",))
    wide = remedy(loose, "blocked drain 2", "saw")
    lips = [there.build.drains[0].inlet.values["lip"].offset.middle for there in (wide, tight)]  # type: ignore[union-attr]
    assert lips[0] < lips[1] - 1e-3
    assert wide.verdict == tight.verdict == HOLDS


def test_wishes_are_left_alone():
    """No change touches a wish, an override or a limit: what is asked stays what it was."""
    build = flooding(wishes={"least turnover": uncertain(1.0 / 3600.0, "")})
    changes = changes_of(place(build))
    assert {change.kind for change in changes} >= {"pen", "saw", "hole", "pipe", "pump", "tub"}
    for change in changes:
        changed = change.at(0).build
        assert (changed.wishes, changed.overrides, changed.counts_on) == (build.wishes, build.overrides, build.counts_on)


def test_the_line_moves_within_the_sump_it_is_drawn_in():
    """Of two sumps the second holds the first pump and so the line: it moves from 2 mm over that bottom to 2 mm under its rim."""
    build = two_sumps(header=True)
    turned = replace(build, pumps=build.pumps[::-1], sumps=(sump("left sump", "left ", bottom=-1.0), build.sumps[1]))
    ends = {change.what: change.marks[-1] for change in changes_of(place(turned)) if change.what.startswith("water: ")}
    assert ends == {"water: up": pytest.approx(0.458), "water: down": pytest.approx(0.002)}
