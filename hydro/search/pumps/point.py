"""The operating point of a pump in a network: the whole loop solved, levels too, by `hydro.steady.modes`.

Nothing here knows of tanks: two reservoirs and a pipe of a textbook are a network as much as a build is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from hydro.errors import SolveError
from hydro.network.model import Closing, Network
from hydro.network.paths import fed_by
from hydro.solve import solve
from hydro.steady.modes import operating_point
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, DRAWS_AIR, NONE, SURGES, TWO_POINTS, OperatingPoint
from hydro.steady.pump_lift import AT_REST, forced
from hydro.steady.state import State

NEAR_SHUTOFF = 0.15
"""Share of the last point's flow below which a pump is said to work near shut-off; common practice, no source."""
SHUT_OFF, BEYOND, WITHIN = "near shut-off", "beyond its last point", "within its curve"
CLOSEST = 1e-4
"""Share of a flow within which it is reached."""
MOST_STEPS = 1000
MOST_FLOW = 1.0
"""No flow above this is looked for, m3/s."""

WORDS = {CANNOT_LIFT: "cannot lift that high", BACKWARDS: "too weak: the tank runs back through it", DRAWS_AIR: "draws air",
         TWO_POINTS: "drooping curve: two operating points, does not start again from rest",
         SURGES: "drains fill, flush and gulp air in turn", NONE: "no steady way to run was found"}


@dataclass(frozen=True, slots=True)
class DutyPoint:
    """Where a pump works: flow m3/s, head m, and the flow's share of its curve's last point.

    `place` is near shut-off, within its curve or beyond its last point. `trouble` says in words what is wrong with it, ''
    where nothing is; `other` is the unstable flow of a drooping curve, m3/s.
    """

    flow: float
    head: float
    share: float
    place: str
    trouble: str = ""
    other: float | None = None


def operate(
    network: Network, closing: Closing | None, pump: int, near: State | None = None
) -> tuple[OperatingPoint, DutyPoint | None]:
    """Return how a network runs, and where the pump of a link then works; None where no state was found.

    `closing` may be None only where some water's level is given from outside.
    """
    # Where levels are given from outside they close the balance, whatever else is said.
    given = {k: float(water.level) for k, water in enumerate(network.waters) if water.level is not None}
    answer = operating_point(
        network, closing or Closing(network.links[pump].up), near or (_near_given(network, given) if given else None)
    )
    if answer.state is not None and any(abs(float(answer.state.levels[k]) - level) > 1e-9 for k, level in given.items()):
        raise SolveError("running", answer.state.steps, float("nan"), network.links[pump].name, "start from a nearer state")
    return answer, point_of(answer, pump)


def _near_given(network: Network, given: dict[int, float]) -> State:
    """Return a state to start from where levels are given, solved for in more steps than the usual starts are given.

    It begins at half the pumps' flow everywhere, and at junctions half the pumps' head over the mean level.
    """
    flow = 0.5 * max(float(network.links[k].element.curve.flows[-1]) for k in network.pumps)
    head = 0.5 * max(float(network.links[k].element.curve.best) for k in network.pumps)
    middle = sum(given.values()) / len(given) + head
    levels = tuple(given.get(k, middle) for k in range(len(network.waters)))
    found = solve(network.system(None), levels, (flow,) * len(network.links), MOST_STEPS)
    return State(network, None, found.heads, found.flows, found.steps, found.solved)


def point_of(answer: OperatingPoint, pump: int) -> DutyPoint | None:
    """Return where the pump of a link works when the network runs as answered; None where there is no state."""
    state = answer.state
    if state is None or answer.kind == NONE:
        return None
    element: Any = state.network.links[pump].element
    flow, speed = max(float(state.flows[pump]), 0.0), float(element.speed)
    share = flow / (float(element.curve.flows[-1]) * speed)
    place = BEYOND if share > 1.0 else SHUT_OFF if share < NEAR_SHUTOFF else WITHIN
    ours = answer.which in (None, pump)
    return DutyPoint(flow, float(element.curve.head(flow, speed)[0]), share, place, WORDS.get(answer.kind, "") if ours else "",
                 answer.figures.get("unstable flow") if ours else None)


def head_asked(state: State, flow: float, pump: int) -> float:
    """Return the head (m) that the network asks of a pump with a flow (m3/s) forced through it, every level solved for."""
    element: Any = state.network.links[pump].element
    return float(element.curve.head(flow, element.speed)[0]) - forced(state, flow, pump)[0]


def system_curve(state: State, pump: int, flows: Sequence[float]) -> list[tuple[float, float]]:
    """Return (flow m3/s, head asked m) at some flows; a flow at which the loop has no solution is left out."""
    found = []
    for flow in flows:
        try:
            found.append((flow, head_asked(state, max(flow, AT_REST), pump)))
        except SolveError:
            continue
    return found


def turnovers(state: State, pump: int | None = None) -> dict[int, float]:
    """Return the turnover (1/s) of each tank, what flows in over what stands in it; only those that a pump feeds, if named."""
    network = state.network
    fed = set(network.tanks) if pump is None else {network.links[end].down for end in fed_by(network, pump)}
    found = {}
    for tank in network.tanks:
        body = network.waters[tank].body
        if tank in fed and body is not None:
            into = sum(max(float(flow), 0.0) for flow, link in zip(state.flows, network.links, strict=True) if link.down == tank)
            volume = float(body.stored(state.levels[tank])[0])
            found[tank] = into / volume if volume > 0.0 else 0.0
    return found


def flow_for_turnover(state: State, pump: int, turnover: float) -> float | None:
    """Return the flow (m3/s) at which each tank that a pump feeds is turned over so often (1/s); None where none does it."""
    def least(flow: float) -> float:
        return min(turnovers(forced(state, flow, pump)[1], pump).values(), default=float("inf")) - turnover

    low, high = AT_REST, 1e-4
    try:
        if least(low) >= 0.0:
            return None
        while least(high) < 0.0:
            low, high = high, 2.0 * high
            if high > MOST_FLOW:
                return None
        while high - low > 0.1 * CLOSEST * high:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if least(middle) < 0.0 else (low, middle)
    except SolveError:
        return None
    return high
