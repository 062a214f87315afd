"""How each of many designs runs: every combination of modes solved for all designs that it may hold in, then its guards.

The designs are worked through in pieces that fit the processor's cache. A combination in which a drain siphons is asked only
of designs whose pump can keep that drain's full pipe fed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from hydro.answer import NO_FLOW
from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.errors import SolveError
from hydro.network import Closing, Network
from hydro.ops import Number, take
from hydro.regimes import AT_INTAKE, MOST_FREE
from hydro.state import State, solve_network

PIECE = 2500
"""Designs solved together."""
STEADY, DRAWS_AIR, NO_LIFT, NO_MODES, UNSOLVED = range(5)
"""What becomes of a design: its first consistent state runs, draws air, or moves nothing; none is consistent; none was solved."""


@dataclass(frozen=True, slots=True)
class Way:
    """A combination of modes (place of a drain -> mode) with the designs it was solved for.

    `designs` are their places, `levels` and `flows` have one entry each; `holds` says where every guard holds.
    """

    modes: dict[int, str]
    designs: Any
    levels: tuple[Number, ...]
    flows: tuple[Number, ...]
    holds: Any

    def among(self, design: int) -> int | None:
        """Return the place of a design among this way's, None where it was not solved for or does not hold."""
        import numpy as np

        place = int(np.searchsorted(self.designs, design))
        found = place < len(self.designs) and self.designs[place] == design and self.holds[place]
        return place if found else None


@dataclass(frozen=True, slots=True)
class Ran:
    """How each design runs: `kinds` (see above), `ways` in the order of the modes, `counts` of consistent ways each."""

    network: Network
    closing: Closing
    count: int
    ways: tuple[Way, ...]
    kinds: Any
    counts: Any

    def states(self, design: int) -> list[State]:
        """Return the consistent states of one design, all with air first, as for a single loop."""
        found = []
        for way in self.ways:
            place = way.among(design)
            if place is not None:
                network = take(self.network, design).in_modes(way.modes)
                found.append(State(network, take(self.closing, design), tuple(float(x[place]) for x in way.levels),
                                   tuple(float(x[place]) for x in way.flows), 0))
        return found


def fits_in(network: Network) -> bool:
    """Whether a network can be worked out as arrays: one tank, one pump that does not droop, no tees, few drains."""
    one = len(network.tanks) == len(network.sumps) == len(network.pumps) == 1 and not network.edges and not network.runs
    return one and not network.tees and len(network.drains) <= MOST_FREE and not _droops(network)


def _droops(network: Network) -> bool:
    heads = network.links[network.pump].element.curve.heads
    return any(bool((later > earlier + 1e-9) if isinstance(later > earlier, bool) else (later > earlier + 1e-9).any())
               for earlier, later in itertools.pairwise(heads))


def spread_out(network: Network, count: int) -> Network:
    """Return a network in which every number of the links and waters that may differ has one entry a design."""
    import numpy as np

    element = network.links[network.pump].element
    full = replace(element, intake=np.broadcast_to(np.asarray(element.intake, dtype=float), (count,)).copy())
    links = tuple(replace(link, element=full) if k == network.pump else link for k, link in enumerate(network.links))
    return replace(network, links=links)


def free(network: Network, count: int) -> dict[int, Any]:
    """Return for each drain the designs in which it could run as a siphon at all (see `hydro.regimes.free_drains`)."""
    import numpy as np

    pump: Any = network.links[network.pump].element
    most = 1.5 * pump.curve.flows[-1] * pump.speed
    found = {}
    for k in network.drains:
        drain: Any = network.links[k].element
        body = network.waters[network.links[k].down].body
        rim = drain.end if body is None else body.rim
        room = drain.breaking_head(0.0 * most) + drain.inlet.crest - np.maximum(rim, drain.end)
        found[k] = np.broadcast_to((drain.blocked <= 0.5) & (drain.line.loss(most)[0] > room), (count,))
    return found


def run_all(network: Network, closing: Closing, count: int) -> Ran:
    """Return how all designs run; `closing` and the network's numbers are floats or arrays with `count` entries."""
    import numpy as np

    network = spread_out(network, count)
    may = free(network, count)
    asked = [k for k in network.drains if may[k].any()]
    ways: list[Way] = []
    for modes in itertools.product((WITH_AIR, SIPHON), repeat=len(asked)):
        chosen = dict(zip(asked, modes, strict=True))
        able = np.ones(count, dtype=bool)
        for k, mode in chosen.items():
            if mode == SIPHON:
                able &= may[k]
        designs = np.flatnonzero(able)
        if len(designs):
            ways.append(solve_in(network, closing, chosen, designs, ways[0] if ways else None))
    return Ran(network, closing, count, tuple(ways), *_kinds(network, ways, count))


def solve_in(network: Network, closing: Closing, modes: dict[int, str], designs: Any, near: Way | None,
             guarded: bool = True) -> Way:
    """Solve one combination for some designs, piece by piece, from a way of all designs where there is one.

    `holds` says where it is solved and, if `guarded`, where every guard holds too.
    """
    import numpy as np

    solved, levels, flows = [], [], []
    for piece in _pieces(designs):
        state = _state(take(network, piece).in_modes(modes), take(closing, piece), near, piece)
        if state is None:
            nothing = np.full(len(piece), np.nan)
            levels.append([nothing] * len(network.waters))
            flows.append([nothing] * len(network.links))
            solved.append(np.zeros(len(piece), dtype=bool))
            continue
        full = np.zeros(len(piece))
        levels.append([full + x for x in state.levels])
        flows.append([full + x for x in state.flows])
        found = np.broadcast_to(np.asarray(state.solved, dtype=bool), (len(piece),))
        solved.append(found & _holds(state) if guarded else found)
    joined = [[np.concatenate(parts) for parts in zip(*each, strict=True)] for each in (levels, flows)]
    return Way(modes, designs, tuple(joined[0]), tuple(joined[1]), np.concatenate(solved))


def _pieces(designs: Any) -> Iterator[Any]:
    for start in range(0, len(designs), PIECE):
        yield designs[start:start + PIECE]


def _state(network: Network, closing: Closing, near: Way | None, piece: Any) -> State | None:
    start = None
    if near is not None:
        start = State(network, closing, tuple(x[piece] for x in near.levels), tuple(x[piece] for x in near.flows), 0)
    try:
        return solve_network(network, closing, start)
    except SolveError:
        return None


def _holds(state: State) -> Any:
    """Return where every drain's guard holds in a state of many designs."""
    import numpy as np

    holds: Any = True
    for k in state.network.drains:
        up, down = state.ends(k)
        holds = holds & (state.network.links[k].element.keeps(state.flows[k], up, down) >= 0.0)
    return np.broadcast_to(holds, np.shape(state.levels[state.network.tank]))


def _kinds(network: Network, ways: Sequence[Way], count: int) -> tuple[Any, Any]:
    """Return what becomes of each design, and how many consistent ways each has."""
    import numpy as np

    counts, kinds = np.zeros(count, dtype=int), np.full(count, UNSOLVED)
    if ways:
        solved = ~np.isnan(ways[0].levels[network.tank])
        kinds[ways[0].designs[solved]] = NO_MODES
    pump: Any = network.links[network.pump].element
    for way in reversed(ways):
        here = way.designs[way.holds]
        counts[here] += 1
        flow, level = way.flows[network.pump][way.holds], way.levels[network.pump_chamber][way.holds]
        mine = take(pump, here)
        up, down = (way.levels[place][way.holds] for place in (network.links[network.pump].up, network.links[network.pump].down))
        dry = (level - mine.intake < AT_INTAKE) & (mine.spare_head(flow, up, down) > 0.0)
        kinds[here] = np.where(flow < NO_FLOW, NO_LIFT, np.where(dry, DRAWS_AIR, STEADY))
    return kinds, counts
