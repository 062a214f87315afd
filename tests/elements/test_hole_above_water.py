"""A siphon-break hole above the tank's water: the line lifts to the hole; there it sucks air, or sprays."""

import itertools

import pytest
from builds import CURVE, found, item, loop, pump, way
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from hydro.checks import FAILS, HOLDS, CheckKind
from hydro.checks.assessment import assess
from hydro.description.build import Return
from hydro.elements.break_above import HoleAbove
from hydro.elements.fittings import LocalLoss
from hydro.elements.line import Line, LineLink
from hydro.elements.pump import PumpCurve, PumpLine
from hydro.report.content.asked_back import out_of_range
from hydro.steady.operating_point import CANNOT_LIFT, STEADY

BELOW, ABOVE = 1.30, 1.40
"""Shut-off heads, m: the mouth at 1.455 asks for 1.25 m over the chamber at 0.205, the hole at 1.55 for 1.345 m."""


def weak(head):
    """Return a pump with a shut-off head, m, of 2000 L/h at most."""
    return pump(curve=[(0.0, head), (0.3e-3, 0.6 * head), (0.6e-3, 0.0)])


def marked(hole_at, nozzle=None, hole=0.008):
    """Return a return with its hole marked half way along, behind it a nozzle or none."""
    made = way(end=1.455, hole_at=hole_at, hole=hole, mark=True)
    return made if nozzle is None else Return(made.name, (*made.line, item("nozzle", "return", size=nozzle)), made.end,
                                              made.points, made.hole)


@pytest.mark.parametrize("make", [lambda: way(end=1.455, hole_at=1.55), lambda: marked(1.55)], ids=["not marked", "marked"])
def test_a_pump_has_to_lift_to_the_hole(make):
    """A shut-off head of 1.30 m reaches the mouth, 1.25 m up, and not the hole, 1.345 m up: nothing flows; 1.40 m does."""
    none, some = found(loop(driven_by=weak(BELOW), returns=[make()])), found(loop(driven_by=weak(ABOVE), returns=[make()]))
    assert none.answer.kind == CANNOT_LIFT
    assert none.answer.state.pump_flow == pytest.approx(0.0, abs=1e-9)
    assert none.answer.figures["must lift"] == pytest.approx(1.345, abs=1e-3)
    assert some.answer.kind == STEADY
    assert some.answer.state.pump_flow > 1e-5
    assert found(loop(driven_by=weak(BELOW), returns=[way(end=1.455)])).answer.kind == STEADY


def test_the_flow_is_that_of_a_lift_to_the_hole():
    """A hole 65 mm over the water costs its height: H(q) = hole - chamber + what the pipes lose, solved here by bracketing."""
    state = found(loop(returns=[way(end=1.455, hole_at=1.55)])).answer.state
    link = state.network.links[state.network.pump].element
    curve = PchipInterpolator(*zip(*CURVE, strict=True))
    flow = brentq(lambda q: float(curve(q)) - (1.55 - 0.205) - link.line.loss(q)[0], 1e-5, 2e-3)
    assert state.pump_flow == pytest.approx(flow, rel=1e-5)


def test_a_marked_hole_that_sucks_pays_nothing_behind_it():
    """Behind a hole that takes air the pipe runs half empty: only what lies before it is lost, and the velocity head there."""
    state = found(loop(returns=[marked(1.65)])).answer.state
    network = state.network
    before = network.links[network.pump].element
    curve = PchipInterpolator(*zip(*CURVE, strict=True))
    flow = brentq(lambda q: float(curve(q)) - (1.65 - 0.205) - before.line.loss(q)[0], 1e-5, 2e-3)
    assert state.pump_flow == pytest.approx(flow, rel=1e-4)
    assert state.flows[-1] == pytest.approx(0.0, abs=1e-6)


def test_sucking_and_spraying_are_said():
    """In a plain pipe the hole sucks air; before a nozzle of 12 mm the pressure is above the air's, and it sprays."""
    sucks, sprays = assess(loop(returns=[marked(1.65)])), assess(loop(returns=[marked(1.50, 0.012)]))
    assert [note for note in out_of_range(sucks) if "sucks air all the time" in note]
    assert [note for note in out_of_range(sprays) if "sprays all the time" in note]
    assert sprays.results.state.flows[-1] > 1e-5
    drowned = assess(loop(returns=[marked(1.46)]))
    assert not [note for note in out_of_range(drowned) if "siphon-break hole" in note]


def test_the_checks_count_the_hole():
    """The lift margin counts to the hole: 1 - 1.345/1.40 = 4 % of the shut-off head is no 20 %; 5.0 m leave 73 %."""
    close, ample = (found(loop(driven_by=one, returns=[way(end=1.455, hole_at=1.55)])) for one in (weak(ABOVE), None))
    rows = [next(row for row in assess(results.build).checks if row.key == "lift margin") for results in (close, ample)]
    assert rows[0].value == pytest.approx(1.0 - 1.345 / ABOVE, abs=2e-3)
    assert rows[0].verdict != HOLDS
    assert rows[1].value == pytest.approx(1.0 - 1.345 / 5.0, abs=2e-3)
    stopped = assess(loop(driven_by=weak(BELOW), returns=[way(end=1.455, hole_at=1.55)]))
    assert stopped.check(CheckKind.LIFT_MARGIN).verdict == FAILS


def test_a_hole_under_water_changes_nothing():
    """A hole 20 mm under the running level leaves the flow as it is without one, to a millionth."""
    without = found(loop(returns=[way(end=1.40)])).answer.state
    drowned = found(loop(returns=[way(end=1.40, hole_at=1.46)])).answer.state
    assert without.tank_level > 1.475
    assert drowned.pump_flow == pytest.approx(without.pump_flow, rel=1e-6)


def laws():
    """Return a return and a pump with a hole 50 mm over their mouths."""
    line = Line.of([LocalLoss.of(2.0, 0.0284)])
    above, first = HoleAbove(1.05), HoleAbove(1.05, at_start=True)
    return [LineLink("return", line, 1.0, hole=above), LineLink("return", line, 1.0, hole=first),
            PumpLine("pump", PumpCurve.of([(0.0, 2.0), (1e-3, 0.0)]), line, 0.1, outlet=1.0, hole=above)]


@pytest.mark.parametrize("law", laws(), ids=["at its end", "at its start", "pump"])
def test_the_law_has_its_signs_and_no_jump(law):
    """r falls with the flow and the level beyond, rises with the level before, and does not jump at rest or past the hole."""
    for up, down in itertools.product((0.5, 1.02, 1.049, 1.051, 1.3), (0.9, 1.01, 1.0495, 1.0505, 1.2)):
        for q in (-1e-4, -1e-9, 0.0, 1e-9, 1e-4, 1e-3):
            r, by_flow, by_up, by_down = law.residual(q, up, down)
            assert by_flow < 0.0 <= by_up
            assert by_down <= 0.0
            step = max(1e-12, 1e-6 * abs(q))
            if q:
                assert (law.residual(q + step, up, down)[0] - r) / step == pytest.approx(by_flow, rel=1e-2, abs=1e-3)
        assert law.residual(-1e-14, up, down)[0] == pytest.approx(law.residual(1e-14, up, down)[0], abs=2e-4)
