"""What can hardly be meant is asked back from the description alone, the same by `check` and by `run`."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from hydro.case import load, loads
from hydro.checks.plausibility import DescribedHeights, implausible
from hydro.checks.queries import asked_back_of, doubts
from hydro.report.terminal.case_summary import understood
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of

ROOT = Path(__file__).parents[2]
SOUND = (ROOT / "tests" / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
DRAIN, INLET, HOSE = "pipe 40 PN10 120 cm", "{elbow up: 43 mm", "hose 32 mm 150 cm"
END, TANK, PLATE = "end: 12 cm below tank rim", "bottom: 90 cm above ground", "ends in: {plate: 30 cm above sump bottom}"


def asked(*pairs: tuple[str, str]) -> list[str]:
    """Return the questions about the sound text with some of its pieces replaced."""
    text = SOUND
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    build = loads(text, "my.yaml")
    return implausible(build, DescribedHeights(build))


QUESTIONS = {
    "a short drain": ([(DRAIN, "pipe 40 PN10 8 cm")],
                      ["drain left: its pipes and hoses are 80 mm long together, and ", "drain right: its pipes and hoses"]),
    "a short return": ([(HOSE, "hose 32 mm 15 cm"), ("pipe 32 PN10 60 cm", "pipe 32 PN10 6 cm")],
                       ["return 1: its pipes and hoses are 210 mm long together, and "]),
    "centimetres for metres": ([(HOSE, "hose 32 mm 1.5 cm"),
                                ("pipe 32 PN10 60 cm", "pipe 32 PN10 0.6 cm")], ["return 1: its pipes"]),
    "over a high point": ([(END, f"{END}, highest point: 160 cm above tank rim")],
                          ["return 1: its pipes and hoses are 2.1 m"]),
    "over a siphon break": ([(END, f"{END}, siphon break: {{hole: 8 mm, at: 160 cm above tank rim}}")],
                            ["return 1: its pipes and hoses are 2.1 m"]),
    "a vast inlet": ([(INLET, "{elbow up: 57 cm")],
                     ["drain left: 'elbow up' is 570 mm wide, and pipe is sold up to 315 mm; 57 mm may be meant", "drain right"]),
    "a wide plate": ([(PLATE, "ends in: {plate: 30 cm above sump bottom, width: 90 cm}")],
                     ["chamber splash: its plate is 900 mm wide, but the sump is "]),
    "a tank in the sump": ([(TANK, "bottom: 25 cm above ground"), (DRAIN, "pipe 40 PN10 60 cm")], ["tank: its bottom lies "]),
}


@pytest.mark.parametrize(("pairs", "expected"), QUESTIONS.values(), ids=QUESTIONS.keys())
def test_what_can_hardly_be_meant_is_asked(pairs: list[tuple[str, str]], expected: list[str]) -> None:
    """Each impossible-looking figure is one question that names the thing and both figures that do not agree."""
    found = asked(*pairs)
    assert len(found) == len(expected), found
    for question, start in zip(found, expected, strict=True):
        assert question.startswith(start)


@pytest.mark.parametrize("pairs", [
    [], [(DRAIN, "pipe 40 PN10 about 95 cm")], [(INLET, "{elbow up: 300 mm")], [(HOSE, "hose 32 mm 80 cm")],
    [(PLATE, "ends in: {plate: 30 cm above sump bottom, width: 50 cm}")], [(DRAIN, "pipe 40 PN10 5 m")]],
    ids=["as it is", "nearly long enough", "a wide inlet", "a hose that reaches", "a plate as wide as the sump", "a long way"])
def test_what_may_well_be_is_not_asked(pairs: list[tuple[str, str]]) -> None:
    """Lengths within 10 % and what fittings bridge, wide pipes that are sold, and long ways round are asked nothing."""
    assert asked(*pairs) == []


@pytest.mark.parametrize("case", sorted((ROOT / "cases").glob("*.yaml")), ids=lambda path: path.stem)
def test_the_cases_are_plausible(case: Path) -> None:
    """Of the cases that come with the project none has a figure that can hardly be meant."""
    build = load(case)
    assert implausible(build, DescribedHeights(build)) == []


def test_check_asks_what_run_asks() -> None:
    """`check` lists every question that `run` asks, under the same words, without working anything out."""
    build = loads(SOUND.replace(DRAIN, "pipe 40 PN10 8 cm").replace(HOSE, "hose 40 mm 150 cm")
                  .replace("5000 L/h = 0 m]", "49 L/h = 0 m]").replace("3000 L/h", "30 L/h"), "my.yaml")
    told = re.sub(r"\s+", " ", "\n".join(understood(build, "metric")))
    assert "Asked back" in told
    questions = doubts(results_of(place(build)))
    assert len(questions) >= 3
    assert questions == asked_back_of(build)
    assert [question for question in questions if f"{question}." not in told] == []
