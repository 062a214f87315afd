"""Random builds: every one is solved or given a named answer, and every answer is proved again by its own criterion.

The 2,000 builds of one seed take some 20 s; `pytest -m 'not slow'` leaves them out, `-s` prints their tally. Any count and seed:
`python tests/support/random_builds.py --count 2000 --seed NAME`.
"""

import collections
import itertools
from dataclasses import replace

import pytest
from independent import Loop, readable
from proofs import answer_to, faults_of, network_of
from random_builds import cases, make
from scenario_proofs import scenario_faults

from hydro.elements.drain import WITH_AIR
from hydro.network.model import Closing
from hydro.scenarios.placed_build import closing_of
from hydro.steady.operating_point import STEADY
from hydro.steady.state import solve_network

SEED = "aquarium"
NAMED = ("draws air", "cannot lift that high", "surges", "two operating points")
TRICKLE = 400 / 3.6e6
AT_ONCE, COMMON, MANY, COMPARED = 50, 150, 2000, 50


def examined(count, first=0):
    """Return a tally of the answers, and the faults found, over some builds."""
    tally, faults = collections.Counter(), []
    for case in cases(SEED, count, first):
        answer = answer_to(case)
        tally[answer.kind] += 1
        tally["blocked drain"] += bool(case.blocked)
        faults += [f"{case}: {answer.kind}: {fault}" for fault in faults_of(case, answer)]
    return tally, faults


@pytest.mark.parametrize("first", range(0, COMMON, AT_ONCE))
def test_every_answer_is_proved_again(first):
    """Every random build has an answer, and each answer stands when it is proved again without the code that gave it."""
    tally, faults = examined(AT_ONCE, first)
    assert not faults
    assert sum(tally.values()) - tally["blocked drain"] == AT_ONCE


@pytest.mark.slow
def test_two_thousand_builds():
    """Of 2,000 builds each has a proved answer, and each named answer comes up in at least 3 % of them."""
    tally, faults = examined(MANY)
    print("\n" + "\n".join(f"{count:6d}  {100 * count / MANY:5.1f} %  {kind}" for kind, count in tally.most_common()))
    assert not faults
    assert min(tally[kind] for kind in (*NAMED, "blocked drain")) >= 0.03 * MANY


@pytest.mark.parametrize("first", [0, 30])
def test_no_scenario_has_water_under_a_bottom(first):
    """Running, blocked, held, closed, stopped: every level is over its vessel's bottom, and what comes down arrives somewhere."""
    faults = [f"{case}: {fault}" for case in cases("scenarios", 30, first) for fault in scenario_faults(case.build, False)]
    assert not faults


def test_no_instant_has_water_under_a_bottom():
    """Through time too, whatever happens: nothing under a bottom, nothing less than nothing, nothing lost or made."""
    faults = [f"{case}: {fault}" for case in cases("instants", 2) for fault in scenario_faults(case.build)]
    assert not faults


def test_the_proof_sees_a_level_under_a_bottom():
    """Any water of a state moved 1 cm under its bottom is found by the proof."""
    case = make(SEED, 1)
    answer = answer_to(case)
    for k, water in enumerate(answer.state.network.waters):
        if water.body is not None:
            levels = tuple(float(water.body.bottom) - 0.01 if n == k else level for n, level in enumerate(answer.state.levels))
            below = replace(answer, state=replace(answer.state, levels=levels))
            assert any("under its bottom" in fault for fault in faults_of(case, below)), water.name


def test_a_seed_makes_the_same_builds():
    """The same seed makes the same builds, another seed others."""
    one, again, other = ([case.build for case in cases(seed, 5)] for seed in (SEED, SEED, "another"))
    assert one == again
    assert not any(build in other for build in one)


def comparable():
    """Yield cases for the second solution with their steady state: drains with air, the pump within its curve, no trickle.

    In a trickle the millimetre over which the library rounds its corners counts against the pump's few millimetres to spare.
    """
    for case in cases("second solution", 4000):
        if not readable(case):
            continue
        answer = answer_to(case)
        if answer.kind != STEADY or answer.others:
            continue
        state = answer.state
        pump = state.network.links[state.network.pump].element
        vented = all(state.network.links[k].element.mode == WITH_AIR for k in state.network.drains)
        over = state.pump_level - pump.intake
        if vented and over > 0.005 and state.pump_flow > TRICKLE and state.pump_flow < 0.99 * pump.curve.flows[-1] * pump.speed:
            yield case, state


def test_a_second_solution_agrees():
    """For 50 vented builds nested bracketing on formulas of its own finds the same flow to 0.1 %."""
    off, pairs = [], list(itertools.islice(comparable(), COMPARED))
    assert len(pairs) == COMPARED
    for case, state in pairs:
        flow = Loop(case.build).flow()
        if abs(flow - state.pump_flow) > 1e-3 * state.pump_flow:
            off.append(f"{case}: {3.6e6 * state.pump_flow:.2f} L/h, bracketed {3.6e6 * flow:.2f} L/h")
    assert not off


@pytest.mark.parametrize("first", [0, 30])
def test_the_same_water_twice(first):
    """Closed by its line, and closed by all the water that then is in it, a loop runs the same; no water is lost on the way."""
    for case in cases("closing", 30, first):
        answer = answer_to(case)
        if answer.kind != STEADY:
            continue
        state = answer.state
        node = state.network.pump_chamber
        line = solve_network(state.network, Closing(node, level=state.pump_level), near=state)
        total = solve_network(state.network, Closing(node, total=line.total), near=state)
        assert total.total == pytest.approx(line.total, abs=1e-9), str(case)
        assert total.levels == pytest.approx(line.levels, abs=1e-6), str(case)
        assert total.flows == pytest.approx(line.flows, abs=1e-9), str(case)


def test_water_is_kept_everywhere():
    """At every water of every state of a random build what comes in goes out, to 1e-9 m3/s."""
    for case in cases("mass", 60):
        for state in answer_to(case).states:
            assert state.imbalance() < 1e-9, str(case)


def test_starts_do_not_matter():
    """From another random build's neighbourhood, half and twice its flows, a loop comes to the same state."""
    for case in cases("starts", 40):
        loop, network = network_of(case)
        state = solve_network(network, closing_of(loop, network))
        for share in (0.5, 2.0):
            near = type(state)(network, state.closing, tuple(level + 0.02 * share for level in state.levels),
                               tuple(share * flow for flow in state.flows), 0)
            again = solve_network(network, state.closing, near=near)
            assert again.pump_flow == pytest.approx(state.pump_flow, rel=1e-6, abs=1e-9), str(case)
