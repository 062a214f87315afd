"""Level holes in a wall and flat runs of a drain against published values and closed forms.

'read' was read in a public file or page; 'recomputed' follows from the formula of the source named; 'derived' is a closed form
that the test states; 'from memory' was not looked up.
"""

import math

import pytest
from reservoirs import FOOT, pipe, solved

from hydro.elements.drain import DrainLine
from hydro.elements.flat_run import flow_at_70_percent
from hydro.elements.line import Line
from hydro.elements.part_full import critical_head
from hydro.elements.side_outlet import HOLE, STRIPS, SideOutlet
from hydro.quantities.arrays import GRAVITY

pytestmark = pytest.mark.published

BORE = 0.05
SCALE = math.sqrt(GRAVITY) * BORE**2.5
CRITICAL = [(0.2, 0.0418, 0.2699), (0.4, 0.1605, 0.5497), (0.5, 0.2461, 0.6963), (0.6, 0.3487, 0.8511),
            (0.7, 0.4700, 1.0204), (0.8, 0.6181, 1.2210), (0.9, 0.8294, 1.5204)]
RATIOS = (1.079, 1.063, 1.050, 1.029, 0.986, 0.901, 0.805)
"""Edge with Cd 0.60 over critical flow at the same heads, recomputed with another quadrature: 8 % more to 19 % less."""


def drained(head, coefficient=HOLE.middle, bore=BORE):
    """Return the flow that a drain behind a hole takes with air at a head over the invert."""
    drain = DrainLine("drain", SideOutlet.of(0.0, bore, coefficient, 0.606), Line.of([pipe(0.2, 1.0, 1.5e-6, 1e-6)]), -2.0)
    return solved({"tank": head, "sump": -3.0}, {"drain": (drain, "tank", "sump")})["drain"]


@pytest.mark.parametrize(("flow", "energy"), [
    pytest.param(flow, energy, id=f"Chow 1959 critical flow of a round section, y/D {depth:g}, q* {flow:g}: recomputed")
    for depth, flow, energy in CRITICAL])
def test_the_head_of_critical_flow(flow, energy):
    """The head that a critical flow needs is the one tabulated, to the table's figures."""
    assert critical_head(BORE, flow * SCALE)[0] / BORE == pytest.approx(energy, abs=2e-4)


@pytest.mark.parametrize(("energy", "published", "ratio"), [
    pytest.param(energy, flow, ratio, id=f"edge over critical flow, E/D {energy:g}: recomputed")
    for (_, flow, energy), ratio in zip(CRITICAL, RATIOS, strict=True)])
def test_a_hole_takes_the_lower_of_edge_and_critical_flow(energy, published, ratio):
    """The strips with Cd 0.60 stand to critical flow as stated, to 0.2 %, and the hole passes the lower of both, to 1 %."""
    edge = 0.60 * math.sqrt(2.0) * STRIPS.share(energy)
    assert edge / published == pytest.approx(ratio, rel=2e-3)
    assert drained(energy * BORE, 0.60) / SCALE == pytest.approx(min(edge, published), rel=0.01)


@pytest.mark.parametrize(("published", "energy"), [
    pytest.param(0.3, 0.680, id="V/sqrt(g D) = 0.3 in a side outlet at E/D 0.680: recomputed")])
def test_self_venting_hole(published, energy):
    """A hole of the middle coefficient reaches an air number of 0.3 at the energy head of the critical table, to 1 %."""
    flow = drained(energy * BORE)
    assert flow / (math.pi / 4.0 * BORE**2 * math.sqrt(GRAVITY * BORE)) == pytest.approx(published, rel=0.01)


@pytest.mark.parametrize("coefficient", [pytest.param(0.60, id="orifice 0.60, sharp edge: read"),
                                         pytest.param(0.62, id="orifice 0.62, sharp edge: read")])
def test_deep_under_water_a_hole_is_an_orifice(coefficient):
    """Ten bores and more under water a hole takes Cd A sqrt(2 g (H - D/2)), head to the middle, within 0.2 %."""
    for bores in (10.0, 30.0):
        orifice = coefficient * math.pi / 4.0 * BORE**2 * math.sqrt(2.0 * GRAVITY * (bores - 0.5) * BORE)
        assert drained(bores * BORE, coefficient) == pytest.approx(orifice, rel=2e-3)


@pytest.mark.parametrize("closed", [pytest.param(math.pi / 4.0, id="strips near rest, pi/4 x^2: derived"),
                                    pytest.param(8.0 / 15.0, id="strips at the crown, 8/15: derived")])
def test_closed_forms_of_the_strips(closed):
    """The strips are a parabola near rest (integral of 2 (z (H - z))^0.5 is pi/4 H^2), and 8/15 with the level at the crown."""
    if closed < 0.6:
        assert STRIPS.share(1.0) == pytest.approx(closed, rel=1e-9)
    else:
        assert STRIPS.share(1e-3) / 1e-6 == pytest.approx(closed, rel=1e-3)


@pytest.mark.parametrize("published", [
    pytest.param(0.75 * math.sqrt(2.0 / 3.0), id="critical flow near rest, 0.612 E^2: derived")])
def test_a_trickle_through_a_round_invert(published):
    """Near rest the section is a parabola: A = 4/3 D^0.5 y^1.5, T = 2 (D y)^0.5, E = 4/3 y give q* = 0.75 sqrt(2/3) x^2."""
    # A bore of 1 m, so that the rounding at rest plays no part.
    head = critical_head(1.0, published * 0.02**2 * math.sqrt(GRAVITY))[0]
    assert head == pytest.approx(0.02, rel=0.01)


CULVERT = [(0.1, 0.550), (0.2, 0.541), (0.3, 0.532), (0.4, 0.525), (0.5, 0.526), (0.6, 0.544), (0.72, 0.564), (1.0, 0.589)]


@pytest.mark.parametrize(("number", "implied"), [
    pytest.param(*row, id=f"FHWA HDS-5 square edge in a headwall, J {row[0]:g}: from memory") for row in CULVERT])
def test_a_square_edged_culvert_lies_in_the_band(number, implied):
    """The flow of a square-edged culvert entrance lies between the hole's lowest and highest; Cd implied is as stated, to 1 %."""
    flow = number * math.pi / 4.0 * SCALE
    feet = number * math.sqrt(GRAVITY / FOOT)
    deep = number > 0.7
    head = (0.0398 * feet**2 + 0.67) * BORE if deep else critical_head(BORE, flow)[0] + 0.0098 * feet**2 * BORE
    assert flow / (SCALE * math.sqrt(2.0) * STRIPS.share(head / BORE)) == pytest.approx(implied, rel=0.01)
    assert drained(head, HOLE.low) * 0.999 < flow < drained(head, HOLE.high)


FLAT = {0.096: (4.190, 5.948, 9.436), 0.115: (6.787, 9.631, 15.274), 0.146: (12.820, 18.183, 28.823)}


@pytest.mark.parametrize(("bore", "slope", "published"), [
    pytest.param(bore, slope, flow, id=f"EN 12056-3 Table C.1, bore {1000 * bore:g} mm at {100 * slope:g} %, L/s: recomputed")
    for bore, flows in FLAT.items() for slope, flow in zip((0.01, 0.02, 0.05), flows, strict=True)])
def test_flat_runs(bore, slope, published):
    """The capacity of a flat run at 70 % depth is the standard's, Colebrook on 4 Rh with 1.0 mm, to 0.2 %."""
    assert 1e3 * flow_at_70_percent(bore, slope, 1e-3, 1.31e-6) == pytest.approx(published, rel=2e-3)


READ = {0.096: (4.2, 5.9, 9.4), 0.115: (6.8, 9.6, 15.3), 0.146: (12.8, 18.2, 28.8)}


@pytest.mark.parametrize(("bore", "slope", "published"), [
    pytest.param(bore, slope, flow, id=f"EN 12056-3 Table C.1 as printed, bore {1000 * bore:g} mm, {100 * slope:g} %, L/s: read")
    for bore, flows in READ.items() for slope, flow in zip((0.01, 0.02, 0.05), flows, strict=True)])
def test_flat_runs_as_printed(bore, slope, published):
    """The capacity of a flat run rounds to the figures printed in the standard's table."""
    assert 1e3 * flow_at_70_percent(bore, slope, 1e-3, 1.31e-6) == pytest.approx(published, abs=0.051)
