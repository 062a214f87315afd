"""Every state of every scenario of a build, held to what no law has to say: no water under a bottom, none lost, none made.

    running, blocked, held at a line, closed    the states in `Results`
    stopped                                     by volumes: what came down stands in the sumps or on the floor
    through time                                every instant of every disturbance

`scenario_faults` returns what does not stand, in words.
"""

from __future__ import annotations

from proofs import FIT, VOLUME, impossible

from hydro.errors import SolveError
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import COMBINATIONS, results_of
from hydro.shutdown import shut_down, sump_volume
from hydro.shutdown.rest import levels_at_cut
from hydro.transient.disturbances import drains_blocked, power_cut, pump_stops, simulate, simulate_restart, top_up_stuck

COARSE, LONG = 5e-4, 3600.0
"""Error of a level in one step through time (m), and the time looked at (s): what is asked here does not hang on either."""


def scenario_faults(build, through_time=True):
    """Return what does not stand in any scenario of a build."""
    results = results_of(place(build))
    faults = [f"{name}: {fault}" for name, state in states_of(results) for fault in impossible(state)]
    for state in results.answer.states:
        for case in COMBINATIONS:
            faults += [f"stopped, {case}: {fault}" for fault in stopped(state, case)]
        if through_time:
            faults += instants(state)
    return faults


def states_of(results):
    """Yield every steady state in some findings, each with what it is."""
    for state in results.answer.states:
        yield "running", state
    for case in (*results.overflows, *results.emergencies):
        if case.with_air is not None:
            yield f"blocked {case.out}, held", case.with_air
        for state in case.closed.states if case.closed is not None else ():
            yield f"blocked {case.out}, closed", state


def stopped(state, case):
    """Yield what is wrong with a power cut by volumes."""
    network, end = state.network, shut_down(state, *case)
    levels = {**end.levels, **dict(zip(network.chambers, end.chambers, strict=True))}
    for k, level in levels.items():
        if level < float(network.waters[k].body.bottom) - FIT:
            yield f"{network.waters[k].name} ends under its bottom"
    start = levels_at_cut(state)
    gained = sump_volume(network, end.chambers) - sump_volume(network, [start[k] for k in network.chambers])
    if not end.contested and abs(gained + end.floor - end.comes_down) > VOLUME:
        yield f"{1e3 * (gained + end.floor - end.comes_down):.3g} L are made on the way down"


def disturbances(network):
    """Yield what may happen to a loop, but the power's return."""
    yield power_cut()
    yield power_cut(breaks=False, valves="stuck")
    yield top_up_stuck(0.02, 300.0 / 3.6e6)
    yield pump_stops(network, network.pumps[:1])
    yield drains_blocked(network, network.drains[:1])
    yield drains_blocked(network, network.drains)


def instants(state):
    """Return what is wrong with any instant of anything that may happen to a loop; a step that is not solved says nothing."""
    faults = []
    histories = []
    for disturbance in disturbances(state.network):
        try:
            histories.append((disturbance.words, simulate(state, disturbance, COARSE, LONG)))
        except SolveError as error:
            faults.append(f"{disturbance.words}: {error}")
    try:
        histories.append(("the power comes back", simulate_restart(state, tolerance=COARSE, longest=LONG)[1]))
    except SolveError as error:
        faults.append(f"the power comes back: {error}")
    for words, history in histories:
        begun = history.moments[0].total
        for moment in history.moments:
            found = [*impossible(moment), *amounts(moment, begun)]
            if found:
                faults += [f"{words}, after {moment.time:.3g} s: {fault}" for fault in found]
                break
    return faults


def amounts(moment, begun):
    """Yield where an instant holds less than nothing, or more or less than what there was."""
    if min((*moment.volumes, *moment.held, moment.lines, moment.falling)) < -VOLUME:
        yield f"{1e3 * min((*moment.volumes, *moment.held, moment.lines, moment.falling)):.3g} L stand somewhere"
    if abs(moment.total - begun) > VOLUME:
        yield f"{1e3 * (moment.total - begun):.3g} L are lost or made"
