"""Plates and slots."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.elements.edge import JOIN, LEAK, Plate, submergence
from hydro.quantities.arrays import GRAVITY

calm = settings(max_examples=80, derandomize=True, deadline=None, database=None)
levels = st.floats(-0.3, 0.4)
PLATE = Plate.of("plate", 0.0, 0.5, 0.62)
SLOT = Plate.of("slot", 0.2, 0.5, 0.62, gap=0.03, sill=-0.1)


@calm
@given(levels, levels, st.floats(0.0, 0.1), st.sampled_from([PLATE, SLOT]))
def test_more_head_never_carries_less(up, down, more, wall):
    """A higher level before a wall never lowers the flow over and under it, a higher one behind never raises it."""
    assert wall.flow(up + more, down)[0] >= wall.flow(up, down)[0] - 1e-15
    assert wall.flow(up, down + more)[0] <= wall.flow(up, down)[0] + 1e-15


@calm
@given(levels, levels, st.sampled_from([PLATE, SLOT]))
def test_a_wall_is_the_same_from_both_sides(up, down, wall):
    """With the levels exchanged the flow turns its sign and keeps its size, but for the leak that keeps a dry plate solvable."""
    assert wall.flow(up, down)[0] == pytest.approx(-wall.flow(down, up)[0], rel=1e-9, abs=1.0 * LEAK)


def test_a_free_plate_is_polenis():
    """Over a free edge flows (2/3) Cd sqrt(2 g) b h^1.5, within 0.1 %."""
    assert PLATE.flow(0.05, -0.2)[0] == pytest.approx((2.0 / 3.0) * 0.62 * (2.0 * GRAVITY) ** 0.5 * 0.5 * 0.05**1.5, rel=1e-3)


def test_a_dry_plate_leaks_next_to_nothing():
    """With both levels below the edge only the stated leak passes, towards the edge from a level that stands below it."""
    assert abs(PLATE.flow(-0.05, -0.15)[0]) <= 0.051 * LEAK
    assert PLATE.flow(0.0, -0.15)[0] < 1e-5 * PLATE.flow(0.02, -0.15)[0] + 1e-6


def test_submergence_joins_without_a_kink():
    """The odd continuation meets Villemonte's formula in value and slope, and is nothing where the levels meet."""
    below, above = submergence(JOIN - 1e-9), submergence(JOIN + 1e-9)
    assert above == pytest.approx(below, rel=1e-5)
    assert submergence(1.0)[0] == 0.0
    assert submergence(1.0)[1] < 0.0


@calm
@given(st.floats(0.0, 0.999), st.floats(1e-6, 1e-3))
def test_drowning_only_takes_away(ratio, by):
    """The factor lies between 0 and 1 and falls all the way to equal levels."""
    assert 0.0 <= submergence(ratio + by if ratio + by < 1.0 else 1.0)[0] < submergence(ratio)[0] <= 1.0


def test_a_slot_is_torricellis():
    """Under a wall flows Cd b a sqrt(2 g D) for levels that differ by D above its middle."""
    assert SLOT.flow(0.10, 0.04)[0] == pytest.approx(0.61 * 0.5 * 0.03 * (2.0 * GRAVITY * 0.06) ** 0.5, rel=1e-3)


def test_a_slot_below_both_levels_feels_only_their_difference():
    """A drowned slot passes the same for the same difference, whatever the depth; a free one counts from its middle."""
    assert SLOT.flow(0.15, 0.13)[0] == pytest.approx(SLOT.flow(0.05, 0.03)[0], rel=1e-6)
    assert SLOT.flow(0.0, -0.25)[0] == pytest.approx(SLOT.flow(0.0, -0.09)[0], rel=1e-3)


def test_the_residual_counts_in_metres():
    """20 mm of residual stand for the flow that 20 mm over the edge pass."""
    flow = PLATE.flow(0.02, -0.2)[0]
    assert PLATE.residual(0.0, 0.02, -0.2)[0] == pytest.approx(0.02, rel=0.01)
    assert PLATE.residual(flow, 0.02, -0.2)[0] == pytest.approx(0.0, abs=1e-12)
