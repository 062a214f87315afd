"""The water in lines once the pumps stand still: what runs out of them, and where to.

A drain lets go what it held while running. The pipes of a pool run empty where air can come in and a chamber lies below; a pool
that ends in tanks only, once a mouth of it stands in the air and another tank lies lower. A check valve that holds keeps all
that stands above it, and between a pump and its valve too, where no air comes in; the stub between a header that runs
empty and a valve in a branch comes down. Counted whole, also what stands below the receiving level: the safe side.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hydro.elements.fittings import SHUT, CheckValve
from hydro.network.model import Network
from hydro.network.paths import is_pipe
from hydro.quantities.arrays import Number, first, where
from hydro.shutdown.passages import Passages
from hydro.steady.state import State


def drain_contents(state: State, link: int) -> float:
    """Return the water that a drain's line lets go when the pumps stop, m3."""
    element: Any = state.network.links[link].element
    return float(element.runs_out(float(state.flows[link]), float(state.ends(link)[1])))


def drains_run_out(state: State) -> float:
    """Return the water that all the drains' lines let go when the pumps stop, m3."""
    return sum(drain_contents(state, k) for k in state.network.drains)


def out_of_drains(state: State) -> dict[int, float]:
    """Return what the drains' lines let go, by the place of the water or header that they end in, m3."""
    found: dict[int, float] = {}
    for k in sorted(state.network.drains, key=lambda k: state.network.links[k].name):
        down = state.network.links[k].down
        found[down] = found.get(down, 0.0) + drain_contents(state, k)
    return found


def around_valves(line: Any) -> tuple[Number, Number]:
    """Return the volumes before the first and behind the last check valve that holds, m3."""
    volumes = [getattr(part, "volume", 0.0) for part in line.parts]
    valves = [k for k, part in enumerate(line.parts) if isinstance(part, CheckValve) and first(part.back) >= SHUT]
    return sum(volumes[:valves[0]], 0.0), sum(volumes[valves[-1] + 1:], 0.0)


def pool_contents(network: Network, passages: Passages) -> dict[int, Number]:
    """Return the water (m3) that each pool of pipes lets go if it runs empty; of many designs, each its own."""
    found: dict[int, Number] = dict.fromkeys(range(len(passages.pools)), 0.0)
    runs = set(network.runs)
    for k, link in enumerate(network.links):
        if not is_pipe(network, k):
            continue
        element: Any = link.element
        if k in passages.pool_in:
            found[passages.pool_in[k]] = found[passages.pool_in[k]] + element.line.volume
            continue
        if not any(first(valve.back) >= SHUT for valve in element.line.check_valves):
            continue
        before, behind = around_valves(element.line)
        if link.up in passages.pool_of:
            found[passages.pool_of[link.up]] = found[passages.pool_of[link.up]] + before
        if link.down in passages.pool_of and k in runs:
            found[passages.pool_of[link.down]] = found[passages.pool_of[link.down]] + behind
    return found


def runs_empty(passages: Passages) -> list[int]:
    """Return the pools that run empty into a chamber."""
    return [k for k, pool in enumerate(passages.pools) if pool.aired and pool.chambers]


def comes_out(network: Network, contents: Mapping[int, Number], pools: list[int]) -> Number:
    """Return what some pools let go, m3: all that stands in lines where no pipe of it is held."""
    volume: Number = sum((contents[k] for k in pools), 0.0)
    return where(abs(network.full - volume) < 1e-12, network.full, volume)
