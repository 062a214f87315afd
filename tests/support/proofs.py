"""Every answer about how a loop runs, proved again from what it claims; nothing of `hydro.steady.modes` or
`hydro.steady.pump_lift` is used.

A proof asks the elements' laws (their residuals, an inlet's head, the pump's true curve) and solves again where an answer says
that something cannot be. `faults_of` returns what does not stand, in words; an empty list is a proof.
"""

from __future__ import annotations

import itertools
import math

from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.errors import SolveError
from hydro.scenarios.placed_build import closing_of, place, run_placed, with_drains_blocked
from hydro.steady.state import solve_network

FIT, BALANCE, VOLUME = 1e-6, 1e-9, 1e-7
"""What a state may miss: m of head in a link, m3/s at a water, m3 in all (0.1 mL, in a loop at rest)."""
NOTHING = 1e-6
"""A pump's flow below this is none, m3/s."""
AT_INTAKE = 1e-3
SAME = 2e-3
"""Head within which a comparison of heads is not decided, m."""


def network_of(case):
    """Return the placed loop of a case and its network with the blocked drains shut."""
    loop = place(case.build)
    network = loop.network()
    return loop, with_drains_blocked(network, tuple(network.drains[k] for k in case.blocked)) if case.blocked else network


def answer_to(case):
    """Return the answer of the library."""
    loop, network = network_of(case)
    return run_placed(loop, network)


def faults_of(case, answer):
    """Return what does not stand in an answer."""
    loop, network = network_of(case)
    closing = closing_of(loop, network)
    if answer.state is None:
        return ["no state at all"]
    faults = [fault for state in answer.states for fault in not_solved(state, closing, network)]
    faults += blocked_carry(case, answer)
    proof = {"steady": steady, "draws air": draws_air, "cannot lift that high": cannot_lift, "runs backwards": runs_backwards,
             "two operating points": two_points, "surges": surges}.get(answer.kind)
    return faults + (["a kind of answer that proves nothing"] if proof is None else list(proof(answer, network, closing)))


def impossible(state):
    """Yield the waters that stand under their vessel's bottom, or hold less than nothing."""
    for water, level in zip(state.network.waters, state.levels, strict=True):
        if water.body is None:
            continue
        if level < water.body.bottom - FIT:
            yield f"{water.name} stands {1e3 * (water.body.bottom - level):.3g} mm under its bottom"
        if water.body.stored(level)[0] < -VOLUME:
            yield f"{water.name} holds {1e3 * water.body.stored(level)[0]:.3g} L"


def not_solved(state, closing, network):
    """Yield where a state misses its own equations: links, balances, the amount of water; where no water could stand so."""
    yield from impossible(state)
    yield from ("another network" for ours, theirs in zip(network.links, state.network.links, strict=True)
                if ours.name != theirs.name)
    sums = [0.0] * len(state.levels)
    for link, flow in zip(state.network.links, state.flows, strict=True):
        misfit = link.element.residual(flow, state.levels[link.up], state.levels[link.down])[0]
        if not abs(misfit) < FIT:
            yield f"{link.name} misses its law by {misfit:.3g} m"
        sums[link.up] -= flow
        sums[link.down] += flow
    worst = max(map(abs, sums))
    if not worst < BALANCE:
        yield f"a water misses its balance by {worst:.3g} m3/s"
    if closing.level is not None:
        if abs(state.levels[closing.node] - closing.level) > FIT:
            yield "the running line is missed"
        return
    total = network.full
    for water, level in zip(state.network.waters, state.levels, strict=True):
        total += water.body.stored(level)[0] if water.body is not None else 0.0
    for link, flow in zip(state.network.links, state.flows, strict=True):
        total += link.element.held(flow)[0] if hasattr(link.element, "held") else 0.0
    if not abs(total - closing.total) < VOLUME:
        yield f"the amount of water is missed by {total - closing.total:.3g} m3"


def blocked_carry(case, answer):
    """Yield where a blocked drain carries water, or the others do not carry all of it."""
    for state in answer.states:
        flows = [state.flows[k] for k in state.network.drains]
        shut = [flows[k] for k in case.blocked]
        if any(abs(flow) > 1e-6 for flow in shut):
            yield f"a blocked drain carries {max(shut):.3g} m3/s"
        rest = sum(flows) - sum(shut)
        if case.blocked and abs(rest - state.flows[state.network.pump]) > 1e-6:
            yield "the open drains do not carry the pump's flow"


def unfit(state, slack=1e-3):
    """Yield the drains that cannot stay as they run in a state: the thresholds, written down once more.

    `slack` (m) is given to the drain; a negative one asks for a drain that stays beyond doubt.
    """
    for k in state.network.drains:
        link = state.network.links[k]
        drain, flow, head = link.element, max(state.flows[k], 0.0), state.levels[link.up] - link.element.inlet.crest
        if drain.surging > 0.5 or drain.blocked > 0.5:
            continue
        if drain.primed > 0.5:
            lowest = max(drain.breaks_at * drain.inlet.rim, drain.breaks_by * drain.inlet.weir_head(flow)[0])
            needs = drain.line.loss(flow)[0] + max(state.levels[link.down], drain.end) - drain.inlet.crest
            if needs < lowest - slack:
                yield f"{link.name} draws air: the full pipe stands {1e3 * needs:.1f} of {1e3 * lowest:.1f} mm"
        else:
            bore = max(drain.line.pipes, key=lambda pipe: pipe.length).bore
            number = flow / (math.pi / 4.0 * bore * bore) / (9.80665 * bore) ** 0.5
            if head > drain.primes_at * drain.inlet.rim + slack and number > drain.sweeps_at + 0.1 * slack:
                yield f"{link.name} primes: {head / drain.inlet.rim:.2f} D and J = {number:.2f}"


def comes_out(element):
    """Return the height to which a line has to lift water that nothing stands against, m: its mouth's, or its hole's."""
    hole = getattr(element, "hole", None)
    return element.outlet if hole is None else max(element.outlet, hole.height)


def spare(state, flow=None):
    """Return the head that the pump has over what its line takes, on the curve as it was given, m."""
    link = state.network.links[state.network.pump]
    flow = state.flows[state.network.pump] if flow is None else flow
    pump = link.element
    against = max(state.levels[link.down], comes_out(pump))
    return state.levels[link.up] - against - pump.line.loss(flow)[0] + pump.curve.head(flow, pump.speed)[0]


def over_intake(state):
    """Return the water over the pump's intake, m."""
    link = state.network.links[state.network.pump]
    return state.levels[link.up] - link.element.intake


def steady(answer, network, closing):
    """Yield what contradicts a steady way to run: a drain that would change, a pump off its curve or drawing air."""
    for state in answer.states:
        yield from unfit(state)
    state = answer.state
    best, lift = best_and_lift(state)
    if state.flows[network.pump] <= NOTHING and best <= lift + SAME:
        yield f"the pump moves nothing ({state.flows[network.pump]:.3g} m3/s)"
    if over_intake(state) > AT_INTAKE and abs(spare(state)) > SAME:
        yield f"the pump stands {spare(state):.3g} m off its own curve"
    if over_intake(state) < AT_INTAKE and spare(state) > SAME:
        yield "the pump draws air"


def draws_air(answer, network, closing):
    """Yield what contradicts a pump that draws air: water over the intake, or a curve that is used up."""
    for state in answer.states:
        yield from unfit(state)
    if over_intake(answer.state) > AT_INTAKE:
        yield f"{1e3 * over_intake(answer.state):.1f} mm stand over the intake"
    if spare(answer.state) <= 0.0:
        yield "the pump has no head to spare"


def best_and_lift(state):
    """Return the highest head of the pump's true curve at any flow, and the least head that brings water into the tank, m."""
    network = state.network
    pump = network.links[network.pump].element
    most = pump.curve.flows[-1] * pump.speed
    best = max(pump.curve.head(most * k / 400.0, pump.speed)[0] for k in range(401))
    lines = {link.down: (link.up, cracks(link)) for link in network.links if hasattr(link.element, "line")
             and link.down != network.tank and link.down not in network.chambers}
    heads = []
    for k in network.returns:
        link = network.links[k]
        head, node = max(state.levels[network.tank], comes_out(link.element)) + cracks(link), link.up
        while node in lines:
            node, more = lines[node]
            head += more
        heads.append(head)
    return best, min(heads) - state.levels[network.links[network.pump].up]


def cracks(link):
    """Return the head that opens the check valves of a line, m."""
    return sum(valve.crack for valve in link.element.line.check_valves)


def cannot_lift(answer, network, closing):
    """Yield what contradicts a pump that is too weak: it delivers, or there is a flow at which it has head to spare."""
    best, lift = best_and_lift(answer.state)
    if abs(answer.state.flows[network.pump]) > NOTHING:
        yield "it delivers"
    if best <= lift + SAME:
        return
    pump = network.links[network.pump].element
    if not pump.curve.droops:
        yield f"its best head {best:.3f} m is above the lift {lift:.3f} m"
    most = pump.curve.flows[-1] * pump.speed
    for k in range(1, 61):  # up to the flow for which there is no water: the chamber falls below the intake
        more = forced(answer.state, network, closing, most * k / 60.0, wet=True)
        if more > SAME:
            yield f"it has head to spare at {k}/60 of its greatest flow"
        if more > SAME or more == -math.inf:
            return


def runs_backwards(answer, network, closing):
    """Yield what contradicts water running back: a valve that holds it, or a pump that holds the tank's water up."""
    yield from cannot_lift(answer, network, closing)
    best, _ = best_and_lift(answer.state)
    crest = min(network.links[k].element.inlet.crest for k in network.drains)
    if best > crest - answer.state.levels[network.links[network.pump].up] + SAME:
        yield "the pump holds the tank's water up"
    if network.links[network.pump].element.line.check_valves:
        yield "a check valve holds the water back"
    open_mouths = [k for k in network.returns if not network.links[k].element.line.check_valves
                   and network.links[k].element.end.lowest < crest]
    if not open_mouths:
        yield "no mouth lies in the water"


def forced(state, network, closing, flow, wet=False):
    """Return the spare head with a flow forced through the loop; `wet`: none where the water for it is not there."""
    driven = state.network.changed({network.pump: {"driven": 1.0, "target": flow}})
    pushed = solve_network(driven, closing, near=state)
    return -math.inf if wet and over_intake(pushed) < 0.0 else spare(pushed, flow)


def two_points(answer, network, closing):
    """Yield what contradicts two operating points: one is off the true curve, or the pump starts from rest."""
    state, stable = answer.state, answer.figures["stable flow"]
    yield from unfit(state)
    if abs(forced(state, network, closing, stable)) > SAME and over_intake(state) > AT_INTAKE:
        yield "the upper point is off the curve"
    if forced(state, network, closing, 1e-8) >= 0.0:
        yield "at rest the pump has head to spare: it starts"
    unstable = answer.figures.get("unstable flow")
    if unstable is None:
        return
    if abs(forced(state, network, closing, unstable)) > SAME:
        yield "the lower point is off the curve"
    if not unstable < stable or forced(state, network, closing, 0.5 * (unstable + stable)) < 0.0:
        yield "between the points the pump has no head to spare: the upper one is not stable"


def surges(answer, network, closing):
    """Yield what contradicts surging: a combination that holds, or bounds that bound nothing."""
    levels = []
    able = [k for k in network.drains if network.links[k].element.blocked < 0.5]
    for modes in itertools.product((WITH_AIR, SIPHON), repeat=len(able)):
        try:
            state = solve_network(network.in_modes(dict(zip(able, modes, strict=True))), closing)
        except SolveError:
            continue
        levels.append(state.levels[network.tank])
        if not list(unfit(state, slack=-1e-3)):
            yield f"{modes} is consistent"
    low, high = answer.states[:2]
    if not low.levels[network.tank] < high.levels[network.tank]:
        yield "the tank's bounds do not bound"
    # A low tank leaves more water to the sump, unless the lines that run full keep it: either state may be the lower one.
    stands = [state.levels[network.pump_chamber] for state in (low, high)]
    bounds = answer.figures["lowest pump chamber level"], answer.figures["highest pump chamber level"]
    if not bounds[0] <= min(stands) + 1e-9 <= max(stands) + 1e-9 <= bounds[1] + 2e-9:
        yield "the pump chamber's bounds do not bound"
    moving = [k for k in network.drains if low.network.links[k].element.surging > 0.5]
    if not moving and not low.levels[network.tank] <= min(levels) + FIT <= max(levels) <= high.levels[network.tank] + FIT:
        yield "a combination stands outside the bounds"
    for k in moving:
        yield from cannot_rest(low, high, k)


def cannot_rest(low, high, k):
    """Yield where a flushing drain could come to rest: with air at its high bound, or as a siphon at its low one."""
    drain, name = high.network.links[k].element, high.network.links[k].name
    head, arrives = high.levels[high.network.tank] - drain.inlet.crest, high.flows[k]
    if arrives < drain.inlet.flow_at(head - SAME) and arrives < drain.sweeps_at * sweeping(drain):
        yield f"{name} takes with air what arrives at its high bound"
    drain, head = low.network.links[k].element, low.levels[low.network.tank] - drain.inlet.crest
    carries = drain.full_flow(max(head, drain.inlet.weir_head(max(low.flows[k], 0.0))[0]), low.ends(k)[1])
    if low.flows[k] > carries + 1e-6:
        yield f"{name} as a siphon carries no more than what arrives at its low bound"


def sweeping(drain):
    """Return the flow at J = 1 on the longest run, m3/s."""
    bore = max(drain.line.pipes, key=lambda pipe: pipe.length).bore
    return math.pi / 4.0 * bore * bore * (9.80665 * bore) ** 0.5
