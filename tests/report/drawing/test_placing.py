"""Label boxes in a column: apart, in order, as near as can be."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from hydro.report.drawing.labels import COLUMN, PAD, SIZE
from hydro.report.drawing.lettering import shortened, width, wrapped
from hydro.report.drawing.placing import placed, room_for
from hydro.report.drawing.scale import ROUND, Scale, ratio_for

COLUMNS = st.lists(st.tuples(st.floats(0.0, 200.0), st.sampled_from([4.0, 7.0, 10.0])), min_size=1, max_size=14)
GAP = 0.7


def column(boxes, slack=20.0):
    """Return wanted centres, heights, and a column with some room to spare."""
    wanted, heights = [centre for centre, _ in boxes], [height for _, height in boxes]
    return wanted, heights, 0.0, max(200.0, room_for(heights, GAP) + slack)


@given(COLUMNS)
@settings(max_examples=200, deadline=None)
def test_boxes_never_overlap_and_stay_inside(boxes):
    """Whatever the wanted centres, boxes keep their gap and stay within the column."""
    wanted, heights, low, high = column(boxes)
    centres = placed(wanted, heights, low, high, GAP)
    spans = sorted((centre - height / 2, centre + height / 2) for centre, height in zip(centres, heights, strict=True))
    assert spans[0][0] >= low - 1e-6
    assert spans[-1][1] <= high + 1e-6
    assert all(lower[0] - upper[1] >= GAP - 1e-6 for upper, lower in pairwise(spans))


@given(COLUMNS)
@settings(max_examples=200, deadline=None)
def test_boxes_keep_the_order_of_what_they_name(boxes):
    """A label that names the higher thing stands higher: leaders never cross."""
    wanted, heights, low, high = column(boxes)
    centres = placed(wanted, heights, low, high, GAP)
    order = sorted(range(len(wanted)), key=lambda k: (wanted[k], k))
    assert all(centres[one] < centres[other] for one, other in pairwise(order))


@given(st.lists(st.floats(0.0, 60.0), min_size=2, max_size=5))
@settings(max_examples=30, deadline=None)
def test_boxes_stand_as_near_as_an_independent_minimiser_finds(wanted):
    """The sum of squared distances is what scipy's constrained minimiser reaches, to 0.1 mm2."""
    wanted = sorted(wanted)
    heights, low, high = [8.0] * len(wanted), 0.0, 80.0
    ours = sum((a - b) ** 2 for a, b in zip(placed(wanted, heights, low, high, GAP), wanted, strict=True))
    apart = [{"type": "ineq", "fun": lambda x, k=k: x[k + 1] - x[k] - 8.0 - GAP} for k in range(len(wanted) - 1)]
    start = np.linspace(5.0, 75.0, len(wanted))
    found = minimize(lambda x: float(np.sum((x - wanted) ** 2)), start, method="SLSQP", constraints=apart,
                     bounds=[(4.0, 76.0)] * len(wanted), options={"maxiter": 300, "ftol": 1e-9})
    assert found.success
    assert abs(ours - found.fun) < 0.1


def test_boxes_with_room_stand_where_they_are_wanted():
    """Boxes that do not meet are not moved."""
    assert placed([10.0, 30.0, 60.0], [8.0, 8.0, 8.0], 0.0, 80.0, 1.0) == pytest.approx([10.0, 30.0, 60.0])


def test_too_many_boxes_are_refused():
    """A column without the room for its boxes raises ValueError and says how much is missing."""
    with pytest.raises(ValueError, match=r"labels need 4\.0 mm more"):
        placed([1.0, 2.0], [10.0, 10.0], 0.0, 17.0, 1.0)


@given(st.text(max_size=60), st.sampled_from([6.0, 20.0, COLUMN - 2 * PAD]))
def test_shortened_text_fits(text, room):
    """A shortened text is never wider than its room, and whole where it was narrow enough."""
    cut = shortened(text, SIZE, room)
    assert width(cut, SIZE) <= max(room, width("…", SIZE))
    assert cut == text or width(text, SIZE) > room


@given(st.text(max_size=120))
def test_wrapped_text_takes_two_lines_that_fit(text):
    """A wrapped name takes at most two lines, each within the room."""
    lines = wrapped(text, SIZE, 40.0)
    assert 1 <= len(lines) <= 2
    assert all(width(line, SIZE) <= 40.0 for line in lines)


@given(st.floats(0.01, 40.0), st.floats(30.0, 200.0))
def test_scale_is_the_largest_round_one_that_fits(height, room):
    """The height fits at the chosen ratio and would not fit at the next larger scale."""
    ratio = ratio_for(height, room)
    assert 1e3 * height / ratio <= room * (1 + 1e-9)
    larger = [one for one in ROUND if one < ratio]
    assert not larger or 1e3 * height / larger[-1] > room * (1 - 1e-9)


@given(st.floats(-2.0, 5.0), st.sampled_from(ROUND))
def test_scale_turns_round(height, ratio):
    """A height comes back from the place on the paper it was drawn at."""
    scale = Scale(ratio, 123.4)
    assert (123.4 - scale.y(height)) * ratio / 1e3 == pytest.approx(height, abs=1e-9)
