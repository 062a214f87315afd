"""All pumps stopped: every water at rest, by moving it until nothing moves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from hydro.network.model import Network
from hydro.shutdown.line_contents import comes_out, out_of_drains, pool_contents, runs_empty
from hydro.shutdown.outlets import CLOSE
from hydro.shutdown.passages import Passages
from hydro.shutdown.settling import Settling
from hydro.steady.state import State

RESTS = 1e-7
"""Flow below which a pump delivers nothing, m3/s (0.36 L/h)."""


@dataclass(frozen=True, slots=True)
class Rest:
    """Levels of all waters at rest (m), what ran over rims onto the floor, and what ran out of drains and other lines (m3).

    `levels_at_cut` are the levels that it began from.
    """

    begins: tuple[float, ...]
    levels: tuple[float, ...]
    floor: float
    drains: float
    lines: float


def lowest_crest(network: Network, water: int, spills: Mapping[int, Sequence[int]], default: float) -> float:
    """Return the lowest crest of a water's drains and boxes' edges, m."""
    elements = [network.links[k].element for k in spills.get(water, ())]
    return min((float(element.inlet.crest if hasattr(element, "inlet") else element.crest) for element in elements),
               default=default)


def levels_at_cut(state: State) -> list[float]:
    """Return the levels of all waters when the power fails, m.

    A pump that delivers nothing into a tank leaves it open where that stands, if a line is all that is known of the water:
    somebody filled it to its lip.
    """
    network, levels = state.network, [float(level) for level in state.levels]
    if state.closing is None or state.closing.level is None:
        return levels
    fed = {link.down for link, flow in zip(network.links, state.flows, strict=True) if float(flow) > RESTS}
    spills: dict[int, list[int]] = {}
    for k in network.spills:
        spills.setdefault(network.links[k].up, []).append(k)
    for k in network.uppers:
        if k not in fed:
            levels[k] = max(levels[k], lowest_crest(network, k, spills, levels[k]))
    return levels


def leading_to(passages: Passages, waters: Sequence[int]) -> frozenset[int]:
    """Return the waters from which some way leads to any of the given ones, whatever the levels."""
    feeders: dict[int, set[int]] = {}
    pools: dict[int, set[int]] = {}
    for up in range(passages.floor):
        for passage in passages.direct[up]:
            feeders.setdefault(passage.down, set()).add(up)
        for port in passages.ports[up]:
            if not port.pumped:
                pools.setdefault(port.pool, set()).add(up)
    ends: dict[int, list[int]] = {}
    for pool in pools:
        for down, _ in passages.pools[pool].chambers or passages.pools[pool].outs:
            ends.setdefault(down, []).append(pool)
    reached, waiting = set(waters), list(waters)
    while waiting:
        water = waiting.pop()
        above = set(feeders.get(water, ()))
        for pool in ends.pop(water, ()):
            above |= pools.pop(pool, set())
        waiting += above - reached
        reached |= above
    return frozenset(reached)


def levels_at_rest(
    state: State, passages: Passages, wanted: Sequence[int] = (), drained: Mapping[int, float] | None = None
) -> Rest:
    """Return where every water stands after the pumps have stopped; open forks lead to the `wanted` waters where they can.

    `drained` is what drains let go (m3), by place of the water they end in, where it is known already.
    """
    network = state.network
    start = levels_at_cut(state)
    settling = Settling(network, passages, start, frozenset(wanted), leading_to(passages, wanted) if wanted else frozenset())
    held = out_of_drains(state) if drained is None else drained
    for down in sorted(held, key=lambda k: settling.names[k]):
        settling.pour(_out_of(settling, passages, passages.pool_of[down]) if down in passages.pool_of else down, held[down])
    contents = pool_contents(network, passages)
    empty = runs_empty(passages)
    lines = comes_out(network, contents, empty)
    _pour_pools(settling, passages, contents, empty, lines)
    settling.settle()
    lines += run_out_aside(settling, passages, contents, set(empty))
    return Rest(tuple(start), tuple(settling.levels[:-1]), settling.floor, sum(held.values()), lines)


def _pour_pools(settling: Settling, passages: Passages, contents: Mapping[int, float], pools: Sequence[int],
                whole: float) -> None:
    """Pour what pools let go, `whole` (m3) in all: the last takes what rounding leaves."""
    ordered = sorted(pools, key=lambda k: _pool_key(settling, passages, k)) if len(pools) > 1 else list(pools)
    for n, pool in enumerate(ordered):
        volume = whole if n == len(ordered) - 1 else contents[pool]
        whole -= volume
        settling.pour(_out_of(settling, passages, pool), volume)


def _pool_key(settling: Settling, passages: Passages, pool: int) -> tuple[str, ...]:
    return tuple(sorted(settling.names[water] for water, _ in passages.pools[pool].outs))


def _out_of(settling: Settling, passages: Passages, pool: int) -> int:
    """Return the water that a pool's contents run into: the wanted one, else the lowest; the floor where it ends nowhere."""
    outs = passages.pools[pool].chambers or passages.pools[pool].outs
    if not outs:
        return passages.floor
    return settling.best([(max(settling.levels[water], low), water, low) for water, low in outs])[1]


def run_out_aside(settling: Settling, passages: Passages, contents: Mapping[int, float], done: set[int]) -> float:
    """Let pools run out that end in tanks only and have drawn air there; return what they let go, m3."""
    ran = 0.0
    ports: dict[int, list[tuple[float, int]]] = {}
    for water in settling.standing:
        for port in passages.ports[water]:
            if port.pool not in done and contents[port.pool] > 0.0 and not passages.pools[port.pool].chambers:
                ports.setdefault(port.pool, []).append((port.stop, water))
    for pool in sorted(ports, key=lambda k: _pool_key(settling, passages, k)):
        below = [(max(settling.levels[out], low), out, low) for out, low in passages.pools[pool].outs
                 if any(water != out and settling.levels[water] <= stop + CLOSE
                        and max(settling.levels[out], low) < stop - CLOSE for stop, water in ports[pool])]
        if below:
            ran += contents[pool]
            settling.pour(settling.best(below)[1], contents[pool])
            settling.settle()
    return ran
