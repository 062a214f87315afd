"""Every answer about how a network runs, proved again from what it claims.

Three layers, none of which asks `hydro.steady.modes`, `hydro.steady.pump_lift` or `hydro.network.paths`:

    own equations    each link's law, each water's balance, the amount of water, as the elements state them
    the description  the same once more read off the build itself, by formulas of its own (`network_described`)
    the claim        what the named answer says of a pump or a drain; solved again where it says that something cannot be

`faults_of` returns what does not stand, in words; an empty list is a proof.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict

from network_described import Described
from proofs import AT_INTAKE, BALANCE, FIT, NOTHING, SAME, VOLUME, comes_out, cracks, impossible, network_of, sweeping, unfit

from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.elements.fittings import SHUT
from hydro.errors import SolveError
from hydro.network.model import Closing
from hydro.scenarios.placed_build import closing_of, run_placed
from hydro.steady.state import solve_network

MOST = 7
"""Most drains of which all combinations are tried."""
PUSHED = 0.05
"""Head to spare with which a pump is not pushed back, m; less may be the steep branch by which a curve goes on below no flow."""
POINT = 1e-8
"""A flow that stands for rest, m3/s."""


def answer_to(case):
    """Return the answer of the library."""
    loop, network = network_of(case)
    return run_placed(loop, network)


def faults_of(case, answer):
    """Return what does not stand in an answer."""
    loop, network = network_of(case)
    closing = closing_of(loop, network)
    if answer.state is None:
        return list(cannot_be(answer, network, closing))
    faults = []
    described = Described(case)
    for state in answer.states:
        faults += [*not_solved(state, closing), *described.faults(state)]
    proof = {"steady": steady, "draws air": draws_air, "cannot lift that high": cannot_lift, "runs backwards": runs_backwards,
             "two operating points": two_points, "surges": surges, "no steady state": nothing_holds}[answer.kind]
    return [*faults, *proof(answer, network, closing)]


# -- the own equations -----------------------------------------------------------------------------------------------------


def not_solved(state, closing):
    """Yield where a state misses its own equations: links, balances, the amount of water; where no water could stand so.

    A balance may miss what seeps through ways that stand shut, 0.1 mm3/s for a metre of head: water that stands is held where it
    stands, and takes or gives that.
    """
    yield from impossible(state)
    network = state.network
    sums, seeps = [0.0] * len(state.levels), 0.0
    for link, flow in zip(network.links, state.flows, strict=True):
        misfit = link.element.residual(flow, state.levels[link.up], state.levels[link.down])[0]
        if not abs(misfit) < FIT:
            yield f"{link.name} misses its law by {misfit:.3g} m"
        sums[link.up] -= flow
        sums[link.down] += flow
        out = max(state.levels[link.down], getattr(link.element, "outlet", getattr(link.element, "height", -math.inf)))
        seeps += abs(flow) if SHUT * abs(flow) <= 1.001 * abs(state.levels[link.up] - out) else 0.0
    for water, missed in zip(network.waters, sums, strict=True):
        if not abs(missed) < BALANCE + seeps:
            yield f"{water.name} misses its balance by {missed:.3g} m3/s"
    if closing.level is not None:
        if abs(state.levels[closing.node] - closing.level) > FIT:
            yield "the running line is missed"
        return
    total = network.full
    for water, level in zip(network.waters, state.levels, strict=True):
        total += water.body.stored(level)[0] if water.body is not None else 0.0
    for link, flow in zip(network.links, state.flows, strict=True):
        total += link.element.held(flow)[0] if hasattr(link.element, "held") else 0.0
    if not abs(total - closing.total) < VOLUME:
        yield f"the amount of water is missed by {total - closing.total:.3g} m3"


# -- the claim -------------------------------------------------------------------------------------------------------------


def pump_links(network, working=True):
    """Return the places of the pumps that run (or, if not `working`, of all)."""
    return [k for k in network.pumps if not working or network.links[k].element.running > 0.5]


def spare(state, k, flow=None):
    """Return the head that a pump has over what its own line takes, on the curve as it was given, m."""
    link = state.network.links[k]
    flow = state.flows[k] if flow is None else flow
    pump = link.element
    return (state.levels[link.up] - max(state.levels[link.down], comes_out(pump)) - pump.line.loss(flow)[0]
            + pump.curve.head(flow, pump.speed)[0])


def over_intake(state, k):
    """Return the water over a pump's intake, m."""
    link = state.network.links[k]
    return state.levels[link.up] - link.element.intake


def best_of(pump):
    """Return the highest head of a pump's true curve at any flow, m."""
    most = pump.curve.flows[-1] * pump.speed
    return max(pump.curve.head(most * n / 400.0, pump.speed)[0] for n in range(401))


def lift_of(state, k):
    """Return the least head with which water from a pump comes out anywhere, check valves counted, m; all ways are walked.

    Over headers and pipes between them, and through other pumps in the way of their flow (a running one adds its best head).
    """
    network = state.network
    leaving = defaultdict(list)
    for n, link in enumerate(network.links):
        element = link.element
        if hasattr(element, "inlet"):
            continue
        price = cracks(link) if hasattr(element, "line") else 0.0
        gain = best_of(element) if n in network.pumps and element.running > 0.5 and n != k else 0.0
        leaving[link.up].append((link.down, price - gain, n))
        if n in network.runs and not cracks(link):
            leaving[link.down].append((link.up, 0.0, n))
    first = network.links[k]
    start = drawn_from(state, k)
    if network.waters[first.down].body is not None:
        return max(state.levels[first.down], comes_out(first.element)) + cracks(first) - start
    best, waiting = {first.down: cracks(first)}, [first.down]
    outs = []
    while waiting:
        node = waiting.pop()
        for other, price, n in leaving[node]:
            element = network.links[n].element
            if network.waters[other].body is not None:
                out = comes_out(element) if hasattr(element, "outlet") else getattr(element, "height", -math.inf)
                outs.append(best[node] + price + max(state.levels[other], out))
            elif best[node] + price < best.get(other, math.inf) - 1e-9 and len(best) < 200:
                best[other] = best[node] + price
                waiting.append(other)
    return min(outs, default=math.inf) - start


def drawn_from(state, k, passed=()):
    """Return the head that a pump draws from, m: a level; in a header that no water passes what pumps with water give there."""
    network = state.network
    node = network.links[k].up
    if network.waters[node].body is not None or not still(state, node):
        return state.levels[node]
    return max((drawn_from(state, n, (*passed, k)) + best_of(network.links[n].element) for n in pump_links(network)
                if network.links[n].down == node and n not in passed), default=state.levels[node])


def against(state, k):
    """Return the head that stands against a pump that moves nothing: what the others press there, m.

    Without flow the state is also one of the network without that pump; the head at its header counts where others carry water
    past it, there or at a header joined by an open pipe. Minus infinity where nobody does.
    """
    network = state.network
    link = network.links[k]
    node, seen, moving = link.down, set(), False
    waiting = [node]
    while waiting:
        node = waiting.pop()
        if node in seen or network.waters[node].body is not None:
            continue
        seen.add(node)
        for n, other in enumerate(network.links):
            if n == k or node not in (other.up, other.down):
                continue
            moving = moving or abs(state.flows[n]) > NOTHING
            if n in network.runs:
                waiting += [other.up, other.down]
    if not moving:
        return -math.inf
    return max(state.levels[link.down], comes_out(link.element)) + cracks(link) - state.levels[link.up]


def starved(state, k):
    """Whether a pump's chamber is down at its intake, or that of every pump before it: what it could lift is not there."""
    network = state.network
    node = network.links[k].up
    if network.waters[node].body is not None:
        return over_intake(state, k) <= AT_INTAKE
    before = [n for n in pump_links(network) if network.links[n].down == node and n != k]
    return bool(before) and still(state, node) and all(over_intake(state, n) <= AT_INTAKE for n in before)


def still(state, node):
    """Whether no water passes a header."""
    return all(abs(flow) <= NOTHING for flow, link in zip(state.flows, state.network.links, strict=True)
               if node in (link.up, link.down))


def pumps_stand(state, excused=()):
    """Yield the running pumps that stand neither on their true curve, nor at their intake, nor pressed shut by others."""
    for k in pump_links(state.network):
        link = state.network.links[k]
        if k in excused:
            continue
        more = spare(state, k)
        if state.flows[k] < -10.0 * NOTHING and more > PUSHED:
            yield f"{link.name} carries {-3.6e6 * state.flows[k]:.1f} L/h back though it has {more:.3g} m to spare"
        elif state.flows[k] <= NOTHING:
            best = best_of(link.element)
            if best > lift_of(state, k) + SAME and best > against(state, k) + SAME and not starved(state, k) \
                    and not link.element.curve.droops:
                yield f"{link.name} stands still with head to spare"
        elif over_intake(state, k) > AT_INTAKE and abs(more) > SAME:
            yield f"{link.name} stands {more:.3g} m off its own curve"
        elif over_intake(state, k) <= AT_INTAKE and more < -SAME:
            yield f"{link.name} lifts more than it can by {-more:.3g} m"


def steady(answer, network, closing):
    """Yield what contradicts a steady way to run: a drain that would change; a pump off its curve, at rest, or drawing air."""
    for state in answer.states:
        yield from unfit(state)
        yield from pumps_stand(state)
    state = answer.state
    for k in pump_links(network):
        name = network.links[k].name
        if over_intake(state, k) < AT_INTAKE and spare(state, k) > SAME and state.flows[k] > NOTHING:
            yield f"{name} draws air"
        if state.flows[k] <= NOTHING and best_of(network.links[k].element) < min(
                lift_of(state, k), against(state, k)) - SAME:
            yield f"{name} lifts nothing, and nobody says so"


def draws_air(answer, network, closing):
    """Yield what contradicts a pump that draws air: water over its intake, or a curve that is used up."""
    state, k = answer.state, answer.which
    for one in answer.states:
        yield from unfit(one)
    yield from pumps_stand(state)
    if over_intake(state, k) > AT_INTAKE:
        yield f"{1e3 * over_intake(state, k):.1f} mm stand over the intake"
    if spare(state, k) <= 0.0:
        yield "the pump has no head to spare"


def cannot_lift(answer, network, closing):
    """Yield what contradicts a pump that lifts nothing: it delivers; its best head is enough and nobody presses it shut."""
    state, k = answer.state, answer.which
    pump = network.links[k].element
    yield from pumps_stand(state, (k,))
    yield from unfit(state)
    if state.flows[k] > NOTHING:
        yield "it delivers"
    best, lift, pressed = best_of(pump), lift_of(state, k), against(state, k)
    if best <= lift + SAME or best <= pressed + SAME:
        return
    if not pump.curve.droops:
        yield f"its best head {best:.3f} m is above the lift {lift:.3f} m and above the {pressed:.3f} m against it"
    most = pump.curve.flows[-1] * pump.speed
    for n in range(1, 61):  # up to the flow for which there is no water: the chamber falls below the intake
        more, wet = forced(state, k, closing, most * n / 60.0)
        if wet and more > SAME:
            yield f"it has head to spare at {n}/60 of its greatest flow"
        if more > SAME or not wet:
            return


def runs_backwards(answer, network, closing):
    """Yield what contradicts water running back: a pump that holds its tank's water up, or no way down that is open."""
    state, k = answer.state, answer.which
    if state.flows[k] > NOTHING:
        yield from all_back(state)
        return
    yield from cannot_lift(answer, network, closing)
    best, up = best_of(network.links[k].element), state.levels[network.links[k].up]
    if not any(best <= min(crests) - up + SAME and network.links[n].element.end.lowest < min(crests)
               for n, crests in back_ways(network, k)):
        yield "no tank would run back through the pump"


def all_back(state):
    """Yield what contradicts that all which is lifted runs back: water out of a return, or no pump that stands takes it."""
    network = state.network
    yield from unfit(state)
    yield from (f"water comes out of {network.links[n].name}" for n in network.returns if state.flows[n] > NOTHING)
    still = [n for n in network.pumps if network.links[n].element.running < 0.5 and state.flows[n] < -NOTHING]
    if not still or abs(sum(state.flows[n] for n in network.pumps if network.waters[network.links[n].up].body is not None)) > FIT:
        yield "what is lifted does not run back through pumps that stand"


def back_ways(network, k):
    """Yield the returns from which water can run back through a pump that stands, with the lips of their tanks, m."""
    def open_back(n):
        return all(valve.back < SHUT for valve in network.links[n].element.line.check_valves)

    into = defaultdict(list)
    for n, link in enumerate(network.links):
        if hasattr(link.element, "line") and not hasattr(link.element, "inlet") and open_back(n):
            into[link.up].append(n)
            if n in network.runs:
                into[link.down].append(n)
    if not open_back(k):
        return
    waiting, seen = [network.links[k].down], {network.links[k].up}
    ends = [k] if k in network.returns else []
    while waiting:
        node = waiting.pop()
        if node in seen or network.waters[node].body is not None:
            continue
        seen.add(node)
        for n in into[node]:
            link = network.links[n]
            ends += [n] if n in network.returns else []
            waiting.append(link.down if link.up == node else link.up)
    for n in ends:
        crests = [network.links[m].element.inlet.crest for m in network.drains if network.links[m].up == network.links[n].down]
        if crests:
            yield n, crests


def forced(state, k, closing, flow):
    """Return the spare head with a flow forced through a pump, and whether there is water for it (none: no solution either)."""
    try:
        pushed = solve_network(state.network.changed({k: {"driven": 1.0, "target": flow}}), closing, near=state)
    except SolveError:
        return -math.inf, False
    return spare(pushed, k, flow), over_intake(pushed, k) >= 0.0


def two_points(answer, network, closing):
    """Yield what contradicts two operating points: one is off the true curve, or the pump starts from rest."""
    state, k, stable = answer.state, answer.which, answer.figures["stable flow"]
    yield from unfit(state)
    yield from pumps_stand(state, (k,))
    if abs(forced(state, k, closing, stable)[0]) > SAME and over_intake(state, k) > AT_INTAKE:
        yield "the upper point is off the curve"
    if forced(state, k, closing, POINT)[0] >= 0.0:
        yield "at rest the pump has head to spare: it starts"
    unstable = answer.figures.get("unstable flow")
    if unstable is None:
        return
    if abs(forced(state, k, closing, unstable)[0]) > SAME:
        yield "the lower point is off the curve"
    if not unstable < stable or forced(state, k, closing, 0.5 * (unstable + stable))[0] < 0.0:
        yield "between the points the pump has no head to spare: the upper one is not stable"


def able_to_change(network):
    """Return the drains that are not blocked and could run as a siphon at all, with all that the pumps can move.

    In a steady state no tank gets more than the pumps move together, carried on a half beyond their last points.
    """
    most = 1.5 * sum(network.links[k].element.curve.flows[-1] * network.links[k].element.speed for k in pump_links(network))
    able = []
    for k in network.drains:
        link = network.links[k]
        drain, below = link.element, network.waters[link.down].body
        ends = max(drain.end, below.rim) if below is not None else drain.end + 10.0
        if drain.blocked < 0.5 and drain.line.loss(most)[0] + ends - drain.inlet.crest > drain.breaks_at * drain.inlet.rim:
            able.append(k)
    return able


def combinations(network, closing, able):
    """Yield every combination of modes of some drains, with the state it gives (None: none); nothing where they are too many."""
    if len(able) > MOST:
        return
    for modes in itertools.product((WITH_AIR, SIPHON), repeat=len(able)):
        try:
            yield modes, solve_network(network.in_modes(dict(zip(able, modes, strict=True))), closing)
        except SolveError:
            yield modes, None


def nothing_holds(answer, network, closing):
    """Yield the combinations of modes that hold after all, or that it was not asked."""
    asked = 0
    for modes, state in combinations(network, closing, able_to_change(network)):
        asked += 1
        if state is None or not list(unfit(state, slack=-1e-3)):
            yield f"{modes} is consistent, or not solved"
    if not asked:
        yield "too many drains to say that no combination holds"


def cannot_be(answer, network, closing):
    """Yield what contradicts that no state exists at all: a sump loses water to where nothing brings it back from.

    Some of the waters that its pump feeds have no way back to it; and with a line given in another sump instead, that pump draws
    it down to the intake with head to spare, or to where its best head lifts no more: then a line in its own sump says nothing
    of how much water the others have.
    """
    onward = defaultdict(set)
    for k, link in enumerate(network.links):
        onward[link.up].add(link.down)
        if k in network.runs or (k in network.pumps and link.element.running < 0.5):
            onward[link.down].add(link.up)

    def reached(start):
        found, more = set(), {start}
        while more:
            found |= more
            more = {other for node in more for other in onward[node]} - found
        return found
    losing = [k for k in pump_links(network) if network.links[k].up in network.chambers and any(
        not set(network.sump_of(network.links[k].up)) & reached(node) for node in reached(network.links[k].up))]
    if not losing:
        yield "no state at all, and no sump that only loses water"
        return
    sumps = {network.sump_of(network.links[k].up) for k in losing}
    elsewhere = [other[-1] for other in network.sumps if other not in sumps]
    for node in elsewhere:
        try:
            state = solve_network(network, Closing(node, level=network.waters[node].body.bottom + 0.15))
        except SolveError:
            yield f"no state at all, and none with a line in {network.waters[node].name}"
            continue
        if not any((starved(state, k) and spare(state, k) > 0.0) or (
                state.flows[k] <= NOTHING and best_of(network.links[k].element) <= lift_of(state, k) + SAME) for k in losing):
            yield "no state at all, and no pump that would draw the sump empty"


def surges(answer, network, closing):
    """Yield what contradicts surging: a combination that holds, or bounds that bound nothing."""
    low, high = answer.states[:2]
    able = able_to_change(network)
    for modes, state in combinations(network, closing, able):
        if state is not None and not list(unfit(state, slack=-1e-3)) and not list(pumps_stand(state)):
            yield f"{modes} is consistent"
    moving = [k for k in network.drains if low.network.links[k].element.surging > 0.5]
    if moving:
        for state in (low, high):
            yield from unfit(state)
        for k in moving:
            yield from cannot_rest(low, high, k)
        for node in {network.links[k].up for k in moving}:
            if not low.levels[node] < high.levels[node]:
                yield f"the bounds of {network.waters[node].name} do not bound"
        return
    yield from set_each_other_off(low, high, closing, able)


def set_each_other_off(low, high, closing, able):
    """Yield what contradicts bounds made of whole combinations: beside the tanks that swing all holds, none in them goes on."""
    network = low.network
    differ = [k for k in network.drains if network.links[k].element.primed != high.network.links[k].element.primed]
    tanks = {network.links[k].up for k in differ}
    ours = [k for k in able if network.links[k].up in tanks]
    names = tuple(f"{network.links[k].name} " for k in network.drains if network.links[k].up in tanks)
    for state in (low, high):
        yield from (fault for fault in unfit(state) if not fault.startswith(names))
    above = [water_above(state, tanks) for _, state in combinations(network, closing, ours) if state is not None]
    if above and not water_above(low, tanks) - VOLUME <= min(above) <= max(above) <= water_above(high, tanks) + VOLUME:
        yield "a combination stands outside the bounds"


def water_above(state, tanks):
    """Return the water in some tanks, m3."""
    return sum(state.network.waters[node].body.stored(state.levels[node])[0] for node in tanks)


def cannot_rest(low, high, k):
    """Yield where a flushing drain could come to rest: with air at its high bound, or as a siphon at its low one."""
    link = high.network.links[k]
    drain, name = link.element, link.name
    head, arrives = high.levels[link.up] - drain.inlet.crest, high.flows[k]
    if arrives < drain.inlet.flow_at(head - SAME) and arrives < drain.sweeps_at * sweeping(drain):
        yield f"{name} takes with air what arrives at its high bound"
    drain, head = low.network.links[k].element, low.levels[link.up] - low.network.links[k].element.inlet.crest
    carries = drain.full_flow(max(head, drain.inlet.weir_head(max(low.flows[k], 0.0))[0]), low.ends(k)[1])
    if low.flows[k] > carries + 1e-6:
        yield f"{name} as a siphon carries no more than what arrives at its low bound"
