"""The rim of an up-turned elbow or standpipe."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.description.build import Height, Item
from hydro.elements.fittings import crane_ft
from hydro.elements.registry import PartContext, Reader, family
from hydro.elements.rim import ENTRANCE, Rim
from hydro.quantities.uncertain import Uncertain

calm = settings(max_examples=60, derandomize=True, deadline=None, database=None)


def rim(diameter=0.05, throat=0.05, weir=0.4545, orifice=0.606, **more):
    """Return a rim at the datum."""
    return Rim.of(0.0, diameter, throat, weir, orifice, **more)


@calm
@given(st.floats(0.005, 0.3), st.floats(0.02, 0.1), st.floats(0.02, 0.1))
def test_what_a_head_feeds_needs_that_head(head, diameter, throat):
    """The head needed by the flow that a head feeds is that head, to the 0.1 mm by which the corner is rounded."""
    made = rim(diameter, throat)
    assert made.needed(made.flow_at(head))[0] == pytest.approx(head, abs=1.1e-4)


@calm
@given(st.floats(1e-5, 5e-3), st.floats(1.001, 2.0))
def test_more_flow_needs_more_head(flow, by):
    """The head rises with the flow, and is at least what the edge alone needs."""
    made = rim()
    assert made.needed(by * flow)[0] > made.needed(flow)[0] >= made.weir_head(flow)[0]


def test_edge_and_throat_take_turns():
    """With the coefficients of the standard the edge rules below half a diameter of head and the throat above."""
    made = rim()
    assert made.controls(0.98 * made.flow_at(0.025)) == "edge"
    assert made.controls(1.02 * made.flow_at(0.025)) == "throat"


def test_a_narrow_throat_rules_early():
    """A throat of half the diameter takes over at a quarter of the head: q of weir over H^1.5, of orifice over d^2 H^0.5."""
    made = rim(throat=0.025)
    low = 0.025 / 4.0
    assert made.controls(0.98 * made.flow_at(low)) == "edge"
    assert made.controls(1.02 * made.flow_at(low)) == "throat"


def test_a_fouled_rim_passes_its_share():
    """With a share of its openings left a rim takes that share of its flow at the same head, in both stages."""
    for head in (0.01, 0.06):
        assert rim().fouled(0.3).flow_at(head) == pytest.approx(0.3 * rim().flow_at(head), rel=1e-12)
        assert rim(open_share=0.3).flow_at(head) == pytest.approx(0.3 * rim().flow_at(head), rel=1e-12)


def test_an_elbow_has_the_loss_of_its_turn(described):
    """The line behind an up-turned elbow pays for an entrance and an elbow, behind a standpipe for an entrance."""
    made = {word: family("inlet")[word].make(Reader(described(word), PartContext({}, {}, lambda height: 1.0, 1e-6), 0.04))
            for word in ("standpipe", "elbow up")}
    assert made["standpipe"].entrance == ENTRANCE.middle
    assert made["elbow up"].entrance == pytest.approx(ENTRANCE.middle + 30.0 * crane_ft(0.04))
    assert made["elbow up"].throat == 0.04


@pytest.fixture
def described():
    """Return what stands in a case file for an inlet of a 50 mm rim."""
    return lambda word: Item(word, {"rim": Uncertain.exact(0.05), "lip": Height(Uncertain.exact(1.0), "ground")})


def test_the_narrower_of_rim_and_throat_is_the_hole():
    """A rim of 30 mm on a throat of 50 mm takes what a hole of 30 mm does; the rim is no wider than it is."""
    def made(throat):
        values = {"rim": Uncertain.exact(0.03, "rim"), "throat": Uncertain.exact(throat, "throat"),
                  "lip": Height(Uncertain.exact(0.0), "ground")}
        reader = Reader(Item("standpipe", values), PartContext({}, {}, lambda height: height.offset.middle, 1e-6), 0.05)
        return family("inlet")["standpipe"].make(reader)
    assert made(0.05).flow_at(0.2) == pytest.approx(0.606 * 3.14159265 / 4.0 * 0.03 ** 2 * (2.0 * 9.80665 * 0.2) ** 0.5)
    assert made(0.05) == made(0.03)
    assert made(0.02).throat == 0.02
