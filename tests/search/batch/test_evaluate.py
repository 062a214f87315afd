"""Many designs as arrays: each one's checks are those of the single loop."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from batches import BATCHES, COUNT, batch
from builds import drain, loop, pump

from hydro.checks import FAILS, checks_of
from hydro.description.build import Item
from hydro.quantities.arrays import stack, take
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of
from hydro.search.batch.evaluate import designs_of
from hydro.search.batch.solve import NO_MODES, STEADY
from hydro.steady.operating_point import CANNOT_LIFT, NONE, SURGES


@pytest.mark.parametrize("name", BATCHES)
def test_each_design_is_the_single_loop(name):
    """Every row of every design has the verdict and, to 1e-6, the margin that the loop has when it is worked out alone."""
    fixed, sample = batch(name)
    together = designs_of(fixed, sample, COUNT)
    compared = 0
    for design in range(COUNT):
        rows = {row.key: row for row in checks_of(together.results(design))}
        alone = results_of(fixed, together.picks_of(design))
        if alone.answer.kind in (SURGES, CANNOT_LIFT, NONE):
            assert rows["steady"].verdict == FAILS
            continue
        expected = {row.key: row for row in checks_of(alone)}
        assert rows.keys() == expected.keys()
        for key, row in expected.items():
            assert (key, rows[key].verdict, rows[key].margin) == (key, row.verdict, pytest.approx(row.margin, abs=1e-6))
        compared += 1
    assert compared > COUNT // 4


def test_a_dry_drain_is_out_at_the_speed_of_its_design():
    """Of designs that differ in the pump's speed each has the levels with a drain blocked that it has by itself."""
    speeds = (0.55, 0.65, 0.9)

    def spare(speed):
        drains = (drain("main", 1.47, bore=0.0452), drain("spare", 1.51))
        return loop(drains=drains, tank_opening=1.54, driven_by=pump(speed=speed))
    together = designs_of(place(spare(0.55)), {"pump: speed": np.array(speeds)}, len(speeds))
    for design, speed in enumerate(speeds):
        mine, alone = together.results(design).overflows, results_of(place(spare(speed))).overflows
        assert [one.level for one in mine] == pytest.approx([one.level for one in alone], abs=1e-6)
        assert [one.full_speed for one in mine] == [one.full_speed for one in alone] == [True, True, speed > 0.8]


def test_every_design_is_solved_or_named():
    """A design runs, draws air, lifts nothing or has no way to run: each is one of these, and none is left without a name."""
    fixed, sample = batch("siphons")
    ran = designs_of(fixed, sample, COUNT).ran
    assert set(ran.kinds.tolist()) >= {STEADY, NO_MODES}
    assert all((ran.counts[design] == len(ran.states(design))) for design in range(COUNT))


def test_several_ways_to_run_are_all_found():
    """Where a siphon and running with air are both consistent, a design has both states, the one with air first."""
    fixed, sample = batch("siphons")
    together = designs_of(fixed, sample, COUNT)
    design = int(np.argmax(together.ran.counts))
    states = together.ran.states(design)
    alone = results_of(fixed, together.picks_of(design)).answer
    assert len(states) == len(alone.states) >= 2
    for one, other in zip(states, alone.states, strict=True):
        assert one.levels == pytest.approx(other.levels, abs=1e-7)


def test_a_drooping_pump_is_left_to_the_single_loop():
    """Curves that rise anywhere, several tanks, tees, valves that are tuned: these are not worked out as arrays."""
    drooping = loop(driven_by=pump(curve=((0.0, 2.0), (1e-3, 2.4), (2e-3, 0.0))))
    assert designs_of(place(drooping), {"pump: size": np.array([0.02, 0.03])}, 2) is None
    low = drain("low", 1.34, bore=0.0362)
    tuned = replace(low, line=(*low.line, Item("gate valve", {"open": "tuned"}, label="valve")))
    assert designs_of(place(loop(drains=(tuned, drain()))), {"pump: size": np.array([0.02, 0.03])}, 2) is None


def test_taking_undoes_stacking():
    """Records joined over designs and taken apart again are the same records, numbers as floats."""
    networks = [place(loop(drains=(drain(bore=bore),))).network().links[1].element for bore in (0.04, 0.05, 0.06)]
    joined = stack(networks)
    assert [take(joined, n) for n in range(3)] == networks
    assert take(joined, np.array([2, 0])).line.bore.tolist() == [0.06, 0.04]
