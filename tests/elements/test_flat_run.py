"""A flat run of a drain: what it asks for while the drain takes in air."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.description.build import Item
from hydro.elements.drain import DrainLine
from hydro.elements.fittings import LocalLoss
from hydro.elements.flat_run import FlatRun, flat_runs, flow_at_70_percent
from hydro.elements.line import Line
from hydro.elements.narrowing import falls, narrow_places
from hydro.elements.part_full import critical_head
from hydro.elements.pipe import Pipe
from hydro.elements.registry import PartContext, Reader, family
from hydro.elements.side_outlet import SideOutlet
from hydro.quantities.uncertain import Uncertain

calm = settings(max_examples=60, derandomize=True, deadline=None, database=None)
BORE, LENGTH, ROUGH, VISCOSITY = 0.05, 2.0, 1e-3, 1e-6
MAKING = PartContext({}, {}, lambda height: height, VISCOSITY)


def run(slope, drop=0.0, length=LENGTH):
    """Return a flat run."""
    return FlatRun.of(BORE, length, slope, drop, ROUGH, VISCOSITY)


@pytest.mark.parametrize("slope", [0.005, 0.02, 0.10])
def test_up_to_its_capacity_it_asks_for_critical_depth_alone(slope):
    """Just below the flow at 70 % depth the head is the critical one; a hundredth above it is more."""
    flow = flow_at_70_percent(BORE, slope, ROUGH, VISCOSITY)
    below, above = 0.999 * flow, 1.01 * flow
    assert run(slope).needed(below) == critical_head(BORE, below)
    assert run(slope).needed(above)[0] > critical_head(BORE, above)[0] + 1e-4


def test_a_level_run_backs_up_by_its_friction():
    """Without a slope the head is that of critical depth and the friction at 70 % depth: f L/(4 Rh) V^2/(2g), f by Colebrook."""
    flow = 4e-4
    a = math.acos(-0.4)
    section, size = (2.0 * a - math.sin(2.0 * a)) / 8.0 * BORE**2, (2.0 * a - math.sin(2.0 * a)) / (2.0 * a) * BORE
    speed = flow / section
    x = 5.0
    for _ in range(40):
        x = -2.0 * math.log10(ROUGH / (3.7 * size) + 2.51 * x * VISCOSITY / (speed * size))
    friction = LENGTH / size * speed**2 / (2.0 * 9.80665) / x**2
    assert run(0.0).needed(flow)[0] == pytest.approx(critical_head(BORE, flow)[0] + friction, rel=1e-6)


def test_full_it_is_a_pipe():
    """Far beyond its capacity the head over the invert is crown, velocity head and friction less the fall, within 1 %."""
    flow = 6e-3
    speed = flow / (math.pi / 4.0 * BORE**2)
    lost = Pipe.of(BORE, LENGTH, ROUGH, VISCOSITY).loss(flow)[0]
    expected = BORE + speed**2 / (2.0 * 9.80665) + lost - 0.02 * LENGTH
    assert run(0.02).needed(flow)[0] == pytest.approx(expected, rel=0.01)


@calm
@given(st.sampled_from([0.0, 0.003, 0.02, 0.3]), st.floats(1e-6, 5e-3), st.floats(1.0001, 1.2))
def test_more_flow_asks_for_more_head_and_nothing_jumps(slope, flow, by):
    """The head rises with the flow, by no more than its slope explains; a steeper run never asks for more."""
    made = run(slope)
    here, more = made.needed(flow), made.needed(by * flow)
    assert here[0] < more[0]
    assert run(slope + 0.05).needed(flow)[0] <= here[0]
    near = made.needed(flow * (1.0 + 1e-9))
    assert near[0] - here[0] <= 1.01e-9 * flow * max(here[1], near[1]) + 1e-15


def test_what_a_head_feeds_needs_that_head():
    """The head asked for by the flow that a head feeds is that head, from the crest; far under its start nothing flows."""
    for head in (-0.02, 0.01, 0.05, 0.3):
        made = run(0.02, drop=0.03)
        assert made.needed(made.flow_at(head))[0] == pytest.approx(head, abs=1e-5)
    assert run(0.02, drop=0.03).flow_at(-0.05) == 0.0


def described(**more):
    """Return the pipe that the words of a case file make."""
    values = {"size": Uncertain.exact(BORE, "size"), "length": Uncertain.exact(LENGTH, "length"), **more}
    return family("part")["pipe"].make(Reader(Item("pipe", values), MAKING))[0]


def test_a_pipe_is_told_its_slope():
    """'slope' is the run's fall over its length, 'level' makes it 0, neither leaves it open; the full pipe's loss is the same."""
    slope = Uncertain.exact(0.02, "slope")
    made = [described(), described(slope=slope), described(slope=slope, level="yes"), described(slope=slope, level="no")]
    assert [pipe.slope for pipe in made] == [None, 0.02, 0.0, 0.02]
    assert len({pipe.loss(1e-3) for pipe in made}) == 1


def with_flat_run(slope=0.02):
    """Return a line: upright, flat for 2 m, upright again and narrower."""
    return Line.of([Pipe.of(BORE, 0.3, ROUGH, VISCOSITY, label="a"),
                    Pipe.of(BORE, LENGTH, ROUGH, VISCOSITY, label="flat", slope=slope),
                    Pipe.of(0.03, 0.6, ROUGH, VISCOSITY, label="b"), LocalLoss.of(1.0, 0.03, "exit")])


def test_the_fall_is_shared_out():
    """A run of a given slope takes its own fall, the others share the rest by length, and it all adds up to the whole."""
    parts = falls(with_flat_run(), 0.94, "")
    assert parts == pytest.approx([0.3, 0.04, 0.6, 0.0])
    place, = narrow_places(with_flat_run(), BORE, 0.94, 0.6)
    assert place.drop == pytest.approx(0.34)
    made, = flat_runs(with_flat_run(), 0.94, MAKING)
    assert made.drop == pytest.approx(0.3)
    assert made.part.loss(1e-3)[0] == pytest.approx(FlatRun.of(BORE, LENGTH, 0.02, 0.3, ROUGH, VISCOSITY).part.loss(1e-3)[0])
    assert flat_runs(Line.of([Pipe.of(BORE, 1.0, ROUGH, VISCOSITY)]), 0.9, MAKING) == ()


def test_a_drain_asks_for_what_its_flat_run_needs():
    """With a level run at the crest the tank stands higher and the rating is lower; of a full line it is but a part."""
    line = Line.of([Pipe.of(BORE, LENGTH, 1.5e-6, VISCOSITY, slope=0.0), Pipe.of(BORE, 1.0, 1.5e-6, VISCOSITY)])
    bare = DrainLine("drain", SideOutlet.of(1.0, BORE, 0.6, 0.606), line, -0.05)
    made = DrainLine("drain", bare.inlet, line, -0.05, narrows=flat_runs(line, 1.05, MAKING))
    flow = 5e-4
    assert made.needed(flow)[0] == pytest.approx(run(0.0).needed(flow)[0], rel=1e-6)
    assert made.needed(flow)[0] > bare.needed(flow)[0] + 0.005
    assert made.vented_rating() < bare.vented_rating()
    assert made.in_mode("as a siphon").residual(flow, 1.1, 0.0) == bare.in_mode("as a siphon").residual(flow, 1.1, 0.0)
