"""A drain that runs backwards: water from the pipe below comes up out of its inlet, or does not."""

from dataclasses import replace

import pytest

from hydro.elements.drain import SIPHON, DrainLine
from hydro.elements.fittings import CheckValve, LocalLoss
from hydro.elements.line import Line
from hydro.elements.rim import Rim
from hydro.solve import System, solve

LIP, L_H = 1.00, 1.0 / 3.6e6


def drain(*others, end=0.80, **changes):
    """Return a standpipe of 57 mm on a line of 50 mm bore with K 3 in all, which ends in a header."""
    line = Line.of([LocalLoss.of(3.0, 0.050), *others])
    return replace(DrainLine("drain", Rim.of(LIP, 0.057, 0.050, 0.53, 0.606), line, end, two_way=1.0), **changes)


def comes_up(made, tank, header):
    """Return the flow (m3/s) that leaves the inlet with the tank at a level and the header below under a head, m."""
    found = solve(System(((made.residual, 0, 1),), (None, None), (None,), {0: tank, 1: header}, None), [tank, header], [1e-4],
                  most=200)
    assert found.solved
    return -found.flows[0]


def test_4000_litres_an_hour_need_74_mm_over_the_lip():
    """4000 L/h come up a dry tank's standpipe under 74.1 mm over its lip: 25.1 mm of weir round it and 49.0 mm of K 3.

    q = 1.1111e-3 m3/s. Weir: (2/3) 0.53 sqrt(2g) pi 0.057 = 0.28022 m^1.5/s, (q/0.28022)^(2/3) = 0.02505 m.
    Line: A = 1.96350e-3 m2, V = 0.56588 m/s, V^2/(2g) = 0.016327 m, three times that 0.04898 m.
    """
    assert comes_up(drain(), LIP - 0.30, LIP + 0.02505 + 0.04898) == pytest.approx(4000 * L_H, rel=1e-3)


def test_the_water_over_the_lip_counts_where_it_stands_higher():
    """With 50 mm of water over the lip and 30 mm more in the header, V = sqrt(2g 0.030/3) = 0.44287 m/s comes up: 3130 L/h."""
    assert comes_up(drain(), LIP + 0.050, LIP + 0.080) == pytest.approx(0.44287 * 1.96350e-3, rel=2e-3)


@pytest.mark.parametrize("tank", [LIP - 0.3, LIP - 1e-4, LIP + 0.05])
@pytest.mark.parametrize(("made", "header"), [
    (drain(), LIP - 0.005), (drain(), LIP), (drain(CheckValve.of(2.0, 0.05)), LIP + 0.4), (drain(two_way=0.0), LIP + 0.4),
    (drain(blocked=1.0), LIP + 0.4), (drain(end=LIP + 0.3), LIP + 0.25)],
    ids=["under the lip", "at the lip", "check valve", "one way", "blocked", "ends free above the water"])
def test_nothing_comes_back(made, header, tank):
    """Nothing comes up with the header at most as high as the lip, behind a check valve, or out of a mouth in the air."""
    assert comes_up(made, tank, header) < 1e-9


def test_the_same_water_goes_down_as_before():
    """What a drain takes from its tank is the same whether its pipe could run backwards or not, in both modes."""
    for mode in ("with air", SIPHON):
        for head, header in ((0.02, 0.5), (0.08, 0.9), (0.08, LIP + 0.05)):
            flows = [comes_up(drain(two_way=way).in_mode(mode), LIP + head, header) for way in (0.0, 1.0)]
            assert flows[0] < -1e-5
            assert flows[0] == pytest.approx(flows[1], rel=1e-9)


def test_one_that_runs_backwards_is_no_siphon_of_its_tank():
    """A full line that runs backwards keeps air out, but is not said to siphon; one that runs down full is."""
    made = drain().in_mode(SIPHON)
    assert made.keeps(-1e-3, LIP, LIP + 0.08) < 0.0
    assert made.keeps(6e-3, LIP + 0.1, LIP - 0.3) > 0.0
    assert [note for note in made.limits(-1e-3, LIP, LIP + 0.08) if "comes back up" in note]
