"""Joints between sizes of two standards are asked back."""

from __future__ import annotations

from pathlib import Path

import pytest
from builds import found, loop, way

from hydro.case import loads
from hydro.checks.queries import doubts
from hydro.description.build import Build
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of

SOUND = (Path(__file__).parents[1] / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
LINE = "[bulkhead 38 mm, pipe 40 PN10 120 cm, elbow 90]"
MET = "meets"


def joints(line: str) -> list[str]:
    """Return the doubts about joints where the sound text's drains (left, and right which is the same) have another line."""
    assert LINE in SOUND
    return [doubt for doubt in asked(loads(SOUND.replace(LINE, line))) if MET in doubt]


def asked(build: Build) -> list[str]:
    """Return the doubts about a build."""
    return doubts(results_of(place(build)))


def test_inch_on_metric_is_asked_back_once():
    """Two neighbours of two standards are named once, with both outsides and every line they are on."""
    assert joints("[pipe 50 PN10 60 cm, pipe 1-1/2 in sch 40 60 cm]") == [
        "drain left, drain right: pipe 50 PN10 meets pipe 1-1/2 in sch 40: an adaptor is needed: "
        "50 mm outside (metric pressure) does not fit 48.3 mm outside (US inch pressure)"]


def test_a_pair_is_asked_once_in_either_order():
    """The same pair of sizes further down a line, or the other way round, is not asked again; another pair is."""
    found = joints("[pipe 50 PN10 40 cm, elbow 90, pipe 1-1/2 in sch 40 40 cm, pipe 50 PN10 10 cm, pipe 2 in sch 40 20 cm]")
    assert [line.split(": ")[1] for line in found] == ["pipe 50 PN10 meets pipe 1-1/2 in sch 40",
                                                       "pipe 50 PN10 meets pipe 2 in sch 40"]


@pytest.mark.parametrize("line", [
    "[pipe 50 PN10 60 cm, pipe 40 PN16 60 cm]", "[pipe 50 PN10 60 cm, elbow 45, pipe 50 PN10 EN 60 cm]",
    "[pipe 50 PN10 60 cm, pipe 40.9 mm 60 cm]", "[pipe 40 PN10 60 cm, pipe 40 EN 1329 60 cm]",
    "[pipe 50 PN10 60 cm, hose 40 mm 20 cm, pipe 1-1/2 in sch 40 60 cm]"])
def test_what_fits_or_is_not_known_is_not_asked(line):
    """Sizes of one standard, equal outsides, and parts given by their bore alone are asked nothing."""
    assert joints(line) == []


def test_a_fitting_with_a_size_of_its_own_is_a_neighbour():
    """A fitting that names another standard than the pipe before it is asked about under its own word."""
    line, = joints("[pipe 63 PN10 60 cm, elbow 90 2 in sch 80]")
    assert "pipe 63 PN10 meets elbow 90 2 in sch 80" in line


def test_inch_pipe_of_two_countries_is_asked_softly():
    """US and UK inch pipe on one line is asked to be tried dry, and not said to need an adaptor."""
    line, = joints("[pipe 1 in sch 40 60 cm, pipe 1 in class E 60 cm]")
    assert "an adaptor may be needed" in line
    assert "dry-fit" in line


def test_many_lines_are_folded():
    """More than three lines with one pair are counted, not listed."""
    names = ("third", "fourth", "fifth")
    more = "".join(f"\n  - {{name: {name}, same as: left, inlet: {{lip: 9 cm below tank rim}}}}" for name in names)
    text = SOUND.replace(LINE, "[pipe 63 PN10 60 cm, pipe 2 in sch 40 60 cm]").replace("\npump:", f"{more}\npump:", 1)
    line, = (doubt for doubt in asked(loads(text)) if MET in doubt)
    assert line.startswith("drain left, drain right, drain third and 2 more: pipe 63 PN10 meets pipe 2 in sch 40: ")


@pytest.mark.parametrize("case", sorted((Path(__file__).parents[2] / "cases").glob("*.yaml")), ids=lambda path: path.stem)
def test_the_cases_have_no_misfits(case):
    """No case that comes with the project joins two standards by mistake."""
    assert [doubt for doubt in asked(loads(case.read_text(encoding="utf-8"))) if MET in doubt] == []


@pytest.mark.parametrize(("hole", "said"), [(0.23, True), (0.25, False)])
def test_a_small_siphon_break_is_asked_about_by_the_ratio_that_counts(hole, said):
    """A hole is asked about below the ratio from which it counts, 24 % of the pipe's bore, and the line names that ratio."""
    results = found(loop(returns=(way(hole_at=1.484, hole=hole * 0.0284),)))
    lines = [line for line in doubts(results) if "counted as plugged" in line]
    assert results.breaks_counted() is not said
    assert [("23 % of the pipe's bore" in line, "below 24 %" in line) for line in lines] == [(True, True)] * said
