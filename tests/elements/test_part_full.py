"""The round outlet that runs partly full."""

import math

import numpy as np
import pytest

from hydro.elements.part_full import HIGHEST, REST, critical_flow, critical_head
from hydro.quantities.arrays import GRAVITY

BORE = 0.05
SCALE = math.sqrt(GRAVITY * BORE) * BORE**2


def most(energy):
    """Return the largest flow over all depths at an energy head, in bores: A sqrt(2 g (E - y)), by trying depths."""
    depth = np.linspace(1e-6, 1.0 - 1e-9, 200_001) * min(energy, 1.0)
    a = np.arccos(1.0 - 2.0 * depth)
    return float(np.max((2.0 * a - np.sin(2.0 * a)) / 8.0 * np.sqrt(2.0 * np.maximum(energy - depth, 0.0))))


@pytest.mark.parametrize("energy", [0.02, 0.05, 0.11, 0.3, 0.62, 0.97, 1.3, 1.5])
def test_the_flow_is_the_most_that_the_head_can_drive(energy):
    """At any energy head in the range the flow is the largest over all depths, within 1e-4 (0.2 % under a tenth of a bore)."""
    flow = critical_flow(BORE, energy * BORE) / SCALE
    assert flow == pytest.approx(most(energy), rel=2e-3 if energy < 0.1 else 1e-4)


def test_it_rises_without_a_jump():
    """From dry to above the crown the flow is 0, then rises, and neither jumps nor stops rising."""
    heads = np.linspace(-0.2, 2.5, 5401) * BORE
    flows = critical_flow(BORE, heads)
    assert (flows[heads <= 0.0] == 0.0).all()
    steps = np.diff(flows)
    assert (steps[heads[1:] > 1e-9] > 0.0).all()
    assert steps.max() < 1.2e-3 * SCALE
    assert pytest.approx(1.5204, abs=1e-4) == HIGHEST


def test_floats_and_arrays_agree():
    """A float comes back as a float, and arrays of heads or bores give what floats give to 1e-12."""
    heads = np.array([-0.01, 0.0, 0.01, 0.04, 0.07, 0.2])
    alone = [critical_flow(BORE, head) for head in heads.tolist()]
    assert {type(flow) for flow in alone} == {float}
    assert critical_flow(BORE, heads) == pytest.approx(alone, rel=1e-12)
    bores = np.array([0.03, 0.05])
    assert critical_flow(bores, 0.02) == pytest.approx([critical_flow(bore, 0.02) for bore in bores.tolist()], rel=1e-12)


@pytest.mark.parametrize("depth", [0.03, 0.07, 0.33, 0.5, 0.77, 0.9, 0.96])
def test_the_head_of_a_flow_is_the_closed_form(depth):
    """The head of critical flow at a depth is E = y + A/(2T), its slope 1/(dq/dE), within 1e-4 and 1 % but at rest."""
    a = math.acos(1.0 - 2.0 * depth)
    section, width = (2.0 * a - math.sin(2.0 * a)) / 8.0, math.sin(a)
    flow = SCALE * section * math.sqrt(section / width)
    head, slope = critical_head(BORE, flow)
    energy = depth + section / (2.0 * width)
    # The rounding at rest takes 0.25 % of the head at 36 L/h.
    assert head / BORE == pytest.approx(energy, rel=1e-4 + 0.3 * (REST / flow) ** 2)
    assert slope == pytest.approx(BORE / (SCALE * math.sqrt(section * width)), rel=0.01 + 0.8 * (REST / flow) ** 2)


def test_head_and_flow_undo_each_other():
    """The flow of the head that a flow needs is that flow within 2e-4, also where the table has ended."""
    for flow in (2e-5, 1e-4, 1e-3, 2.5e-3, 2e-2):
        assert critical_flow(BORE, critical_head(BORE, flow)[0]) == pytest.approx(flow, rel=1.5e-3 if flow < 5e-5 else 2e-4)


def test_beyond_the_table_it_nears_a_bore_without_losses():
    """Far over the crown the flow is within 1 % of pi/4 D^2 sqrt(2 g (E - D))."""
    for energy in (2.4, 4.0, 12.0):
        lossless = math.pi / 4.0 * BORE**2 * math.sqrt(2.0 * GRAVITY * (energy - 1.0) * BORE)
        assert critical_flow(BORE, energy * BORE) == pytest.approx(lossless, rel=0.01)
