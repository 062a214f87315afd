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
from hydro.guesses import crest_of
from hydro.network import Closing, Network
from hydro.state import State, solve_network
from hydro.ways import fed_by, holds_back

STEPS = 16
"""Flows between rest and the envelope's answer at which the spare head is asked for."""
AT_REST = 1e-8
"""Flow that stands for rest, m3/s."""
ON_CURVE = 1e-7
"""Head within which a point lies on the curve, m."""
GOLDEN = 0.381966
ROUNDS = 8
"""Most rounds over several drooping pumps."""
TOGETHER = 1e-5
"""Head within which a pump lies on its curve that another one has moved since, m."""
CLOSE = 2e-3
"""Difference of heads that the rounding of the laws leaves open, m."""


def static_head(state: State, pump: int | None = None) -> float:
    """Return the least height a pump must lift: the lowest of its mouths (or their tank) over what it draws from, m."""
    network = state.network
    pump = network.pump if pump is None else pump
    heads = [mouth_head(state, k) for k in fed_by(network, pump)]
    return min(heads, default=float("inf")) - float(state.levels[network.links[pump].up])


def mouth_head(state: State, k: int) -> float:
    """Return the level that the mouth of a return works against: its tank's, or its own height where that is higher, m."""
    link = state.network.links[k]
    return max(float(state.levels[link.down]), float(link.element.outlet))


def opening_head(state: State, pump: int) -> float:
    """Return the least head from which on water gets into a tank: height of a mouth and the check valves before it, m."""
    network = state.network
    heads = [mouth_head(state, k) + sum(float(valve.crack) for n in way for valve in network.links[n].element.line.check_valves)
             for k, way in fed_by(network, pump).items()]
    return min(heads, default=float("inf")) - float(state.levels[network.links[pump].up])


def tank_crest(network: Network, water: int) -> float:
    """Return the lowest edge over which a tank or box spills, m; infinite where it has none."""
    return min((float(crest_of(network.links[k].element)) for k in network.leaving(water, network.spills)), default=float("inf"))


def no_lift(state: State, k: int) -> Answer | None:
    """Return the answer for a pump that delivers nothing, None where something else holds the flow back."""
    network = state.network
    pump: Any = network.links[k].element
    best = float(pump.curve.best) * float(pump.speed) ** 2
    lift, opening = static_head(state, k), opening_head(state, k)
    if lift == float("inf"):
        return None
    against = float(state.levels[network.links[k].down]) - float(state.levels[network.links[k].up])
    figures = {"best head": best, "must lift": lift}
    if opening > lift:
        figures["must lift to open the check valves"] = opening
    if len(network.pumps) > 1 and best <= against + CLOSE and best > opening:
        return Answer(CANNOT_LIFT, state, (), "the other pumps press harder than this one can: it stands shut",
                      {**figures, "pressed against": against}, which=k)
    if best > opening + CLOSE:
        if not pump.curve.droops:
            return None
        figures["shut-off head"] = float(pump.curve.shutoff) * float(pump.speed) ** 2
        return Answer(CANNOT_LIFT, state, (), "the pump's curve droops: it cannot begin to lift, and at no flow does it reach "
                      "the head that the loop asks for", figures, which=k)
    level = float(state.levels[network.links[k].up])
    back = [(end, tank_crest(network, network.links[end].down)) for end, way in fed_by(network, k).items()
            if not any(holds_back(network.links[n].element) for n in way)]
    backwards = [crest for end, crest in back if float(network.links[end].element.end.stop(True)) < crest]
    if backwards and min(backwards) - level > best:
        return Answer(BACKWARDS, state, (), "the pump is too weak to hold the tank's water up: without a check valve it runs "
                      "back through the pump until the return draws air", {**figures, "tank's lip over the pump chamber":
                                                                            min(backwards) - level}, which=k)
    return Answer(CANNOT_LIFT, state, (), "the pump's best head is below the height of the return over its chamber", figures,
                  which=k)


def forced(state: State, flow: float, k: int) -> tuple[float, State]:
    """Return the head to spare (m) on a pump's true curve with a flow forced through it, and the state so forced."""
    pushed = solve_network(state.network.changed({k: {"driven": 1.0, "target": flow}}), state.closing, near=state)
    return float(state.network.links[k].element.spare_head(flow, *pushed.ends(k))), pushed


def zero_between(state: State, k: int, low: float, at_low: float, high: float, at_high: float) -> float:
    """Return the flow between two where the spare head is zero (regula falsi with the Illinois weights)."""
    side = 0
    for _ in range(60):
        flow = (low * at_high - high * at_low) / (at_high - at_low)
        value, _ = forced(state, flow, k)
        if abs(value) < ON_CURVE:
            return flow
        if (value > 0.0) == (at_high > 0.0):
            high, at_high, at_low, side = flow, value, at_low * (0.5 if side == 1 else 1.0), 1
        else:
            low, at_low, at_high, side = flow, value, at_high * (0.5 if side == -1 else 1.0), -1
    return 0.5 * (low + high)


def summit(state: State, k: int, low: float, high: float) -> tuple[float, float]:
    """Return the flow between two with the most head to spare, and that head (golden section; the first with any is enough)."""
    inner, outer = low + GOLDEN * (high - low), high - GOLDEN * (high - low)
    at_inner, at_outer = forced(state, inner, k)[0], forced(state, outer, k)[0]
    for _ in range(25):
        if max(at_inner, at_outer) > 0.0:
            break
        if at_inner > at_outer:
            high, outer, at_outer = outer, inner, at_inner
            inner = low + GOLDEN * (high - low)
            at_inner = forced(state, inner, k)[0]
        else:
            low, inner, at_inner = inner, outer, at_outer
            outer = high - GOLDEN * (high - low)
            at_outer = forced(state, outer, k)[0]
    return (inner, at_inner) if at_inner > at_outer else (outer, at_outer)


def meeting_points(state: State, k: int, most: float) -> list[float]:
    """Return the flows up to `most` at which a pump's true curve meets what the loop asks for, the least first."""
    flows = [AT_REST, *(most * n / STEPS for n in range(1, STEPS + 1))]
    spares = [forced(state, flow, k)[0] for flow in flows]
    top = max(range(len(flows)), key=spares.__getitem__)
    if spares[top] < 0.0:
        flow, spare = summit(state, k, flows[max(top - 1, 0)], flows[min(top + 1, STEPS)])
        place = bisect(flows, flow)
        flows.insert(place, flow)
        spares.insert(place, spare)
    return [zero_between(state, k, *pair) for pair in zip(flows, spares, flows[1:], spares[1:], strict=False)
            if (pair[1] > 0.0) != (pair[3] > 0.0)]


def moved(state: State, k: int, flow: float) -> State:
    """Return the state with a pump on its true curve at a flow; `flow` 0 is rest."""
    pump: Any = state.network.links[k].element
    asked = max(flow, AT_REST)
    gap = pump.curve.head(asked, pump.speed, true=False)[0] - pump.curve.head(asked, pump.speed)[0]
    near = forced(state, asked, k)[1]
    return solve_network(state.network.changed({k: {"lowered": float(gap)}}), state.closing, near=near)


def solve_true(network: Network, closing: Closing | None, near: State | None = None) -> State:
    """Return the solution with every pump on its true curve: at its highest meeting point, at rest where there is none.

    Several drooping pumps are brought there in turn, a few rounds, for each moves the others a little.
    """
    state = solve_network(network, closing, near)
    drooping = [k for k in network.pumps if network.links[k].element.curve.droops]
    for _ in range(ROUNDS if len(drooping) > 1 else 1):
        still = True
        for k in drooping:
            pump: Any = state.network.links[k].element
            flow = float(state.flows[k])
            if flow < NO_FLOW or float(pump.running) < 0.5:
                continue
            spare = float(pump.spare_head(flow, *state.ends(k)))
            if spare > -ON_CURVE and (float(pump.lowered) == 0.0 or spare < TOGETHER):
                continue
            points = meeting_points(state, k, flow if float(pump.lowered) == 0.0 else 1.2 * flow)
            state = moved(state, k, points[-1] if points else 0.0)
            still = False
        if still:
            break
    return state


def second_point(state: State, others: tuple[State, ...], k: int) -> Answer | None:
    """Return the answer for a drooping curve that meets the loop's demand twice, None where the pump starts from rest."""
    stable = float(state.flows[k])
    if not state.network.links[k].element.curve.droops:
        return None
    try:
        at_rest, _ = forced(state, AT_REST, k)
        if at_rest >= 0.0:
            return None
        points = meeting_points(state, k, 0.999 * stable)
    except SolveError:
        return None
    if not points:
        return Answer(TWO_POINTS, state, others, "the pump's curve only touches what the loop asks for: it will not hold",
                      {"stable flow": stable, "spare head at rest": at_rest}, which=k)
    return Answer(TWO_POINTS, state, others, "the pump's curve droops: it holds the higher flow once it is there, and does "
                  "not start again from rest", {"stable flow": stable, "unstable flow": points[-1],
                                                "spare head at rest": at_rest}, which=k)
