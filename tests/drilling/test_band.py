"""The freedom of a hole's height, held against whole assessments of files with the printed setting in them."""

import math
from dataclasses import replace
from functools import cache

import pytest
from report_cases import ROOT

from hydro.case import load, loads
from hydro.checks.assessment import assess
from hydro.checks.check import COMFORT, RANK
from hydro.drilling.band import FINE, IntervalEnd, band_of, ends_of, freedom
from hydro.drilling.elbow import Elbow
from hydro.drilling.lips import Lips, lip_of, with_lip
from hydro.drilling.panels import holes_of
from hydro.drilling.settings import settings_of
from hydro.drilling.sheet import sheet_of
from hydro.search.remedies.proof import prove_remedy

DEMO = (ROOT / "cases" / "demo.yaml").read_text(encoding="utf-8")
LIP = "elbow up: 50 mm, lip: 92 mm below tank rim"


@cache
def rows(below):
    """Return the demo's verdicts on floor and pump by row, the lip of the towpath side so many mm below the rim in the file."""
    text = DEMO.replace(LIP, f"elbow up: 50 mm, lip: {below:.3f} mm below tank rim")
    return {row.key: row.verdict for row in assess(loads(text)).checks if row.kind.stake != COMFORT}


def no_worse(below):
    """Whether a lip so many mm below the rim leaves no row on floor or pump worse than the demo as it is described."""
    base, there = rows(92.0), rows(below)
    return all(RANK[verdict] <= RANK[base.get(key, "holds")] for key, verdict in there.items())


@cache
def demo():
    """Return the demo's hole of the towpath side, its freedom and its printed settings."""
    assessment = assess(loads(DEMO))
    hole = holes_of(assessment.loop, "metric")[0]
    band = band_of(assessment, hole)
    return band, hole, {one.words: one for one in settings_of(hole, band, "metric")}


@pytest.mark.parametrize("end", ["lowest hole", "as described", "highest hole"])
def test_at_both_ends_the_printed_setting_holds(end):
    """With the lip at either of its two printed heights the whole assessment, tape and all bands, is no worse than described."""
    _, _, settings = demo()
    assert no_worse(1e3 * settings[end].lowest)
    assert no_worse(1e3 * settings[end].middle)


def test_two_millimetres_below_the_band_nothing_holds():
    """From a centre 2 mm lower even the upright lip, the highest the elbow has, is worse than described."""
    _, hole, settings = demo()
    assert not no_worse(1e3 * (settings["lowest hole"].centre + 0.002 - hole.elbow.rise))


@pytest.mark.parametrize("degrees", [0.0, 15.0, 30.0])
def test_two_millimetres_above_the_band_no_setting_holds(degrees):
    """From a centre 2 mm higher every setting puts the middle of the lip or its lowest point where a check is worse."""
    _, hole, settings = demo()
    centre, angle = settings["highest hole"].centre - 0.002, math.radians(degrees)
    lips = centre - hole.elbow.lowest(angle), centre - hole.elbow.middle(angle)
    assert not all(no_worse(1e3 * lip) for lip in lips)


def test_what_bounds_the_band_is_what_turns_beyond_it():
    """The check named at an end is the one that is worse when the lip goes on by half a millimetre."""
    band, hole, _ = demo()
    questions = {row.key: row.question for row in assess(loads(DEMO)).checks}
    for end, sign in ((band.low, 1.0), (band.high, -1.0)):
        below = 1e3 * (hole.panel.rim - end.height) + sign * 0.5
        worse = [questions[key] for key, verdict in rows(below).items() if RANK[verdict] > RANK[rows(92.0).get(key, "holds")]]
        assert end.row in worse


def proven(lips, higher):
    """Whether a lip so much higher is good, asked one end of one input after the other."""
    base = lips.base
    return prove_remedy(base, with_lip(base.build, lips.lip, higher), "power cut", base.verdict("power cut")).whole


NO_DRY_DRAIN = ("one drain stands dry, as an emergency", "all drains blocked: the pump runs dry before the tank is full")
"""What suffers from a lip so high that the emergency drain gets wet: it is no dry one, and all blocked at once is not remote."""


@pytest.mark.parametrize("arrays", [True, False])
def test_the_ends_are_found_as_finely_as_is_said(arrays):
    """Asked again without arrays, the lip is good at the upper end and not a step of `FINE` on, however the end was found."""
    assessment = assess(loads(DEMO))
    lips = Lips.of(assessment, lip_of(assessment.build, "towpath side"))
    lips.arrays = lips.arrays and arrays
    (up, above), (down, _) = ends_of(lips, 0.08, 0.001)
    assert up / FINE == pytest.approx(round(up / FINE), abs=1e-9)
    assert down == pytest.approx(0.001)
    assert proven(lips, up)
    assert not proven(lips, up + FINE)
    assert above in NO_DRY_DRAIN


def test_the_lower_end_is_the_last_lip_that_is_good():
    """Asked again without arrays, the lip is good at the lower end of the demo's band and not a step of `FINE` lower."""
    band, hole, _ = demo()
    assessment = assess(loads(DEMO))
    lips = Lips.of(assessment, lip_of(assessment.build, "towpath side"))
    assert proven(lips, band.low.height - hole.lip)
    assert not proven(lips, band.low.height - hole.lip - FINE)


@pytest.mark.parametrize("case", ["demo", "tub-and-mats"])
def test_asked_as_arrays_the_bands_take_what_an_assessment_takes(case):
    """What all bands take from each row with the lip 4 mm lower is that of a whole assessment, heights from the water or not."""
    assessment = assess(load(ROOT / "cases" / f"{case}.yaml"))
    lip = lip_of(assessment.build, assessment.build.drains[0].name)
    lips, there = Lips.of(assessment, lip), assess(with_lip(assessment.build, lip, -0.004))
    lips.ask([-0.003, -0.004])
    assert lips.arrays
    expected = Lips.of(there, lip)
    assert lips.told[-0.004].losses == pytest.approx(expected.told[0.0].losses, abs=1e-9, nan_ok=True)
    worse = lips.base.harmed({row.key: row for row in there.checks})
    assert lips.told[-0.004].worse == (worse[0] if worse else "")


@pytest.mark.parametrize("line", ["14 cm", "10 cm"])
def test_few_lips_are_asked_in_whole(line):
    """Of 700 lips in reach fewer than sixteen are asked in whole, where a count ends the band above and another one below."""
    assessment = assess(loads(DEMO.replace("line: 14 cm above", f"line: {line} above")))
    lips = Lips.of(assessment, lip_of(assessment.build, "towpath side"))
    (_, above), (_, below) = ends_of(lips, 0.08, 0.1)
    assert 4 <= lips.asked < 16, "a good and a bad one at each end at least"
    assert above in NO_DRY_DRAIN
    assert below == "it runs steadily"


def test_an_edge_of_the_panel_cuts_the_band():
    """Lips up to 30 mm below the rim are good, an elbow rises 20 mm: a 64 mm hole in plywood still stays 96 mm below the rim."""
    hole = replace(demo()[1], elbow=Elbow(0.020, 0.050), diameter=0.064)
    rim = hole.panel.rim
    band = freedom(hole, IntervalEnd(rim - 0.110, "a check"), IntervalEnd(rim - 0.030, "another"))
    assert (band.least.row, band.most.row) == ("a check", "the edge of the panel")
    assert rim - band.most.height == pytest.approx(0.064 + 0.032)
    assert rim - band.least.height == pytest.approx(0.110 + 0.020)
    nearer = freedom(replace(hole, up=hole.panel.height - 0.080), IntervalEnd(rim - 0.110), IntervalEnd(rim - 0.030))
    assert rim - nearer.most.height == pytest.approx(0.032 + 0.032), "described where it is tight: half a diameter"


def test_no_hole_where_checks_and_edges_have_nothing_in_common():
    """Lips that are good only within 20 mm of the rim leave no hole that keeps its diameter from the edge."""
    hole = replace(demo()[1], elbow=Elbow(0.020, 0.050))
    band = freedom(hole, IntervalEnd(hole.panel.rim - 0.020), IntervalEnd(hole.panel.rim - 0.010))
    assert (band.least, band.most) == (None, None)
    assert [one.words for one in settings_of(hole, band, "metric")] == ["as described"]


def test_a_hole_that_follows_from_its_bore_moves_with_its_lip():
    """A side outlet's hole has just the freedom of its lip, half a bore higher, and nothing to turn."""
    hole = replace(demo()[1], elbow=None, over=0.0215, diameter=0.030)
    band = freedom(hole, IntervalEnd(hole.lip - 0.012, "low"), IntervalEnd(hole.lip + 0.004, "high"))
    assert (band.least.height, band.most.height) == pytest.approx((hole.lip + 0.0095, hole.lip + 0.0255))
    settings = {one.words: one for one in settings_of(hole, band, "metric")}
    assert settings["lowest hole"].degrees is None
    lowest = settings["lowest hole"]
    assert lowest.lowest - lowest.centre == pytest.approx(0.0215, abs=1e-3), "to a mark of the tape"


@pytest.mark.parametrize("system", ["metric", "US"])
def test_what_is_printed_is_rounded_inward(system):
    """Whatever the ends are, the printed hole lies inside them and the printed lip inside the lips that are good."""
    hole = demo()[1]
    for k in range(7):
        band = freedom(hole, IntervalEnd(hole.lip - 0.0131 - 3e-4 * k, "low"), IntervalEnd(hole.lip + 0.0052 + 2e-4 * k, "high"))
        for one in settings_of(hole, band, system):
            centre, rim = hole.panel.rim - one.centre, hole.panel.rim
            if one.words != "as described":
                assert band.least.height - 1e-9 <= centre <= band.most.height + 1e-9
                assert band.low.height - 1e-9 <= rim - one.lowest
                assert rim - one.middle <= band.high.height + 1e-9


def test_a_large_build_is_not_asked(monkeypatch):
    """Where one question is too long a wait, no freedom is given and the sheet says that it was not asked."""
    monkeypatch.setattr("hydro.drilling.sheet.MOST_LINKS", 3)
    sheet = sheet_of(assess(loads(DEMO)))
    assert sheet.unasked
    assert all(not one.bands for one in sheet.panels)
    assert sheet.given


def test_a_refused_hole_has_no_band():
    """Where the elbow cannot reach its lip no freedom is printed either."""
    text = DEMO.replace("rise: 62 mm}", "rise: 62 mm, at: 17 cm below tank rim}")
    sheet = sheet_of(assess(loads(text)))
    assert all(not one.bands for one in sheet.panels)
    assert [sentence for sentence in sheet.refusals if sentence.startswith("no hole is given for towpath side")]
