"""Siphon tubes over a rim."""

import math

import pytest

from hydro.elements.fittings import LocalLoss, Valve
from hydro.elements.high_point import HighPoint
from hydro.elements.line import Line
from hydro.elements.pipe import Pipe
from hydro.elements.siphon_tube import AIR, FULL, SiphonTube
from hydro.quantities.arrays import GRAVITY

BORE, START, FINISH, TOP = 0.0284, 1.30, 1.33, 1.58
AREA = math.pi / 4.0 * BORE * BORE
LINE = Line.of([LocalLoss.of(0.78, BORE), Pipe.of(BORE, 0.6, 1.5e-6, 1e-6), LocalLoss.of(1.0, BORE)])
TUBE = SiphonTube("tube", LINE, START, FINISH, HighPoint.along("tube", TOP, LINE, 0.5))


def flow(tube, up, down):
    """Return the flow of a tube between two levels, by halving its falling residual."""
    low, high = -0.02, 0.02
    for _ in range(90):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if tube.residual(middle, up, down)[0] > 0.0 else (low, middle)
    return low


def carrying(number):
    """Return the flow whose number V/sqrt(g D) is this one, m3/s."""
    return number * AREA * (GRAVITY * BORE) ** 0.5


def test_the_difference_of_the_levels_drives_it():
    """With losses alone it passes sqrt(2 g D/K) through its bore, D the difference of the levels; nothing for none."""
    tube = SiphonTube("tube", Line.of([LocalLoss.of(0.78, BORE), LocalLoss.of(1.0, BORE)]), START, FINISH)
    assert flow(tube, 1.50, 1.46) == pytest.approx(AREA * (2.0 * GRAVITY * 0.04 / 1.78) ** 0.5, rel=1e-3)
    assert flow(tube, 1.50, 1.50) == pytest.approx(0.0, abs=2e-6)


def test_it_runs_both_ways():
    """With the levels exchanged the water runs back, as much of it."""
    assert flow(TUBE, 1.46, 1.50) == pytest.approx(-flow(TUBE, 1.50, 1.46), rel=1e-3)
    assert flow(TUBE, 1.50, 1.46) > 1e-4


def test_with_air_in_its_crown_nothing_passes():
    """Not primed, half a metre of head passes less than 1 mL/h; primed again it runs."""
    empty = TUBE.in_mode(AIR)
    assert (TUBE.mode, empty.mode, empty.in_mode(FULL)) == (FULL, AIR, TUBE)
    assert abs(flow(empty, 1.9, 1.4)) < 1e-3 / 3.6e6
    assert TUBE.modes() == (FULL, AIR)


def test_a_bare_mouth_takes_no_water():
    """An end in the air feeds nothing, whatever the level at the other end asks for."""
    assert abs(flow(TUBE, START - 0.01, 1.0)) < 1e-8
    assert abs(flow(TUBE, 1.0, FINISH - 0.01)) < 1e-8
    assert flow(TUBE, START + 0.05, 1.0) == pytest.approx(flow(TUBE, START + 0.05, FINISH - 0.5), rel=1e-4)


def test_it_carries_no_more_than_its_end_is_fed():
    """A long tube over a thin sheet of water takes what falls over a round mouth, (2/3) 0.53 sqrt(2 g) pi d H^1.5, either way."""
    low, high = SiphonTube("tube", LINE, START, 0.8), SiphonTube("tube", LINE, 0.8, START)
    weir = 2.0 / 3.0 * 0.53 * (2.0 * GRAVITY) ** 0.5 * math.pi * BORE * 0.015**1.5
    assert flow(low, START + 0.015, 0.7) == pytest.approx(weir, rel=5e-3)
    assert flow(high, 0.7, START + 0.015) == pytest.approx(-weir, rel=5e-3)
    assert low.feeding_head(weir)[0] == pytest.approx(0.015, rel=1e-4)


def test_more_than_comes_draws_air():
    """The guard on the feeding end falls through zero where the full line begins to need less than the mouth does."""
    tube, deep = SiphonTube("tube", LINE, START, 0.8), START + 0.08
    limited, full = flow(tube, START + 0.015, 1.28), flow(tube, deep, 1.28)
    assert tube.guards(limited, START + 0.015, 1.28)[1].margin < -1e-3
    assert tube.guards(full, deep, 1.28)[1].margin == pytest.approx(0.08 - tube.feeding_head(full)[0], abs=1e-3)
    assert tube.guards(-full, 0.81 + 0.2, 1.28)[1].margin > 0.0
    thin = START + 0.005, START + 0.0005
    assert "gulps air" in " ".join(tube.limits(flow(tube, *thin), *thin))


def test_an_end_in_the_air_counts_from_its_mouth():
    """A lower level far below the mouth drives no more than one at the mouth."""
    assert flow(TUBE, 1.50, 0.90) == pytest.approx(flow(TUBE, 1.50, FINISH), rel=5e-3)


def test_it_stops_at_the_higher_mouth():
    """Prime is lost once either level falls under the higher of the two mouths; with air in it nothing more can be lost."""
    assert TUBE.stops_at == FINISH
    margins = [TUBE.guards(1e-3, up, down)[0] for up, down in ((1.50, 1.46), (1.50, FINISH - 0.02), (FINISH - 0.02, 1.46))]
    assert [guard.margin for guard in margins] == pytest.approx([0.13, -0.02, -0.02])
    assert {guard.next_mode for guard in margins} == {AIR}
    assert TUBE.in_mode(AIR).guards(1e-3, 1.5, 1.0) == []


def test_it_runs_again_where_both_ends_stayed_under():
    """After a power cut the levels at rest tell: over both mouths it restarts, under one it does not."""
    assert TUBE.cover(1.40, 1.36) == pytest.approx(0.03)
    assert TUBE.cover(1.40, 1.31) < 0.0 < TUBE.cover(1.34, 1.34)


def test_a_crown_too_high_parts_the_column():
    """The last guard is the height left before the suction at the crown is more than a siphon bears."""
    high = SiphonTube("tube", LINE, START, FINISH, HighPoint.along("tube", 1.5 + 7.5, LINE, 0.5))
    assert high.guards(0.0, 1.5, 1.5)[2].margin == pytest.approx(-0.5)
    assert TUBE.guards(0.0, 1.5, 1.5)[2].margin == pytest.approx(7.0 - (TOP - 1.5))
    with pytest.raises(ValueError, match="no highest point"):
        SiphonTube("tube", LINE, START, FINISH).suction_left(0.0, 1.5)


def test_its_faults_are_air_and_its_valves():
    """Air in the crown is a fault, blocked where there is no crown, and what may become of a valve in the tube."""
    throttled = Valve("tube: gate valve", 5.0, BORE, LocalLoss.of(5.0, BORE).quadratic, 0.2)
    tube = SiphonTube("tube", Line.of([*LINE.parts, throttled]), START, FINISH)
    assert TUBE.faults() == {AIR: {"primed": 0.0}}
    assert set(tube.faults()) == {"blocked", "tube: gate valve: fully open", "tube: gate valve: shut"}


def test_slow_water_leaves_air_at_the_crown():
    """Below J = 0.3 air is sure to collect, up to 1 it may, above nothing is said; at rest no air comes along."""
    numbers = (0.29, 0.31, 0.99, 1.01, -0.29, 0.0)
    said = [TUBE.limits(carrying(number), 1.60, 1.59) for number in numbers]
    assert ["collects" in " ".join(words) for words in said] == [True, False, False, False, True, False]
    assert ["may be too slow" in " ".join(words) for words in said] == [False, True, True, False, False, False]
    assert TUBE.air_number(-carrying(0.7)) == pytest.approx(0.7)


def test_shallow_ends_are_said():
    """A mouth less than 1.5 bores under water may draw air, one in the air stops the tube; deep ones are not worth a word."""
    fast = carrying(1.5)
    deep, shallow, bare = (TUBE.limits(fast, 1.60, FINISH + depth) for depth in (1.6 * BORE, 1.4 * BORE, -0.001))
    assert (deep, len(shallow), len(bare)) == ([], 1, 1)
    assert "whirl" in shallow[0]
    assert "it stops" in bare[0]
    assert TUBE.in_mode(AIR).limits(fast, 1.6, 1.0) == []


def test_suction_at_the_crown_is_said():
    """A crown 1.2 m over the water is in the range where soft hose may flatten."""
    tall = SiphonTube("tube", LINE, START, FINISH, HighPoint.along("tube", 2.8, LINE, 0.5))
    assert "flatten" in " ".join(tall.limits(carrying(1.2), 1.60, 1.59))


def test_it_holds_the_water_of_its_runs():
    """Full, it holds the volume of its runs, and its losses add up to what the levels lose."""
    assert TUBE.volume == pytest.approx(AREA * 0.6)
    q = flow(TUBE, 1.50, 1.46)
    assert sum(head for _, head in TUBE.budget(q, 1.50, 1.46)) == pytest.approx(0.04, rel=1e-3)
