"""Friction and local losses against published values, each by the head that a flow loses between two reservoirs.

'read' was read in a public page or in, or as produced by, a general-purpose open library; 'recomputed' follows from the
formula of the source named; 'from memory' was not looked up.
"""

import pytest
from reservoirs import area, darcy, flow_through, head_for, pipe

from hydro.description.build import Item
from hydro.elements.fittings import change_of_bore
from hydro.elements.line import prepare_line
from hydro.elements.registry import PartContext, Reader, load_all
from hydro.elements.rim import ENTRANCE
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain

pytestmark = pytest.mark.published

COLEBROOK = [  # Re, k/D, f
    (1e5, 1e-4, 0.018513866077, "test suite of an open library, read"),
    (1e4, 0.0, 0.0308829504, "solved by an open library, read"), (5e4, 0.0, 0.0208914435, "solved by an open library, read"),
    (1e5, 0.0, 0.0179897731, "solved by an open library, read"), (1e6, 0.0, 0.0116450410, "solved by an open library, read"),
    (1e4, 1e-3, 0.0323818064, "solved by an open library, read"), (1e5, 1e-3, 0.0221745359, "solved by an open library, read"),
    (1e6, 1e-3, 0.0199434658, "solved by an open library, read"), (1e5, 1e-2, 0.0385035435, "solved by an open library, read"),
    (1e6, 1e-2, 0.0379647419, "solved by an open library, read"),
]
LAMINAR = [(128.0, 0.5), (1000.0, 0.064), (2000.0, 0.032)]
BLASIUS = [(1e4, 0.03164, 0.03), (1e5, 0.0177925, 0.02)]
ROUGH = [(1e-4, 0.0119798), (1e-3, 0.0196355), (1e-2, 0.0379037), (0.05, 0.0715507)]
FULLY_TURBULENT = {  # bore of schedule 40 in m: Crane's rounded fT, 2009 edition
    '1/2"': (0.01576, 0.026), '3/4"': (0.02096, 0.024), '1"': (0.02664, 0.022), '1 1/4"': (0.03508, 0.021),
    '1 1/2"': (0.04094, 0.020), '2"': (0.05248, 0.019), '2 1/2"': (0.06268, 0.018), '3"': (0.07792, 0.017),
}
LENGTHS = {"elbow 90": 30, "elbow 45": 16, "bend 90": 14, "gate valve": 8, "ball valve": 3, "check valve": 100}
OTHER_EDITIONS = [("elbow 90", 0.02664, 0.69, "1 in, fT 0.023"), ("tee branch", 0.05248, 1.14, "2 in, 60 fT of 0.019"),
                  ("tee run", 0.05248, 0.38, "2 in, 20 fT of 0.019"), ("elbow 90", 0.05248, 0.57, "2 in, 30 fT of 0.019")]
WIDENING = [(0.2, 0.9216), (0.4, 0.7056), (0.5, 0.5625), (0.6, 0.4096), (0.7, 0.2601), (0.8, 0.1296)]
NARROWING = [(0.2, 0.48), (0.4, 0.42), (0.5, 0.375), (0.6, 0.32), (2.0 / 3.0, 0.27778), (0.8, 0.18)]


def friction_factor(reynolds, relative, bore=0.05, length=20.0, viscosity=1e-6):
    """Return f as the project's pipe has it between two reservoirs, at a Reynolds number."""
    flow = reynolds * viscosity * area(bore) / bore
    run = pipe(bore, length, relative * bore, viscosity)
    head = head_for(flow, run) - head_for(flow)
    return darcy(head, flow, bore, length)


@pytest.mark.parametrize(("reynolds", "relative", "published"), [
    pytest.param(*row[:3], id=f"Colebrook 1939 f at Re {row[0]:g}, k/D {row[1]:g}: {row[3]}") for row in COLEBROOK])
def test_colebrook(reynolds, relative, published):
    """The friction factor of a turbulent pipe is Colebrook's to 2e-6."""
    assert friction_factor(reynolds, relative) == pytest.approx(published, rel=2e-6)


@pytest.mark.parametrize(("reynolds", "published"), [
    pytest.param(*row, id=f"Hagen and Poiseuille f = 64/Re at Re {row[0]:g}: read") for row in LAMINAR])
def test_laminar(reynolds, published):
    """The friction factor of laminar flow is 64/Re to 1e-9, whatever the wall."""
    assert friction_factor(reynolds, 1e-3, bore=0.01) == pytest.approx(published, rel=1e-9)


@pytest.mark.parametrize(("reynolds", "published", "apart"), [
    pytest.param(*row, id=f"Blasius 0.3164 Re^-0.25 at Re {row[0]:g}, to {row[2]:.0%}: read") for row in BLASIUS])
def test_smooth_pipes_near_blasius(reynolds, published, apart):
    """A smooth pipe's friction is that of Blasius' older correlation within what the two are known to differ by."""
    assert friction_factor(reynolds, 0.0) == pytest.approx(published, rel=apart)


@pytest.mark.parametrize(("relative", "published"), [
    pytest.param(*row, id=f"von Karman fully rough f at k/D {row[0]:g}, limit: read") for row in ROUGH])
def test_fully_rough_limit(relative, published):
    """At Re 1e8 friction has come within 0.3 % of the fully rough limit of von Karman."""
    assert friction_factor(1e8, relative, viscosity=1e-9) == pytest.approx(published, rel=3e-3)


@pytest.mark.parametrize("published", [pytest.param(0.0179, id="Crane TP-410M (2009) Ex. 7-1 f of smooth plastic pipe: read")])
def test_crane_7_1(published):
    """Smooth plastic pipe of 50 mm with 200 L/min at 30 °C has the printed friction factor within 1 %."""
    flow, viscosity = 0.2 / 60.0, 50e-3 * (0.2 / 60.0) / area(50e-3) / 100600.0
    head = head_for(flow, pipe(50e-3, 10.0, 0.0, viscosity))
    assert darcy(head, flow, 50e-3, 10.0) == pytest.approx(published, rel=0.01)


def made(word, bore, **values):
    """Return the part that the registry makes of a word, in water of 1e-6 m2/s."""
    item = Item(word, {"size": Uncertain.exact(bore)} | {name: Uncertain.exact(value) for name, value in values.items()})
    return load_all()[word].make(Reader(item, context(), bore))[0]


def coefficient(bore, *parts, head=1.0):
    """Return K on a bore, from the flow that a head drives through the parts."""
    flow = flow_through(head, *parts)
    return head * 2.0 * GRAVITY * area(bore) ** 2 / flow**2


@pytest.mark.parametrize(("word", "bore", "published"), [
    pytest.param(word, bore, count * ft, id=f"Crane TP-410 (2009) A-26..A-30 {word} {count} fT, {size}, fT {ft:g}: read")
    for size, (bore, ft) in FULLY_TURBULENT.items() for word, count in LENGTHS.items()])
def test_crane_coefficients(word, bore, published):
    """K of a fitting or open valve is Crane's count of fT within 5 %, the rounding of the printed fT."""
    without_crack = {"crack": 0.0} if word == "check valve" else {}
    assert coefficient(bore, made(word, bore, **without_crack)) == pytest.approx(published, rel=0.05)


@pytest.mark.parametrize(("word", "bore", "published"), [
    pytest.param(word, bore, value, id=f"Crane TP-410 before 2009 {word}, {how}: from memory")
    for word, bore, value, how in OTHER_EDITIONS])
def test_crane_older_editions(word, bore, published):
    """K of an elbow or tee is that of the older printed tables within 5 %."""
    assert coefficient(bore, made(word, bore)) == pytest.approx(published, rel=0.05)


@pytest.mark.parametrize("published", [pytest.param(3.6, id="Crane TP-410M Ex. 7-2 K of Kv 500 m3/h in 154 mm: read")])
def test_crane_7_2(published):
    """A valve of the printed K passes its Kv, 500 m3/h at 1 bar, within 2 % (K is printed with two figures)."""
    flow = flow_through(1e5 / (1000.0 * GRAVITY), made("K", 0.154, K=published))
    assert 3600.0 * flow == pytest.approx(500.0, rel=0.02)


@pytest.mark.parametrize(("beta", "published"), [
    pytest.param(*row, id=f"Borda and Carnot sudden widening, bores {row[0]:.3g}: recomputed") for row in WIDENING])
def test_sudden_widening(beta, published):
    """K of a sudden widening on the smaller bore is (1 - beta^2)^2 to the figures of the table."""
    small = 0.02
    assert coefficient(small, change_of_bore(small, small / beta)) == pytest.approx(published, abs=2e-5)


@pytest.mark.parametrize(("beta", "published"), [
    pytest.param(*row, id=f"Crane TP-410 A-26 sudden narrowing, bores {row[0]:.3g}: recomputed") for row in NARROWING])
def test_sudden_narrowing(beta, published):
    """K of a sudden narrowing on the smaller bore is 0.5 (1 - beta^2) to the figures of the table."""
    small = 0.02
    assert coefficient(small, change_of_bore(small / beta, small)) == pytest.approx(published, abs=2e-5)


@pytest.mark.parametrize(("entrance", "published"), [
    pytest.param(ENTRANCE.middle, 0.5, id="Crane TP-410 A-29 entrance, sharp and flush, K 0.5: read"),
    pytest.param(ENTRANCE.high, 0.78, id="Crane TP-410 A-29 entrance, projecting, K 0.78 (upper end of the band): read")])
def test_entrance(entrance, published):
    """What a described line loses at its entrance is the published K within 3 %."""
    parts = [prepare_line([pipe_item(0.04)], context(), entrance=value) for value in (entrance, 0.0)]
    losses = [coefficient(0.04, *line.parts) for line in parts]
    assert losses[0] - losses[1] == pytest.approx(published, rel=0.03)


@pytest.mark.parametrize("published", [pytest.param(1.0, id="Crane TP-410 A-29 exit into a tank, K 1.0: read")])
def test_exit(published):
    """What a described line loses at its exit into standing water is the velocity head of its last bore."""
    lines = [prepare_line([pipe_item(0.06), pipe_item(0.04)], context(), exit_loss=lost) for lost in (True, False)]
    losses = [coefficient(0.04, *line.parts) for line in lines]
    assert losses[0] - losses[1] == pytest.approx(published, abs=0.003)


def pipe_item(bore):
    """Return a described pipe of almost no length."""
    return Item("pipe", {"size": Uncertain.exact(bore), "length": Uncertain.exact(0.0)})


def context():
    """Return what a line is made with."""
    load_all()
    return PartContext({}, {}, lambda height: 0.0, 1e-6)
