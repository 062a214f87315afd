"""Edges that a tank spills over, gaps between teeth, and siphons over a rim.

'read' was read in a public file or page; 'from memory' was not looked up: those answers were recomputed from the inputs;
'recomputed' and 'derived' follow from the formula alone. Nothing here was measured on teeth: gaps of 6 to 10 mm at heads of
10 to 20 mm lie outside every published range, and only the limits of the law can be held against figures.
"""

import pytest
from reservoirs import area, k, pipe, solved

from hydro.description.build import Height, Item
from hydro.elements.comb import GAP, Comb
from hydro.elements.edge import EDGE
from hydro.elements.high_point import HighPoint
from hydro.elements.line import Line
from hydro.elements.registry import PartContext, Reader, family
from hydro.elements.siphon_tube import CLEARS, SiphonTube
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain

pytestmark = pytest.mark.published

FAR_BELOW = -10.0


def over(edge, head, behind=FAR_BELOW):
    """Return the flow over an edge at the datum, between a tank and a box of given level."""
    return solved({"tank": head, "box": behind}, {"edge": (edge, "tank", "box")})["edge"]


def read_edge(length, coefficient):
    """Return a straight edge at the datum, made as the case file's word makes it."""
    item = Item("edge", {"length": Uncertain.exact(length), "at": Height(Uncertain.exact(0.0), "ground"),
                         EDGE.name: Uncertain.exact(coefficient)}, label="edge")
    return family("edge")["edge"].make(Reader(item, PartContext({}, {}, lambda height: 0.0, 1e-6)))(None, 0.0, 1.0)


VILLEMONTE = [(0.1, 0.98770), (0.2, 0.96457), (0.3, 0.93322), (0.5, 0.84539), (0.7, 0.71233), (0.8, 0.61631),
              (0.9, 0.47697), (0.95, 0.36709)]


@pytest.mark.parametrize(("ratio", "published"), [
    pytest.param(*row, id=f"Villemonte 1947 Q/Q_free at h2/h1 {row[0]:g}, n = 1.5: recomputed") for row in VILLEMONTE])
def test_villemonte(ratio, published):
    """An overflow edge, and a comb whose tops are dry, pass the share that Villemonte's formula gives, to 5e-5."""
    for edge in (read_edge(0.5, 0.60), Comb.of("comb", 0.0, 0.5, 1.0, GAP.middle)):
        assert over(edge, 0.2, behind=0.2 * ratio) / over(edge, 0.2) == pytest.approx(published, abs=5e-5)


@pytest.mark.parametrize(("length", "head", "coefficient", "published"), [
    pytest.param(4.0, 0.36, 2.76 / (2.0 * GRAVITY) ** 0.5, 1.58976, id="Francis 1.84 L H^1.5, 4 m at 0.36 m, m3/s: recomputed"),
    pytest.param(2.0, 0.3 + 0.0012, 0.602 + 0.083 * 0.3 / 0.4, 0.648378,
                 id="ISO 1438 Rehbock, full width, 2 m at 0.3 m, plate 0.4 m, m3/s: constants from memory, recomputed")])
def test_a_given_coefficient_is_taken(length, head, coefficient, published):
    """An edge with the coefficient of a published formula passes that formula's flow within 0.1 %."""
    assert over(read_edge(length, coefficient), head) == pytest.approx(published, rel=1e-3)


EDGES = [("Francis 1.84, thin, 0.5 m at 20 mm", 1.84 * 0.5 * 0.02**1.5, "recomputed"),
         ("ISO 1438 Rehbock, thin, 0.5 m at 20 mm, plate 300 mm", 2.768e-3, "recomputed"),
         ("broad crest (2/3)^1.5 sqrt(g), 0.5 m at 20 mm", (2.0 / 3.0) ** 1.5 * GRAVITY**0.5 * 0.5 * 0.02**1.5, "derived"),
         ("FAO Inland Aquaculture Engineering 1984, thick edge 1.66, 0.5 m at 20 mm", 1.66 * 0.5 * 0.02**1.5, "read")]


@pytest.mark.parametrize("published", [pytest.param(flow, id=f"{name}, within the band, m3/s: {standing}")
                                       for name, flow, standing in EDGES])
def test_thin_and_thick_edges_lie_in_the_band(published):
    """At 20 mm the flows over thin sheets and thick edges by published formulas lie in the default coefficient's band."""
    low, middle, high = (over(read_edge(0.5, c), 0.02) for c in (EDGE.low, EDGE.middle, EDGE.high))
    assert low < published < high
    assert middle == pytest.approx(published, rel=0.12)


NOTCHES = [("Kindsvater and Carter, contracted, 1 m at 0.2 m", 1.0, 0.2, 0.1554592895, 0.02),
           ("Francis with two contractions, 1 m at 0.2 m", 1.0, 0.2, 0.1580, 0.04)]


@pytest.mark.parametrize(("clear", "head", "published", "within"), [
    pytest.param(*row[1:], id=f"{row[0]}, m3/s: read") for row in NOTCHES])
def test_one_wide_gap_is_a_contracted_notch(clear, head, published, within):
    """A comb with one wide gap passes what formulas for a notch in a wide wall give, inside the comb's band."""
    assert over(Comb.of("comb", 0.0, clear, 0.5, GAP.middle), head) == pytest.approx(published, rel=within)
    assert GAP.low / GAP.middle < published / over(Comb.of("comb", 0.0, clear, 0.5, GAP.middle), head) < GAP.high / GAP.middle


@pytest.mark.parametrize("published", [
    pytest.param(15.92, id="textbook large rectangular orifice, 2 m by 1.5 m, 3 m over its top, Cd 0.62, m3/s: from memory")])
def test_large_rectangular_orifice(published):
    """Closed teeth under water pass what the large rectangular orifice passes."""
    assert over(Comb.of("comb", 0.0, 2.0, 1.5, 0.62), 4.5) == pytest.approx(published, rel=2e-3)


@pytest.mark.parametrize("published", [
    pytest.param(0.9396, id="textbook drowned orifice, 2 m wide, 0.25 m high, levels 0.5 m apart, Cd 0.6, m3/s: from memory")])
def test_drowned_orifice(published):
    """Closed teeth drowned on both sides pass what a drowned orifice passes, on the low side and within 8 %."""
    found = over(Comb.of("comb", 0.0, 2.0, 0.25, 0.60), 2.75, behind=2.25)
    assert 0.92 * published < found < published


@pytest.mark.parametrize("published", [pytest.param(1.0, id="Torricelli in the limit of great depth: derived")])
def test_small_orifice(published):
    """Deep under water the height of the teeth no longer matters: Cd b h sqrt(2 g H) to their middle, to 1e-4."""
    found = over(Comb.of("comb", 0.0, 0.36, 0.04, 0.58), 2.0)
    assert found / (0.58 * 0.36 * 0.04 * (2.0 * GRAVITY * 1.98) ** 0.5) == pytest.approx(published, rel=1e-4)


PETROL, TUBE_BORE = 750.0, 0.005


def siphon():
    """Return a frictionless siphon of 5 mm bore between the datum and 0.75 m below; its crest is 2 m above, halfway along."""
    line = Line.of([pipe(TUBE_BORE, 1e-9, 1.5e-6, 1e-12), pipe(TUBE_BORE, 1e-9, 1.5e-6, 1e-12), k(1.0, TUBE_BORE)])
    return SiphonTube("siphon", line, -0.5, -1.0, HighPoint.along("siphon", 2.0, line, 0.5))


@pytest.mark.parametrize(("what", "published"), [
    pytest.param("speed", 3.84, id="Cengel and Cimbala Ex. 5-7 siphon, speed m/s: from memory"),
    pytest.param("flow", 7.53e-5, id="Cengel and Cimbala Ex. 5-7 siphon, flow m3/s: from memory"),
    pytest.param("above", 81.1, id="Cengel and Cimbala Ex. 5-7 siphon, crest kPa absolute, from its upper end: from memory"),
    pytest.param("below", 81.1, id="Cengel and Cimbala Ex. 5-7 siphon, crest kPa absolute, from its lower end: from memory")])
def test_cengel_siphon(what, published):
    """A siphon to 0.75 m below, its crest 2 m above the tank, runs and sucks as printed, to half a unit of the last figure."""
    tube = siphon()
    q = solved({"tank": 0.0, "can": -0.75}, {"tube": (tube, "tank", "can")}, flow=1e-4)["tube"]
    absolute = {side: 101.3 + PETROL * 9.81 * pressure / 1000.0 for side, pressure in (
        ("above", tube.highest.from_above(q, 0.0)[0]), ("below", tube.highest.from_below(q, -0.75)[0]))}
    found = {"speed": q / area(TUBE_BORE), "flow": q, **absolute}[what]
    assert found == pytest.approx(published, abs={"speed": 0.005, "flow": 5e-8}.get(what, 0.05))


CLEARING = [("V/sqrt(g D) at which a vertical line vents itself", 0.3, "read"), ("Simpson 1968", 0.31, "from memory"),
            ("Escarameia, level line, small pocket, 0.45", 0.45, "form read, constant from memory"),
            ("Escarameia, vertical line, large pocket, 0.56 + 0.61", 1.17, "form read, constant from memory"),
            ("Sanks, level line, 0.825", 0.825, "read"), ("Sanks, vertical line, 0.825 + 0.25", 1.075, "read"),
            ("air swept through a vertical line", 1.0, "read")]


@pytest.mark.parametrize("published", [pytest.param(number, id=f"{name}: {standing}") for name, number, standing in CLEARING])
def test_air_clearing_numbers_lie_in_the_band(published):
    """The published limits at which air leaves a crown disagree; the default's band spans all but Simpson's 2 for full flow."""
    assert CLEARS.low <= published <= CLEARS.high


J_NUMBERS = [(0.180, 36.0, 0.296, "overflow box, 36 m3/h in 180 mm", "read"), (0.0452, 1.154, 0.3, "45.2 mm", "recomputed"),
             (0.02664, 1.026, 1.0, "26.64 mm", "recomputed")]


@pytest.mark.parametrize(("bore", "cubic_metres_an_hour", "published"), [
    pytest.param(*row[:3], id=f"air number of a siphon tube, {row[3]}: {row[4]}") for row in J_NUMBERS])
def test_air_number_of_a_tube(bore, cubic_metres_an_hour, published):
    """The number that air at the crown is judged by is V/sqrt(g D) on the full bore."""
    tube = SiphonTube("tube", Line.of([pipe(bore, 1.0, 1.5e-6, 1e-6)]), 0.0, 0.0)
    assert tube.air_number(cubic_metres_an_hour / 3600.0) == pytest.approx(published, rel=2e-3)
