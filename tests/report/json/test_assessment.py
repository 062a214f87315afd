"""The JSON output: its schema, its numbers, its order."""

import json
import math
import re

import pytest
from report_cases import ONE, SURGING, assessed, every_case, studied, unsolved, varied
from rooms import mixture, roomed

from hydro import assess, loads
from hydro.report.content.named import EXAMPLE
from hydro.report.json.assessment import as_data, dumps, to_json
from hydro.report.json.schema import SCHEMA
from hydro.report.terminal.report import text as text_of

TABLES = ("answer.figures", "figures", "checks[].figures", "not_judged[].figures", "stopped[].items")
LEAVES = ("schema", "bucket.seconds", "flow", "bounds.above_ground_tank", "bounds.above_ground_pump_chamber", "blocked[].drains",
          "notes", "cautions", "asked_back", "out_of_range", "assumed[].inputs", "stopped[].above_ground_chambers",
          "groups[].members", "not_joined", "dead_ends", "single_faults.floods")


DIGITS = 1e-11
"""Numbers are written to twelve significant digits."""


def near(written, number):
    """Whether a number is written as it is to twelve digits, or null for one that there is not."""
    return written is number is None or written == pytest.approx(number, rel=DIGITS)


def paths_of(data, path=""):
    """Return the paths of all leaves, written as in the schema; what the schema takes as one value is not entered."""
    if path in LEAVES or re.search(r"(band|seconds|pump_flow|tank_level|power_cut_level)$", path):
        return {path}
    if isinstance(data, dict):
        found = set()
        for key, value in data.items():
            step = "*" if path in TABLES else key
            found |= paths_of(value, f"{path}.{step}" if path else step)
        return found
    if isinstance(data, list):
        return set().union(*(paths_of(entry, f"{path}[]") for entry in data), set())
    return {path}


def refused(name):
    """Fail on a number that JSON does not have."""
    raise AssertionError(f"{name} in the output")


def undocumented(data):
    """Return the paths in the output that stand neither in the schema nor, being null, for a table there."""
    return [key for key in paths_of(data) - SCHEMA.keys() if not any(known.startswith(f"{key}.") for known in SCHEMA)]


@every_case
def test_every_key_is_documented(path):
    """Each path in the output stands in the schema, and what is null may be a table there."""
    assert undocumented(as_data(studied(path))) == []


def test_every_key_on_several_tanks_is_documented():
    """Each path in the output on a fish room, and on several of everything, stands in the schema too."""
    assert undocumented(as_data(roomed(3))) == undocumented(as_data(mixture())) == []


def test_every_documented_key_is_there():
    """Each path of the schema stands in the output of some case, of a loop that surges, or of a build of several."""
    data = [*(as_data(studied(path)) for path in ONE), *map(as_data, (varied(*SURGING), mixture(), roomed(3)))]
    assert SCHEMA.keys() - set().union(*map(paths_of, data)) == set()


@every_case
def test_text_is_strict_json_and_comes_back(path):
    """The text has no NaN or Infinity, is ASCII, and parses back into the same data in the same order."""
    text = to_json(studied(path))
    back = json.loads(text, parse_constant=refused)
    data = as_data(studied(path))
    assert text.isascii()
    assert back == data
    assert list(back) == list(data)


@every_case
def test_numbers_are_the_assessments(path):
    """Verdict, checks, flows, lines and the stopped states are those of the assessment, in SI units."""
    found = assessed(path)
    data = as_data(studied(path))
    assert data["verdict"] == found.verdict
    assert [(check["key"], check["verdict"]) for check in data["checks"]] == [(row.key, row.verdict) for row in found.checks]
    assert all(near(check["margin"], row.margin) for check, row in zip(data["checks"], found.checks, strict=True))
    assert data["states"][0]["pump"]["flow"] == pytest.approx(float(found.results.state.pump_flow), rel=DIGITS)
    assert near(data["running_line"]["highest"], found.wanted_line.safe)
    for case in data["stopped"]:
        assert sum(case["items"].values()) == pytest.approx(case["comes_down"])
        down = found.results.stopped[case["siphon_breaks"], case["check_valves"]].comes_down
        assert case["comes_down"] == pytest.approx(down, rel=DIGITS)


@every_case
def test_single_faults_are_those_of_the_first_screen(path):
    """What a single fault puts on the floor stands in JSON in m3, by the names of the first screen; hoses apart."""
    study = studied(path)
    data = as_data(study)["single_faults"]
    screen = " ".join(text_of(study).split("Single faults")[1].split("Expect")[0].split())
    assert (data["floods"] == []) == (", none " in screen)
    rows = {row["names"]: row for row in data["rows"]}
    by_cut = [name for name in data["floods"] if not (rows[name]["while_running"] > 1e-6 or rows[name]["as_long_as_topped_up"]
                                                      or name.endswith("comes off at the pump"))]
    order = [*(name for name in data["floods"] if name not in by_cut), *by_cut]
    if "every one puts water on the floor" in screen:
        order = [name for name in order if name not in by_cut]
        assert sum(row["count"] for row in data["rows"] if row["floods"]) == data["asked"]
    shown = order if len(order) <= 4 else order[:3]
    assert ("with a power cut on top, " in screen) is any(name in by_cut for name in shown)
    assert all(name in screen for name in shown)
    assert (f"; {len(order) - 3} more" in screen) == (len(order) > 4)
    wet = [row for row in data["rows"] if row["on_the_floor"] > 0.0]
    assert {row["names"] for row in wet} <= set(data["floods"])
    assert all(row["on_the_floor"] == pytest.approx(row["while_running"] + row["power_cut_on_top"]) for row in wet)
    litres = [row["on_the_floor"] for row in data["hoses_off"]]
    assert litres == sorted(litres, reverse=True)
    assert ("A loose hose is not among them: up to " in screen) is (litres != [])


def test_a_loop_that_does_not_run_has_no_single_faults():
    """Without a running state there is nothing to go wrong: null."""
    assert as_data(unsolved())["single_faults"] is None


def test_the_same_build_gives_the_same_bytes():
    """Two runs over the same text give the same JSON, byte for byte."""
    assert to_json(assess(loads(EXAMPLE))) == to_json(assess(loads(EXAMPLE)))


def test_surging_has_bounds_and_steady_running_has_none():
    """The levels between which a loop surges stand under 'bounds', low before high; a steady one has null there."""
    low, high = as_data(varied(*SURGING))["bounds"]["above_ground_tank"]
    assert low < high
    assert as_data(varied())["bounds"] is None


def test_numbers_have_twelve_digits_and_no_minus_nought():
    """Floats are written to 12 significant digits, whatever the last bits of a sum are, and a negative nought as 0.0."""
    data = {"a": [0.1 + 0.2, math.nextafter(0.3, 1.0), -0.0, -1e-320], "b": (math.inf, math.nan, 1.0 / 3.0), "c": True, "d": 7}
    assert json.loads(dumps(data)) == {"a": [0.3, 0.3, 0.0, -1e-320], "b": [None, None, 0.333333333333], "c": True, "d": 7}
    assert "-0.0" not in dumps(data)
