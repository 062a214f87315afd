"""Header systems that fill up when the power comes back: until they are full their pumps' water goes nowhere else.

Meanwhile pumps take nothing back, nor do the returns of a system that feeds several tanks: the pipes between them hold air.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from hydro.elements.fittings import CheckValve
from hydro.network.manifolds import HeaderSystem, air_inlets
from hydro.network.model import Network
from hydro.transient.integrate import Watch
from hydro.transient.state import Store, TransientState


def with_store(stores: tuple[Store, ...], place: int, store: Store) -> tuple[Store, ...]:
    """Return the stores with one of them changed."""
    return (*stores[:place], store, *stores[place + 1:])


def filling_watches(moment: TransientState) -> Iterator[Watch]:
    """Yield for each header system that fills the condition that it is not full yet."""
    for place, store in enumerate(moment.stores):
        if not store.filling:
            continue
        system = store.system

        def act(now: TransientState, place: int = place, system: HeaderSystem = system) -> tuple[TransientState, str]:
            # The step ends a little behind the event: what is over goes back to the chamber.
            pump = system.pumps[0]
            full = replace(now.stores[place], lines=system.full, falling=now.stores[place].lines - system.full,
                           flow=max(now.flows[pump], 0.0), into=now.network.links[pump].up, filling=False)
            after = replace(now, network=both_ways(now.network, system), stores=with_store(now.stores, place, full))
            return after, f"{header_in_words(now.network, system)} are full: water comes to {tanks_of(now.network, system)}"

        def margin(now: TransientState, place: int = place, full: float = system.full) -> float:
            return full - now.stores[place].lines

        yield Watch(f"lines fill {place}", margin, act)


def header_in_words(network: Network, system: HeaderSystem) -> str:
    """Return the words for a header system's lines, by its pumps where there are several."""
    if len(network.pumps) == 1:
        return "the pump's lines"
    return f"the lines of {' and '.join(str(network.links[k].element.name) for k in system.pumps)}"


def tanks_of(network: Network, system: HeaderSystem) -> str:
    """Return the words for the tanks that a header system feeds: by name where it is one of several."""
    if len(network.tanks) == 1:
        return "the tank"
    fed = {network.links[k].down for k in air_inlets(network) if k in system.links}
    return network.waters[fed.pop()].name if len(fed) == 1 else "their tanks"


def links_taking_nothing_back(network: Network, system: HeaderSystem) -> list[int]:
    """Return the links of an empty header system that take nothing back: pumps, and returns where they feed several tanks."""
    mouths = [k for k in air_inlets(network) if k in system.links]
    several = len({network.links[k].down for k in mouths}) > 1
    return [*system.pumps, *(k for k in mouths if several and k not in system.pumps)]


def one_way(network: Network, system: HeaderSystem) -> Network:
    """Return the network with a bar against running back behind the pumps: nothing stands yet in the lines beyond."""
    lines = {k: network.links[k].element.line for k in links_taking_nothing_back(network, system)}
    return network.changed({k: {"line": replace(line, others=(*line.others, CheckValve.of(0.0, 1.0)))}
                            for k, line in lines.items()})


def both_ways(network: Network, system: HeaderSystem) -> Network:
    """Return the network without that bar."""
    lines = {k: network.links[k].element.line for k in links_taking_nothing_back(network, system)}
    return network.changed({k: {"line": replace(line, others=line.others[:-1])} for k, line in lines.items()})
