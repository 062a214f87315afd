"""Whether the pump lifts at all: dead head, running backwards, and the two points of a drooping curve.

The solver runs on the falling envelope of a drooping curve, which keeps its answer unique. The true curve lies below it left of
its peak: there the operating point is looked for with flows forced through the loop, whose spare head

    g(q) = head of the true curve - head that the loop asks for

has its zeros at the operating points; one is stable where g falls through zero. g(0) < 0: the pump does not start from rest.
"""

from __future__ import annotations

from bisect import bisect
from typing import Any

from hydro.elements.break_above import open_end
from hydro.errors import SolveError
from hydro.network.model import JUNCTION, Closing, Network
from hydro.network.paths import drawn_empty, fed_by, has_check_valve
from hydro.quantities.reaching import reached
from hydro.steady.initial_guess import crest_of
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, NO_FLOW, TWO_POINTS, OperatingPoint
from hydro.steady.state import State, solve_network

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
    """Return the least height a pump must lift: the lowest of its mouths (or their tank) over what it draws from, m.

    Running pumps on the way to a mouth, and those that feed the header it draws from, take their best heads off it.
    """
    network = state.network
    pump = network.pump if pump is None else pump
    heads = [mouth_head(state, k) - helped(network, way, pump) for k, way in fed_by(network, pump).items()]
    return min(heads, default=float("inf")) - source_head(state, pump)


def best_head(pump: Any) -> float:
    """Return the highest head of a pump at any flow, m; none where it is switched off."""
    return float(pump.curve.best) * float(pump.speed) ** 2 if float(pump.running) > 0.5 else 0.0


def helped(network: Network, way: tuple[int, ...], pump: int) -> float:
    """Return what the other pumps on a way add at their best, m."""
    return sum((best_head(network.links[n].element) for n in way if n in network.pumps and n != pump), 0.0)


def source_head(state: State, pump: int, passed: tuple[int, ...] = ()) -> float:
    """Return the head that a pump draws from, m: its chamber's level, or in a header what the pumps before it can give.

    A header without any flow stands at any head between: there the best heads of the pumps that feed it count.
    """
    network, node = state.network, state.network.links[pump].up
    level = float(state.levels[node])
    if network.waters[node].kind != JUNCTION or carries(state, node):
        return level
    before = [k for k in network.pumps if network.links[k].down == node and k not in passed
              and float(network.links[k].element.running) > 0.5]
    return max((source_head(state, k, (*passed, pump)) + best_head(network.links[k].element) for k in before), default=level)


def carries(state: State, node: int) -> bool:
    """Whether any water passes a header, or one that a pipe joins to it: then its level is a head that is kept up."""
    network = state.network
    pipes = [{network.links[k].up, network.links[k].down} for k in network.runs]
    joined = reached([node], lambda here: (end for ends in pipes if here in ends for end in ends))
    return any(abs(float(flow)) > NO_FLOW for flow, link in zip(state.flows, network.links, strict=True)
               if link.up in joined or link.down in joined)


def mouth_head(state: State, k: int) -> float:
    """Return the level that the mouth of a return works against, m: its tank's, its own height, or its siphon-break hole's."""
    link = state.network.links[k]
    return max(float(state.levels[link.down]), float(open_end(link.element.outlet, getattr(link.element, "hole", None))))


def opening_head(state: State, pump: int) -> float:
    """Return the least head from which on water gets into a tank: height of a mouth and the check valves before it, m."""
    network = state.network
    heads = [mouth_head(state, k) - helped(network, way, pump)
             + sum(float(valve.crack) for n in way for valve in network.links[n].element.line.check_valves)
             for k, way in fed_by(network, pump).items()]
    return min(heads, default=float("inf")) - source_head(state, pump)


def loses_its_line(state: State) -> bool:
    """Whether a line given in a sump that only loses water is kept by a flood alone: what its pump feeds stands over a rim."""
    network, closing = state.network, state.closing
    if closing is None or closing.level is None:
        return False
    drawing = [k for node in drawn_empty(network) if closing.node in network.sump_of(node)
               for k in network.leaving(node, network.pumps)]
    fed = {network.links[end].down for k in drawing for end in fed_by(network, k)}
    rims = [(network.waters[node].opening, state.levels[node]) for node in fed]
    return any(rim is not None and float(level) > float(rim) for rim, level in rims)


def tank_crest(network: Network, water: int) -> float:
    """Return the lowest edge over which a tank or box spills, m; infinite where it has none."""
    return min((float(crest_of(network.links[k].element)) for k in network.leaving(water, network.spills)), default=float("inf"))


def no_lift(state: State, k: int) -> OperatingPoint | None:
    """Return the answer for a pump that delivers nothing, None where something else holds the flow back."""
    network = state.network
    pump: Any = network.links[k].element
    best = best_head(pump)
    lift, opening = static_head(state, k), opening_head(state, k)
    if lift == float("inf"):
        return None
    against = float(state.levels[network.links[k].down]) - float(state.levels[network.links[k].up])
    figures = {"best head": best, "must lift": lift}
    if opening > lift:
        figures["must lift to open the check valves"] = opening
    if len(network.pumps) > 1 and best <= against + CLOSE and best > opening and carries(state, network.links[k].down):
        return OperatingPoint(CANNOT_LIFT, state, (), "the other pumps press harder than this one can: it stands shut",
                      {**figures, "pressed against": against}, which=k)
    if best > opening + CLOSE:
        if not pump.curve.droops:
            return None
        figures["shut-off head"] = float(pump.curve.shutoff) * float(pump.speed) ** 2
        return OperatingPoint(
            CANNOT_LIFT, state, (),
            "the pump's curve droops: it cannot begin to lift, and at no flow does it reach the head that the loop asks for",
            figures, which=k)
    level = source_head(state, k)
    backwards = []
    for end, way in fed_by(network, k).items():
        crest = tank_crest(network, network.links[end].down)
        open_back = not any(has_check_valve(network.links[n].element) for n in way)
        if open_back and float(network.links[end].element.end.stop(True)) < crest:
            backwards.append(crest - helped(network, way, k))
    if backwards and min(backwards) - level > best:
        return OperatingPoint(
            BACKWARDS, state, (), "the pump is too weak to hold the tank's water up: without a check valve it runs "
            "back through the pump until the return draws air",
            {**figures, "tank's lip over the pump chamber": min(backwards) - level}, which=k)
    return OperatingPoint(CANNOT_LIFT, state, (), "the pump's best head is below the height of the return over its chamber",
                          figures, which=k)


def forced(state: State, flow: float, k: int) -> tuple[float, State]:
    """Return the head to spare (m) on a pump's true curve with a flow forced through it, and the state so forced."""
    pushed = solve_network(state.network.changed({k: {"driven": 1.0, "target": flow}}), state.closing, near=state)
    return float(state.network.links[k].element.spare_head(flow, *pushed.ends(k))), pushed


def zero_between(state: State, k: int, low: float, at_low: float, high: float, at_high: float) -> float:
    """Return the flow between two where the spare head is zero (regula falsi with the Illinois weights)."""
    side = 0
    for _ in range(60):
        flow = (low * at_high - high * at_low) / (at_high - at_low)
        value, state = forced(state, flow, k)
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
    # Each flow is forced from the next higher one's state: from far off Newton takes ten times as many steps, or the long way.
    # A flow for which there is no water (another pump on the way draws air) is left out.
    flows: list[float] = []
    spares: list[float] = []
    states = [state]
    for flow in (*(most * n / STEPS for n in range(STEPS, 0, -1)), AT_REST):
        try:
            spare, pushed = forced(states[0], flow, k)
        except SolveError:
            continue
        flows, spares, states = [flow, *flows], [spare, *spares], [pushed, *states]
    if not flows:
        return []
    top = max(range(len(flows)), key=spares.__getitem__)
    if spares[top] < 0.0:
        flow, spare = summit(states[top], k, flows[max(top - 1, 0)], flows[min(top + 1, len(flows) - 1)])
        place = bisect(flows, flow)
        flows.insert(place, flow)
        spares.insert(place, spare)
        states.insert(place, states[top])
    return [zero_between(near, k, *pair) for near, *pair in zip(states, flows, spares, flows[1:], spares[1:], strict=False)
            if (pair[1] > 0.0) != (pair[3] > 0.0)]


def at_pump_flow(state: State, k: int, flow: float) -> State:
    """Return the state with a pump on its true curve at a flow; `flow` 0 is rest."""
    pump: Any = state.network.links[k].element
    asked = max(flow, AT_REST)
    gap = pump.curve.head(asked, pump.speed, true=False)[0] - pump.curve.head(asked, pump.speed)[0]
    near = forced(state, asked, k)[1]
    return solve_network(state.network.changed({k: {"lowered": float(gap)}}), state.closing, near=near)


def solve_true(network: Network, closing: Closing | None, near: State | None = None) -> State:
    """Return the solution with every pump on its true curve: at its highest meeting point, at rest where there is none.

    Several drooping pumps are brought there in turn, a few rounds, for each moves the others a little; where `near` has them
    all running they start from where they stand there.
    """
    drooping = [k for k in network.pumps if network.links[k].element.curve.droops]
    if near is not None and len(drooping) > 1 and all(float(near.flows[k]) > NO_FLOW for k in drooping):
        network = network.changed({k: {"lowered": near.network.links[k].element.lowered} for k in drooping})
    state = solve_network(network, closing, near)
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
            state = at_pump_flow(state, k, points[-1] if points else 0.0)
            still = False
        if still:
            break
    return state


def second_point(state: State, others: tuple[State, ...], k: int) -> OperatingPoint | None:
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
        return OperatingPoint(TWO_POINTS, state, others, "the pump's curve only touches what the loop asks for: it will not hold",
                      {"stable flow": stable, "spare head at rest": at_rest}, which=k)
    return OperatingPoint(
        TWO_POINTS, state, others,
        "the pump's curve droops: it holds the higher flow once it is there, and does not start again from rest",
        {"stable flow": stable, "unstable flow": points[-1], "spare head at rest": at_rest}, which=k)


def drawn_down(low: State, high: State, closing: Closing) -> float:
    """Return the level to which the pump chamber falls while the tank fills up, m.

    A line is drawn where the water stands at its highest, with the tank at its lowest; the same water makes both bounds.
    """
    if closing.level is None:
        return float(high.pump_level)
    pumps = high.network.leaving(closing.node, high.network.pumps)
    intake = min((float(high.network.links[k].element.intake) for k in pumps), default=-float("inf"))
    try:
        # Held at its bound the tank takes water also where none comes any more; a pump leaves what stands below its intake.
        return max(intake, float(solve_true(high.network, Closing(closing.node, total=float(low.total)), near=high).pump_level))
    except SolveError:
        return float(high.pump_level)
