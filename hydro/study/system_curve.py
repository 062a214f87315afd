"""What the loop asks of one pump at every flow that its curve reaches: each point is a solution of the whole network."""

from __future__ import annotations

from typing import Any

from hydro.search.pumps.point import system_curve
from hydro.steady.state import State

ASKED, FEW_ASKED, LARGE = 16, 6, 120
"""Points that are asked, fewer of them in a network of more links than that."""

Points = tuple[tuple[float, float], ...]


def most_flow(state: State, pump: int) -> float:
    """Return the flow up to which a pump's curves are told: a little beyond its last point, or where it works, m3/s."""
    element: Any = state.network.links[pump].element
    return 1.02 * max(float(element.curve.flows[-1]) * float(element.speed), max(float(state.flows[pump]), 0.0))


def asked_of_pump(state: State, pump: int) -> Points:
    """Return (flow m3/s, head asked m) in even steps from no flow on; flows at which the loop has no solution are left out."""
    most = most_flow(state, pump)
    points = ASKED if len(state.network.links) <= LARGE else FEW_ASKED
    return tuple(system_curve(state, pump, [most * k / points for k in range(points + 1)]))
