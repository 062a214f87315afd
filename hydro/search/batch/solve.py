"""How each of many designs runs: every combination of modes solved for all designs that it may hold in, then its guards.

The designs are worked through in large pieces. A combination in which a drain siphons is asked only
of designs whose pump can keep that drain's full pipe fed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.errors import SolveError
from hydro.network.model import Closing, Network
from hydro.quantities.arrays import Number, take
from hydro.search.batch.newton import solve_all
from hydro.steady.initial_guess import initial_guesses
from hydro.steady.modes import AT_INTAKE, MOST_FREE
from hydro.steady.operating_point import NO_FLOW
from hydro.steady.state import QUICK, State, solve_network

PIECE = 10_000
"""Designs solved together: numpy works best on long arrays, and those that have converged leave."""
STEADY, DRAWS_AIR, NO_LIFT, NO_MODES, UNSOLVED = range(5)
"""What becomes of a design: its first consistent state runs, draws air, or moves nothing; none is consistent; none was solved."""


@dataclass(frozen=True, slots=True)
class ModeCase:
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
    ways: tuple[ModeCase, ...]
    kinds: Any
    counts: Any

    def states(self, design: int, network: Network | None = None) -> list[State]:
        """Return the consistent states of one design, all with air first, as for a single loop; `network` is its own."""
        found = []
        for way in self.ways:
            place = way.among(design)
            if place is not None:
                network = take(self.network, design) if network is None else network
                levels, flows = (tuple(float(x[place]) for x in values) for values in (way.levels, way.flows))
                found.append(State(network.in_modes(way.modes), take(self.closing, design), levels, flows, 0))
        return found


def fits_in(network: Network) -> bool:
    """Whether a network can be worked out as arrays: one tank, one pump that does not droop, no tees, few drains, none tuned."""
    one = len(network.tanks) == len(network.sumps) == len(network.pumps) == 1 and not network.edges and not network.runs
    tuned = any(network.links[k].element.line.tuned is not None for k in network.drains)
    return one and not network.tees and len(network.drains) <= MOST_FREE and not tuned and not _droops(network)


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
    """Return for each drain the designs in which it could run as a siphon at all (see `hydro.steady.modes.free_drains`)."""
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
    ways: list[ModeCase] = []
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


def solve_in(network: Network, closing: Closing, modes: dict[int, str], designs: Any, near: ModeCase | None,
             guarded: bool = True) -> ModeCase:
    """Solve one combination for some designs, piece by piece, from a way of all designs where there is one.

    `holds` says where it is solved and, if `guarded`, where every guard holds too.
    """
    import numpy as np

    solved, levels, flows = [], [], []
    for piece in _pieces(designs):
        h, q, found = _solved(take(network, piece).in_modes(modes), take(closing, piece), near, piece)
        if guarded:
            found = found & _holds(State(take(network, piece).in_modes(modes), closing, tuple(h), tuple(q), 0))
        levels.append(h)
        flows.append(q)
        solved.append(found)
    joined = [np.concatenate(parts, axis=1) for parts in (levels, flows)]
    return ModeCase(modes, designs, tuple(joined[0]), tuple(joined[1]), np.concatenate(solved))


def _pieces(designs: Any) -> Iterator[Any]:
    for start in range(0, len(designs), PIECE):
        yield designs[start:start + PIECE]


def _solved(network: Network, closing: Closing, near: ModeCase | None, piece: Any) -> tuple[Any, Any, Any]:
    """Return levels and flows, one row each and one column a design, not a number where no start led to a solution.

    The likeliest start is tried for all; those that it does not solve go up the ladder of a single loop.
    """
    import numpy as np

    if near is None:
        levels, flows = next(initial_guesses(network, closing))
        ready = np.ones(len(piece), dtype=bool)
    else:
        levels, flows = [x[piece] for x in near.levels], [x[piece] for x in near.flows]
        ready = np.isfinite(levels[network.tank])
    h, q, solved = np.full((len(levels), len(piece)), np.nan), np.full((len(flows), len(piece)), np.nan), ready & False
    begun = np.flatnonzero(ready)
    if len(begun):
        at = [[x[begun] if getattr(x, "shape", ()) else x for x in values] for values in (levels, flows)]
        some, some_closing = (network, closing) if len(begun) == len(piece) else (take(network, begun), take(closing, begun))
        h[:, begun], q[:, begun], solved[begun] = solve_all(some, some_closing, at[0], at[1], len(begun), QUICK)
    left = np.flatnonzero(~solved)
    if len(left):
        try:
            state = solve_network(take(network, left), take(closing, left))
        except SolveError:
            return h, q, solved
        found = np.broadcast_to(np.asarray(state.solved, dtype=bool), (len(left),))
        for whole, values in ((h, state.levels), (q, state.flows)):
            for k, value in enumerate(values):
                whole[k, left] = np.where(found, value, np.nan)
        solved[left] = found
    return h, q, solved


def _holds(state: State) -> Any:
    """Return where every drain's guard holds in a state of many designs."""
    import numpy as np

    holds: Any = True
    for k in state.network.drains:
        up, down = state.ends(k)
        holds = holds & (state.network.links[k].element.keeps(state.flows[k], up, down) >= 0.0)
    return np.broadcast_to(holds, np.shape(state.levels[state.network.tank]))


def _kinds(network: Network, ways: Sequence[ModeCase], count: int) -> tuple[Any, Any]:
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
        kinds[here] = np.where(dry, DRAWS_AIR, np.where(flow < NO_FLOW, NO_LIFT, STEADY))
    return kinds, counts
