"""Bodies of water: what a vessel holds at a level."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from hydro.description.build import Item
from hydro.elements.registry import PartContext, Reader, load_all
from hydro.elements.waters import Body, read_plan
from hydro.quantities.uncertain import Uncertain

calm = settings(max_examples=40, derandomize=True, deadline=None, database=None)


def plan(word, **values):
    """Return the plan of a vessel of a registered kind."""
    load_all()
    made = {name: value if isinstance(value, tuple) else Uncertain.exact(value) for name, value in values.items()}
    return read_plan(Reader(Item(word, made), PartContext({}, {}, lambda height: 0.0, 1e-6)))


def taper(length=1.0, width=0.6, low_length=0.8, low_width=0.5, height=0.45, corners=0.05):
    """Return the plan of a tub that narrows downward."""
    return plan("taper", rim_length=length, rim_width=width, bottom_length=low_length, bottom_width=low_width, height=height,
                corners=corners)


def bucket(*fills, **more):
    """Return the plan of a sump known by bucket fills: (litres, mm)."""
    return plan(
        "bucket fill", table=tuple((Uncertain.exact(litres / 1e3), Uncertain.exact(mm / 1e3)) for litres, mm in fills), **more
    )


FILLS = ((10, 47), (20, 92), (40, 178), (60, 259), (78, 330))
BODIES = {"box": Body.box("box", 0.2, 0.3, 0.4), "taper": taper().whole("taper", 0.2),
          "stretch": taper().stretch("stretch", 0.2, 0.0, 0.4), "bucket": bucket(*FILLS).whole("bucket", 0.2),
          "gear": taper().whole("gear", 0.2).displaced(0.01, 0.35),
          "share": bucket(*FILLS).whole("share", 0.2).part("share", 0.3)}


@pytest.mark.parametrize("name", BODIES)
@pytest.mark.parametrize("level", [0.25, 0.37, 0.52, 0.9])
def test_the_volume_is_the_integral_of_the_surface(name, level):
    """The volume at a level is the surface integrated up to it, by numerical quadrature."""
    body = BODIES[name]
    knots = [0.2 + float(k) for k in (*body.knots, *(reach for _, reach in body.solids)) if 0.2 < 0.2 + float(k) < level]
    integral = quad(lambda z: body.stored(z)[1], 0.2, level, points=knots or None, epsabs=1e-11, limit=200)[0]
    assert body.stored(level)[0] == pytest.approx(integral, rel=1e-7)
    assert body.stored(0.2)[0] == pytest.approx(0.0, abs=1e-15)


def test_a_box_is_its_sides_multiplied():
    """A box holds length times width times depth, and its rim stands its height above its bottom."""
    body = plan("inside", length=1.2, width=0.5, height=0.45).whole("box", 0.1)
    assert body.stored(0.4) == pytest.approx((1.2 * 0.5 * 0.3, 0.6))
    assert body.rim == pytest.approx(0.55)


@calm
@given(st.floats(0.5, 2.0), st.floats(0.4, 1.0), st.floats(0.6, 1.0), st.floats(0.6, 1.0), st.floats(0.3, 0.7))
def test_a_straight_tub_is_a_frustum(length, width, by_length, by_width, height):
    """To its rim a sloped tub without rounded corners holds the prismatoid h (A0 + 4 Am + A1)/6, derived."""
    low_length, low_width = by_length * length, by_width * width
    body = taper(length, width, low_length, low_width, height, 0.0).whole("tub", 0.0)
    middle = (length + low_length) / 2.0 * (width + low_width) / 2.0
    closed = height * (low_length * low_width + 4.0 * middle + length * width) / 6.0
    assert body.stored(height) == pytest.approx((closed, length * width), rel=1e-12)


def test_rounded_corners_take_off_their_share():
    """Corners of radius r take (4 - pi) r^2 off the surface at every height."""
    sharp, round_ = taper(corners=0.0).whole("a", 0.0), taper(corners=0.08).whole("b", 0.0)
    for z in (0.0, 0.2, 0.45):
        assert sharp.stored(z)[1] - round_.stored(z)[1] == pytest.approx((4.0 - math.pi) * 0.08**2)


def test_a_sloped_tub_is_no_box():
    """Taken as a box by its rim, a tub that narrows by a fifth both ways holds a quarter too much near its bottom."""
    body = taper(1.0, 0.5, 0.8, 0.4, 0.4, 0.0).whole("tub", 0.0)
    assert 0.5 * 0.2 / body.stored(0.2)[0] > 1.35
    assert 0.5 * 0.4 / body.stored(0.4)[0] == pytest.approx(1.2295, abs=1e-3)  # 6/(0.64 + 4 * 0.81 + 1)


def test_bucket_fills_are_met():
    """A table of bucket fills passes through its fills, empty at the bottom, and never loses water in between."""
    body = BODIES["bucket"]
    assert [1e3 * body.stored(0.2 + mm / 1e3)[0] for _, mm in FILLS] == pytest.approx([litres for litres, _ in FILLS])
    assert body.stored(0.2)[0] == 0.0
    assert min(body.stored(0.2 + z / 200.0)[1] for z in range(80)) > 0.05


@pytest.mark.parametrize("fills", [((10, 100), (100, 150)), ((10, 50), (100, 100), (105, 200)), ((10, 47),)])
def test_a_surface_never_vanishes(fills):
    """However strongly the fills narrow or widen, the surface stays above nothing below, within and above the table."""
    body = bucket(*fills).whole("bucket", 0.0)
    assert min(body.stored(z / 100.0)[1] for z in range(-5, 40)) > 0.0


@pytest.mark.parametrize("level", [0.02, 0.13, 0.31, 0.44, 0.5])
def test_chambers_add_up_to_the_whole(level):
    """Cut into chambers, a box and a tub hold at every level together what they hold whole."""
    for made in (plan("inside", length=1.0, width=0.6, height=0.45), taper()):
        cuts = [0.0, 0.27, 0.55, 1.0]
        pieces = [made.stretch("piece", 0.0, a, b) for a, b in pairwise(cuts)]
        whole = made.whole("whole", 0.0).stored(level)
        assert [sum(values) for values in zip(*(piece.stored(level) for piece in pieces), strict=True)] == pytest.approx(whole)


def test_shares_add_up_to_the_whole():
    """Shares of a bucket table, and its stretches by length, add up to it."""
    body = BODIES["bucket"]
    parts = [body.part("part", share) for share in (0.2, 0.5, 0.3)]
    assert sum(part.stored(0.41)[0] for part in parts) == pytest.approx(body.stored(0.41)[0])
    made = bucket(*FILLS, length=0.8)
    pieces = [made.stretch("piece", 0.2, a, b) for a, b in ((0.0, 0.3), (0.3, 0.8))]
    assert sum(piece.stored(0.41)[0] for piece in pieces) == pytest.approx(body.stored(0.41)[0])


def test_gear_displaces_what_it_is():
    """Gear takes its whole volume above its top, its share of it below, evenly, wherever its top stands."""
    for body in (BODIES["box"], BODIES["taper"], BODIES["bucket"]):
        for top in (0.21, 0.2 + 0.092, 0.35):
            filled = body.displaced(0.004, top)
            assert body.stored(0.5)[0] - filled.stored(0.5)[0] == pytest.approx(0.004)
            half = (0.2 + top) / 2.0
            assert body.stored(half)[0] - filled.stored(half)[0] == pytest.approx(0.002)
            assert filled.stored(0.5)[1] == body.stored(0.5)[1]
    twice = BODIES["box"].displaced(0.004, 0.35).displaced(0.006, 0.3)
    assert BODIES["box"].stored(0.5)[0] - twice.stored(0.5)[0] == pytest.approx(0.010)


def test_a_part_of_a_vessel_has_its_part_of_the_gear():
    """A share of a vessel with gear in it holds that share of what is left."""
    filled = BODIES["bucket"].displaced(0.004, 0.3)
    assert filled.part("part", 0.4).stored(0.33) == pytest.approx(tuple(0.4 * x for x in filled.stored(0.33)))


def test_above_the_rim_the_walls_go_on():
    """Above the rim the surface stays what it was there, so that a level over the rim can be told."""
    for body in (BODIES["taper"], BODIES["bucket"]):
        rim = body.stored(body.rim)
        assert body.stored(body.rim + 0.1) == pytest.approx((rim[0] + 0.1 * rim[1], rim[1]))
