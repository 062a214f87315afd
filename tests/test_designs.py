"""Many designs as arrays: each one's checks are those of the single loop."""

from __future__ import annotations

import numpy as np
import pytest
from builds import chamber, drain, loop, mat, plate, pump, way, worked

from hydro.answer import CANNOT_LIFT, NONE, SURGES
from hydro.checks import FAILS, rows_of
from hydro.designs.finding import designs_of
from hydro.designs.solving import NO_MODES, STEADY
from hydro.findings import find
from hydro.ops import stack, take
from hydro.scenarios import place

THREE = worked(drains=(drain("d1", 1.470, 0.0452, length=1.45, k=2.9, end=0.22), drain("d2", 1.472, 0.0452, end=0.22),
                       drain("dry", 1.520, 0.0678, end=0.40)))
SIPHONS = loop(drains=(drain("siphon", 1.44, bore=0.0362, k=45.0), drain("open", 1.47, bore=0.057)),
               driven_by=pump(curve=[(0.6 * flow, head) for flow, head in
                                     ((0.0, 5.0), (0.5e-3, 4.7), (1.0e-3, 3.9), (1.4e-3, 2.9), (1.7e-3, 1.6), (2.0e-3, 0.0))]))
VALVES = loop(returns=(way("one", valve=True, hole_at=1.47, hole=0.01), way("two", bore=0.022)),
              chambers=(chamber("inflow", 0.5, mat(0.29)), chamber("media", 0.2, plate(0.27)), chamber("pump")))
BATCHES = {
    "three drains": (THREE, {"drain d1: rim": (0.025, 0.06), "drain d1: size": (0.025, 0.06), "drain d2: size": (0.025, 0.06),
                             "pump: size": (0.022, 0.04), "return branch 1: size": (0.02, 0.032), "drain d1: lip": (1.47, 1.56)}),
    "siphons": (SIPHONS, {"drain siphon: K": (5.0, 120.0), "drain open: lip": (1.45, 1.52),
                          "drain siphon: size": (0.025, 0.045)}),
    "valves": (VALVES, {"return one: size": (0.018, 0.032), "return two: end": (1.40, 1.47), "drain drain: size": (0.03, 0.06)}),
    "line": (THREE, {"chamber pump: line": (0.075, 0.34), "pump: size": (0.02, 0.03)})}
COUNT = 60


def batch(name):
    """Return a loop and numbers for so many designs, the same ones every time."""
    build, ranges = BATCHES[name]
    dice = np.random.default_rng(sum(map(ord, name)))
    return place(build), {key: dice.uniform(low, high, COUNT) for key, (low, high) in ranges.items()}


@pytest.mark.parametrize("name", BATCHES)
def test_each_design_is_the_single_loop(name):
    """Every row of every design has the verdict and, to 1e-6, the margin that the loop has when it is worked out alone."""
    fixed, picks = batch(name)
    together = designs_of(fixed, picks, COUNT)
    compared = 0
    for design in range(COUNT):
        rows = {row.key: row for row in rows_of(together.findings(design))}
        alone = find(fixed, together.picks_of(design))
        if alone.answer.kind in (SURGES, CANNOT_LIFT, NONE):
            assert rows["steady"].verdict == FAILS
            continue
        expected = {row.key: row for row in rows_of(alone)}
        assert rows.keys() == expected.keys()
        for key, row in expected.items():
            assert (key, rows[key].verdict, rows[key].margin) == (key, row.verdict, pytest.approx(row.margin, abs=1e-6))
        compared += 1
    assert compared > COUNT // 4


def test_every_design_is_solved_or_named():
    """A design runs, draws air, lifts nothing or has no way to run: each is one of these, and none is left without a name."""
    fixed, picks = batch("siphons")
    ran = designs_of(fixed, picks, COUNT).ran
    assert set(ran.kinds.tolist()) >= {STEADY, NO_MODES}
    assert all((ran.counts[design] == len(ran.states(design))) for design in range(COUNT))


def test_several_ways_to_run_are_all_found():
    """Where a siphon and running with air are both consistent, a design has both states, the one with air first."""
    fixed, picks = batch("siphons")
    together = designs_of(fixed, picks, COUNT)
    design = int(np.argmax(together.ran.counts))
    states = together.ran.states(design)
    alone = find(fixed, together.picks_of(design)).answer
    assert len(states) == len(alone.states) >= 2
    for one, other in zip(states, alone.states, strict=True):
        assert one.levels == pytest.approx(other.levels, abs=1e-7)


def test_a_drooping_pump_is_left_to_the_single_loop():
    """Curves that rise anywhere, several tanks, tees: these are not worked out as arrays."""
    drooping = loop(driven_by=pump(curve=((0.0, 2.0), (1e-3, 2.4), (2e-3, 0.0))))
    assert designs_of(place(drooping), {"pump: size": np.array([0.02, 0.03])}, 2) is None


def test_taking_undoes_stacking():
    """Records joined over designs and taken apart again are the same records, numbers as floats."""
    networks = [place(loop(drains=(drain(bore=bore),))).network().links[1].element for bore in (0.04, 0.05, 0.06)]
    joined = stack(networks)
    assert [take(joined, n) for n in range(3)] == networks
    assert take(joined, np.array([2, 0])).line.bore.tolist() == [0.06, 0.04]
