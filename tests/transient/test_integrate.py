"""The loop through time: every litre kept, errors under control, events met where they are; every case that comes along."""

from functools import cache
from pathlib import Path

import pytest
from builds import drain, found, loop, way, worked
from proofs import answer_to
from random_builds import cases

from hydro.case import load
from hydro.elements.rim import Rim
from hydro.network.model import JUNCTION
from hydro.scenarios.placed_build import place, run_placed
from hydro.shutdown import chamber_levels, level_for, room_at_rest, shut_down, sump_volume, tank_begins
from hydro.transient.disturbances import (
    HOLDING,
    LEAKS,
    STUCK,
    as_it_is,
    drains_blocked,
    power_cut,
    simulate,
    simulate_restart,
    top_up_stuck,
)
from hydro.transient.integrate import TOLERANCE

CASES = [Path(__file__).parents[2] / "cases" / f"{name}.yaml" for name in (
    "blocked-over-rim", "check-valve-saves", "demo", "floods", "tub-and-mats", "us-inch", "worked-loop")]
"""Cases of one tank on one sump; several have tests/transient/test_several_tanks.py."""
every_case = pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)


@cache
def state_of(path):
    """Return the running state of a case."""
    placed = place(load(path))
    return run_placed(placed, placed.network()).state


@cache
def cut_of(path, breaks=True, valves=HOLDING):
    """Return the power cut of a case, to less than 1 L/h."""
    return simulate(state_of(path), power_cut(breaks, valves))


def worked_loop():
    """Return the path of the worked loop."""
    return next(path for path in CASES if path.stem == "worked-loop")


def times(history, words):
    """Return the times of the events whose words hold some words, s."""
    return [event.moment.time for event in history.events if words in event.words]


def held_to_volumes(state, breaks, valves):
    """Assert that a cut followed to less than 1 L/h leaves in each chamber and on the floor what the volumes say, within 0.1 L.

    The volumes are those for the tank's level then; what a valve holds in the lines of a single return, which they count as
    coming down, is left out.
    """
    end = simulate(state, power_cut(breaks, valves)).end
    network = state.network
    ref = shut_down(state, breaks, valves == HOLDING)
    tank = network.waters[network.tank].body
    comes = tank.stored(tank_begins(state))[0] - tank.stored(end.tank_level)[0] + ref.items["drains"]
    comes += max(0.0, ref.items["returns"] - end.lines)
    was = [state.levels[k] for k in network.chambers]
    before = sump_volume(network, was)
    over = max(0.0, before + comes - room_at_rest(network, was))
    rest = chamber_levels(network, level_for(network, before + comes - over, was), was)
    for k, level in zip(network.chambers, rest, strict=True):
        assert end.volumes[k] == pytest.approx(network.waters[k].body.stored(level)[0], abs=1e-4)
    assert end.named("floor") == pytest.approx(over, abs=1e-4)
    return end, ref


@every_case
@pytest.mark.parametrize(("breaks", "valves"), [(True, HOLDING), (True, STUCK), (False, STUCK)],
                         ids=["all work", "valves stuck", "nothing works"])
def test_a_cut_ends_where_volumes_say(path, breaks, valves):
    """Every case: at less than 1 L/h sump and floor hold what the volumes say within 0.1 L, the tank stands at its stop."""
    end, ref = held_to_volumes(state_of(path), breaks, valves)
    assert end.tank_level == pytest.approx(ref.tank_level, abs=3e-4)


def test_random_builds_end_where_volumes_say():
    """So it is with eight random builds, their siphon breaks and check valves working or not."""
    for case in cases("through time", 8):
        state = answer_to(case).state
        for breaks, valves in ((True, HOLDING), (False, STUCK)):
            held_to_volumes(state, breaks, valves)


@every_case
def test_every_water_keeps_its_own_balance(path):
    """What a water's level says it holds is what it held, and what flowed in and out since: to 1e-6 of the water that moved."""
    history = cut_of(path, False, STUCK)
    start, end = history.start, history.end
    moved = sum(map(abs, end.left))
    for k, water in enumerate(end.network.waters):
        if water.kind == JUNCTION:
            continue
        gain = sum(end.left[n] for n, link in enumerate(end.network.links) if link.down == k)
        gain -= sum(end.entered[n] for n, link in enumerate(end.network.links) if link.up == k)
        gain += end.let_down if k == end.network.pump_chamber else 0.0
        held = water.body.stored(end.levels[k])[0] - water.body.stored(start.levels[k])[0]
        assert held == pytest.approx(gain, abs=1e-6 * moved)
    assert end.total == pytest.approx(start.total, abs=1e-12)


@every_case
def test_what_the_lines_held_arrives(path):
    """The drains' lines run out to 1 % of what they held; the pump's lines let down all or nothing."""
    history = cut_of(path)
    assert sum(history.end.held) < 0.01 * sum(history.start.held) + 1e-6
    let_down = history.start.lines - history.end.lines
    assert history.end.falling == pytest.approx(0.0, abs=1e-9)
    assert let_down == pytest.approx(shut_down(state_of(path), True, True).items["returns"], abs=1e-9)


def happenings():
    """Return happenings of the worked loop and of a surging one, by name."""
    state = state_of(worked_loop())
    network = state.network
    return {"cut": (state, power_cut()), "plugged": (state, power_cut(False, STUCK)),
            "one blocked": (state, drains_blocked(network, network.drains[1:])),
            "all blocked": (state, drains_blocked(network, network.drains)),
            "top-up": (state, top_up_stuck(0.010, 300.0 / 3.6e6)), "surging": (surging().state, as_it_is())}


@cache
def surging():
    """Return how a loop runs whose one drain has too much for air and too little for a siphon (36.2 mm, no throttle)."""
    from single_drains import single

    return found(single(0.6, total=found(single(0.3)).answer.state.total + 0.06)).answer


@pytest.mark.parametrize("name", ["cut", "plugged", "one blocked", "all blocked", "top-up", "surging"])
def test_halving_the_tolerance_moves_no_event(name):
    """With half the tolerance the same things happen, each within 1 % of its time (surging: its first three turns)."""
    state, disturbance = happenings()[name]
    one, other = (simulate(state, disturbance, tolerance, longest=1500.0) for tolerance in (TOLERANCE, 0.5 * TOLERANCE))
    count = 6 if name == "surging" else max(len(one.events), len(other.events))
    assert count > 0
    assert [event.words for event in one.events[:count]] == [event.words for event in other.events[:count]]
    for first, second in zip(one.events[:count], other.events[:count], strict=True):
        assert first.moment.time == pytest.approx(second.moment.time, rel=0.01)


def test_halving_the_tolerance_restarts_alike():
    """A restart of the worked loop meets the same events within 1 % of their time with half the tolerance."""
    one, other = (simulate_restart(state_of(worked_loop()), tolerance=tolerance)[1] for tolerance in (TOLERANCE, 0.5 * TOLERANCE))
    assert [event.words for event in one.events] == [event.words for event in other.events]
    assert [event.moment.time for event in one.events] == pytest.approx([event.moment.time for event in other.events], rel=0.01)


def test_a_tail_goes_as_the_square_of_time():
    """A tank that only spills over a rim falls as h = (h0^-1/2 + C t/(2 A))^-2, q = C h^3/2 (closed form): within 1 %."""
    build = loop(drains=[drain(bore=0.2, rim=0.0452, k=0.0)], returns=[way(end=1.50)], line=0.1)
    state = found(build).state
    history = simulate(state, power_cut())
    inlet = state.network.links[state.network.drains[0]].element.inlet
    assert isinstance(inlet, Rim)
    strength = inlet.weir_resistance ** -1.5
    start = next(moment for moment in history.moments if moment.tank_level - inlet.crest < 0.010)
    later = next(moment for moment in history.moments if moment.time > start.time + 100.0)
    head = start.tank_level - inlet.crest
    area = state.network.waters[state.network.tank].body.stored(1.5)[1]
    expected = (head ** -0.5 + strength * (later.time - start.time) / (2.0 * area)) ** -2.0
    assert later.tank_level - inlet.crest == pytest.approx(expected, rel=0.01)


def test_two_siphon_breaks_at_one_instant():
    """Two returns with their holes at one height draw air at one instant; after the first the second is asked again."""
    build = worked(returns=(way("one", 1.455, hole_at=1.484), way("two", 1.448, bore=0.022, length=1.90, k=3.4, hole_at=1.484)))
    history = simulate(found(build).state, power_cut())
    first, second = times(history, "draws air and stops")
    assert first == second
    assert history.end.lines == history.end.falling == pytest.approx(0.0, abs=1e-9)


def test_a_leaking_valve_comes_to_the_same_but_later():
    """A check valve that leaks lets down within 0.1 L what a stuck one does, and takes more than three times as long."""
    path = next(path for path in CASES if path.stem == "check-valve-saves")
    stuck, leaks = cut_of(path, True, STUCK), cut_of(path, True, LEAKS)
    assert leaks.end.named("floor") == pytest.approx(stuck.end.named("floor"), abs=1e-4)
    assert times(leaks, "draws air")[0] > 3.0 * times(stuck, "draws air")[0]
    assert cut_of(path, True, HOLDING).end.named("floor") == 0.0
