"""Tees of Crane TP-410 (2009, with errata): worked examples and the table of an equal tee, each solved as a network.

Two flows are given; the tee renews its coefficients from what the network carries. K is read off the heads: what a leg loses
between its end and the junction, less its own line, over the velocity head of the common leg.
'read' was read in a general library's worked notebook or documentation, or computed by it (fluids 1.3.1); 'read, metric' is the
printed answer of the metric edition. Tolerances: half a unit of the last figure given, 1 % for heads.
"""

import pytest
from reservoirs import EVERYWHERE_DEEP, FOOT, GPM, INCH, L_MIN, area, k, way

from hydro.elements.line import Line
from hydro.elements.pump import PumpCurve, PumpLine
from hydro.elements.tee import Tee, converging, diverging, renewed
from hydro.network.model import JUNCTION, OUTSIDE, Link, Network, Water
from hydro.quantities.arrays import GRAVITY
from hydro.solve import solve

pytestmark = pytest.mark.published


def given(flow):
    """Return a link that carries a given flow."""
    return PumpLine("feed", PumpCurve.of([(0.0, 1.0), (1.0, 0.0)]), Line.of([]), EVERYWHERE_DEEP, driven=1.0, target=flow)


def found(run, branch, bore, meeting, angle=90.0):
    """Return heads lost in the tee by run and branch (m), the common leg's speed (m/s) and both K, of flows that are given.

    Each leg has a loss of its own, so that a gain has something to be given back to.
    """
    leg = way(k(3.0, bore))
    ends = [("tee", "out"), ("run", "tee"), ("branch", "tee"), ("out", "run"), ("out", "branch")]
    names = ["out", "tee", "run", "branch"]
    elements = [leg, leg, leg, given(run), given(branch)]
    links = tuple(Link(f"{up} {down}", element, *(names.index(end) for end in ((up, down) if meeting else (down, up))))
                  for element, (up, down) in zip(elements, ends, strict=True))
    network = Network((Water("out", OUTSIDE, level=0.0), *(Water(name, JUNCTION) for name in names[1:])), links)

    def solution(network):
        answer = solve(network.system(None), [0.0] * 4, [0.01] * 5, most=300)
        assert answer.solved
        return answer

    toward = (-1.0, 1.0, 1.0) if meeting else (1.0, -1.0, -1.0)
    tees = [Tee("tee", 0, 1, 2, bore, bore, angle, toward=toward)]
    for _ in range(2):  # the flows being given, one renewal leaves nothing for the next
        answer = solution(network)
        network = network.changed(renewed(tees, answer.flows, elements))
    h = answer.heads
    speed = (run + branch) / area(bore)
    losses = {}
    for place, name, flow in ((2, "run", run), (3, "branch", branch)):
        losses[name] = abs(h[place] - h[1]) * (1.0 if (h[place] > h[1]) == meeting else -1.0) - leg.line.loss(flow)[0]
    return losses | {f"K {name}": loss * 2.0 * GRAVITY / speed**2 for name, loss in losses.items()} | {"speed": speed}


@pytest.mark.parametrize(("what", "published", "off"), [
    pytest.param("K branch", -0.042, 5e-4, id="Crane TP-410 Ex. 7-35 tee 300 + 100 gpm, K of the branch: read"),
    pytest.param("K run", 0.325, 5e-4, id="Crane TP-410 Ex. 7-35 tee 300 + 100 gpm, K of the run: read"),
    pytest.param("speed", 10.08, 0.03, id="Crane TP-410 Ex. 7-35 tee 300 + 100 gpm, common speed ft/s: read"),
    pytest.param("branch", -0.067, 1e-3, id="Crane TP-410 Ex. 7-35 tee 300 + 100 gpm, head of the branch ft: read"),
    pytest.param("run", 0.513, 5e-3, id="Crane TP-410 Ex. 7-35 tee 300 + 100 gpm, head of the run ft: read")])
def test_crane_7_35(what, published, off):
    """100 gpm meet 300 gpm in a 4 in tee: the branch gains head, the run loses what is printed."""
    value = found(300 * GPM, 100 * GPM, 4.026 * INCH, meeting=True)[what]
    assert value / (1.0 if what.startswith("K") else FOOT) == pytest.approx(published, abs=off)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("K branch", -0.04026, id="Crane TP-410M Ex. 7-35 tee 1135 + 380 L/min, K of the branch: read, metric")])
def test_crane_7_35_metric(what, published):
    """The same tee in the metric edition gains as printed, within 0.0005."""
    assert found(1135 * L_MIN, 380 * L_MIN, 0.1023, meeting=True)[what] == pytest.approx(published, abs=5e-4)


@pytest.mark.parametrize(("what", "published", "off"), [
    pytest.param("K branch", 0.464, 3e-3, id="Crane TP-410 Ex. 7-36 wye 400 + 250 gpm, K of the branch: read"),
    pytest.param("K run", -0.068, 5e-4, id="Crane TP-410 Ex. 7-36 wye 400 + 250 gpm, K of the run: read"),
    pytest.param("branch", 0.462, 5e-3, id="Crane TP-410 Ex. 7-36 wye 400 + 250 gpm, head of the branch ft: read"),
    pytest.param("run", -0.068, 1e-3, id="Crane TP-410 Ex. 7-36 wye 400 + 250 gpm, head of the run ft: read")])
def test_crane_7_36(what, published, off):
    """650 gpm part in a 6 in wye of 45 degrees: the branch loses, the run gains, as printed."""
    value = found(400 * GPM, 250 * GPM, 5.761 * INCH, meeting=False, angle=45.0)[what]
    assert value / (1.0 if what.startswith("K") else FOOT) == pytest.approx(published, abs=off)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("K branch", 0.4640, id="Crane TP-410M Ex. 7-36 wye 1515 + 950 L/min, K of the branch: read, metric"),
    pytest.param("K run", -0.06809, id="Crane TP-410M Ex. 7-36 wye 1515 + 950 L/min, K of the run: read, metric")])
def test_crane_7_36_metric(what, published):
    """The same wye in the metric edition has the printed K, within 0.0002."""
    assert found(1515 * L_MIN, 950 * L_MIN, 0.146, meeting=False, angle=45.0)[what] == pytest.approx(published, abs=2e-4)


TABLE = [("meeting", "branch", (-0.0422, 0.4125, 0.7906, 1.1000)), ("meeting", "run", (0.325, 0.525, 0.600, 0.550)),
         ("parting", "branch", (1.0379, 1.1556, 1.3660, 1.6900)), ("parting", "run", (-0.0625, 0.0, 0.0844, 0.3000))]
ROWS = [(direction, leg, share, value) for direction, leg, values in TABLE
        for share, value in zip((0.25, 0.5, 0.75, 1.0), values, strict=True)]


@pytest.mark.parametrize(("direction", "leg", "share", "published"), [
    pytest.param(*row, id=f"Crane 2009 equal tee, {row[0]}, {row[1]}, {row[2]:.0%} through the branch: read")
    for row in ROWS if row[1:3] != ("run", 1.0)])
def test_an_equal_tee(direction, leg, share, published):
    """The K found in a network are the table's, to half a unit of its last figure, for 1.5 L/s in a bore of 28.4 mm."""
    flow = 1.5e-3
    values = found(flow * (1.0 - share), flow * share, 0.0284, meeting=direction == "meeting")
    assert values[f"K {leg}"] == pytest.approx(published, abs=6e-5)


@pytest.mark.parametrize(("law", "published"), [
    pytest.param(converging, 0.550, id="Crane 2009 equal tee, meeting, run at rest: read"),
    pytest.param(diverging, 0.3000, id="Crane 2009 equal tee, parting, run at rest: read")])
def test_an_equal_tee_with_its_run_at_rest(law, published):
    """With the run at rest K is the table's by the formula; a network has no flow there to show it."""
    assert law(1.0, 1.0, 90.0)[0] == pytest.approx(published, abs=6e-5)
