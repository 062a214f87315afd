"""The frame of files with several tanks, boxes, sumps or pumps, as `words` prints it, is what the reader takes."""

from __future__ import annotations

from pathlib import Path

import pytest

from hydro.case import loads
from hydro.case.keys import SECTIONS
from hydro.errors import InputError
from hydro.report.terminal.word_list import listing, outline

KEY = "no such key"
TEXT = (Path(__file__).parents[2] / "bad_input" / "several.yaml").read_text(encoding="utf-8").replace(
    "pumps:\n", "overflow boxes: [{name: weir, in: rack 1, inside: 10 x 10 x 36 cm, bottom: 1 cm above tank bottom, over: "
    "{edge: 10 cm, at: 4 cm below tank rim}}]\nwater: {chamber: pumps}\npumps:\n", 1)
PLACES = {
    "the file, with several of something": ("title:", f"{KEY}: 1\ntitle:"),
    "tanks": ("  - name: upper", f"  - {KEY}: 1\n    name: upper"),
    "overflow boxes": ("{name: weir,", f"{{{KEY}: 1, name: weir,"),
    "drains, with several tanks or boxes": ("{name: left,", f"{{{KEY}: 1, name: left,"),
    "pumps": ("{name: second,", f"{{{KEY}: 1, name: second,"),
    "returns, with several tanks or pumps": ("{from: far,", f"{{{KEY}: 1,"),
    "pipes between": ("{name: link,", f"{{{KEY}: 1, name: link,"),
    "water, with several pumps": ("{chamber: pumps}", f"{{{KEY}: 1}}")}
"""For each section a change of a sound text that puts an unknown key there."""
ELSEWHERE = {"header", "except", "tank"}
"""Keys of many alike, and of returns outside a tank's section: they stand in no place above."""


@pytest.mark.parametrize("section", PLACES)
def test_every_key_is_taken(section):
    """Every key that is listed for several is one that the reader offers there."""
    old, new = PLACES[section]
    assert old in TEXT
    with pytest.raises(InputError) as caught:
        loads(TEXT.replace(old, new, 1), "my.yaml")
    told = next(complaint for complaint in caught.value.complaints if complaint.key.endswith(KEY))
    known = set(told.expected.removeprefix("one of ").split(", "))
    assert set(dict(outline())[section]) - ELSEWHERE <= known
    assert set(PLACES) == {one.several for one in SECTIONS.values() if one.several}


def test_words_tell_them():
    """The listing has the keys of several beside those of one, and finds them by a word."""
    every, found = " ".join(" ".join(listing()).split()), " ".join(" ".join(listing("pipes between")).split())
    assert all(f"{section}:" in every for section, _ in outline())
    assert "from*: HEADER OR PUMP" in found
    assert "into: HEADER, or {header: NAME, line: [...]}" in every
    assert "With several vessels: NAME bottom" in every
