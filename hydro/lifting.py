"""Whether the pump lifts at all: dead head, running backwards, and the second point of a drooping curve."""

from __future__ import annotations

from typing import Any

from hydro.answer import BACKWARDS, CANNOT_LIFT, TWO_POINTS, Answer
from hydro.errors import SolveError
from hydro.state import State, solve_network

STEPS = 12


def static_head(state: State) -> float:
    """Return the least height the pump must lift at a state: the lowest of its mouths (or the tank) over its chamber, m."""
    network = state.network
    tank = float(state.tank_level)
    heads = [max(tank, float(network.links[k].element.outlet)) for k in network.returns]
    return min(heads) - float(state.pump_level)


def no_lift(state: State) -> Answer | None:
    """Return the answer for a pump that delivers nothing, None where something else holds the flow back."""
    network = state.network
    pump: Any = network.links[network.pump].element
    best = float(pump.curve.best) * float(pump.speed) ** 2
    lift = static_head(state)
    if best > lift + 2e-3:
        return None
    figures = {"best head": best, "must lift": lift}
    crest = min(float(network.links[k].element.inlet.crest) for k in network.drains)
    backwards = [k for k in network.returns if float(network.links[k].element.end.stop(True)) < crest]
    held = bool(pump.line.check_valves) or all(network.links[k].element.line.check_valves for k in network.returns)
    if backwards and not held and crest - float(state.pump_level) > best:
        return Answer(BACKWARDS, state, (), "the pump is too weak to hold the tank's water up: without a check valve it runs "
                      "back through the pump until the return draws air", {**figures, "tank's lip over the pump chamber":
                                                                            crest - float(state.pump_level)})
    return Answer(CANNOT_LIFT, state, (), "the pump's best head is below the height of the return over its chamber", figures)


def spare_at(state: State, flow: float) -> float:
    """Return the head to spare (m) on the pump's true curve if a flow were pushed through the loop."""
    network, k = state.network, state.network.pump
    forced = solve_network(network.changed({k: {"driven": 1.0, "target": flow}}), state.closing, near=state)
    return float(network.links[k].element.spare_head(flow, *forced.ends(k)))


def second_point(state: State, others: tuple[State, ...]) -> Answer | None:
    """Return the answer for a drooping curve that crosses the loop's demand twice, None where it crosses once."""
    stable = float(state.pump_flow)
    try:
        at_rest = spare_at(state, 1e-8)
    except SolveError:
        return None
    if at_rest >= 0.0:
        return None
    low, high = 1e-8, stable
    for step in range(1, STEPS):
        flow = stable * step / STEPS
        if spare_at(state, flow) > 0.0:
            high = flow
            break
        low = flow
    else:
        return Answer(TWO_POINTS, state, others, "the pump's curve only touches what the loop asks for: it will not hold",
                      {"stable flow": stable, "spare head at rest": at_rest})
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if spare_at(state, middle) < 0.0 else (low, middle)
    return Answer(TWO_POINTS, state, others, "the pump's curve droops: it holds the higher flow once it is there, and does "
                  "not start again from rest", {"stable flow": stable, "unstable flow": 0.5 * (low + high),
                                                "spare head at rest": at_rest})
