"""What a check says of itself: no two share a key whatever parts are called, and what rests on the pump's curve says so."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import pytest
from builds import drain, found, height, loop, way, worked
from many_builds import driven, from_tank, gutter, into_tank, several, tank, tube

from hydro.case import loads
from hydro.checks import HOLDS, ONLY_JUST, CheckKind, checks_of
from hydro.checks.assessment import assess
from hydro.checks.check import AT_LEAST, AT_MOST, CURVE, NEITHER, NOWHERE
from hydro.checks.sensitivity import judged_over_bands
from hydro.description.build import Build
from hydro.quantities.uncertain import Uncertain
from hydro.search.sizing.goals import Goals, judged_goals

DEMO = (Path(__file__).parents[2] / "cases" / "demo.yaml").read_text(encoding="utf-8")
HOSTILE = ("pump", "tank", "sump", "overflow", "all", "of all", "tank room x", "pump 'x'", "'pump'", "curve",
           *(kind.title for kind in CheckKind), *(kind.word for kind in CheckKind))
"""Names that a part may have and that are words of the checks too."""


def test_no_two_checks_share_a_key():
    """Kind and subject make a key that no other kind and subject make, whatever the subject is called."""
    pairs = [*product(CheckKind, ("", *dict.fromkeys(HOSTILE)))]
    keys = {(kind, subject): kind.key(subject) for kind, subject in pairs}
    assert len(set(keys.values())) == len(keys)


def rooms(names: tuple[str, ...]) -> Build:
    """Return two tanks with two drains each on two pumps, the parts under given names: tanks, drains, pumps, returns."""
    first, second, *drains, pump, other, to_first, to_second = names
    tanks = [tank(name, (1.0, 0.8, 0.6), 1.0) for name in (first, second)]
    places = ((first, 1.50), (first, 1.55), (second, 1.50), (second, 1.55))
    return several(tanks, [from_tank(name, place, lip) for name, (place, lip) in zip(drains, places, strict=True)],
                   [into_tank(to_first, first, 1.45, "main"), into_tank(to_second, second, 1.45, "main")],
                   [driven(name, header="main", curve=((0.0, 3.0), (0.4e-3, 2.6), (0.8e-3, 0.0))) for name in (pump, other)])


PLAIN = ("left", "right", "a", "b", "c", "d", "one", "two", "to left", "to right")


@cache
def figures(names: tuple[str, ...]) -> list[tuple[object, ...]]:
    """Return what the checks of a build with its parts under given names say, in order, after looking each up by its key."""
    checks = checks_of(found(rooms(names)))
    by_key = {check.key: check for check in checks}
    assert len(by_key) == len(checks)
    return [(check.kind, check.verdict, check.value, check.limit) for check in (by_key[one.key] for one in checks)]


@pytest.mark.parametrize("at", [0, 2, 3, 6])
@pytest.mark.parametrize("name", ["tank", "sump", "overflow", "all", "of all", "tank room x", "power cut", "restart pump"])
def test_a_name_changes_no_figure(at, name):
    """A tank, drain or pump may be called by a word of the checks: every verdict and figure stays."""
    assert figures((*PLAIN[:at], name, *PLAIN[at + 1:])) == figures(PLAIN)


@pytest.mark.parametrize("at", [2, 3, 6])
def test_a_part_called_pump_changes_no_figure(at):
    """A drain or one of two pumps may be called 'pump', as the chamber is: every verdict and figure stays."""
    assert figures((*PLAIN[:at], "pump", *PLAIN[at + 1:])) == figures(PLAIN)


@pytest.mark.parametrize("name", ["emergency", "pump"])
def test_a_name_hides_no_end_of_a_band(name):
    """A drain, turned down, that cannot clear its air at one end of a band cannot under the pump's name either."""
    lower = DEMO.replace("end: 40 cm above sump bottom", "end: 26.6 cm above sump bottom").replace(
        "{standpipe: 75 mm, lip: 56 mm below tank rim, fin: yes}",
        "{elbow down: 66 mm, lip: 56 mm below tank rim, mouth: 7 cm below tank rim}")
    plain = assess(loads(lower)).check(CheckKind.RESTART, "emergency")
    assert (plain.verdict, plain.margin > 0.0) == (ONLY_JUST, True)
    answer = assess(loads(lower.replace("name: emergency", f"name: {name}")))
    assert answer.check(CheckKind.RESTART, name).verdict == ONLY_JUST
    assert len({check.key for check in answer.checks}) == len(answer.checks)


def boxed(build: Build, share: float = 1.0) -> Build:
    """Return a build of whose pumps the label on the box is all that is known, their most flow scaled."""
    labels = ((pump, Uncertain.exact(share * pump.curve[-1][0], f"{pump.name}: most flow"),
               Uncertain.exact(pump.curve[0][1], f"{pump.name}: most height")) for pump in build.pumps)
    return replace(build, pumps=tuple(replace(pump, curve=(), tests=(), most_flow=flow, most_height=height)
                                      for pump, flow, height in labels))


def back(share: float) -> Build:
    """Return a build with a pump at rest through which water runs back, more of it the stronger the other one is."""
    pumps = [driven("main", header="ring"), replace(driven("spare", header="ring"), off=True)]
    build = several([tank("show", (1.6, 0.8, 0.6), 1.0)], [from_tank(f"drain {n}", "show", 1.50) for n in (1, 2, 3)],
                    [into_tank("return", "show", 1.45, "ring")], pumps)
    return boxed(build, share)


BUILDS = (loop(drains=(drain("a"), drain("b"), drain("dry", lip=1.52))), worked(), gutter(0.110), tube(bore=0.038), rooms(PLAIN),
          loop(drains=(drain("wide", bore=0.110),), returns=(replace(way(end=1.40), highest=height(1.62, "return: highest")),)))


@cache
def answers(share: float):
    """Return the findings of each build with its pumps boxed."""
    return [*(found(boxed(build, share)) for build in BUILDS), found(back(share))]


def test_what_moves_with_the_curve_is_marked_and_never_plainly_holds():
    """A kind that changes with the pump's curve alone rests on it, and on a box label does no better than only just."""
    moved = set()
    for plain, weak in zip(answers(1.0), answers(0.6), strict=True):
        there = {check.key: (check.value, check.verdict) for check in checks_of(weak)}
        moved |= {check.kind for check in checks_of(plain) if (check.value, check.verdict) != there.get(check.key)}
    assert moved >= {CheckKind.SHARED_PIPE, CheckKind.SUCTION, CheckKind.PRIME, CheckKind.BACK_FLOW, CheckKind.POWER_CUT}
    assert {kind for kind in moved if CURVE not in kind.rests_on} == set()
    for results in answers(1.0):
        assert {check.kind for check in judged_over_bands(results, []) if check.verdict == HOLDS} & moved == set()


def test_a_goal_for_the_flow_rests_on_the_curve():
    """What all pumps lift is asked of the curve too: on a box label the goal is reached only just."""
    goals = Goals(flow=Uncertain.exact(1e-6, "flow"))
    plain, label = (judged_goals(goals, found(build), [])[0] for build in (BUILDS[1], boxed(BUILDS[1])))
    assert (plain.kind, plain.verdict, label.verdict) == (CheckKind.GOAL_FLOW, HOLDS, ONLY_JUST)


def test_a_check_keeps_to_its_kind():
    """Levels name their water where the kind has a datum, and value, limit and margin agree with the sense."""
    for results in answers(1.0):
        for check in checks_of(results):
            assert (check.water is None) is (check.kind.datum == NOWHERE)
            assert check.kind.sense in (check.sense, "within")
            if check.sense != NEITHER:
                sign = {AT_MOST: 1.0, AT_LEAST: -1.0}[check.sense]
                assert check.margin == sign * (check.limit - check.value)
