"""A box that stands in its tank takes its room out of it; one that hangs outside does not."""

import pytest

from hydro.case import loads
from hydro.checks.queries import doubts
from hydro.elements.waters import Body
from hydro.errors import InputError
from hydro.network.assembly import make_network
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of

CASE = """
tank: {inside: 100 x 60 x 60 cm, bottom: 80 cm above ground}
overflow boxes:
  - {name: weir, inside: 30 x 20 x 50 cm, bottom: 5 cm above tank bottom, over: {edge: 28 cm, at: 45 mm below tank rim}}
sump: {inside: 100 x 50 x 45 cm, bottom: at ground, line: 20 cm above sump bottom}
drains:
  - {name: main, in: weir, inlet: {standpipe: 43 mm, lip: 20 cm above weir bottom}, line: [bulkhead 40 mm, pipe 50 PN10 110 cm],
     into: {end: 24 cm above sump bottom}}
  - {name: emergency, same as: main, inlet: {lip: 5 cm above lip of main}}
pump: {curve: [0 L/h = 4.0 m, 3000 L/h = 3.2 m, 6000 L/h = 1.6 m, 7500 L/h = 0 m], line: [hose 25 mm 150 cm]}
returns:
  - {line: [pipe 32 PN10 60 cm], end: 3 cm below tank rim}
"""
BOX = "{name: weir, inside: 30 x 20 x 50 cm"


def build(said="", height="50"):
    """Return the build with what is said of the box, and its height in cm."""
    assert BOX in CASE
    return loads(CASE.replace(BOX, f"{{name: weir, {said}inside: 30 x 20 x {height} cm"), "my.yaml")


def waters(made):
    """Return the tank and the box of a build's network."""
    network = make_network(made)
    return network.waters[network.water("tank")], network.waters[network.water("weir")]


def test_room_of_a_box_in_its_tank():
    """A tank of 0.60 m2 with a box of 0.06 m2 from 5 cm up holds 0.60 x 0.05 + 0.54 x 0.50 = 0.300 m3 at 0.55 m.

    Below the box's floor it has its whole surface; over the box's rim, where the box's own water stands too, both are 0.60 m2.
    """
    body = Body.box("tank", 0.8, 0.60, 0.60).around(Body.box("weir", 0.85, 0.06, 0.50))
    assert body.stored(0.8 + 0.55) == pytest.approx((0.300, 0.54))
    assert body.stored(0.8 + 0.03) == pytest.approx((0.018, 0.60))
    assert body.stored(0.8 + 0.60)[1] + 0.06 == pytest.approx(0.60)


@pytest.mark.parametrize(("said", "height", "inside"), [
    ("", "50", True), ("", "55", False), ("inside tank: yes, ", "55", True), ("inside tank: no, ", "50", False)])
def test_which_boxes_stand_inside(said, height, inside):
    """A box stands in its tank as it is said; else where its rim is lower than the tank's."""
    tank, _ = waters(build(said, height))
    assert tank.body.stored(1.2)[1] == pytest.approx(0.54 if inside else 0.60)
    asked = [question for question in doubts(results_of(place(build(said, height)))) if "stands inside" in question]
    assert len(asked) == (0 if said else 1)


@pytest.mark.parametrize(("said", "height", "opening"), [
    ("", "50", 1.40), ("", "53", 1.38), ("inside tank: yes, ", "53", 1.40), ("inside tank: no, ", "53", 1.38)])
def test_where_a_box_spills_on_the_floor(said, height, opening):
    """A box's rim is a rim over the floor unless it surely stands in its tank: as said, or with its rim at its edge (1.355)."""
    assert float(waters(build(said, height))[1].opening) == pytest.approx(opening)


def test_less_comes_down_from_around_a_box():
    """The tank falls to the edge at 1.355 m (the mouth ends at 1.356) over 0.54 m2, not 0.60; that much less comes down."""
    found = {said: results_of(place(build(f"inside tank: {said}, "))) for said in ("yes", "no")}
    for said, area in (("yes", 0.54), ("no", 0.60)):
        cut = found[said].stopped[True, True]
        level = float(found[said].state.levels[found[said].network.water("tank")])
        assert cut.items["tank"] == pytest.approx(area * (level - 1.355), rel=1e-6)
    down = {said: found[said].stopped[True, True].comes_down for said in found}
    assert down["no"] - down["yes"] == pytest.approx(0.06 * (float(found["no"].state.levels[0]) - 1.355), abs=1e-5)


def test_a_box_as_wide_as_its_tank_is_refused():
    """A box that leaves no water in the tank around it is a mistake in the file."""
    with pytest.raises(InputError, match="as wide as the tank"):
        make_network(loads(CASE.replace(BOX, "{name: weir, inside: 100 x 60 x 50 cm"), "my.yaml"))
