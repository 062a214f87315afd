"""Lines of parts, and the link of a line."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.description.build import Item
from hydro.elements.fittings import CheckValve, LocalLoss
from hydro.elements.line import Line, LineLink, Mouth, first_bore, prepare_line
from hydro.elements.pipe import Pipe
from hydro.elements.registry import PartContext, load_all
from hydro.quantities.uncertain import Uncertain
from hydro.solve import System, solve

calm = settings(max_examples=40, derandomize=True, deadline=None, database=None)
bores = st.floats(0.015, 0.06)
parts = st.one_of(st.builds(lambda bore, length: Pipe.of(bore, length, 1.5e-6, 1e-6), bores, st.floats(0.0, 5.0)),
                  st.builds(LocalLoss.of, st.floats(0.0, 20.0), bores),
                  st.builds(lambda k, bore, crack: CheckValve.of(k, bore, crack), st.floats(0.1, 5.0), bores,
                            st.floats(0.0, 0.05)))


def carried(line, up, down, outlet=0.0):
    """Return the flow between two given levels."""
    system = System(((LineLink("line", line, outlet).residual, 0, 1),), (None, None), (None,), {0: up, 1: down}, None)
    found = solve(system, [up, down], [1e-3], most=200)
    assert found.solved
    return found.flows[0]


def described(*items):
    """Return items: (word, bore in mm, length in m) or (word, bore)."""
    made = [Item(word, {"size": Uncertain.exact(size / 1000.0, f"{word} {k}")}
                 | ({"length": Uncertain.exact(length[0])} if length else {}), label=word)
            for k, (word, size, *length) in enumerate(items)]
    load_all()
    return made, PartContext({}, {}, lambda height: 0.0, 1e-6)


@calm
@given(st.lists(parts, min_size=1, max_size=4), parts, st.integers(0, 4), st.floats(0.02, 3.0))
def test_more_in_a_row_never_carries_more(row, more, place, head):
    """Any part put anywhere into a line never raises its flow."""
    row = [LocalLoss.of(1.5, 0.03), *row]
    longer = [*row[:place], more, *row[place:]]
    assert carried(Line.of(longer), head, -1.0) <= carried(Line.of(row), head, -1.0) + 1e-10


@calm
@given(st.lists(parts, min_size=1, max_size=5), st.floats(-5e-3, 5e-3))
def test_a_line_loses_what_its_parts_lose(row, flow):
    """The head lost along a line is the sum over its parts, though runs of one bore are joined (and 1e-3 s/m2 at rest)."""
    assert Line.of(row).loss(flow)[0] == pytest.approx(sum(part.loss(flow)[0] for part in row) + 1e-3 * flow, rel=1e-9)


def test_runs_of_one_bore_become_one():
    """Runs of one bore and wall are joined wherever they stand; volume and budget keep all of them."""
    runs = [Pipe.of(0.03, 1.0, 1.5e-6, 1e-6), Pipe.of(0.02, 0.5, 1.5e-6, 1e-6), Pipe.of(0.03, 2.0, 1.5e-6, 1e-6)]
    line = Line.of(runs)
    assert [pipe.length for pipe in line.pipes] == [3.0, 0.5]
    assert line.volume == pytest.approx(sum(run.volume for run in runs))
    assert [label for label, _ in LineLink("line", line).budget(1e-3, 1.0, 0.0)] == ["pipe"] * 3


def test_changes_of_bore_are_entered_once():
    """A described line gets a loss where the bore changes, and none where two sizes are equal."""
    items, context = described(("pipe", 40, 1.0), ("elbow 90", 40), ("hose", 25, 2.0), ("hose", 25, 1.0))
    labels = [part.label for part in prepare_line(items, context, where_from="left").parts]
    assert labels == ["left: entrance", "pipe", "elbow 90", "hose: change of bore", "hose", "hose", "left: exit"]


def test_items_without_a_size_take_the_bore_that_reaches_them():
    """A fitting that names no size sits in the bore before it, at the start in the first bore to come."""
    items, context = described(("hose", 25, 1.0))
    items = [Item("elbow 90", label="elbow"), *items]
    line = prepare_line(items, context)
    assert line.first_bore == 0.025
    assert first_bore(items, context) == 0.025


def test_a_line_without_any_bore_is_refused():
    """A line of which nothing names a bore cannot be made."""
    _, context = described()
    with pytest.raises(ValueError, match="no part names its bore"):
        prepare_line([Item("elbow 90")], context)


def test_the_jet_of_the_last_bore_is_lost():
    """The last bore's velocity head is lost at the end and not where the line goes on."""
    items, context = described(("pipe", 40, 1.0), ("nozzle", 15))
    with_exit, without = prepare_line(items, context), prepare_line(items, context, exit_loss=False)
    assert with_exit.loss(1e-3)[0] - without.loss(1e-3)[0] == pytest.approx(LocalLoss.of(1.0, 0.015).loss(1e-3)[0])


def test_free_and_drowned_mouths():
    """A free mouth works against its own height, a drowned one against the receiving level."""
    line = Line.of([LocalLoss.of(3.0, 0.03)])
    assert carried(line, 1.0, -2.0, outlet=0.4) == pytest.approx(carried(line, 1.0, -0.5, outlet=0.4), rel=1e-5)
    assert carried(line, 1.0, 0.7, outlet=0.4) == pytest.approx(carried(line, 1.3, -1.0, outlet=0.7 + 0.3), rel=1e-3)


def test_a_mouth_in_the_air_takes_no_water_back():
    """From a level below its mouth nothing runs back up a line, from above it does."""
    line = Line.of([LocalLoss.of(3.0, 0.03)])
    assert carried(line, 0.1, 0.3, outlet=0.4) == pytest.approx(0.0, abs=1e-7)
    assert carried(line, 0.1, 0.6, outlet=0.4) < -5e-4


def test_a_shut_line_carries_nothing():
    """Shut, a line carries less than half a litre an hour under a metre of head."""
    line = Line.of([LocalLoss.of(3.0, 0.03)])
    assert LineLink("line", line, 0.0, shut=1.0).residual(0.5 / 3.6e6, 1.0, -1.0)[0] < 0.0
    assert LineLink("line", line, 0.0).residual(0.5 / 3.6e6, 1.0, -1.0)[0] > 0.9


def test_stuck_check_valves_let_the_tank_back():
    """With its check valve stuck a line runs backwards, with it holding it does not."""
    line = Line.of([CheckValve.of(2.0, 0.03), LocalLoss.of(1.0, 0.03)])
    assert carried(line, 0.0, 1.0) == pytest.approx(0.0, abs=1e-6)
    assert carried(line.with_check_valves(0.0), 0.0, 1.0) < -5e-4
    assert len(line.check_valves) == 1


def test_where_a_siphon_back_ends():
    """Siphoning back ends at the mouth's lowest point, or higher at a hole that works."""
    assert Mouth("return", 1.2, 1.4).stop(breaks=True) == 1.4
    assert Mouth("return", 1.2, 1.4).stop(breaks=False) == 1.2
    assert Mouth("return", 1.2).stop(breaks=True) == 1.2
    assert Mouth("return", 1.2, 1.1).stop(breaks=True) == 1.2


def test_the_fastest_run_is_the_narrowest():
    """The highest speed is in the narrowest run, q over its area."""
    line = Line.of([Pipe.of(0.03, 1.0, 0.0, 1e-6, label="wide"), Pipe.of(0.02, 1.0, 0.0, 1e-6, label="narrow")])
    speed, label = line.fastest(1e-3)
    assert (label, speed) == ("narrow", pytest.approx(1e-3 / (3.14159265 / 4.0 * 0.02**2)))
