"""Random networks of tanks, sumps, pumps and headers: each is solved or named, and each answer is proved again.

`-s` prints the tally; any count and seed: `python tests/support/random_networks.py --count 500 --seed NAME`.
"""

import collections
import random
from dataclasses import replace

import pytest
from network_proofs import answer_to, faults_of
from proofs import network_of
from random_builds import exact
from random_networks import cases, make

from hydro.description.build import Item
from hydro.scenarios.placed_build import closing_of, run_placed
from hydro.steady.operating_point import CANNOT_LIFT, DRAWS_AIR, NONE, STEADY, SURGES
from hydro.steady.state import solve_network

SEED = "aquarium"
AT_ONCE, COMMON, MANY = 25, 100, 500
NU = 1.0e-6
"""Kinematic viscosity of the builds made here, m2/s."""


def examined(count, first=0):
    """Return a tally of the answers, and the faults found, over some networks."""
    tally, faults = collections.Counter(), []
    for case in cases(SEED, count, first):
        answer = answer_to(case)
        tally[answer.kind] += 1
        faults += [f"{case}: {answer.kind}: {fault}" for fault in faults_of(case, answer)]
    return tally, faults


@pytest.mark.parametrize("first", range(0, COMMON, AT_ONCE))
def test_every_answer_is_proved_again(first):
    """Every random network has an answer, and each answer stands when it is proved again without the code that gave it."""
    tally, faults = examined(AT_ONCE, first)
    assert not faults
    assert sum(tally.values()) == AT_ONCE


@pytest.mark.parametrize(("seed", "number"), [("h5n-1", 225), ("h5n-1", 252), ("h5n-2", 266)])
def test_networks_that_were_found_hard(seed, number):
    """Three networks of other seeds (a flooded drain, a sump that only loses water, a tube near its mouth) are proved as well."""
    case = make(seed, number)
    assert not faults_of(case, answer_to(case))


def test_drains_that_run_backwards_are_proved_too():
    """With K 3000 in their collector's pipe it stands over the lower tank's lip: its drain runs backwards, as by hand."""
    backwards, faults = 0, []
    for case in cases(SEED, 60):
        if len({drain.tank for drain in case.build.drains if "collector" in drain.into}) < 2:
            continue
        valve = Item("K", {"K": exact(3000.0)}, label="valve")
        runs = tuple(replace(run, line=(*run.line, valve)) if "collector" in run.name else run for run in case.build.runs)
        throttled = replace(case, build=replace(case.build, runs=runs))
        answer = answer_to(throttled)
        backwards += any(state.flows[k] < -1e-6 for state in answer.states for k in state.network.drains)
        faults += [f"{case}: {answer.kind}: {fault}" for fault in faults_of(throttled, answer)]
    assert not faults
    assert backwards >= 3


def test_a_sump_that_only_loses_water_is_refused_with_its_reason():
    """What pump 1 takes out of sump 1 comes down into sump 2 alone: no steady state, and the reason names the chamber."""
    answer = answer_to(make("h5n-1", 252))
    assert (answer.kind, answer.state) == (NONE, None)
    assert "sump 1 chamber 2 need come back" in answer.reason


def test_the_proof_sees_a_level_under_a_bottom():
    """Any water of a state moved 1 cm under its bottom is found by the proof."""
    case = make(SEED, 1)
    answer = answer_to(case)
    state = answer.state
    for k, water in enumerate(state.network.waters):
        if water.body is not None:
            below = replace(state, levels=tuple(float(water.body.bottom) - 0.01 if n == k else level
                                                for n, level in enumerate(state.levels)))
            assert any("under its bottom" in fault for fault in faults_of(case, replace(answer, state=below))), water.name


@pytest.mark.slow
def test_five_hundred_networks():
    """Of 500 networks each has a proved answer, and each of four kinds comes up in at least 3 % of them."""
    tally, faults = examined(MANY)
    print("\n" + "\n".join(f"{count:6d}  {100 * count / MANY:5.1f} %  {kind}" for kind, count in tally.most_common()))
    assert not faults
    assert min(tally[kind] for kind in (STEADY, DRAWS_AIR, CANNOT_LIFT, SURGES)) >= 0.03 * MANY


def test_the_draw_reaches_every_kind_of_network():
    """Among 100 networks every arrangement that can be drawn comes up: cascades, collectors, rings, rows, still pumps."""
    seen = collections.Counter()
    for case in cases(SEED, COMMON):
        build = case.build
        names = {run.name for run in build.runs}
        tanks = {tank.name for tank in build.tanks}
        seen["cascade"] += any(drain.into in tanks for drain in build.drains)
        seen["collector"] += any("collector" in drain.into for drain in build.drains)
        seen["ring"] += sum(name.startswith("join") for name in names) == 3
        seen["row"] += any(pump.chamber == "between" for pump in build.pumps)
        seen["shared"] += len(build.pumps) > 1 and build.pumps[0].header == "header"
        seen["off"] += any(pump.off for pump in build.pumps)
        seen["two sumps"] += len(build.sumps) == 2
        seen["equaliser"] += "equaliser" in names
        seen["drilled"] += any("hole" in made.hole.values for made in build.returns if made.hole is not None)
    assert min(seen[kind] for kind in ("cascade", "collector", "ring", "row", "shared", "off", "two sumps", "equaliser",
                                       "drilled")) >= 3, seen


# -- order and starts ------------------------------------------------------------------------------------------------------


def shuffled(build, rng):
    """Return a build with everything listed in another order."""
    return replace(build, **{name: tuple(rng.sample(getattr(build, name), len(getattr(build, name))))
                             for name in ("tanks", "sumps", "drains", "returns", "pumps", "runs")})


def by_name(state):
    """Return the flows, and the levels of the waters that some water passes, by name."""
    network, carried = state.network, set()
    for link, flow in zip(network.links, state.flows, strict=True):
        carried |= {link.up, link.down} if abs(flow) > 1e-7 else set()
    flows = {link.name: flow for link, flow in zip(network.links, state.flows, strict=True)}
    return flows, {network.waters[node].name: state.levels[node] for node in carried}


@pytest.mark.parametrize("first", [0, 30])
def test_the_order_of_description_does_not_matter(first):
    """Listed in any order, tanks, drains, pumps, returns and pipes give the same answer, levels and flows, by name, to 1e-7.

    Where curves droop the pumps are brought onto them one after the other, as near as 0.01 mm of head: there 1e-5.
    """
    asked = 0
    for case in cases("order", 30, first):
        rng = random.Random(str(case))
        answer = answer_to(replace(case, blocked=()))
        if len(answer.states) != 1:
            continue
        asked += 1
        other = answer_to(replace(case, build=shuffled(case.build, rng), blocked=()))
        assert other.kind == answer.kind, str(case)
        droops = any(answer.state.network.links[k].element.curve.droops for k in answer.state.network.pumps)
        (flows, levels), (again, stand) = by_name(answer.state), by_name(other.state)
        assert again == pytest.approx(flows, abs=1e-5 if droops else 1e-7, rel=0.0), str(case)
        assert stand == pytest.approx(levels, abs=1e-4 if droops else 1e-7, rel=0.0), str(case)
    assert asked >= 20


def test_starts_do_not_matter():
    """From levels and flows that are all off by other amounts each network comes to the same state."""
    for case in cases("starts", 40):
        loop, network = network_of(case)
        closing = closing_of(loop, network)
        answer = run_placed(loop, network)
        if answer.kind != STEADY:
            continue
        state, rng = answer.state, random.Random(str(case))
        for spread in (0.3, 1.0):
            near = replace(state, levels=tuple(level + 0.05 * spread * rng.uniform(-1.0, 1.0) for level in state.levels),
                           flows=tuple(flow * (1.0 + spread * rng.uniform(-1.0, 1.0)) for flow in state.flows))
            again = solve_network(state.network, closing, near=near)
            assert again.flows == pytest.approx(state.flows, abs=1e-8), str(case)


@pytest.mark.parametrize("first", [0, 25])
def test_the_same_water_twice(first):
    """Closed by a line, and closed by all the water that then is in it, a network runs the same."""
    for case in cases("closing", 25, first):
        answer = answer_to(case)
        if answer.kind != STEADY:
            continue
        state = answer.state
        node = state.network.pump_chamber
        line = solve_network(state.network, replace(state.closing, node=node, level=state.levels[node]), near=state)
        total = solve_network(state.network, replace(state.closing, node=node, level=None, total=line.total), near=state)
        assert total.flows == pytest.approx(line.flows, abs=1e-8), str(case)
        assert total.levels[node] == pytest.approx(line.levels[node], abs=1e-6), str(case)


def test_a_pump_over_the_water_carries_nothing():
    """Of pumps with intakes at other heights one that stands dry, the water drawn away by another, carries no water back."""
    faults = []
    for case in cases("apart", 300, apart=0.02):
        if case.flavour == "starved":
            faults += [f"{case}: {fault}" for fault in faults_of(case, answer_to(case)) if "back though" in fault]
    assert not faults
