"""Where the pump's head goes, part by part, along the path to each return.

    H(q) = (mouth's level - pump chamber's level) + sum of all parts' losses on the way + what is left

What is left is the rounding of the equations (micrometres), or, where the pump draws air, the head that it cannot use.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hydro.elements.break_above import open_end
from hydro.elements.line import REST, lifted_to
from hydro.network.model import Network
from hydro.steady.state import State

PAID, REGAINED = "velocity head, paid before the siphon break", "velocity head, regained behind the siphon break"


AT_BREAK = 1e-7
"""More than this between a line and its parts is the velocity head at a siphon break, m."""


@dataclass(frozen=True, slots=True)
class Path:
    """The way to one return: the head the pump gives, the lift to the mouth, and the parts passed (label, head lost), m.

    `shared` are the parts that all returns hang behind, `own` those of this return. `free` says that the mouth stands in
    the air, above the tank's water.
    """

    name: str
    head: float
    lift: float
    shared: tuple[tuple[str, float], ...]
    own: tuple[tuple[str, float], ...]
    free: bool

    @property
    def lost(self) -> float:
        """Head lost in all parts, m."""
        return sum(head for _, head in (*self.shared, *self.own))

    @property
    def left(self) -> float:
        """Head that neither lifts nor is lost, m."""
        return self.head - self.lift - self.lost


def pump_head(state: State) -> float:
    """Return the head of the pump at its flow, on its curve, m."""
    pump: Any = state.network.links[state.network.pump].element
    return float(pump.curve.head(state.pump_flow, pump.speed)[0])


def route(network: Network, last: int) -> list[int]:
    """Return the links from the pump to a return, in the order in which the water passes."""
    way = [last]
    while way[0] != network.pump:
        node = network.links[way[0]].up
        way.insert(0, next(k for k, link in enumerate(network.links)
                           if link.down == node and hasattr(link.element, "line")))
    return way


def shared_links(network: Network) -> set[int]:
    """Return the links that all returns hang behind; none where there is one return only."""
    routes = [set(route(network, k)) for k in network.returns]
    return routes[0].intersection(*routes[1:]) if len(routes) > 1 else set()


def parts_of(state: State, k: int) -> list[tuple[str, float]]:
    """Return where the head goes along a pipe, part by part: (label, m)."""
    element, flow = state.network.links[k].element, state.flows[k]
    parts = [(str(label), float(head)) for label, head in element.budget(flow, *state.ends(k))]
    extra = float(element.line.loss(flow)[0] - REST * flow) - sum(float(part.loss(flow)[0]) for part in element.line.parts)
    return [*parts, (PAID if extra > 0.0 else REGAINED, extra)] if abs(extra) > AT_BREAK else parts


def paths(state: State) -> list[Path]:
    """Return the budget of each return in a running state."""
    network, head = state.network, pump_head(state)
    common = shared_links(network)
    found = []
    for way in (route(network, k) for k in network.returns):
        last = network.links[way[-1]]
        outlet = float(open_end(last.element.outlet, last.element.hole))
        level = float(state.tank_level)
        shared = [part for k in way if k in common for part in parts_of(state, k)]
        own = [part for k in way if k not in common for part in parts_of(state, k)]
        lift = float(lifted_to(last.element, float(state.flows[way[-1]]), level)) - float(state.pump_level)
        found.append(Path(last.name, head, lift, tuple(shared), tuple(own), outlet > level))
    return found
