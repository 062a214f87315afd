"""Straight pipe and hose."""

import numpy as np
import pytest
from fluids.friction import Colebrook
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.elements.pipe import Pipe
from hydro.elements.registry import load_all
from hydro.quantities.arrays import GRAVITY

calm = settings(max_examples=80, derandomize=True, deadline=None, database=None)
NU = 1e-6


def made(relative=0.0, bore=0.04, length=2.0, viscosity=NU, factor=1.0):
    """Return a pipe of a relative roughness."""
    return Pipe.of(bore, length, relative * bore, viscosity, factor)


@calm
@given(st.floats(np.log10(4e3), 8.0), st.one_of(st.just(0.0), st.floats(-6.0, np.log10(0.05)).map(lambda e: 10.0**e)))
def test_friction_is_colebrooks(exponent, relative):
    """From Re 4000 to 1e8 and k/D up to 0.05 the factor is that of a library's exact Colebrook within 1e-6."""
    reynolds = 10.0**exponent
    x, _ = made(relative).friction(reynolds)
    assert 1.0 / (x * x) == pytest.approx(Colebrook(reynolds, relative), rel=1e-6)


def test_friction_is_colebrooks_on_a_grid():
    """The same on a grid that includes the corners of the range."""
    for relative in (0.0, 1e-6, 1e-4, 1e-3, 1e-2, 0.05):
        for reynolds in np.geomspace(4e3, 1e8, 25).tolist():
            x, _ = made(relative).friction(reynolds)
            assert 1.0 / (x * x) == pytest.approx(Colebrook(reynolds, relative), rel=1e-6)


def test_laminar_flow_is_hagen_and_poiseuilles():
    """Below Re 2000 the head is 128 nu L q/(pi g D^4), derived from 64/Re, whatever the wall."""
    pipe = made(0.01, bore=0.01, length=3.0)
    flow = 1e-5
    assert pipe.loss(flow)[0] == pytest.approx(128.0 * NU * 3.0 * flow / (np.pi * GRAVITY * 0.01**4), rel=1e-12)


@calm
@given(st.floats(1e-9, 2e-2), st.floats(1.0001, 1.5), st.floats(0.0, 0.05))
def test_more_flow_loses_more(flow, by, relative):
    """The head lost rises with the flow through laminar, blended and turbulent flow, and turns its sign with it."""
    pipe = made(relative)
    assert pipe.loss(by * flow)[0] > pipe.loss(flow)[0] > 0.0
    assert pipe.loss(-flow)[0] == -pipe.loss(flow)[0]


@pytest.mark.parametrize("reynolds", [2000.0, 4000.0])
def test_no_jump_where_the_laws_meet(reynolds):
    """Where the blend begins and ends neither the head nor its slope jumps."""
    pipe = made(1e-3)
    flow = reynolds / pipe.reynolds
    below, above = pipe.loss(flow * (1.0 - 1e-9)), pipe.loss(flow * (1.0 + 1e-9))
    assert above[0] == pytest.approx(below[0], rel=1e-7)
    assert above[1] == pytest.approx(below[1], rel=1e-5)


def test_runs_of_one_bore_may_be_joined():
    """Two runs of one wall lose together what one run of both lengths loses, and hold as much water."""
    short, long = made(1e-3, length=0.7), made(1e-3, length=1.9)
    joined = short.joined(long)
    assert joined.loss(1.1e-3) == pytest.approx(made(1e-3, length=2.6).loss(1.1e-3), rel=1e-13)
    assert joined.volume == pytest.approx(short.volume + long.volume, rel=1e-13)
    assert short.same_wall(long)
    assert not short.same_wall(made(1e-4))


def test_ribs_multiply_the_friction():
    """The factor of a ribbed hose multiplies the head of a smooth one."""
    assert made(factor=2.5).loss(1.4e-3)[0] == pytest.approx(2.5 * made().loss(1.4e-3)[0], rel=1e-13)
    assert {"pipe", "hose", "ribbed hose", "corrugated hose"} <= set(load_all())


def test_a_rougher_or_narrower_pipe_loses_more():
    """Roughness and length raise the head lost, bore lowers it by about the fifth power."""
    assert made(1e-3).loss(1e-3)[0] > made(1e-5).loss(1e-3)[0]
    ratio = made(0.0, bore=0.03).loss(1e-3)[0] / made(0.0, bore=0.06).loss(1e-3)[0]
    assert 2.0**4.7 < ratio < 2.0**5
