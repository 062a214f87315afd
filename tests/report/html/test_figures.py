"""Figures and sentences in one system of units and in both."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydro.report.content.sentences import DOWN, UP, Figure, banded, height, joined_sentences, least_to_most, say, written
from hydro.report.html.figures import both, both_band


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
    mm, whole, fraction = re.fullmatch(r"(-?\d+) mm \((?:(-?\d+) ?)??(\d+/\d+)? ?in\)", text).groups()
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


def test_sentences_are_written_in_one_system_or_both():
    """One sentence has its figures in the system asked for, each rounded by itself, or the other one's beside them."""
    told = say("At most {line}, {volume} of {power}.", line=height(0.20531, DOWN), volume=Figure(0.0125, "volume"),
               power=Figure(55.0, "power"))
    assert written(told, "metric") == "At most 205 mm, 12.5 L of 55 W."
    assert written(told, "US") == "At most 8-1/16 in, 3.3 US gal of 55 W."
    assert written(told, "metric", both=True) == "At most 205 mm (8 1/16 in), 12.5 L (3.3 US gal) of 55 W."
    assert written(told, "US", both=True) == "At most 8 1/16 in (205 mm), 3.3 US gal (12.5 L) of 55 W."
    assert written(height(0.20531, UP), "metric") == "206 mm"


def test_bands_and_ranges_are_written():
    """A band stands in brackets or behind 'likely', the least and the most of many alike with one unit, a time as its band."""
    flow = banded((4700 / 3.6e6, 4900 / 3.6e6, 5100 / 3.6e6), "flow")
    assert written(flow, "metric") == "4900 L/h (4700 to 5100)"
    assert written(least_to_most(0.00221, 0.00253, "volume"), "metric") == "2.21 .. 2.53 L"
    assert written(least_to_most(0.00221, 0.00253, "volume"), "US", both=True) == "0.584 .. 0.668 US gal (2.21 .. 2.53 L)"
    assert written(banded((7.24, 7.5, 7.71), "time"), "metric", both=True) == "7.2 to 7.8 s"


@given(st.text(max_size=40), st.text(max_size=40))
def test_words_are_written_unchanged(name, reason):
    """Words put into a sentence come out as they went in, braces, figures and units among them."""
    told = joined_sentences([say("{name}: {reason}", name=name, reason=reason), "5-1/16 in"])
    assert written(told, "US", both=True) == f"{name}: {reason} 5-1/16 in"
