"""Published operating points, power and affinity through the code of `sumpwright pumps`: a file of curves is read, the pump
stands in a network, and `hydro.search.pumps` says where it works and what it draws.

'read' was read in a public file or page; 'from memory' was not looked up: those answers were recomputed from the inputs;
'recomputed' and 'derived' follow from the equations of the problem alone. Tolerance 1 % unless said.
"""

import pytest
from reservoirs import CFS, EVERYWHERE_DEEP, FOOT, GALLON, GPM, INCH, L_MIN, k, resistance, way

from hydro.description.build import Height, Pump
from hydro.elements.line import Line
from hydro.elements.pump import PumpLine
from hydro.elements.registry import PartContext
from hydro.network.model import JUNCTION, OUTSIDE, Link, Network, Water
from hydro.network.pressure_side import curve_of
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain
from hydro.quantities.unit_table import POUND
from hydro.search.pumps.candidate import Candidate
from hydro.search.pumps.point import head_asked, operate, system_curve
from hydro.search.pumps.power import cost, efficiency, energy, hydraulic_power, power_draw
from hydro.search.pumps.tables import read_tables

pytestmark = pytest.mark.published

KGPM, LITRE, HORSEPOWER = 1000.0 * GPM, 1e-3, 550.0 * POUND * 9.80665 * FOOT
PARABOLAS = f"""\
pump, most flow m3/s, most height ft
White, {(490.0 / 0.26) ** 0.5 * KGPM!r}, 490
Cengel and Cimbala, {(7.46 / 0.0453) ** 0.5 * L_MIN!r}, {7.46 / FOOT!r}
exercise, {(365.0 / 20.0) ** 0.5 * CFS!r}, 365
"""
"""H = H0 - c Q^2 is the label of a pump of most flow sqrt(H0/c), with the exponent 2 that labels are given in the middle."""
MUNSON = """\
# read off the figure of Munson, Young and Okiishi Ex. 12.4, in a public file
flow US gpm, height ft
0, 88
400, 86
800, 81
1400, 70
1800, 60
2200, 46
2300, 40
"""
STRAIGHT = "pump; flow L/s; height m\nstraight; 0; 60\nstraight; 20; 44\n"


@pytest.fixture
def pumps(tmp_path):
    """Write the tables, read them as the command does, and return the candidates by name."""
    for name, text in (("parabolas", PARABOLAS), ("Munson", MUNSON), ("straight", STRAIGHT)):
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    return {one.name: one for one in read_tables([str(tmp_path / f"{name}.csv") for name in ("parabolas", "Munson", "straight")])}


def placed(candidate):
    """Return the curve of a candidate in the place of some pump, as a build's network gets it."""
    there = Pump("pump", "sump", Height(Uncertain.exact(0.0), "ground"))
    return curve_of(candidate.instead_of(there), PartContext({}, {}, lambda height: 0.0, 1e-6))


def push(candidate, *parts, speed=1.0):
    """Return a candidate as a link that pushes through parts."""
    return PumpLine(candidate.name, placed(candidate), Line.of(parts), EVERYWHERE_DEEP, speed=speed)


def lift(by, links, junctions=()):
    """Return the network of pumps and lines, by name (element, from, to), that lift water from a sump at 0."""
    waters = [Water("sump", OUTSIDE, level=0.0), Water("top", OUTSIDE, level=by), *(Water(name, JUNCTION) for name in junctions)]
    names = [water.name for water in waters]
    made = tuple(Link(name, element, names.index(up), names.index(down)) for name, (element, up, down) in links.items())
    return Network(tuple(waters), made, pumps=tuple(n for n, link in enumerate(made) if isinstance(link.element, PumpLine)))


def point(candidate, by, *parts):
    """Return where one pump works that lifts through parts, and the state."""
    answer, found = operate(lift(by, {"pump": (push(candidate, *parts), "sump", "top")}), None, 0)
    assert answer.kind == "steady"
    return found, answer.state


def munson_line():
    """Return the pipe and fittings of Ex. 12.4."""
    bore = 6.0 * INCH
    return k(0.02 * 200 * FOOT / bore, bore), k(0.5 + 1.5 + 1.0, bore)


@pytest.mark.parametrize(("what", "published", "within"), [
    pytest.param("flow", 1600.0, 0.01, id="Munson, Young and Okiishi Ex. 12.4 flow, gpm: from memory"),
    pytest.param("head", 66.5, 0.02, id="Munson, Young and Okiishi Ex. 12.4 head, ft, to 2 % as read off a figure: from memory"),
    pytest.param("monotone", 1591.0, 1e-3, id="Munson, Young and Okiishi Ex. 12.4 by a monotone cubic, gpm: recomputed")])
def test_munson_12_4(pumps, what, published, within):
    """The seven points out of a file meet the example's system at the printed flow and head."""
    found, _ = point(pumps["Munson"], 10.0 * FOOT, *munson_line())
    assert {"flow": found.flow / GPM, "monotone": found.flow / GPM, "head": found.head / FOOT}[what] == \
        pytest.approx(published, rel=within)


@pytest.mark.parametrize("published", [
    pytest.param(66.5, id="Munson, Young and Okiishi Ex. 12.4 head asked at 1600 gpm, ft: from memory")])
def test_munson_system_curve(pumps, published):
    """The head that the example's pipe asks for at the printed flow is the printed head, on the curve that is plotted."""
    _, state = point(pumps["Munson"], 10.0 * FOOT, *munson_line())
    assert head_asked(state, 1600.0 * GPM, 0) / FOOT == pytest.approx(published, rel=0.01)
    drawn_there = dict(system_curve(state, 0, [0.0, 1600.0 * GPM]))
    assert drawn_there[1600.0 * GPM] / FOOT == pytest.approx(published, rel=0.01)
    assert drawn_there[0.0] / FOOT == pytest.approx(10.0, rel=1e-3)


@pytest.mark.parametrize("published", [
    pytest.param(32.0, id="Munson, Young and Okiishi Ex. 12.4 power at 84 %, hp: from memory")])
def test_munson_power(published):
    """1600 gpm at 66.5 ft take the printed power at 84 % efficiency."""
    power = hydraulic_power(1600.0 * GPM, 66.5 * FOOT, 62.4 * POUND / FOOT**3)
    assert power / 0.84 / HORSEPOWER == pytest.approx(published, rel=0.01)
    assert efficiency(power, published * HORSEPOWER) == pytest.approx(0.84, rel=0.01)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 15.2, id="White Ex. 11.6 flow, 1000 gpm: from memory"),
    pytest.param("head", 430.0, id="White Ex. 11.6 head, ft: from memory")])
def test_white_11_6(pumps, what, published):
    """H = 490 - 0.26 Q^2, written as a label, lifts 120 ft through 1500 ft of 16 in pipe at the printed point."""
    bore = 16.0 * INCH
    found, _ = point(pumps["White"], 120.0 * FOOT, k(0.030 * 1500 * FOOT / bore, bore))
    assert {"flow": found.flow / KGPM, "head": found.head / FOOT}[what] == pytest.approx(published, rel=0.01)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 7.428, id="Cengel and Cimbala pump problem, flow L/min: recomputed"),
    pytest.param("head", 4.960, id="Cengel and Cimbala pump problem, head m: recomputed")])
def test_cengel_pump_problem(pumps, what, published):
    """H = 7.46 - 0.0453 Q^2 against 3.52 + 0.0261 Q^2 works at the computed point within 0.2 %."""
    found, _ = point(pumps["Cengel and Cimbala"], 3.52, resistance(0.0261 / L_MIN**2))
    assert {"flow": found.flow / L_MIN, "head": found.head}[what] == pytest.approx(published, rel=2e-3)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 8.17998, id="exercise page, linear curve 60 - 0.8 Q on 20 + 0.5 Q^2, flow: read"),
    pytest.param("head", 53.456, id="exercise page, linear curve 60 - 0.8 Q on 20 + 0.5 Q^2, head: recomputed")])
def test_linear_curve(pumps, what, published):
    """A straight curve of two points in a file with semicolons meets a square system at its closed form, in L/s and m."""
    found, _ = point(pumps["straight"], 20.0, resistance(0.5 / LITRE**2))
    assert {"flow": found.flow / LITRE, "head": found.head}[what] == pytest.approx(published, rel=1e-5)


EXERCISE_LINE = (k(0.022 * 90 * FOOT / (10 * INCH), 10 * INCH), k(0.028 * 4900 * FOOT / (8 * INCH), 8 * INCH))


@pytest.mark.parametrize(("how", "published"), [
    pytest.param("one", 1.272, id="exercise page, one pump 365 - 20 Q^2, flow ft3/s: recomputed"),
    pytest.param("row", 2.575, id="exercise page, two pumps in a row, ft3/s: recomputed"),
    pytest.param("side", 1.547, id="exercise page, two pumps side by side, ft3/s: recomputed")])
def test_several_pumps(pumps, how, published):
    """One pump, two in a row and two side by side bring the computed flow within 0.2 %, each asked about by itself."""
    one, line = push(pumps["exercise"]), (way(*EXERCISE_LINE), "header", "top")
    links = {"one": {"a": (one, "sump", "header"), "line": line},
             "row": {"a": (one, "sump", "between"), "b": (one, "between", "header"), "line": line},
             "side": {"a": (one, "sump", "header"), "b": (one, "sump", "header"), "line": line}}[how]
    network = lift(290.0 * FOOT, links, {"one": ["header"], "row": ["between", "header"], "side": ["header"]}[how])
    points = [operate(network, None, pump)[1] for pump in network.pumps]
    total = sum(found.flow for found in points) if how == "side" else points[-1].flow
    assert total / CFS == pytest.approx(published, rel=2e-3)
    assert {found.trouble for found in points} == {""}


@pytest.mark.parametrize("published", [pytest.param(332.6, id="exercise page, one pump 365 - 20 Q^2, head ft: recomputed")])
def test_one_pump_head(pumps, published):
    """The single pump of that exercise works at the computed head within 0.2 %."""
    assert point(pumps["exercise"], 290.0 * FOOT, *EXERCISE_LINE)[0].head / FOOT == pytest.approx(published, rel=2e-3)


DENSITY, WANTED = 62.364 * POUND / FOOT**3, (700.0 * GALLON / 60.0, 428.0 * FOOT)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("shaft", 107.1, id="Crane TP-410 Ex. 7-34 brake power at 70.7 %, hp: read"),
    pytest.param("electric", 117.4, id="Crane TP-410 Ex. 7-34 electric power, motor 95 %, drive 96 %, hp: read"),
    pytest.param("cost", 83970.0, id="Crane TP-410 Ex. 7-34 cost of 8000 h at 0.12 a kWh: read")])
def test_crane_7_34(what, published):
    """700 gpm at 428 ft take the printed powers, and 8000 h of them cost what is printed, within 0.2 %."""
    useful = hydraulic_power(*WANTED, DENSITY)
    shaft = useful / 0.707
    electric = shaft / 0.95 / 0.96
    found = {"shaft": shaft / HORSEPOWER, "electric": electric / HORSEPOWER, "cost": cost(energy(electric, 8000.0), 0.12)}
    assert found[what] == pytest.approx(published, rel=2e-3)
    assert efficiency(useful, electric) == pytest.approx(0.707 * 0.95 * 0.96, rel=1e-12)


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("flow", 194.3, id="Crane TP-410 Ex. 7-33 affinity 3500 to 1700 rpm, flow gpm: read"),
    pytest.param("head", 29.7, id="Crane TP-410 Ex. 7-33 affinity 3500 to 1700 rpm, head ft: read"),
    pytest.param("power", 2.01, id="Crane TP-410 Ex. 7-33 affinity 3500 to 1700 rpm, power hp: read")])
def test_crane_7_33(what, published):
    """A pump of 400 gpm, 126 ft and 17.5 hp at 3500 rpm has the printed flow, head and power at 1700 rpm."""
    speed, curve = 1700.0 / 3500.0, ((0.0, 150.0 * FOOT), (400.0 * GPM, 126.0 * FOOT), (600.0 * GPM, 90.0 * FOOT))
    watts = ((0.0, 9.0 * HORSEPOWER), (400.0 * GPM, 17.5 * HORSEPOWER), (600.0 * GPM, 20.0 * HORSEPOWER))
    slowed = Candidate("Crane", curve, watts=watts)
    _, found = operate(lift(0.0, {"pump": (push(slowed, resistance(126.0 * FOOT / (400.0 * GPM) ** 2), speed=speed), "sump",
                                           "top")}), None, 0)
    power = power_draw(slowed, found.flow, speed)
    assert {"flow": found.flow / GPM, "head": found.head / FOOT, "power": power.watts / HORSEPOWER}[what] == \
        pytest.approx(published, rel=5e-3)


@pytest.mark.parametrize("exact", [pytest.param(30.166, id="1 L/s of 1025 kg/m3 lifted 3 m, W: derived")])
def test_hydraulic_power(exact):
    """One litre a second of sea water, three metres up, is the computed power with this project's gravity."""
    assert hydraulic_power(1e-3, 3.0, 1025.0) == pytest.approx(exact * GRAVITY / 9.81, rel=2e-4)
