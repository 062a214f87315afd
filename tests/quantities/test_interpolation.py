"""Curves through points, against scipy's."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from hydro.quantities import interpolation as curve
from hydro.quantities.arrays import piece

calm = settings(max_examples=80, derandomize=True, deadline=None, database=None)
widths = st.lists(st.floats(0.01, 3.0), min_size=1, max_size=9)
heights = st.lists(st.floats(-5.0, 5.0).map(lambda y: round(y, 3)), min_size=10, max_size=10)


def through(xs, ys, x):
    """Return value and slope of the curve at x, which lies between the first and the last point."""
    rows = curve.pieces(xs, ys)
    return curve.evaluate(piece(xs[1:-1], rows, x), x)


@calm
@given(widths, heights)
def test_the_curve_is_scipys(steps, ys):
    """Values and slopes between the points are those of scipy's PchipInterpolator to 1e-12, for any points."""
    xs = [0.0, *map(float, np.cumsum(steps))]
    ys = ys[:len(xs)]
    theirs = PchipInterpolator(xs, ys)
    for share in (0.0, 0.1, 0.37, 0.5, 0.83, 0.999):
        x = share * xs[-1]
        value, slope = through(xs, ys, x)
        assert value == pytest.approx(float(theirs(x)), rel=1e-12, abs=1e-12)
        assert slope == pytest.approx(float(theirs.derivative()(x)), rel=1e-9, abs=1e-9)


@calm
@given(widths, st.lists(st.floats(0.0, 3.0), min_size=10, max_size=10))
def test_a_rising_set_stays_rising(steps, rises):
    """Through points that never fall the curve never falls."""
    xs = [0.0, *map(float, np.cumsum(steps))]
    ys = list(map(float, np.cumsum(rises)))[:len(xs)]
    values = [through(xs, ys, share * xs[-1])[0] for share in np.linspace(0.0, 1.0, 41).tolist()]
    assert all(b >= a - 1e-12 for a, b in pairwise(values))


def test_two_points_make_a_straight_line():
    """Through two points the curve is straight, with the slope between them."""
    assert through([1.0, 3.0], [2.0, 8.0], 1.5) == pytest.approx((3.5, 3.0))


def test_given_slopes_are_kept():
    """Slopes handed in are those of the curve at the points: a cubic with its own slopes comes out as itself."""
    xs, ys, slopes = [0.0, 1.0, 2.0], [0.0, 1.0, 8.0], [0.0, 3.0, 12.0]
    rows = curve.pieces(xs, ys, slopes)
    assert curve.evaluate(rows[0], 0.3)[0] == pytest.approx(0.027)
    assert curve.evaluate(rows[1], 1.7) == pytest.approx((1.7**3, 3 * 1.7**2))


def test_designs_have_curves_of_their_own():
    """With arrays for points every design gets the curve through its own points."""
    xs = [np.array([0.0, 0.0]), np.array([1.0, 2.0]), np.array([3.0, 3.0]), np.array([4.0, 6.0])]
    ys = [np.array([5.0, 4.0]), np.array([4.5, 3.0]), np.array([2.0, 3.5]), np.array([0.0, 0.0])]
    values, slopes = through(xs, ys, np.array([2.2, 2.2]))
    for k in range(2):
        alone = through([float(x[k]) for x in xs], [float(y[k]) for y in ys], 2.2)
        assert (values[k], slopes[k]) == pytest.approx(alone, rel=1e-12)
