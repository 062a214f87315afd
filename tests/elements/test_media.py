"""Mats and foam as the wall between two chambers."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.elements.media import GRADES, Mat

calm = settings(max_examples=60, derandomize=True, deadline=None, database=None)
KNOWN = 4000.0 / 3.6e6


def mat(clogged=0.0, linear=0.5, top=0.30):
    """Return a mat with its known figure: 10 mm at 4000 L/h, wetted to its top."""
    return Mat.of("mat", 0.0, top, 0.4, KNOWN, 0.01, linear, clogged)


@pytest.mark.parametrize("linear", [0.2, 0.5, 0.8])
def test_the_known_figure_comes_out(linear):
    """At its known drop, wetted to its top, a clean mat passes its known flow within 0.5 %, whatever its linear share."""
    assert mat(linear=linear).flow(0.299, 0.289)[0] == pytest.approx(KNOWN, rel=5e-3)


@pytest.mark.parametrize("linear", [0.2, 0.5, 0.8])
def test_darcy_and_forchheimer(linear):
    """The drop for a flow is l s + (1 - l) s^2 known drops, s the flow as a share of the known one (wetted height apart)."""
    for s in (0.3, 2.0):
        drop = 0.01 * (linear * s + (1.0 - linear) * s * s)
        assert mat(linear=linear).flow(0.28, 0.28 - drop)[0] == pytest.approx(s * KNOWN * 0.28 / 0.30, rel=1e-3)


def test_a_clogged_mat_passes_what_is_left():
    """Clogged to a share, the same drop drives the rest; fouled further, the share of that."""
    clean, half = mat().flow(0.28, 0.27)[0], mat(clogged=0.5).flow(0.28, 0.27)[0]
    assert half == pytest.approx(0.5 * clean, rel=1e-3)
    assert mat(clogged=0.5).fouled(0.4).flow(0.28, 0.27)[0] == pytest.approx(0.2 * clean, rel=1e-3)


def test_over_its_top_it_is_a_weir():
    """A mat almost shut passes over its top what a plate of its width passes."""
    flow = mat(clogged=0.98).flow(0.34, 0.10)[0] - mat(clogged=0.98).flow(0.2995, 0.10)[0]
    assert flow == pytest.approx(0.62 * 0.4 * (2.0 / 3.0) * (2.0 * 9.80665) ** 0.5 * 0.04**1.5, rel=0.03)


@calm
@given(st.floats(0.01, 0.4), st.floats(0.01, 0.4), st.floats(0.0, 0.05))
def test_more_head_never_carries_less(up, down, more):
    """A higher level before a mat never lowers its flow, a higher one behind never raises it."""
    assert mat().flow(up + more, down)[0] >= mat().flow(up, down)[0]
    assert mat().flow(up, down + more)[0] <= mat().flow(up, down)[0]


def test_finer_mats_pass_less():
    """The grades from coarse to fine pass ever less (common practice, no source)."""
    assert GRADES["coarse"] == 1.0 > GRADES["medium"] > GRADES["fine"] > 0.0
