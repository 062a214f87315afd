"""Every case in cases/ says in its first lines what it is and which verdict it gets; it is held to that.

The figures by case are regression values: what the tool gave when the case was made, read and found sensible. Some are worked
out by hand in `test_cases_by_hand.py`. Cases in cases/large/ take minutes to work out and are asked apart.
"""

import re

import pytest
from report_cases import CASES, ROOT, SYSTEMS, assessed

from hydro import load
from hydro.checks import CheckKind
from hydro.report.terminal.report import text
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of
from hydro.shutdown import shut_down

LARGE = sorted((ROOT / "cases" / "large").glob("*.yaml"))
every = pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)

REASONS = {
    "floods": ({"power cut"}, set()), "check-valve-saves": ({"power cut"}, set()),
    "worked-loop": (set(), {"blocked drain 1", "all blocked"}),
    "blocked-over-rim": ({"blocked left", "blocked right", "all blocked"}, set()),
    "demo": (set(), {"power cut"}), "us-inch": (set(), {"blocked port", "blocked starboard", "dry emergency"}),
    "tub-and-mats": (set(), {"blocked window side", "dry emergency"}),
    "reef-400-back-box": (set(), {"power cut", "blocked siphon", "blocked open channel", "emergency alone back box"}),
    "plywood-2500": (set(), {"power cut", "blocked left", "emergency alone"}),
    "one-hole-180": (set(), {"power cut", "blocked main", "dry emergency"}),
    "reef-comb-three-drains": (set(), {"power cut", "blocked siphon", "dry emergency", "all blocked"}),
    "two-heights-one-header": ({"power cut", "all blocked show"}, {"cut over rims", "blocked nursery overflow"}),
    "two-unequal-pumps": (set(), {"power cut", "restart pump new", "restart pump old", "turnover"}),
    "drooping-pump": ({"restart pump", "lift margin"}, {"power cut", "turnover"}),
    "fish-room-12": (set(), {"power cut", "blocked rack tank overflow", "dry emergency rack tank", "turnover rack tank"}),
    "paludarium": ({"power cut"}, {"blocked dropper", "blocked wall", "noise dropper"}),
    "spray-bar": (set(), {"power cut", "blocked left", "all blocked"}),
    "filter-above-the-sump": (set(), {"power cut", "all blocked newts", "dry emergency filter", "turnover newts"}),
    "stand-by-flows-back": ({"back-flow stand-by"}, set()),
    "shared-stack": ({"blocked upper overflow", "blocked lower overflow", "blocked lower emergency", "all blocked upper",
                      "all blocked lower"}, {"power cut"})}
"""By case: the rows that fail, all of them, and rows that must hold.

Where the stand-by lets water through more easily (K = 5) all of it runs back: nothing holds over that band.
"""

FIGURES = {
    "reef-comb-three-drains": ({"pump": 6677, "siphon": 6343, "open channel": 334, "emergency": 0}, 125.9),
    "two-heights-one-header": ({"pump": 4739, "show left": 2369, "nursery overflow": 1686, "nursery return": 1686}, 175.2),
    "two-unequal-pumps": ({"new": 5863, "old": 2173, "left jet": 4542, "right jet": 3494}, 94.4),
    "drooping-pump": ({"pump": 4719, "left": 2359, "emergency": 0}, 51.9),
    "fish-room-12": ({"main": 8271}, 100.2),
    "paludarium": ({"pump": 2269, "dropper": 1791, "wall": 477}, 139.7),
    "spray-bar": ({"pump": 2620, "left": 2620, "right": 0}, 16.7),
    "filter-above-the-sump": ({"pump": 2878, "filter outlet": 2878, "newts right": 1}, 45.2),
    "stand-by-flows-back": ({"duty": 6731, "stand-by": -5124, "left jet": 804}, 55.7),
    "shared-stack": ({"upper overflow": 3740, "lower overflow": -2508, "lower emergency": 3589, "down pipe": 1232}, 77.4)}
"""By case: flows of links, L/h, and what comes down in the case that has to fit, L."""


TITLES = {
    "blocked-over-rim": "two drains of which neither is enough alone", "check-valve-saves": "nothing but a check valve",
    "drooping-pump": "does not start again", "floods": "deep returns", "paludarium": "nothing vents",
    "shared-stack": "on one stack with a throttled valve", "stand-by-flows-back": "no check valve",
    "two-heights-one-header": "siphons into the show tank", "worked-loop": "one hardly enough without the other"}
"""By case that does not hold: the words of its title that tell why."""


def verdict_written(path):
    """Return the verdict that the first lines of a case state, which also say that it is invented."""
    head = "".join(line for line in path.read_text(encoding="utf-8").splitlines(keepends=True)[:6] if line.startswith("#"))
    assert "nvented" in head
    written = re.search(r"# Verdict: (holds|tight|unsure|fails)\. \S", head)
    assert written, head
    return written[1]


@every
def test_verdict_is_the_one_written(path):
    """The first lines of a case say that it is invented and which verdict it gets, and the checks give that verdict."""
    assert assessed(path).verdict == verdict_written(path)


def test_most_cases_hold_and_the_others_tell_why_in_their_title():
    """At least eight cases hold; the title of every other one tells why it does not."""
    written = {path.stem: verdict_written(path) for path in CASES}
    assert sum(verdict == "holds" for verdict in written.values()) >= 8
    assert {name for name, verdict in written.items() if verdict != "holds"} == set(TITLES)
    for name, words in TITLES.items():
        assert words in load(ROOT / "cases" / f"{name}.yaml").title


@every
def test_what_fails_is_what_the_case_is_for(path):
    """A case that fails does so for the one reason it was made for."""
    fails, hold = REASONS[path.stem]
    rows = {row.key: row.verdict for row in assessed(path).checks}
    assert {key for key, verdict in rows.items() if verdict == "fails"} == fails
    assert {key: rows[key] for key in hold} == dict.fromkeys(hold, "holds")


@every
def test_no_line_is_wider_than_a_terminal(path):
    """In every unit system no line of a case's report takes more than 80 columns."""
    for system in SYSTEMS:
        assert max(map(len, text(assessed(path), system).splitlines())) <= 80


@pytest.mark.parametrize("name", FIGURES)
def test_flows_and_what_comes_down(name):
    """A case's flows and what a power cut brings down are those of the day when it was made (regression values)."""
    found = assessed(ROOT / "cases" / f"{name}.yaml").results
    flows, down = FIGURES[name]
    given = {link.name: 3.6e6 * float(flow) for link, flow in zip(found.network.links, found.state.flows, strict=True)}
    assert {link: given[link] for link in flows} == pytest.approx(flows, rel=2e-3, abs=2.0)
    assert 1000.0 * found.stopped[found.wanted_cut()].comes_down == pytest.approx(down, abs=0.1)


def of(name):
    """Return the assessment of a case by its name."""
    return assessed(ROOT / "cases" / f"{name}.yaml")


def test_only_the_check_valve_saves_and_is_named():
    """The row of check-valve-saves says that only the valve keeps the water off the floor, and with it counted on it holds."""
    found = of("check-valve-saves")
    assert "only a check valve" in found.check(CheckKind.POWER_CUT).because
    stopped = found.results.stopped
    assert stopped[False, True].spare > 0.0 > stopped[False, False].spare


def test_the_upper_tank_falls_to_its_mouth_though_the_valve_holds():
    """With the check valve holding, the nursery ends at the mouth of its return and the show tank at its own drain's lip."""
    results = of("two-heights-one-header").results
    assert results.wanted_cut() == (False, True)
    case = results.stopped[False, True]
    ends = {results.network.waters[k].name: (level, case.ended[k]) for k, level in case.levels.items()}
    assert ends["nursery"] == (pytest.approx(1.95), "mouth of nursery return")
    assert ends["show"] == (pytest.approx(1.32, abs=1e-4), "lip of show left")
    assert case.spare < 0.0


def test_the_stand_by_lets_most_of_the_water_back():
    """What the duty pump lifts and does not reach the tank runs back through the stand-by, and a row says so."""
    found = of("stand-by-flows-back")
    row = found.check(CheckKind.BACK_FLOW, "stand-by")
    assert row.verdict == "fails"
    assert row.value > 0.7 * 6741 / 3.6e6
    assert row.because == "no check valve holds it back; more of it than the tank gets"


def test_a_filter_and_a_gutter_are_not_asked_for_turnover():
    """Only tanks that a return fills are asked how often they turn over."""
    asked = {row.key for name in ("filter-above-the-sump", "fish-room-12") for row in of(name).checks}
    assert {"turnover newts", "turnover rack tank"} <= asked
    assert not {"turnover filter", "turnover gutter"} & asked


def test_the_line_of_two_pumps_stands_over_the_higher_intake():
    """Two pumps with intakes of their own have a highest line, over both: below the higher intake one of them draws air."""
    assert of("two-unequal-pumps").wanted_line.height == pytest.approx(0.351, abs=0.001)


def test_there_is_a_case_of_each_kind():
    """The cases cover a felt-pen line, bucket fills, mats, box labels, US units, check valves, and each vessel is sound."""
    builds = [load(path) for path in CASES]
    assert {"metric", "US"} <= {build.units for build in builds}
    assert {"inside", "bucket fill"} <= {build.sump.shape.kind for build in builds}
    assert any(build.pumps[0].most_flow for build in builds)
    assert any(chamber.end and chamber.end.kind == "mat" for build in builds for chamber in build.chambers)
    assert {"comb"} <= {box.edge.kind for build in builds for box in build.boxes}
    inlets = {drain.inlet.kind for build in builds for drain in build.drains}
    assert {"standpipe", "elbow up", "elbow down", "side outlet"} <= inlets
    assert any(item.kind == "spray bar" for build in builds for way in build.returns for item in way.line)
    assert any(pump.off for build in builds for pump in build.pumps)
    assert any(len(group.members) == 12 for build in builds for group in build.groups)


@pytest.mark.parametrize("path", LARGE, ids=lambda path: path.stem)
def test_large_cases_run_and_fit(path):
    """A large case is sound, runs steadily in the middle of every band, and what comes down fits into its sump."""
    assert verdict_written(path) in ("holds", "only just")
    found = results_of(place(load(path)))
    assert found.answer.kind == "steady"
    case = shut_down(found.state, *found.wanted_cut())
    assert case.spare > 0.0


@pytest.mark.slow
@pytest.mark.parametrize("path", LARGE, ids=lambda path: path.stem)
def test_verdict_of_large_cases(path):
    """A large case gets the verdict that its first lines state; with all its bands that takes minutes."""
    assert assessed(path).verdict == verdict_written(path)
