"""Pumps against the systems they push through, affinity, and looped networks.

'read' was read in a public file or page; 'from memory' was not looked up: those answers were recomputed from the inputs;
'recomputed' and 'derived' follow from the equations of the problem alone. Tolerance 1 % unless said.
"""

import pytest
from reservoirs import CFS, EVERYWHERE_DEEP, FOOT, GPM, INCH, L_MIN, area, k, pipe, pump, resistance, solved, way

from hydro.elements.line import Line
from hydro.elements.pump import PumpCurve, PumpLine, from_box
from hydro.quantities.arrays import GRAVITY

pytestmark = pytest.mark.published

MUNSON = [(0, 88), (400, 86), (800, 81), (1400, 70), (1800, 60), (2200, 46), (2300, 40)]
KGPM, LITRE = 1000.0 * GPM, 1e-3


def operating_point(curve, static, *parts, pumps=1):
    """Return flow and head of pumps side by side that lift by `static` through parts."""
    links = {f"pump {n}": (pump(curve), "sump", "header") for n in range(pumps)} | {"line": (way(*parts), "header", "top")}
    found = solved({"sump": 0.0, "header": None, "top": static}, links, start={"header": 0.6 * curve.heads[0]},
                   flow=0.5 * curve.flows[-1])
    return found["line"], found["header"]


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 1600.0, id="Munson, Young and Okiishi Ex. 12.4 flow, gpm: from memory"),
    pytest.param("head", 66.5, id="Munson, Young and Okiishi Ex. 12.4 head, ft, to 2 %: from memory"),
    pytest.param("monotone", 1591.0, id="Munson, Young and Okiishi Ex. 12.4 flow by a monotone cubic, gpm: recomputed")])
def test_munson_12_4(what, published):
    """The seven points read off the example's curve meet its system at the printed flow and head."""
    bore = 6.0 * INCH
    curve = PumpCurve.of([(gpm * GPM, feet * FOOT) for gpm, feet in MUNSON])
    losses = [k(0.02 * 200 * FOOT / bore, bore), k(0.5 + 1.5 + 1.0, bore)]
    flow, head = operating_point(curve, 10.0 * FOOT, *losses)
    value, tolerance = {"flow": (flow / GPM, 0.01), "monotone": (flow / GPM, 0.001), "head": (head / FOOT, 0.02)}[what]
    assert value == pytest.approx(published, rel=tolerance)


@pytest.mark.parametrize("published", [
    pytest.param(4.43, id="Munson, Young and Okiishi Ex. 12.4 system coefficient, ft s2/ft6: read")])
def test_munson_12_4_system(published):
    """The pipe and fittings of that example resist as printed: 4.43 ft at 1 ft3/s."""
    bore = 6.0 * INCH
    head = way(k(0.02 * 200 * FOOT / bore, bore), k(0.5 + 1.5 + 1.0, bore)).line.loss(CFS)[0]
    assert head / FOOT == pytest.approx(published, rel=0.002)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 15.2, id="White Ex. 11.6 flow, 1000 gpm: from memory"),
    pytest.param("head", 430.0, id="White Ex. 11.6 head, ft: from memory")])
def test_white_11_6(what, published):
    """H = 490 - 0.26 Q^2 lifting 120 ft through 1500 ft of 16 in pipe runs at the printed point."""
    curve = from_box((490.0 / 0.26) ** 0.5 * KGPM, 490.0 * FOOT, 2.0)
    bore = 16.0 * INCH
    flow, head = operating_point(curve, 120.0 * FOOT, k(0.030 * 1500 * FOOT / bore, bore))
    assert {"flow": flow / KGPM, "head": head / FOOT}[what] == pytest.approx(published, rel=0.01)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 7.428, id="Cengel and Cimbala pump problem, flow L/min: recomputed"),
    pytest.param("head", 4.960, id="Cengel and Cimbala pump problem, head m: recomputed")])
def test_cengel_pump_problem(what, published):
    """H = 7.46 - 0.0453 Q^2 against 3.52 + 0.0261 Q^2 meet at the computed point within 0.2 %."""
    curve = from_box((7.46 / 0.0453) ** 0.5 * L_MIN, 7.46, 2.0)
    flow, head = operating_point(curve, 3.52, resistance(0.0261 / L_MIN**2))
    assert {"flow": flow / L_MIN, "head": head}[what] == pytest.approx(published, rel=2e-3)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 8.17998, id="exercise page, linear curve 60 - 0.8 Q on 20 + 0.5 Q^2, flow: read"),
    pytest.param("head", 53.456, id="exercise page, linear curve 60 - 0.8 Q on 20 + 0.5 Q^2, head: recomputed")])
def test_linear_curve(what, published):
    """A straight curve through two points meets a square system at the closed form, taken in L/s and m."""
    flow, head = operating_point(PumpCurve.of([(0.0, 60.0), (20 * LITRE, 44.0)]), 20.0, resistance(0.5 / LITRE**2))
    assert {"flow": flow / LITRE, "head": head}[what] == pytest.approx(published, rel=1e-5)


EXERCISE = from_box((365.0 / 20.0) ** 0.5 * CFS, 365.0 * FOOT, 2.0)
EXERCISE_LINE = (k(0.022 * 90 * FOOT / (10 * INCH), 10 * INCH), k(0.028 * 4900 * FOOT / (8 * INCH), 8 * INCH))


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 1.272, id="exercise page, one pump 365 - 20 Q^2, flow ft3/s: recomputed"),
    pytest.param("head", 332.6, id="exercise page, one pump 365 - 20 Q^2, head ft: recomputed")])
def test_one_pump(what, published):
    """One pump of the exercise runs at the computed point within 0.2 %."""
    flow, head = operating_point(EXERCISE, 290.0 * FOOT, *EXERCISE_LINE)
    assert {"flow": flow / CFS, "head": head / FOOT}[what] == pytest.approx(published, rel=2e-3)


@pytest.mark.parametrize("published", [pytest.param(1.547, id="exercise page, two pumps side by side, ft3/s: recomputed")])
def test_two_pumps_side_by_side(published):
    """Two such pumps side by side, each a link of its own, deliver the computed flow within 0.2 %."""
    assert operating_point(EXERCISE, 290.0 * FOOT, *EXERCISE_LINE, pumps=2)[0] / CFS == pytest.approx(published, rel=2e-3)


@pytest.mark.parametrize("published", [pytest.param(2.575, id="exercise page, two pumps in a row, ft3/s: recomputed")])
def test_two_pumps_in_a_row(published):
    """Two such pumps in a row deliver the computed flow within 0.2 %."""
    links = {"first": (pump(EXERCISE), "sump", "between"), "second": (pump(EXERCISE), "between", "header"),
             "line": (way(*EXERCISE_LINE), "header", "top")}
    found = solved({"sump": 0.0, "between": None, "header": None, "top": 290.0 * FOOT}, links,
                   start={"between": 70.0, "header": 140.0}, flow=2.0 * CFS)
    assert found["line"] / CFS == pytest.approx(published, rel=2e-3)


def cengel_8_7():
    """Return flows and head of Ex. 8-7: a pump of 8 kW at 70 % lifts water 8 m through two pipes side by side."""
    density, viscosity = 998.0, 1.002e-3 / 998.0
    power = 0.70 * 8e3 / (density * GRAVITY)  # head times flow, m4/s
    curve = PumpCurve.of([(1e-3 * n, power / (1e-3 * n)) for n in range(20, 45)])
    links = {"pump": (pump(curve), "lower", "split"),
             "small": (way(pipe(0.04, 36.0, 0.045e-3, viscosity)), "split", "upper"),
             "large": (way(pipe(0.08, 36.0, 0.045e-3, viscosity)), "split", "upper")}
    found = solved({"lower": 5.0, "split": None, "upper": 13.0}, links, start={"split": 25.0}, flow=0.015)
    return found | {"lift": found["split"] - 5.0, "loss": found["split"] - 13.0, "speed small": found["small"] / area(0.04),
                    "speed large": found["large"] / area(0.08)}


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("pump", 0.0300, id="Cengel and Cimbala Ex. 8-7 pump with two pipes, flow m3/s: from memory"),
    pytest.param("small", 0.00415, id="Cengel and Cimbala Ex. 8-7 flow in the 40 mm pipe m3/s: from memory"),
    pytest.param("large", 0.0259, id="Cengel and Cimbala Ex. 8-7 flow in the 80 mm pipe m3/s: from memory"),
    pytest.param("lift", 19.1, id="Cengel and Cimbala Ex. 8-7 pump head m: from memory"),
    pytest.param("loss", 11.1, id="Cengel and Cimbala Ex. 8-7 loss m: from memory"),
    pytest.param("speed small", 3.30, id="Cengel and Cimbala Ex. 8-7 speed in the 40 mm pipe m/s: from memory"),
    pytest.param("speed large", 5.15, id="Cengel and Cimbala Ex. 8-7 speed in the 80 mm pipe m/s: from memory")])
def test_cengel_8_7(what, published):
    """A pump of given power shares its flow between two pipes as printed."""
    assert cengel_8_7()[what] == pytest.approx(published, rel=0.01)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 194.3, id="Crane TP-410 Ex. 7-33 affinity 3500 to 1700 rpm, flow gpm: read"),
    pytest.param("head", 29.7, id="Crane TP-410 Ex. 7-33 affinity 3500 to 1700 rpm, head ft: read")])
@pytest.mark.parametrize("way_to_slow", ["at_speed", "speed"])
def test_affinity(what, published, way_to_slow):
    """A pump of 400 gpm at 126 ft, slowed from 3500 to 1700 rpm, runs at the printed point of the scaled system."""
    speed = 1700.0 / 3500.0
    curve = PumpCurve.of([(0.0, 150.0 * FOOT), (400.0 * GPM, 126.0 * FOOT), (600.0 * GPM, 90.0 * FOOT)])
    slowed = (curve.at_speed(speed), 1.0) if way_to_slow == "at_speed" else (curve, speed)
    links = {"pump": (pump(slowed[0], speed=slowed[1]), "sump", "header"),
             "line": (way(resistance(126.0 * FOOT / (400.0 * GPM) ** 2)), "header", "top")}
    found = solved({"sump": 0.0, "header": None, "top": 0.0}, links, start={"header": 9.0}, flow=0.01)
    assert {"flow": found["line"] / GPM, "head": found["header"] / FOOT}[what] == pytest.approx(published, rel=2e-3)


@pytest.mark.parametrize(("branch", "exact"), [
    pytest.param("one", 2.0, id="exact: branches of K 1 and 4 share 3 as 2 and 1, first: derived"),
    pytest.param("four", 1.0, id="exact: branches of K 1 and 4 share 3 as 2 and 1, second: derived")])
def test_two_branches(branch, exact):
    """Two branches share a flow in the inverse ratio of the roots of their resistances, in L/s."""
    links = {"feed": (given(3.0), "out", "a"), "one": (square(1.0), "a", "out"), "four": (square(4.0), "a", "out")}
    assert solved({"a": None, "out": 0.0}, links)[branch] / LITRE == pytest.approx(exact, rel=1e-5)


def given(litres):
    """Return a link that carries a given flow in L/s."""
    return PumpLine("feed", PumpCurve.of([(0.0, 1.0), (1.0, 0.0)]), Line.of([]), EVERYWHERE_DEEP, driven=1.0,
                    target=litres * LITRE)


def square(coefficient):
    """Return a link that loses so many metres at 1 L/s."""
    return way(resistance(coefficient / LITRE**2))


BRIDGES = [("balanced", (1, 4, 2, 1, 4), (2.0, 1.0, 0.0, 2.0, 1.0)),
           ("unbalanced", (1, 4, 2, 4, 1), (1.8973665961, 1.1026334039, 0.7947331922, 1.1026334039, 1.8973665961))]
ENDS = (("AB", "A", "B"), ("AC", "A", "C"), ("BC", "B", "C"), ("BD", "B", "D"), ("CD", "C", "D"))


@pytest.mark.parametrize(("coefficients", "side", "exact"), [
    pytest.param(ks, place, flows[place], id=f"exact: {name} bridge of five pipes, {ENDS[place][0]}: derived")
    for name, ks, flows in BRIDGES for place in range(5)])
def test_bridge(coefficients, side, exact):
    """3 L/s through a bridge of five resistances split as its closed form says, in the balanced one with the bridge at rest."""
    links = {name: (square(coefficient), up, down) for coefficient, (name, up, down) in zip(coefficients, ENDS, strict=True)}
    found = solved({"A": None, "B": None, "C": None, "D": 0.0}, links | {"feed": (given(3.0), "D", "A")})
    assert found[ENDS[side][0]] / LITRE == pytest.approx(exact, rel=1e-5, abs=1e-5)
    around = found["AB"] ** 2 * coefficients[0] + found["BC"] * abs(found["BC"]) * coefficients[2]
    assert around == pytest.approx(found["AC"] ** 2 * coefficients[1], rel=1e-4)
