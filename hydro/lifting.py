"""Whether the pump lifts at all: dead head, running backwards, and the two points of a drooping curve.

The solver runs on the falling envelope of a drooping curve, which keeps its answer unique. The true curve lies below it left of
its peak: there the operating point is looked for with flows forced through the loop, whose spare head

    g(q) = head of the true curve - head that the loop asks for

has its zeros at the operating points; one is stable where g falls through zero. g(0) < 0: the pump does not start from rest.
"""

from __future__ import annotations

from bisect import bisect
from typing import Any

from hydro.answer import BACKWARDS, CANNOT_LIFT, NO_FLOW, TWO_POINTS, Answer
from hydro.errors import SolveError
from hydro.network import Closing, Link, Network
from hydro.state import State, solve_network
from hydro.stopped import siphon_paths

STEPS = 16
"""Flows between rest and the envelope's answer at which the spare head is asked for."""
AT_REST = 1e-8
"""Flow that stands for rest, m3/s."""
ON_CURVE = 1e-7
"""Head within which a point lies on the curve, m."""
GOLDEN = 0.381966
CLOSE = 2e-3
"""Difference of heads that the rounding of the laws leaves open, m."""


def static_head(state: State) -> float:
    """Return the least height the pump must lift at a state: the lowest of its mouths (or the tank) over its chamber, m."""
    network = state.network
    tank = float(state.tank_level)
    heads = [max(tank, float(network.links[k].element.outlet)) for k in network.returns]
    return min(heads) - float(state.pump_level)


def opening_head(state: State) -> float:
    """Return the least head from which on water gets into the tank: height of a mouth and the check valves before it, m."""
    network = state.network
    before = {link.down: link for link in network.links if hasattr(link.element, "line") and not hasattr(link.element, "inlet")}
    heads: list[float] = []
    for k in network.returns:
        head = max(float(state.tank_level), float(network.links[k].element.outlet))
        link: Link | None = network.links[k]
        while link is not None:
            head += sum(float(valve.crack) for valve in link.element.line.check_valves)
            link = before.get(link.up)
        heads.append(head)
    return min(heads) - float(state.pump_level)


def no_lift(state: State) -> Answer | None:
    """Return the answer for a pump that delivers nothing, None where something else holds the flow back."""
    network = state.network
    pump: Any = network.links[network.pump].element
    best = float(pump.curve.best) * float(pump.speed) ** 2
    lift, opening = static_head(state), opening_head(state)
    figures = {"best head": best, "must lift": lift}
    if opening > lift:
        figures["must lift to open the check valves"] = opening
    if best > opening + CLOSE:
        if not pump.curve.droops:
            return None
        figures["shut-off head"] = float(pump.curve.shutoff) * float(pump.speed) ** 2
        return Answer(CANNOT_LIFT, state, (), "the pump's curve droops: it cannot begin to lift, and at no flow does it reach "
                      "the head that the loop asks for", figures)
    crest = min(float(network.links[k].element.inlet.crest) for k in network.drains)
    backwards = [k for k in siphon_paths(network, True) if float(network.links[k].element.end.stop(True)) < crest]
    if backwards and crest - float(state.pump_level) > best:
        return Answer(BACKWARDS, state, (), "the pump is too weak to hold the tank's water up: without a check valve it runs "
                      "back through the pump until the return draws air", {**figures, "tank's lip over the pump chamber":
                                                                            crest - float(state.pump_level)})
    return Answer(CANNOT_LIFT, state, (), "the pump's best head is below the height of the return over its chamber", figures)


def forced(state: State, flow: float) -> tuple[float, State]:
    """Return the head to spare (m) on the pump's true curve with a flow forced through the loop, and the state so forced."""
    network, k = state.network, state.network.pump
    pushed = solve_network(network.changed({k: {"driven": 1.0, "target": flow}}), state.closing, near=state)
    return float(network.links[k].element.spare_head(flow, *pushed.ends(k))), pushed


def zero_between(state: State, low: float, at_low: float, high: float, at_high: float) -> float:
    """Return the flow between two where the spare head is zero (regula falsi with the Illinois weights)."""
    side = 0
    for _ in range(60):
        flow = (low * at_high - high * at_low) / (at_high - at_low)
        value, _ = forced(state, flow)
        if abs(value) < ON_CURVE:
            return flow
        if (value > 0.0) == (at_high > 0.0):
            high, at_high, at_low, side = flow, value, at_low * (0.5 if side == 1 else 1.0), 1
        else:
            low, at_low, at_high, side = flow, value, at_high * (0.5 if side == -1 else 1.0), -1
    return 0.5 * (low + high)


def summit(state: State, low: float, high: float) -> tuple[float, float]:
    """Return the flow between two with the most head to spare, and that head (golden section; the first with any is enough)."""
    inner, outer = low + GOLDEN * (high - low), high - GOLDEN * (high - low)
    at_inner, at_outer = forced(state, inner)[0], forced(state, outer)[0]
    for _ in range(25):
        if max(at_inner, at_outer) > 0.0:
            break
        if at_inner > at_outer:
            high, outer, at_outer = outer, inner, at_inner
            inner = low + GOLDEN * (high - low)
            at_inner = forced(state, inner)[0]
        else:
            low, inner, at_inner = inner, outer, at_outer
            outer = high - GOLDEN * (high - low)
            at_outer = forced(state, outer)[0]
    return (inner, at_inner) if at_inner > at_outer else (outer, at_outer)


def meeting_points(state: State, most: float) -> list[float]:
    """Return the flows up to `most` at which the pump's true curve meets what the loop asks for, the least first."""
    flows = [AT_REST, *(most * k / STEPS for k in range(1, STEPS + 1))]
    spares = [forced(state, flow)[0] for flow in flows]
    top = max(range(len(flows)), key=spares.__getitem__)
    if spares[top] < 0.0:
        flow, spare = summit(state, flows[max(top - 1, 0)], flows[min(top + 1, STEPS)])
        place = bisect(flows, flow)
        flows.insert(place, flow)
        spares.insert(place, spare)
    return [zero_between(state, *pair) for pair in zip(flows, spares, flows[1:], spares[1:], strict=False)
            if (pair[1] > 0.0) != (pair[3] > 0.0)]


def moved(state: State, flow: float) -> State:
    """Return the state with the pump on its true curve at a flow; `flow` 0 is rest."""
    network, k = state.network, state.network.pump
    pump: Any = network.links[k].element
    asked = max(flow, AT_REST)
    gap = pump.curve.head(asked, pump.speed, true=False)[0] - pump.curve.head(asked, pump.speed)[0]
    near = forced(state, asked)[1]
    return solve_network(network.changed({k: {"lowered": float(gap)}}), state.closing, near=near)


def solve_true(network: Network, closing: Closing | None, near: State | None = None) -> State:
    """Return the solution with the pump on its true curve: at its highest meeting point, at rest where there is none."""
    state = solve_network(network, closing, near)
    pump: Any = network.links[network.pump].element
    flow = float(state.pump_flow)
    if not pump.curve.droops or flow < NO_FLOW:
        return state
    spare = float(pump.spare_head(flow, *state.ends(network.pump)))
    if spare > -ON_CURVE:
        return state
    points = meeting_points(state, flow)
    return moved(state, points[-1] if points else 0.0)


def second_point(state: State, others: tuple[State, ...]) -> Answer | None:
    """Return the answer for a drooping curve that meets the loop's demand twice, None where the pump starts from rest."""
    stable = float(state.pump_flow)
    try:
        at_rest, _ = forced(state, AT_REST)
        if at_rest >= 0.0:
            return None
        points = meeting_points(state, 0.999 * stable)
    except SolveError:
        return None
    if not points:
        return Answer(TWO_POINTS, state, others, "the pump's curve only touches what the loop asks for: it will not hold",
                      {"stable flow": stable, "spare head at rest": at_rest})
    return Answer(TWO_POINTS, state, others, "the pump's curve droops: it holds the higher flow once it is there, and does "
                  "not start again from rest", {"stable flow": stable, "unstable flow": points[-1],
                                                "spare head at rest": at_rest})
