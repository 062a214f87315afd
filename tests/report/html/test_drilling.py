"""The section on drilling in the page."""

import re

import pytest
from report_cases import ROOT, studied

from hydro.case import loads
from hydro.report.html.drilling import drilling_section
from hydro.study import study_of

INCHES = (ROOT / "cases" / "us-inch.yaml").read_text(encoding="utf-8")
PORT = "hole: {in: bottom, diameter: 3 in, from left: 14 in, from front: 24 in}"


def body(*changes, system="US"):
    """Return the section of the inch case, some of its text replaced."""
    text = INCHES
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return str(drilling_section(study_of(loads(text)), system).body)


def plain(html):
    """Return the text of a piece of HTML on one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).replace("&#39;", "'").split())


def test_a_build_without_holes_has_no_section():
    """Where no hole is described there is nothing to drill and no section."""
    assert drilling_section(studied(ROOT / "cases" / "worked-loop.yaml"), "metric") is None


def test_the_warning_stands_first_and_nothing_is_promised():
    """Toughened glass is warned of before anything else, even where 'toughened: no' is stated; it defers to a glazier."""
    words = plain(body())
    assert words.startswith("Toughened (tempered) glass cannot be drilled")
    assert "it does not replace a glazier" in words
    assert "on the wet side" in words
    assert "Drill scrap of the same thickness first" in words


def test_every_length_stands_in_both_systems():
    """Each length of the tables stands in inches and in millimetres, the owner's first."""
    for cell in re.findall(r"<td[^>]*>(.*?)</td>", body()):
        words = plain(cell)
        if re.search(r"\d (?:mm|in)\b", words):
            assert re.search(r"\d in \(\d[\d.]* mm\)", words), words


def test_an_unmeasured_fitting_is_asked_for():
    """Without a cutter the catalogue's usual holes stand there with their standing, and no hole is given."""
    words = plain(body(("diameter: 3 in, ", "")))
    assert "No hole is given for port yet: it is not stated what the diameter of the cutter is" in words
    assert "2 in inch solvent bulkhead" in words
    assert "measure the fitting in hand" in words
    assert "--template" not in words


def test_a_hole_near_an_edge_is_not_given():
    """Within two thicknesses of the edge the hole is refused in words, with the rule and where it comes from."""
    words = plain(body((PORT, PORT.replace("24 in", "27-3/4 in"))))
    assert "No hole is given for port: port: rim of the hole to the back edge is 3/4 in" in words
    assert "NOT GIVEN" in words


def test_a_build_that_fails_is_not_to_be_drilled():
    """A sheet for a build that fails a check opens with that."""
    words = plain(body(("lip: 4 in below tank rim", "lip: 1/4 in below tank rim"), ("lip: 3-3/4 in", "lip: 1/4 in")))
    assert "Do not drill yet" in words


@pytest.mark.parametrize("name", ["<b>left</b>", "x\" onload=\"y"])
def test_names_stay_text(name):
    """What somebody calls a drain never becomes markup."""
    html = body(("name: port", f"name: '{name}'"), ("same as: port", f"same as: '{name}'"))
    assert name not in html
    assert "<b>left" not in html
