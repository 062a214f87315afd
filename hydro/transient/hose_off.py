"""A hose that comes off while the loop runs: where its end then hangs, and what is left behind it.

Off at the pump, the pump stirs its own chamber and the line runs back. Off elsewhere, what is pumped or drained leaves for the
floor. Where the open end hangs below the water, what lies behind it siphons back until air gets in; it is then taken to hang as
high as the rim of the sump that the pump draws from: the lower, the faster.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hydro.elements.fittings import LocalLoss
from hydro.elements.line import COVER, NO_OUTLET, Line, LineLink
from hydro.elements.loose_hose import OFF_AT_PUMP, off_at_pump
from hydro.elements.return_line import BreakHole
from hydro.network.loose_ends import LooseEnd
from hydro.network.manifolds import downstream
from hydro.network.model import JUNCTION, Link, Network, Water
from hydro.shutdown import lowest_opening
from hydro.steady.state import State
from hydro.transient.disturbances import Disturbance, pump_stops, way_in


def hose_off_at_pump(state: State, pump: int) -> tuple[State, Disturbance] | None:
    """Return the loop and what happens to it when a pump's hose comes off in the sump; None where it has none there."""
    network = state.network
    for words, changes in off_at_pump(network.links[pump].element.line).items():
        opened = network.changed({pump: {"line": changes["line"]}})
        stops = pump_stops(opened, (pump,))
        return replace(state, network=opened), replace(stops, name="hose off", words=words.replace(f": {OFF_AT_PUMP}",
                                                                                                 f" {OFF_AT_PUMP}"))
    return None


def hose_off(state: State, end: LooseEnd) -> tuple[State, Disturbance]:
    """Return the loop and what happens to it when a hose comes off and its end pours on the floor."""
    words = f"{end.label} {end.words}"
    if end.link in state.network.drains:
        return state, Disturbance("hose off", words, pours=(end.link,))
    if end.at_rim:
        outlet = _outlet(state.network, end.link)
        return state, Disturbance("hose off", words, pours=(end.link,),
                                  changes={end.link: {"outlet": outlet, "end": None, "hole": None}})
    parted = _parted(state, end)
    return parted, Disturbance("hose off", words, pours=(len(parted.network.links) - 1,))


def _outlet(network: Network, k: int) -> float:
    """Return the height of the mouth that a link leads to, m."""
    return max(float(getattr(network.links[n].element, "outlet", NO_OUTLET)) for n in downstream(network, k))


def _parted(state: State, end: LooseEnd) -> State:
    """Return the running loop with a line cut at the end of its hose, and a link from there, the last one, that is to pour."""
    network, k = state.network, end.link
    link, element = network.links[k], network.links[k].element
    parts, node = element.line.parts, len(network.waters)
    cut = end.part + (0 if end.lower else 1)
    hung: Any = element.end.name if element.end is not None else f"{link.name} behind its hose"
    still = LocalLoss.of(1.0, parts[end.part].bore, f"{link.name}: open end")
    behind = LineLink(hung, Line.of(parts[cut:] or (still,)), element.outlet, end=element.end, split=element.split,
                      hole=element.hole)
    height = lowest_opening(network)
    links = [*network.links, Link(hung, behind, node, link.down),
             Link(still.label, LineLink(still.label, Line.of([still]), height), node, link.down)]
    before = replace(element, line=Line.of(parts[:cut]), outlet=NO_OUTLET, end=None, hole=None, split=0.0)
    links[k] = replace(link, element=before, down=node)
    returns = tuple(len(network.links) if n == k else n for n in network.returns)
    opened = replace(network, waters=(*network.waters, Water(still.label, JUNCTION)), links=tuple(links), returns=returns)
    return replace(state, network=_siphons(opened, k), levels=(*state.levels, height), flows=(*state.flows, 0.0, state.flows[k]))


def _siphons(network: Network, k: int) -> Network:
    """Return the network whose mouths and holes behind a link take water back until air gets in at their lowest point."""
    behind = downstream(network, k) - {k}
    nodes = {network.links[n].up for n in behind}
    links = list(network.links)
    for n, link in enumerate(links):
        end = getattr(link.element, "end", None)
        if n in behind and end is not None:
            low = min(float(link.element.outlet), float(end.lowest)) - 2.0 * COVER
            links[n] = replace(link, element=replace(link.element, outlet=low, hole=None))
        elif isinstance(link.element, BreakHole) and link.up in nodes:
            links[n] = replace(link, element=way_in(link.element))
    return replace(network, links=tuple(links))
