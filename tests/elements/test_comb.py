"""Toothed and plain overflow edges."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.case.syntax.items import every_field
from hydro.case.syntax.positional import split_values
from hydro.description.build import Height, Item
from hydro.elements.comb import GAP, OPEN, Comb
from hydro.elements.edge import EDGE, LEAK, OverflowEdge, submergence
from hydro.elements.registry import PartContext, Reader, family
from hydro.errors import InputError
from hydro.quantities.arrays import GRAVITY, stack
from hydro.quantities.uncertain import Uncertain

calm = settings(max_examples=80, derandomize=True, deadline=None, database=None)
levels = st.floats(-0.05, 0.25)
HEIGHT, CLEAR, LENGTH = 0.04, 0.36, 0.6
CLOSED = Comb.of("comb", 0.0, CLEAR, HEIGHT, 0.58)
OPEN_TOPPED = Comb.of("comb", 0.0, CLEAR, HEIGHT, 0.58, LENGTH, 0.60)
WIDE = 0.58 * CLEAR * (2.0 * GRAVITY) ** 0.5
FAR_BELOW = -1.0


def reader(word, sample=None, overrides=None, **values):
    """Return a described edge: lengths and numbers by name, 'at' above the ground, words as they are."""
    def value(name, given):
        if isinstance(given, str):
            return given
        uncertain = Uncertain.exact(given, name)
        return Height(uncertain, "ground") if name == "at" else uncertain
    item = Item(word, {name: value(name, given) for name, given in values.items()}, label="the edge")
    return Reader(item, PartContext(sample or {}, overrides or {}, lambda height: height.offset.at(sample or {}), 1e-6))


def described(word, across=None, sample=None, overrides=None, **values):
    """Return an edge made from its description; the box is `across` long."""
    return family("edge")[word].make(reader(word, sample, overrides, **values))(across, 0.0, 0.5)


def test_below_the_tops_it_is_a_weir_over_the_clear_openings():
    """Between the teeth flows (2/3) Cd sqrt(2 g) b H^1.5 on all clear openings, within 0.1 %."""
    assert CLOSED.flow(0.025, FAR_BELOW)[0] == pytest.approx(2.0 / 3.0 * WIDE * 0.025**1.5, rel=1e-3)


def test_above_the_tops_it_is_an_orifice():
    """Teeth that are closed at the top pass Cd b sqrt(2 g z) summed over their height (trapezoids), within 0.01 %."""
    for head in (0.05, 0.10, 0.40):
        depths = np.linspace(head - HEIGHT, head, 2001)
        summed = WIDE * np.trapezoid(depths**0.5, depths)
        assert CLOSED.flow(head, FAR_BELOW)[0] == pytest.approx(summed, rel=1e-4)


def test_deep_under_water_it_is_torricellis():
    """Far over the tops a closed comb passes Cd b h sqrt(2 g) times the root of the depth of its middle."""
    assert CLOSED.flow(1.0, FAR_BELOW)[0] == pytest.approx(WIDE * HEIGHT * (1.0 - HEIGHT / 2.0) ** 0.5, rel=1e-3)


@pytest.mark.parametrize("comb", [CLOSED, OPEN_TOPPED])
def test_the_tops_drown_without_a_kink(comb):
    """Flow and slope go on without a jump where the water reaches the tops of the teeth."""
    below, above = comb.flow(HEIGHT - 1e-9, FAR_BELOW), comb.flow(HEIGHT + 1e-9, FAR_BELOW)
    assert above[0] == pytest.approx(below[0], rel=1e-6)
    assert above[1] == pytest.approx(below[1], rel=1e-3)


def test_open_teeth_are_a_long_edge_above_their_tops():
    """Open at the top, the whole length adds (2/3) Ce sqrt(2 g) l over the tops; below them there is no difference."""
    more = OPEN_TOPPED.flow(0.06, FAR_BELOW)[0] - CLOSED.flow(0.06, FAR_BELOW)[0]
    assert more == pytest.approx(2.0 / 3.0 * 0.60 * (2.0 * GRAVITY) ** 0.5 * LENGTH * 0.02**1.5, rel=1e-3)
    assert OPEN_TOPPED.flow(0.03, FAR_BELOW) == CLOSED.flow(0.03, FAR_BELOW)


@pytest.mark.parametrize("ratio", [0.2, 0.5, 0.8, 0.95])
def test_a_box_that_stands_over_the_crest_takes_away(ratio):
    """Drowned from the box, the gaps pass the share of their free flow that the straight edge's factor gives."""
    free, drowned = CLOSED.flow(0.03, FAR_BELOW)[0], CLOSED.flow(0.03, 0.03 * ratio)[0]
    assert drowned / free == pytest.approx(submergence(ratio)[0], rel=2e-3)


@pytest.mark.parametrize("difference", [1e-4, 0.004, 0.02])
def test_drowned_over_its_tops_it_feels_the_difference_alone(difference):
    """With the box over the tops a slot passes the same for the same difference of levels, whatever the depth."""
    shallow, deep = (CLOSED.slots(z + difference, z)[0] for z in (HEIGHT + 0.005, HEIGHT + 0.15))
    assert deep == pytest.approx(shallow, rel=1e-3)


@pytest.mark.parametrize(("difference", "error"), [(2.0, -0.077), (1.0, -0.073), (0.25, -0.02), (0.1, 0.054), (0.05, 0.126)])
def test_drowned_over_its_tops_it_is_near_an_orifice(difference, error):
    """Against Cd b h sqrt(2 g D) a drowned slot lies as far off as the data sheet says, D counted in heights of the teeth."""
    d = difference * HEIGHT
    orifice = WIDE * HEIGHT * d**0.5
    assert CLOSED.slots(0.1 + d, 0.1)[0] / orifice - 1.0 == pytest.approx(error, abs=0.01)


@calm
@given(levels, levels, st.floats(0.0, 0.1), st.sampled_from([CLOSED, OPEN_TOPPED]))
def test_more_head_never_carries_less(up, down, more, comb):
    """A higher level before a comb never lowers its flow, a higher one behind never raises it."""
    assert comb.flow(up + more, down)[0] >= comb.flow(up, down)[0] - 1e-12
    assert comb.flow(up, down + more)[0] <= comb.flow(up, down)[0] + 1e-12


@calm
@given(levels, levels, st.sampled_from([CLOSED, OPEN_TOPPED]))
def test_a_comb_is_the_same_from_both_sides(up, down, comb):
    """With the levels exchanged the flow turns its sign and keeps its size, but for the leak."""
    assert comb.flow(up, down)[0] == pytest.approx(-comb.flow(down, up)[0], rel=1e-9, abs=LEAK)


def test_a_fouled_comb_passes_the_share_that_is_left():
    """Half blocked the gaps pass half at the same head; blocked and closed at the top, next to nothing."""
    faults = {words: {"open": changed["open"]} for words, changed in CLOSED.faults().items()}
    assert faults == {"comb half blocked": {"open": 0.5}, "comb blocked": {"open": 0.0}}
    half = CLOSED.fouled(0.5)
    assert half.flow(0.03, FAR_BELOW)[0] == pytest.approx(0.5 * CLOSED.flow(0.03, FAR_BELOW)[0], rel=1e-4)
    assert half.faults()["comb half blocked"] == {"open": 0.25}
    assert CLOSED.fouled(0.0).flow(0.03, FAR_BELOW)[0] < 1e-8


def test_a_blocked_comb_that_is_open_spills_over_its_tops():
    """With every gap shut, an open comb still passes water over the tops of its teeth, and only there."""
    blocked = OPEN_TOPPED.fouled(0.0)
    assert blocked.flow(HEIGHT, FAR_BELOW)[0] < 1e-6
    assert blocked.flow(HEIGHT + 0.02, FAR_BELOW)[0] == pytest.approx(1.7715 * LENGTH * 0.02**1.5, rel=1e-2)


def test_half_the_openings_raise_the_head_by_three_fifths():
    """For the same flow a half-blocked comb needs 2^(2/3) = 1.587 times the head, as long as its tops stay dry."""
    assert CLOSED.fouled(0.5).flow(1.5874 * 0.02, FAR_BELOW)[0] == pytest.approx(CLOSED.flow(0.02, FAR_BELOW)[0], rel=1e-3)


def test_it_holds_the_water_at_its_crest():
    """When all has come to rest the tank stands at the crest; a dry comb leaks at most the stated leak."""
    assert Comb.of("comb", 1.25, CLEAR, HEIGHT, 0.58).holds == 1.25
    assert abs(CLOSED.flow(-0.02, -0.05)[0]) <= 0.051 * LEAK


def test_the_residual_counts_in_metres():
    """20 mm of residual stand for the flow that 20 mm over the clean crest pass."""
    flow = CLOSED.flow(0.02, FAR_BELOW)[0]
    assert CLOSED.residual(0.0, 0.02, FAR_BELOW)[0] == pytest.approx(0.02, rel=1e-2)
    assert CLOSED.residual(flow, 0.02, FAR_BELOW)[0] == pytest.approx(0.0, abs=1e-12)


def test_a_comb_by_its_length_has_the_gaps_that_fit():
    """60 cm of 8 mm gaps and 5 mm teeth have 60 * 8/13 cm of clear opening, with the default coefficient."""
    made = described("comb", length=0.6, gap=0.008, tooth=0.005, height=0.04, at=1.2)
    assert made.gaps == pytest.approx(2.0 / 3.0 * GAP.middle * (2.0 * GRAVITY) ** 0.5 * 0.6 * 8.0 / 13.0)
    assert (made.crest, made.tops, made.beyond, made.open) == (1.2, pytest.approx(1.24), 0.0, 1.0)
    box = described("toothed edge", across=0.6, gap=0.008, tooth=0.005, height=0.04, at=1.2)
    assert box.gaps == made.gaps


def test_counted_gaps_are_believed_as_far_as_they_fit():
    """Forty gaps of 8 mm are 320 mm of opening; never more opening than the edge is long."""
    unit = 2.0 / 3.0 * GAP.middle * (2.0 * GRAVITY) ** 0.5
    counted = described("comb", gaps=40.0, gap=0.008, tooth=0.005, height=0.04, at=1.2, top="open")
    assert counted.gaps == pytest.approx(unit * 0.32)
    assert counted.beyond == pytest.approx(2.0 / 3.0 * EDGE.middle * (2.0 * GRAVITY) ** 0.5 * 40 * 0.013)
    assert described("comb", gaps=40.0, length=0.2, gap=0.008, tooth=0.005, height=0.04, at=1.2).gaps == pytest.approx(unit * 0.2)


def test_an_edge_of_unknown_length_is_refused():
    """Without length, count of gaps or a box that tells, the comb asks for its length."""
    with pytest.raises(InputError, match="its length is not known"):
        described("comb", gap=0.008, tooth=0.005, height=0.04, at=1.2)


def test_written_figures_replace_the_defaults():
    """Coefficient and open share written behind the comb, or for the whole build, are taken."""
    fixed = {"gap": 0.008, "tooth": 0.005, "height": 0.04, "at": 1.2, "length": 0.6}
    plain, written = described("comb", **fixed), described("comb", **fixed, open=0.7, **{"comb coefficient": 0.5})
    assert (written.open, written.gaps / plain.gaps) == (0.7, pytest.approx(0.5 / GAP.middle))
    assert described("comb", overrides={OPEN.name: Uncertain.exact(0.6)}, **fixed).open == 0.6


def test_one_line_says_it_all():
    """'60 cm gap 8 mm tooth 5 mm height 40 mm' is read; the length may be left out, the names may not be where lengths follow."""
    kind = family("edge")["comb"]

    def found(text):
        return {name: value.middle for name, value in split_values(kind, every_field(kind), text, "metric").items()}
    sizes = {"gap": 0.008, "tooth": 0.005, "height": 0.04}
    assert found("60 cm gap 8 mm tooth 5 mm height 40 mm") == pytest.approx({"length": 0.6, **sizes})
    assert found("8 mm gap 5 mm tooth 40 mm height") == pytest.approx(sizes)
    # '60 cm 8 mm' is one length of 608 mm: then the height is missing, and the reader asks for it.
    assert "height" not in found("60 cm 8 mm 5 mm 40 mm")


def test_described_by_arrays_is_described_by_floats():
    """A column of gaps, heights and lengths gives each design's own flow to 1e-12."""
    fixed = {"tooth": 0.005, "at": 1.2, "top": "open"}
    gaps, heights, lengths = np.array([0.006, 0.008, 0.01]), np.array([0.03, 0.04, 0.05]), np.array([0.5, 0.6, 0.7])
    sample = {"gap": gaps, "height": heights, "length": lengths}
    together = described("comb", gap=0.006, height=0.03, length=0.5, sample=sample, **fixed)
    alone = [described("comb", gap=g, height=h, length=x, **fixed)
             for g, h, x in zip(gaps.tolist(), heights.tolist(), lengths.tolist(), strict=True)]
    for up, down in ((1.22, 1.0), (1.28, 1.27)):
        expected = [comb.flow(up, down)[0] for comb in alone]
        assert together.flow(np.full(3, up), np.full(3, down))[0] == pytest.approx(expected, rel=1e-12)
        assert stack(alone).flow(np.full(3, up), np.full(3, down))[0] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("edge", [CLOSED, OverflowEdge.over_length("edge", 0.0, LENGTH, 0.60)])
def test_thin_water_is_said(edge):
    """Below 5 mm no law holds, below 20 mm the band is 15 %, above nothing is said, nor where no water passes."""
    said = [edge.limits(q, head, FAR_BELOW) for q, head in ((1e-4, 0.004), (1e-4, 0.015), (1e-3, 0.021), (0.0, 0.004))]
    assert [len(words) for words in said] == [1, 1, 0, 0]
    assert "no law holds" in said[0][0]
    assert "some 15 %" in said[1][0]


def test_a_straight_edge_is_read():
    """An overflow edge of a length at a height is a plate with a band of its own and no slot."""
    edge = described("overflow edge", length=0.5, at=1.3)
    free = 2.0 / 3.0 * EDGE.middle * (2.0 * GRAVITY) ** 0.5 * 0.5 * 0.025**1.5
    assert edge.flow(1.325, 1.0)[0] == pytest.approx(free, rel=1e-3)
    assert (edge.holds, edge.faults()) == (1.3, {})
