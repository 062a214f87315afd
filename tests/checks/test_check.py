"""What a check says of itself: no two share a key whatever parts are called, and each keeps to the facts of its kind."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import pytest
from builds import drain, found, height, loop, way, worked
from many_builds import driven, from_tank, gutter, into_tank, several, tank, tube

from hydro.case import loads
from hydro.checks import FAILS, HOLDS, TIGHT, UNSURE, Check, CheckKind, checks_of
from hydro.checks.assessment import assess
from hydro.checks.check import AT_LEAST, AT_MOST, COMFORT, NEITHER, NOWHERE, worst_verdict
from hydro.checks.sensitivity import shifts
from hydro.description.build import Build
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import place
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
    assert (plain.verdict, plain.margin > 0.0) == (UNSURE, True)
    answer = assess(loads(lower.replace("name: emergency", f"name: {name}")))
    assert answer.check(CheckKind.RESTART, name).verdict == UNSURE
    assert len({check.key for check in answer.checks}) == len(answer.checks)


def boxed(build: Build) -> Build:
    """Return a build of whose pumps the label on the box is all that is known."""
    labels = ((pump, Uncertain.exact(pump.curve[-1][0], f"{pump.name}: most flow"),
               Uncertain.exact(pump.curve[0][1], f"{pump.name}: most height")) for pump in build.pumps)
    return replace(build, pumps=tuple(replace(pump, curve=(), tests=(), most_flow=flow, most_height=height)
                                      for pump, flow, height in labels))


def back() -> Build:
    """Return a build with a pump at rest through which water runs back."""
    pumps = [driven("main", header="ring"), replace(driven("spare", header="ring"), off=True)]
    build = several([tank("show", (1.6, 0.8, 0.6), 1.0)], [from_tank(f"drain {n}", "show", 1.50) for n in (1, 2, 3)],
                    [into_tank("return", "show", 1.45, "ring")], pumps)
    return boxed(build)


BUILDS = (loop(drains=(drain("a"), drain("b"), drain("dry", lip=1.52))), worked(), gutter(0.110), tube(bore=0.038), rooms(PLAIN),
          loop(drains=(drain("wide", bore=0.110),), returns=(replace(way(end=1.40), highest=height(1.62, "return: highest")),)))


@cache
def answers():
    """Return the findings of each build with its pumps boxed, and of one with a pump at rest."""
    return [*(found(boxed(build)) for build in BUILDS), found(back())]


EXPONENT = {"box curve exponent": Uncertain(1.0, 2.0, 3.0, "box curve exponent")}
"""The band of a curve that only a box label tells, as the library has it."""


@pytest.mark.parametrize("kind", [check for check in CheckKind if check.stake != COMFORT])
def test_floor_and_pump_are_told_by_their_verdict(kind):
    """Where the floor or the pump is at stake the verdict is the word, whatever it is."""
    for verdict in (HOLDS, TIGHT, UNSURE, FAILS):
        assert Check(kind, "question", 1.0, 2.0, 1.0, verdict, "origin").word == verdict


@pytest.mark.parametrize(("kind", "words"), [
    (CheckKind.NOISE, ("quiet", "audible", "loud")), (CheckKind.SPEED, ("calm", "brisk", "too fast")),
    (CheckKind.TURNOVER, ("in range", "unusual", "not as wished")), (CheckKind.WAY, ("settled", "near a change", "changes")),
])
def test_comfort_is_told_in_plain_words(kind, words):
    """What is a matter of comfort is told by what a person hears or sees, in three steps."""
    assert tuple(Check(kind, "question", 1.0, 2.0, 1.0, one, "origin").word for one in (HOLDS, TIGHT, FAILS)) == words


def test_verdicts_are_ranked_by_what_there_is_to_do():
    """What is unsure is graver than what is tight, what fails graver than both; nothing asked holds."""
    bare = [Check(CheckKind.INTAKE, "question", 1.0, 2.0, 1.0, verdict, "origin") for verdict in (HOLDS, TIGHT, UNSURE, FAILS)]
    assert [worst_verdict(bare[:n]) for n in range(5)] == [HOLDS, HOLDS, TIGHT, UNSURE, FAILS]


@pytest.mark.parametrize(("share", "verdict", "decided_by"), [(0.97, HOLDS, ""), (1.03, UNSURE, "box curve exponent")])
def test_a_goal_for_the_flow_is_asked_over_the_labels_band(share, verdict, decided_by):
    """A flow that a boxed pump gives for every n from 1 to 3 is reached; one that it misses for n = 1 hangs on n."""
    build = replace(boxed(BUILDS[1]), overrides={**BUILDS[1].overrides, **EXPONENT})
    loop_, middle = place(build), found(build)
    moved = list(shifts(loop_, middle))
    least = min(float(shift.results.state.pump_flow) for shift in moved)
    assert [shift.words for shift in moved] == [f"'box curve exponent' at its {end} end" for end in ("low", "high")]
    check, = judged_goals(Goals(flow=Uncertain.exact(share * least, "flow")), middle, moved)
    assert (check.kind, check.verdict, check.decided_by) == (CheckKind.GOAL_FLOW, verdict, decided_by)


def test_a_check_keeps_to_its_kind():
    """Levels name their water where the kind has a datum, and value, limit and margin agree with the sense."""
    for results in answers():
        for check in checks_of(results):
            assert (check.water is None) is (check.kind.datum == NOWHERE)
            assert check.kind.sense in (check.sense, "within")
            if check.sense != NEITHER:
                sign = {AT_MOST: 1.0, AT_LEAST: -1.0}[check.sense]
                assert check.margin == sign * (check.limit - check.value)
