"""Arithmetic on floats and arrays alike."""

import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.quantities import arrays as ops

calm = settings(max_examples=60, derandomize=True, deadline=None, database=None)
numbers = st.floats(-1e3, 1e3)


@calm
@given(numbers, numbers, st.floats(1e-6, 1e-2))
def test_smooth_max_lies_just_above_the_larger(a, b, width):
    """The rounded maximum lies above the true one, by half its width at most, and its slopes add up to 1."""
    value, to_a, to_b = ops.smooth_max(a, b, width)
    assert max(a, b) <= value <= max(a, b) + width / 2 + 1e-12
    assert to_a + to_b == pytest.approx(1.0, abs=1e-15)
    assert min(to_a, to_b) >= 0.0


def test_smooth_max_keeps_its_digits_in_the_tail():
    """Far from the corner the excess is w^2/(4 d), derived by expanding the root; the plain form would lose it."""
    value, slope, _ = ops.smooth_max(-2.0, 0.0, 1e-3)
    assert value == pytest.approx(1e-6 / 8.0, rel=1e-6)
    assert slope == pytest.approx(1e-6 / 16.0, rel=1e-6)


def test_smooth_max_is_half_the_width_at_the_corner():
    """Where both are equal the value lies half the width above them and both slopes are 1/2, by its definition."""
    assert ops.smooth_max(3.0, 3.0, 0.02) == pytest.approx((3.01, 0.5, 0.5))


@calm
@given(st.floats(-50.0, 50.0), st.floats(1e-5, 1e-2))
def test_soft_positive_is_the_positive_part_beyond_its_width(x, width):
    """The rounded positive part never falls, is exact beyond its width and a quarter of it too high at most within."""
    value, slope = ops.soft_positive(x, width)
    assert max(x, 0.0) <= value + 1e-15 <= max(x, 0.0) + 0.25 * width + 1e-12
    assert 0.0 <= slope <= 1.0
    if abs(x) >= width:
        assert (value, slope) == pytest.approx((x, 1.0) if x > 0.0 else (0.0, 0.0))


def test_soft_positive_has_no_jump_where_its_pieces_meet():
    """At both ends of the parabola value and slope are those of the straight pieces, and half way up it is a quarter."""
    for x in (-0.01, 0.01):
        below, above = ops.soft_positive(x - 1e-9, 0.01), ops.soft_positive(x + 1e-9, 0.01)
        assert above == pytest.approx(below, abs=2e-7)
    assert ops.soft_positive(0.0, 0.01) == pytest.approx((0.0025, 0.5))


def test_smooth_step_runs_from_nothing_to_all():
    """The step is 0, 1/2 and 1 at 0, 1/2 and 1, flat outside, and its slope is 3/2 in the middle (3x^2 - 2x^3)."""
    assert [ops.smooth_step(x) for x in (-2.0, 0.0, 0.5, 1.0, 9.0)] == [(0, 0), (0, 0), (0.5, 1.5), (1, 0), (1, 0)]


@calm
@given(st.lists(numbers, min_size=1, max_size=8))
def test_choices_on_arrays_are_those_on_floats(values):
    """where, greater, lesser, peak, log and the steps give for an array what they give for each float."""
    array = np.array(values)
    for function in (lambda x: ops.greater(x, 1.0 + 0.0 * x), lambda x: ops.lesser(x, 1.0 + 0.0 * x),
                     lambda x: ops.peak([x, 0.5 * x]), lambda x: ops.log(1.0 + x * x), lambda x: ops.smooth_step(x)[0],
                     lambda x: ops.smooth_max(x, 2.0, 0.1)[0]):
        assert function(array) == pytest.approx([function(x) for x in values], rel=1e-14)
        assert all(type(function(x)) is float for x in values)


def test_peak_is_the_largest_magnitude():
    """The peak of a list is its largest magnitude, design by design for arrays."""
    assert ops.peak([1.0, -3.0, 2.0]) == 3.0
    assert ops.peak([np.array([1.0, 5.0]), np.array([-2.0, 0.0])]).tolist() == [2.0, 5.0]


def test_some_means_anywhere():
    """A condition holds somewhere if it holds in one design."""
    assert ops.any_of(True)
    assert not ops.any_of(False)
    assert ops.any_of(np.array([False, True]))
    assert not ops.any_of(np.array([False, False]))


@pytest.mark.parametrize(("x", "row"), [(-1.0, 0), (0.0, 1), (0.5, 1), (1.0, 2), (7.0, 2)])
def test_a_piece_begins_at_its_knot(x, row):
    """A knot belongs to the piece that follows it, for floats, arrays of states and tables of designs alike."""
    knots, rows = (0.0, 1.0), ((10.0, 0.0), (11.0, 1.0), (12.0, 2.0))
    assert ops.piece(knots, rows, x)[0] == 10.0 + row
    assert ops.piece(knots, rows, np.array([x, -1.0]))[0].tolist() == [10.0 + row, 10.0]
    own = [np.array([k, k + 5.0]) for k in knots]
    assert ops.piece(own, rows, np.array([x, x]))[0].tolist() == [10.0 + row, {7.0: 12.0}.get(x, 10.0)]
    assert ops.piece(own, rows, x)[0].tolist() == [10.0 + row, {7.0: 12.0}.get(x, 10.0)]


def test_a_table_without_knots_has_one_row():
    """Without knots the only row holds everywhere."""
    assert ops.piece((), ((1.0, 2.0),), 3.0) == (1.0, 2.0)


def test_each_asks_once_for_a_value():
    """A function for floats is called once for every distinct entry of an array, and once for a float."""
    asked = []

    def root(x):
        asked.append(x)
        return math.sqrt(x)
    assert ops.each(root, np.array([4.0, 9.0, 4.0])).tolist() == [2.0, 3.0, 2.0]
    assert ops.each(root, 16.0) == 4.0
    assert sorted(asked) == [4.0, 9.0, 16.0]


@dataclass(frozen=True)
class Inner:
    """A record in a record."""

    word: str
    size: float


@dataclass(frozen=True)
class Outer:
    """A record with what records hold."""

    inner: Inner
    table: tuple[float, ...]
    nothing: None = None


def test_stacking_joins_every_number():
    """Joining records follows nested records and tuples; numbers become arrays, words stay."""
    joined = ops.stack([Outer(Inner("a", 1.0), (3.0, 4)), Outer(Inner("a", 2.0), (5.0, 6))])
    assert joined.inner.word == "a"
    assert joined.inner.size.tolist() == [1.0, 2.0]
    assert [column.tolist() for column in joined.table] == [[3.0, 5.0], [4.0, 6.0]]
    assert joined.nothing is None


@pytest.mark.parametrize("records", [
    [Inner("a", 1.0), Inner("b", 1.0)], [Outer(Inner("a", 1.0), (1.0,)), Outer(Inner("a", 1.0), (1.0, 2.0))], [{}, {}],
])
def test_stacking_refuses_what_cannot_be_one_batch(records):
    """Words that differ, tables of unequal length and things that are no records are refused."""
    with pytest.raises(ValueError):
        ops.stack(records)


def test_sameness_is_sure():
    """Equal floats are the same, arrays only if they are one object."""
    array = np.array([1.0, 2.0])
    assert ops.same(0.5, 0.25 * 2.0)
    assert not ops.same(0.5, 0.5000001)
    assert ops.same(array, array)
    assert not ops.same(array, array.copy())


def test_the_first_design_stands_for_the_shape():
    """Decisions about shape look at the first design only."""
    assert ops.first(2.5) == 2.5
    assert ops.first(np.array([4.0, 1.0])) == 4.0
