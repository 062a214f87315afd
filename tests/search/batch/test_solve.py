"""Many designs at once: a build with arrays picked for some of its numbers, solved as one, against each design solved alone."""

from pathlib import Path

import numpy as np
import pytest
from random_builds import make

from hydro.case import load
from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.network.assembly import make_network
from hydro.network.model import Closing
from hydro.scenarios.placed_build import closing_of, place
from hydro.steady.state import solve_network

CASES = Path(__file__).parents[3] / "cases"
FILES = ("worked-loop", "demo", "tub-and-mats", "us-inch", "check-valve-saves", "floods")
DESIGNS, WIDE = 24, 200
SAME = 1e-9
STILL = 1e-6
"""Flow of a pump that moves nothing, m3/s."""


def spread(network, rng, count, share=0.01):
    """Return picks that move every number a network rests on, by a share or, where it is zero, by a millimetre."""
    return {name: uncertain.middle * rng.uniform(1.0 - share, 1.0 + share, count) if uncertain.middle
            else rng.uniform(0.0, 1e-3, count) for name, uncertain in network.used.items() if name}


def one_of(sample, k):
    """Return the picks of one design as floats."""
    return {name: float(values[k]) for name, values in sample.items()}


def differences(loop, sample, count, modes=None):
    """Return the largest difference of a level (m) and of a flow (m3/s) between arrays and floats, design by design.

    Levels of designs in which nothing flows are left out: alone they are put where the water comes to rest.
    """
    network = loop.network(sample)
    network = network if modes is None else network.in_modes(dict.fromkeys(network.drains, modes))
    state = solve_network(network, closing_of(loop, network, sample))
    assert np.all(state.solved)
    worst = [0.0, 0.0]
    for k in range(count):
        alone = loop.network(one_of(sample, k))
        alone = alone if modes is None else alone.in_modes(dict.fromkeys(alone.drains, modes))
        single = solve_network(alone, closing_of(loop, alone, one_of(sample, k)))
        for n, (many, few) in enumerate(((state.levels, single.levels), (state.flows, single.flows))):
            if n == 0 and single.pump_flow < STILL:
                continue
            columns = [float(np.broadcast_to(value, count)[k]) for value in many]
            worst[n] = max(worst[n], *(abs(a - b) for a, b in zip(columns, few, strict=True)))
    return worst


@pytest.mark.parametrize("name", FILES)
def test_every_number_of_a_case_may_be_an_array(name):
    """With every number of a case an array, each design comes out as it does alone, levels and flows to 1e-9."""
    loop = place(load(CASES / f"{name}.yaml"))
    sample = spread(loop.network(), np.random.default_rng(1), DESIGNS)
    level, flow = differences(loop, sample, DESIGNS)
    assert level < SAME
    assert flow < SAME


@pytest.mark.parametrize("modes", [WITH_AIR, SIPHON])
def test_two_hundred_designs(modes):
    """200 designs of one loop, every number moved by up to 2 %, are the 200 designs solved one by one, to 1e-9."""
    loop = place(load(CASES / "worked-loop.yaml"))
    sample = spread(loop.network(), np.random.default_rng(2), WIDE, 0.02)
    level, flow = differences(loop, sample, WIDE, modes)
    assert level < SAME
    assert flow < SAME


def test_designs_that_run_and_designs_that_do_not():
    """In one batch of pumps from far too weak to strong some designs stand still and others run, each as it does alone."""
    loop = place(load(CASES / "worked-loop.yaml"))
    sample = {"pump strength": np.linspace(0.1, 1.2, DESIGNS)}
    level, flow = differences(loop, sample, DESIGNS)
    network = loop.network(sample)
    flows = solve_network(network, closing_of(loop, network, sample)).pump_flow
    assert level < SAME
    assert flow < SAME
    assert (flows < STILL).any()
    assert (flows > 1e-4).any()


def test_amounts_of_water_as_an_array():
    """One loop with an array of amounts of water stands as it does with each of them; more water never lowers a chamber."""
    network = make_network(load(CASES / "worked-loop.yaml"))
    totals = np.linspace(1.00, 1.10, DESIGNS)
    many = solve_network(network, Closing(network.pump_chamber, total=totals))
    single = [solve_network(network, Closing(network.pump_chamber, total=float(total))) for total in totals]
    assert many.pump_level == pytest.approx([state.pump_level for state in single], abs=SAME)
    assert many.pump_flow == pytest.approx([state.pump_flow for state in single], abs=SAME)
    assert (np.diff(many.pump_level) >= -SAME).all()


def test_a_float_loop_stays_in_floats():
    """Without arrays every level and flow is a plain float, also where the pump stands still."""
    for number in range(12):
        loop = place(make("floats", number).build)
        network = loop.network()
        state = solve_network(network, closing_of(loop, network))
        assert {type(value) for value in (*state.levels, *state.flows)} == {float}
