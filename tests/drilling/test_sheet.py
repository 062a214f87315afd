"""Holes: what is read of them, where they come to lie, the rules of clearance, what is refused and what is asked for."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_cases import ROOT

from hydro.case import loads
from hydro.checks import FAILS, HOLDS, TIGHT
from hydro.checks.assessment import assess
from hydro.description.build import Wall
from hydro.drilling.elbow import MOST, Elbow, turned_elbow
from hydro.drilling.measures import exact, length
from hydro.drilling.panels import DrilledHole, Panel, holes_of
from hydro.drilling.rules import between, checks_of_panel, clearances
from hydro.drilling.sheet import guessed, not_given, sheet_of
from hydro.errors import InputError
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import place

DEMO = (ROOT / "cases" / "demo.yaml").read_text(encoding="utf-8")
INLET = "elbow up: 50 mm, lip: 92 mm below tank rim, strainer: no, fin: yes"
ELBOW = "hole: {in: back, diameter: 70 mm, from left: 35 cm, rise: 62 mm}"


def demo(*changes):
    """Return the holes of the demo by name, some of its text replaced."""
    text = DEMO
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return {hole.name: hole for hole in holes_of(place(loads(text)), "metric")}


def pane(material="glass", thickness=0.012, wide=1.5, high=0.6, toughened=""):
    """Return a panel."""
    made = None if thickness is None else Uncertain.exact(thickness)
    return Panel("tank", "back", wide, high, 1.4, Wall("back", material, made, toughened))


def hole(x, up, diameter, panel=None, name="left"):
    """Return a hole of a known place and size."""
    return DrilledHole(name, "drain", panel or pane(), x, up, diameter)


def row(rows, start):
    """Return the one row whose key starts with a word."""
    (found,) = [one for one in rows if one.key.startswith(start)]
    return found


def test_an_elbow_puts_its_hole_a_rise_under_its_lip():
    """The demo's lip is 92 mm below the rim and its elbow rises 62 mm: the hole's centre is 154 mm below the rim."""
    assert demo()["towpath side"].below_rim == pytest.approx(0.154, abs=1e-9)
    assert demo()["garden side"].below_rim == pytest.approx(0.152, abs=1e-9)
    assert (demo()["garden side"].x, demo()["garden side"].diameter) == (2.03, 0.07)


def test_the_stated_reach_of_an_elbow_places_its_hole():
    """With 'turns' the highest position of the lip is the upright one: 80 mm below the rim less the rise of 62 mm."""
    found = demo(("lip: 92 mm below tank rim,", "lip: 92 mm below tank rim, turns: 80 .. 100 mm below tank rim,"))
    assert found["towpath side"].below_rim == pytest.approx(0.142, abs=1e-9)
    assert not found["towpath side"].refused


def test_a_side_outlet_lies_half_a_bore_over_its_lip():
    """The lip of a plain hole is its lowest point inside: the centre lies half a bore of 43 mm higher."""
    found = demo((INLET, "side outlet: 43 mm, lip: 92 mm below tank rim"),
                 (", rise: 62 mm", ""))
    assert found["towpath side"].below_rim == pytest.approx(0.092 - 0.0215, abs=1e-9)


def test_a_stated_centre_that_contradicts_the_bore_is_refused():
    """A side outlet whose stated centre does not put its lowest point at the lip gets no hole."""
    found = demo((INLET, "side outlet: 43 mm, lip: 92 mm below tank rim"),
                 (", rise: 62 mm", ", at: 92 mm below tank rim"))
    assert "is not the lip that is described" in found["towpath side"].refused[0]


@pytest.mark.parametrize(("at", "words"), [("17 cm", "upright its lip stands 108 mm"), ("10 cm", "turned by 30 degrees")])
def test_an_elbow_that_cannot_reach_its_lip_gets_no_hole(at, words):
    """From a centre too low or too high for its rise of 62 mm the elbow does not come to a lip 92 mm below the rim."""
    found = demo((ELBOW, ELBOW.replace("}", f", at: {at} below tank rim}}")))["towpath side"]
    assert words in found.refused[0]
    assert not_given(found)[0].startswith("no hole is given for towpath side: its elbow cannot reach its lip")


def test_what_is_not_stated_is_asked_for():
    """Without rise, place and cutter the hole is not given; each of the three is asked for, and nothing is made up."""
    found = demo((ELBOW, "hole: {in: back}"), (", hole: {from left: 203 cm}", ""))["towpath side"]
    assert (found.x, found.up, found.diameter) == (None, None, None)
    assert all(any(word in what for what in found.missing) for word in ("rise", "from left", "diameter"))
    usual = guessed(found, "metric")
    assert "50 metric solvent bulkhead" in usual
    assert "from memory; measure the fitting in hand" in usual


def test_a_hole_in_the_bottom_counts_from_the_front():
    """The demo's emergency drain goes through the bottom, 58 cm from the front of its 71 cm, and has no height."""
    found = demo()["emergency"]
    assert (found.x, found.up, found.panel.height, found.below_rim) == (1.19, 0.58, 0.71, None)


@pytest.mark.parametrize(("old", "new", "key", "found"), [
    ("in: back", "in: roof", "hole: in", "'roof'"),
    ("diameter: 70 mm", "diameter: 7 m", "hole: diameter", "out of physical range"),
    ("from left: 35 cm", "from left: 35 cm, from front: 3 cm", "from front", "in the back"),
    ("in: back, ", "", "hole: in", "missing"),
    ("wall: plywood 18 mm", "wall: slate 18 mm", "wall", "'slate 18 mm'"),
    ("panels: {front: glass 15 mm}", "panels: {front: {acrylic: 15 mm, toughened: no}}", "toughened", "at acrylic"),
    ("panels: {front: glass 15 mm}", "panels: {lid: glass 15 mm}", "panels: lid", "unknown key"),
    ("siphon break: {hole: 10 mm, at: 100 mm below tank rim}", "hole: {in: back, rise: 4 cm}", "hole: rise", "unknown key")])
def test_mistakes_are_said_at_their_key(old, new, key, found):
    """Whatever cannot be meant at a hole or a wall is complained of where it stands."""
    with pytest.raises(InputError) as caught:
        demo((old, new))
    assert any(key in one.key and found in one.found for one in caught.value.complaints), caught.value


def test_a_twin_keeps_the_hole_and_says_what_differs():
    """'same as' takes over wall, cutter and rise, and its own 'from left' stands in their place."""
    left, right = demo()["towpath side"], demo()["garden side"]
    assert (left.diameter, left.elbow) == (right.diameter, right.elbow)
    assert left.x != right.x


def test_clearances_are_plane_geometry():
    """Rims of 60 mm holes at 100 and 400 mm from the left, 500 mm up: 70 mm to the left edge, 240 mm from rim to rim."""
    one, other = hole(0.1, 0.5, 0.06), hole(0.4, 0.5, 0.06, name="right")
    assert clearances(one) == pytest.approx({"left": 0.07, "right": 1.37, "lower": 0.47, "upper": 0.07})
    assert between(one, other) == pytest.approx(0.24)


@pytest.mark.parametrize(("up", "verdict"), [(0.500, HOLDS), (0.508, TIGHT), (0.520, TIGHT), (0.5459, TIGHT),
                                             (0.547, FAILS)])
def test_the_stricter_of_two_rules_is_kept(up, verdict):
    """60 mm in 12 mm glass: 60 mm to the edge holds, less is tight (as within 4 mm of tape), under 2 x 12 mm fails."""
    found = row(checks_of_panel(pane(), [hole(0.75, up, 0.06)], 0.004), "edge")
    assert found.limit == pytest.approx(0.06)
    assert found.verdict == verdict
    assert "stricter than 2 x 12 mm" in found.origin
    assert "no source" in found.origin
    assert "EN 12150-1" in found.origin


def test_thick_glass_turns_the_rules_round():
    """A 20 mm hole in 19 mm glass: two thicknesses are more than a diameter, and below them nothing holds."""
    glass = pane(thickness=0.019)
    assert row(checks_of_panel(glass, [hole(0.75, 0.6 - 0.049, 0.02, glass)], 0.0), "edge").verdict == HOLDS
    assert row(checks_of_panel(glass, [hole(0.75, 0.6 - 0.047, 0.02, glass)], 0.0), "edge").verdict == FAILS


def test_corner_least_and_greatest_hole():
    """12 mm glass: 72 mm to a corner is the least, 78 mm is kept; the hole is 12 mm at least, a third of 600 mm at most."""
    for rim, verdict in ((0.079, HOLDS), (0.075, TIGHT), (0.071, FAILS)):
        away = (rim + 0.02) / math.sqrt(2.0)
        assert row(checks_of_panel(pane(), [hole(away, away, 0.04)], 0.0), "corner").verdict == verdict
    assert row(checks_of_panel(pane(), [hole(0.75, 0.3, 0.011)], 0.0), "least").verdict == FAILS
    assert row(checks_of_panel(pane(), [hole(0.75, 0.3, 0.201)], 0.0), "size").verdict == FAILS
    assert row(checks_of_panel(pane(), [hole(0.75, 0.3, 0.199)], 0.0), "size").verdict == HOLDS


def test_wood_and_acrylic_ask_for_a_diameter():
    """Plywood: a diameter of 60 mm holds, half of one fails; no rule of glass is asked."""
    wood = pane("plywood", 0.018)
    found = checks_of_panel(wood, [hole(0.75, 0.6 - 0.0901, 0.06, wood)], 0.0)
    assert [one.key for one in found] == ["edge left"]
    assert found[0].verdict == HOLDS
    assert row(checks_of_panel(wood, [hole(0.75, 0.6 - 0.059, 0.06, wood)], 0.0), "edge").verdict == FAILS


def test_two_holes_are_held_against_the_larger():
    """40 and 80 mm: 80 mm from rim to rim hold, 79 mm are tight, less than two thicknesses fail."""
    for gap, verdict in ((0.081, HOLDS), (0.079, TIGHT), (0.023, FAILS)):
        holes = [hole(0.5, 0.3, 0.04), hole(0.5 + 0.06 + gap, 0.3, 0.08, name="right")]
        assert row(checks_of_panel(pane(), holes, 0.0), "rims").verdict == verdict


def test_glass_of_no_stated_thickness_never_holds():
    """Where the thickness of the glass is not stated its own rule cannot be asked, and the row says so."""
    glass = pane(thickness=None)
    found = row(checks_of_panel(glass, [hole(0.75, 0.3, 0.06, glass)], 0.0), "edge")
    assert (found.verdict, "not stated" in found.because) == (TIGHT, True)


@given(rise=st.floats(0.02, 0.15), rim=st.floats(0.02, 0.15), low=st.floats(0.0, 0.05), room=st.floats(0.0, 0.06))
def test_from_every_centre_of_the_band_the_lip_fits(rise, rim, low, room):
    """Between lowest and highest centre the setting keeps lowest point and middle of the lip inside; just outside none does."""
    elbow, high = Elbow(rise, rim), low + room
    least, most = elbow.centres(low, high)
    for share in (0.0, 0.3, 0.7, 1.0):
        centre = least + share * (most - least)
        angle = elbow.setting(centre, low, high)
        assert centre + elbow.lowest(angle) >= low - 1e-6
        assert centre + elbow.middle(angle) <= high + 1e-6
    angles = [MOST * k / 400 for k in range(401)]
    for centre in (least - 1e-3, most + 1e-3):
        assert not [angle for angle in angles if centre + elbow.lowest(angle) >= low and centre + elbow.middle(angle) <= high]


@given(rise=st.floats(0.02, 0.15), rim=st.floats(0.02, 0.15), share=st.floats(0.0, 1.0))
def test_an_elbow_turned_to_a_height_is_there(rise, rim, share):
    """The angle for a height of the lip's lowest point gives that height; a stated reach bounds the angle so."""
    elbow = Elbow(rise, rim)
    height = elbow.rise - share * (elbow.rise - elbow.lowest(MOST))
    assert elbow.lowest(elbow.turned_to(height)) == pytest.approx(height, abs=1e-9)
    reach = turned_elbow(rise, rim, rise - height)
    assert reach.lowest(reach.most) == pytest.approx(height, abs=1e-9)
    assert elbow.turned_to(rise + 1e-3) is None


def test_a_tilted_rim_passes_no_less_than_a_level_one_at_its_middle():
    """Round a tilted rim the mean of h^1.5 is no less than h^1.5 at its middle: taking it level there is on the safe side."""
    for angle in (0.1, 0.3, 0.5):
        for head in (0.002, 0.01, 0.03):
            rise = [0.025 * math.sin(angle) * math.cos(2.0 * math.pi * k / 720) for k in range(720)]
            mean = sum(max(head + one, 0.0) ** 1.5 for one in rise) / 720
            assert mean >= head**1.5


def test_lengths_stand_in_both_systems():
    """154 mm is 6-1/16 in on an inch tape (derived: 6.063 in), rounding follows the side that is asked for."""
    assert length(0.154) == "154 mm (6 1/16 in)"
    assert length(0.1546, "US", -1) == "6 1/16 in (154 mm)"
    assert length(0.1546, "metric", 1) == "155 mm (6 1/8 in)"
    assert exact(0.0762, "US") == "3 in (76.2 mm)"


def test_panels_alike_are_told_once():
    """Three racks built from one description have one panel sheet that names the other two; a different one stands apart."""
    text = """
tanks: [{3 x rack: {inside: 60 x 45 x 40 cm, bottom: 1 m above ground, wall: glass 6 mm,
  drains: [{name: over, inlet: {standpipe: 36 mm, lip: 5 cm below tank rim}, line: [pipe 40 PN10 1 m],
            into: {end: 3 cm above sump rim}, hole: {in: bottom, diameter: 45 mm, from left: 20 cm, from front: 30 cm}}],
  returns: [{line: [pipe 20 PN16 40 cm], end: 3 cm below tank rim}], header: {name: row, between: [pipe 50 PN10 65 cm]}EXCEPT}}]
sump: {inside: 150 x 50 x 50 cm, bottom: at ground, line: 25 cm above sump bottom}
pump: {curve: [0 L/h = 4 m, 6000 L/h = 0 m]}
"""
    (panel,) = sheet_of(assess(loads(text.replace("EXCEPT", ""))), bands=False).panels
    assert (panel.name, panel.also) == ("rack 1, bottom", ("rack 2", "rack 3"))
    other = text.replace("EXCEPT", ", except: {2: {drains: {over: {hole: {from left: 25 cm}}}}}")
    names = [(one.name, one.also) for one in sheet_of(assess(loads(other)), bands=False).panels]
    assert names == [("rack 1, bottom", ("rack 3",)), ("rack 2, bottom", ())]
