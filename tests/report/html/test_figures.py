"""Figures in both systems of units, and sentences woven from two."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydro.report.html.figures import both, both_band
from hydro.report.html.weave import weave


@pytest.mark.parametrize(("value", "dimension", "system", "shown"), [
    (0.142, "length", "metric", "142 mm (5 9/16 in)"), (0.142, "length", "US", "5 9/16 in (142 mm)"),
    (-0.142, "length", "metric", "-142 mm (-5 9/16 in)"), (0.0254, "length", "US", "1 in (25 mm)"),
    (1.5, "length", "metric", "1500 mm (59 1/16 in)"), (75.0, "power", "metric", "75 W"),
    (0.01, "volume", "imperial", "2.2 imp gal (10 L)")])
def test_figures_stand_in_both_systems(value, dimension, system, shown):
    """A figure comes in the system asked for, the other one in brackets, once where both are the same."""
    assert both(value, dimension, system) == shown


def metres(text):
    """Return the two lengths of '142 mm (5 9/16 in)' in m, read here on their own."""
    mm, whole, fraction = re.fullmatch(r"(-?\d+) mm \((-?\d*) ?(\d+/\d+)? ?in\)", text).groups()
    inches = float(whole or 0)
    if fraction:
        upper, lower = fraction.split("/")
        inches += int(upper) / int(lower)
    return float(mm) / 1e3, inches * 0.0254


@given(st.floats(0.011, 30.0))
def test_lengths_are_never_rounded_past_a_limit(value):
    """Rounded down a length is at most the value in either system and at most a mark below it; rounded up the reverse."""
    lower, upper = metres(both(value, "length", towards=-1)), metres(both(value, "length", towards=1))
    assert all(value - step - 1e-5 <= low <= value + 1e-5 for low, step in zip(lower, (1e-3, 0.0254 / 16), strict=True))
    assert all(value - 1e-5 <= high <= value + step + 1e-5 for high, step in zip(upper, (1e-3, 0.0254 / 16), strict=True))


def test_bands_stand_in_both_systems():
    """A band is told in both systems, each rounded by itself."""
    told = both_band((4700 / 3.6e6, 4900 / 3.6e6, 5100 / 3.6e6), "flow")
    assert told == "4900 L/h (1290 US gph), likely 4700 to 5100 L/h (1240 to 1350 US gph)"


def test_sentences_are_woven():
    """Two tellings of one sentence become one with both figures, each as its own system rounds it."""
    assert weave("At most 205 mm, 12.5 L of 55 W.", "At most 8-1/16 in, 3.3 US gal of 55 W.") == \
        "At most 205 mm (8 1/16 in), 12.5 L (3.3 US gal) of 55 W."


def test_sentences_that_differ_stay_as_they_are():
    """Where the words differ the first telling stands alone, and nothing is made up."""
    assert weave("10 L take 7 s", "5 US gal take 14 s or so") == "10 L take 7 s"


@given(st.text(alphabet=st.characters(blacklist_characters="0123456789"), max_size=40))
def test_words_pass_the_weaving_unchanged(text):
    """Text without figures comes out as it went in."""
    assert weave(text, text) == text
