"""Slips of the pen are told at their own line, and with the word that is meant."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from hydro.case import loads
from hydro.case.syntax import yaml_nodes
from hydro.errors import InputError

SOUND = (Path(__file__).parents[1] / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
TURNS = "turns: 40 cm above tank bottom .. 55 cm above tank bottom}"

SLIPS = {
    "a key without its colon": ("title: Test loop", "title Test loop", 1, "'title Test loop' has no colon"),
    "a section without its colon": ("sump:\n", "sump\n", 3, "'sump' has no colon"),
    "a list without its colon": ("drains:\n", "drains\n", 10, "'drains' has no colon"),
    "a value without its colon": ("bottom: 2 cm", "bottom 2 cm", 5, "'bottom 2 cm above ground' has no colon"),
    "a colon without its space": ("  line: [hose", "  line:[hose", 18, "has no space behind its colon"),
    "a list in brackets without a colon": ("  curve: [", "  curve [", 17, "has no colon"),
    "two colons": ("title: Test loop", "title: Test: loop", 1, "has a colon too many"),
    "a bracket left open": ("elbow 90]", "elbow 90", 13, "a bracket opens in 'line: [bulkhead"),
    "a brace left open": (TURNS, TURNS[:-1], 12, "a bracket opens in 'inlet: {elbow up"),
    "a brace left open, early": ("90 cm above ground}", "90 cm above ground", 2, "a bracket opens in 'tank: {inside"),
    "a quote left open": ("title: Test loop", "title: 'Test loop", 1, "a quote opens in 'title: 'Test loop' and is not closed"),
    "a double quote left open": ("name: left", 'name: "left', 11, "a quote opens in"),
}


@pytest.mark.parametrize(("old", "new", "line", "said"), SLIPS.values(), ids=SLIPS.keys())
@pytest.mark.parametrize("parser", [yaml_nodes._LOADER, yaml.BaseLoader], ids=["usual", "plain Python"])
def test_a_slip_is_told_at_its_line(old: str, new: str, line: int, said: str, parser: object,
                                    monkeypatch: pytest.MonkeyPatch) -> None:
    """A colon, bracket or quote that is missing is told at the line where it is missing, with either of the YAML parsers."""
    assert old in SOUND
    monkeypatch.setattr(yaml_nodes, "_LOADER", parser)
    with pytest.raises(InputError) as caught:
        loads(SOUND.replace(old, new, 1), "my.yaml")
    complaint, = caught.value.complaints
    assert complaint.line == line
    assert said in str(complaint)


@pytest.mark.parametrize(("old", "new", "meant"), [
    ("90 cm above ground", "90 cm over ground", "90 cm above ground"),
    ("10 cm below tank rim", "10 cm under tank rim", "10 cm below tank rim"),
    ("10 cm below tank rim", "10 cm from top", "below"), ("10 cm below tank rim", "10 cm from the top of the tank", "below"),
    ("25 cm above sump", "25 cm up from sump", "above"), ("pipe 40 PN10 120 cm", "pipe 40 PN10 115-125 cm", "115..125 cm")])
def test_other_words_for_a_side_are_near(old: str, new: str, meant: str) -> None:
    """'over', 'under', 'from top' and a dash for a range are refused with the word that is meant."""
    assert old in SOUND
    with pytest.raises(InputError) as caught:
        loads(SOUND.replace(old, new, 1), "my.yaml")
    assert caught.value.complaints[0].nearest == meant


@pytest.mark.parametrize("words", ["floor", "the floor", "Floor"])
def test_the_floor_is_the_ground(words: str) -> None:
    """A height above the floor is one above the ground."""
    changed = loads(SOUND.replace("90 cm above ground", f"90 cm above {words}"), "my.yaml")
    assert changed == loads(SOUND, "my.yaml")
