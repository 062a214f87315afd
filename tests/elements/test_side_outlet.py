"""The plain hole in the wall as a drain's inlet."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from hydro.description.build import Height, Item
from hydro.elements.drain import FLUSHING_HIGH, FLUSHING_LOW, SIPHON, WITH_AIR, DrainLine
from hydro.elements.fittings import LocalLoss
from hydro.elements.line import Line
from hydro.elements.part_full import critical_flow
from hydro.elements.pipe import Pipe
from hydro.elements.registry import PartContext, Reader, family
from hydro.elements.rim import ENTRANCE, Rim
from hydro.elements.side_outlet import HOLE, STRIPS, SideOutlet, strip_integral
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain

calm = settings(max_examples=60, derandomize=True, deadline=None, database=None)
L_H = 1.0 / 3.6e6
BORE = 0.04


def hole(bore=BORE, coefficient=0.60, crest=0.0):
    """Return a hole."""
    return SideOutlet.of(crest, bore, coefficient, 0.606)


def strips(head):
    """Return the strip integral by another way: quadrature over the height, with the square roots taken out at both ends."""
    wet = min(head, 1.0)
    return quad(lambda t: 4.0 * wet * t * math.sqrt(wet * t * t * (1.0 - wet * t * t)) * math.sqrt(head - wet * t * t),
                0.0, 1.0, epsabs=1e-11, limit=200)[0]


@pytest.mark.parametrize("head", [0.02, 0.3, 0.7, 0.97, 1.0, 1.001, 1.04, 1.6, 3.2])
def test_the_strips_add_up(head):
    """The integral over the opening is that of another quadrature, and the table meets it to 2e-4 from a tenth of a bore on."""
    assert strip_integral(head)[0] == pytest.approx(strips(head), rel=2e-5)
    assert STRIPS.share(head) == pytest.approx(strips(head), rel=2e-4 if head >= 0.1 else 6e-3)
    assert STRIPS.head(strips(head) ** 0.5)[0] == pytest.approx(head, rel=1e-4)


def test_the_level_passes_the_crown_without_a_jump():
    """Through the crown neither the head, nor its slope, nor the flow jumps."""
    made = hole()
    flow = made.flow_at(BORE)
    heads = [made.needed(flow * by) for by in (1.0 - 1e-9, 1.0 + 1e-9)]
    assert heads[0][0] == pytest.approx(heads[1][0], abs=1e-9)
    assert heads[0][1] == pytest.approx(heads[1][1], rel=1e-6)
    heads = np.linspace(-0.5, 4.0, 9001) * BORE
    steps = np.diff(made.flow_at(heads))
    assert (steps[heads[1:] > 1e-9] > 0.0).all()
    assert (made.flow_at(heads[heads <= 0.0]) == 0.0).all()
    assert steps.max() < 5e-4 * made.flow_at(float(heads[-1]))


@calm
@given(st.floats(0.005, 0.2), st.floats(0.02, 0.1), st.floats(0.52, 0.80))
def test_what_a_head_feeds_needs_that_head(head, bore, coefficient):
    """The head needed by the flow that a head feeds is that head, to the 0.1 mm by which the corner is rounded."""
    made = hole(bore, coefficient)
    assert made.needed(made.flow_at(head))[0] == pytest.approx(head, abs=1.5e-4, rel=5e-4)


def test_the_lower_of_pipe_and_edge_is_its_flow():
    """Below the crown critical depth rules it, above the edge; it never passes more than either, each by its own closed form."""
    made = hole()
    for head in (0.2, 0.6, 0.9, 1.2, 1.5):
        edge = 0.60 * math.sqrt(2.0 * GRAVITY) * BORE**2.5 * strips(head)
        pipe = critical_flow(BORE, head * BORE)
        assert made.flow_at(head * BORE) == pytest.approx(min(edge, pipe), rel=3e-4)
        assert (edge < pipe) == (head > 1.0)


def test_a_trickle_has_a_finite_slope():
    """At rest the head rises at less than 5 mm per L/h, and a flow of 4 L/h needs the head of the full law within 20 %."""
    made = hole()
    assert 0.0 < made.needed(0.0)[1] * L_H < 5e-3
    by_law = BORE * math.sqrt(4.0 * L_H / (math.pi / 4.0 * 0.60 * math.sqrt(2.0 * GRAVITY) * BORE**2.5))
    assert made.needed(4.0 * L_H)[0] == pytest.approx(by_law, rel=0.20)
    assert made.needed(0.0)[0] == pytest.approx(0.0, abs=1.1e-4)


def test_a_fouled_hole_passes_its_share():
    """With a quarter of its opening left it takes a quarter of its flow at the same head."""
    for head in (0.01, 0.03, 0.1):
        assert hole().fouled(0.25).flow_at(head) == pytest.approx(0.25 * hole().flow_at(head), rel=1e-12)


def test_it_says_what_rules():
    """With its surface free the edge rules, drowned to the crown the throat."""
    made = hole()
    assert made.controls(0.9 * made.flow_at(BORE)) == "edge"
    assert made.controls(1.1 * made.flow_at(BORE)) == "throat"


def drain(crest=1.0, **more):
    """Return a drain behind a hole, throttled, that falls to a level at the datum."""
    line = Line.of([Pipe.of(BORE, 1.3, 1.5e-6, 0.95e-6), LocalLoss.of(60.0, BORE)])
    return DrainLine("drain", hole(crest=crest), line, end=-0.05, **more)


def test_a_drain_behind_it_siphons_and_breaks_at_the_crown():
    """With air it keeps to a level under the crown or J < 1; full, it draws air at the crown, however low a rim would break."""
    made = drain()
    sweep = 1.01 / made.air_number(1.0)
    margins = [made.guards(q, 1.0 + head * BORE, 0.0)[0].margin for q, head in ((sweep, 0.9), (0.9 * sweep, 1.1), (sweep, 1.1))]
    assert [margin > 0.0 for margin in margins] == [True, True, False]
    assert made.breaking_head(0.0) == BORE
    assert made.breaking_head(sweep) == pytest.approx(made.inlet.weir_head(sweep)[0])
    full = made.in_mode(SIPHON)
    assert full.guards(full.full_flow(0.9 * BORE, 0.0), 1.0 + 0.9 * BORE, 0.0)[0].margin < 0.0
    assert full.guards(full.full_flow(2.5 * BORE, 0.0), 1.0 + 2.5 * BORE, 0.0)[0].margin > 0.0


def test_flushing_it_swings_between_crown_and_priming():
    """Flushing, the tank is held at the crown, or at the head at which the flow sweeps the air out; each mode keeps its name."""
    low, high = drain().in_mode(FLUSHING_LOW), drain().in_mode(FLUSHING_HIGH)
    assert low.surge_head == BORE
    assert high.surge_head == pytest.approx(drain().needed(drain().sweeping_flow)[0])
    assert [drain().in_mode(mode).mode for mode in (WITH_AIR, SIPHON, FLUSHING_HIGH, FLUSHING_LOW)] == [
        WITH_AIR, SIPHON, FLUSHING_HIGH, FLUSHING_LOW]


def test_a_hole_and_a_rim_stop_at_their_crest():
    """After a power cut neither draws the tank lower than its crest, whatever vents are counted on."""
    rim = Rim.of(0.7, 0.05, 0.05, 0.4545, 0.606)
    for counted in (True, False):
        assert hole(crest=0.7).stops_at(counted, 1e-3) == 0.7
        assert rim.stops_at(counted, 1e-3) == 0.7
        assert drain(crest=0.7).stops_at(counted) == 0.7


def test_it_is_made_from_its_description():
    """From the words of a case file come bore, lip, coefficient and entrance; a strainer halves it and can foul."""
    def made(**more):
        values = {"bore": Uncertain.exact(BORE, "bore"), "lip": Height(Uncertain.exact(0.5, "lip"), "ground"), **more}
        kind = family("inlet")["plain bulkhead"]
        return kind.make(
            Reader(Item("side outlet", values), PartContext({}, {}, lambda height: height.offset.middle, 1e-6), 0.05)
        )

    plain = made()
    assert plain == SideOutlet.of(0.5, BORE, HOLE.middle, 0.606, entrance=ENTRANCE.middle)
    assert plain.faults() == {}
    strained = made(strainer="yes")
    assert strained.flow_at(0.03) == pytest.approx(0.5 * plain.flow_at(0.03))
    assert strained.faults()["strainer fouled"].flow_at(0.03) == pytest.approx(0.125 * plain.flow_at(0.03))
