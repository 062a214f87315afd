"""The pressure at a line's highest point."""

import math

import numpy as np
import pytest

from hydro.elements.fittings import LocalLoss
from hydro.elements.high_point import GREATEST, SOFTENS, HighPoint
from hydro.elements.line import Line
from hydro.elements.pipe import Pipe
from hydro.quantities.arrays import GRAVITY

BORE, TOP = 0.0284, 1.60
AREA = math.pi / 4.0 * BORE * BORE


def run(length, bore=BORE):
    """Return a run of smooth pipe."""
    return Pipe.of(bore, length, 1.5e-6, 1e-6)


def loss(k, bore=BORE):
    """Return a local loss."""
    return LocalLoss.of(k, bore)


LINE = Line.of([loss(0.78), run(0.5), loss(0.6), run(0.2), loss(0.6), run(0.9), loss(1.0)])


def driven(line, head):
    """Return the flow that a head drives through a line, by halving."""
    low, high = 0.0, 0.1
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if line.loss(middle)[0] < head else (low, middle)
    return low


@pytest.mark.parametrize("share", [0.0, 0.2, 0.35, 0.7, 1.0])
def test_both_ends_tell_the_same(share):
    """At the flow that the levels drive, the pressure from above is the pressure from below (energy is conserved)."""
    q = driven(LINE, 0.25)
    point = HighPoint.along("top", TOP, LINE, share)
    # 1.4 um: the little resistance that keeps a line without parts solvable.
    assert point.from_above(q, 1.45)[0] == pytest.approx(point.from_below(q, 1.20)[0], abs=5e-6)


def test_at_rest_it_is_the_depth():
    """Without flow the pressure is the level less the height of the point."""
    point = HighPoint.along("top", TOP, LINE, 0.4)
    assert point.from_above(0.0, 1.45)[0] == pytest.approx(-0.15)
    assert point.from_below(0.0, 1.72)[0] == pytest.approx(0.12)


def test_running_it_is_bernoullis():
    """Running, it is lower by V^2/2g and by the losses before it, each counted once: closed form with losses alone."""
    line = Line.of([loss(0.8), loss(0.5), loss(1.0)])
    point, q = HighPoint.along("top", TOP, line, 0.5), 1.2e-3
    head = (q / AREA) ** 2 / (2.0 * GRAVITY)
    assert point.from_above(q, 1.45)[0] == pytest.approx(1.45 - TOP - head * (1.0 + 0.8 + 0.5), rel=1e-5)
    assert point.from_below(q, 1.45)[0] == pytest.approx(1.45 - TOP - head * (1.0 - 1.0), rel=1e-5)
    assert point.speed(q) == pytest.approx(q / AREA)


def test_a_run_over_the_top_is_cut_by_its_length():
    """A point at a share of the length pays for that share of the runs and for the fittings it has passed."""
    point, q = HighPoint.along("top", TOP, LINE, 0.375), 1e-3
    paid = loss(0.78).loss(q)[0] + run(0.5).loss(q)[0] + loss(0.6).loss(q)[0] + run(0.1).loss(q)[0]
    head = (q / AREA) ** 2 / (2.0 * GRAVITY)
    assert point.from_above(q, TOP)[0] == pytest.approx(-head - paid, rel=1e-6)


def test_a_mark_cuts_where_it_stands():
    """Read as two lines, the point lies between them: the same as the share of the length at which they meet."""
    before, behind = Line.of([loss(0.78), run(0.5)]), Line.of([run(1.1), loss(0.6), loss(1.0)])
    marked = HighPoint.between("top", TOP, before, behind)
    whole = HighPoint.along("top", TOP, Line.of([*before.parts, *behind.parts]), 0.5 / 1.6)
    for q in (1e-3, -1e-3):
        assert marked.from_above(q, 1.5)[0] == pytest.approx(whole.from_above(q, 1.5)[0], rel=1e-9)
        assert marked.from_below(q, 1.5)[0] == pytest.approx(whole.from_below(q, 1.5)[0], rel=1e-9)


def test_the_bore_is_the_one_there():
    """In a line of two bores the speed is that of the bore at the point."""
    line = Line.of([run(1.0, 0.04), run(1.0, 0.02), loss(1.0, 0.02)])
    assert [HighPoint.along("top", TOP, line, share).bore for share in (0.3, 0.7)] == [0.04, 0.02]


def test_which_side_feels_the_flow():
    """Fed from a fixed level the pressure falls with the flow; ahead of a throttled end of fixed level it rises."""
    point = HighPoint.along("top", TOP, Line.of([run(0.5), run(0.5), loss(9.0)]), 0.5)
    assert point.from_above(2e-3, 1.5)[0] < point.from_above(1e-3, 1.5)[0]
    assert point.from_below(2e-3, 1.5)[0] > point.from_below(1e-3, 1.5)[0]


def test_backwards_the_losses_lie_on_the_other_side():
    """With the flow reversed the water has paid for what lies behind the point: both ends still agree."""
    point, q = HighPoint.along("top", TOP, LINE, 0.3), driven(LINE, 0.25)
    assert point.from_above(-q, 1.20)[0] == pytest.approx(point.from_below(-q, 1.45)[0], abs=5e-6)


def test_columns_of_shares_give_each_designs_pressure():
    """Shares as an array, with the cut falling into different runs, give each float's pressure to 1e-12."""
    shares = np.array([0.0, 0.1, 0.375, 0.6, 1.0])
    together = HighPoint.along("top", TOP, LINE, shares).from_above(np.full(5, 1e-3), np.full(5, 1.5))[0]
    alone = [HighPoint.along("top", TOP, LINE, share).from_above(1e-3, 1.5)[0] for share in shares.tolist()]
    assert together == pytest.approx(alone, rel=1e-12)


def test_suction_is_said_by_how_bad_it_is():
    """Little suction is not worth a word, from the first limit on hose flattens, from the second the column parts."""
    point = HighPoint.along("top", TOP, LINE, 0.5)
    soft, greatest = -SOFTENS.middle, -GREATEST.middle
    said = [point.notes(p) for p in (0.5, soft + 0.01, soft - 0.01, greatest + 0.01, greatest - 0.01)]
    assert [len(words) for words in said] == [0, 0, 1, 1, 1]
    assert "flatten" in said[2][0]
    assert "flatten" in said[3][0]
    assert "column parts" in said[4][0]
