"""Newton for large systems: laws asked in groups, a sparse matrix for the heads.

The same steps, caps, line search and end as `hydro.solve.newton`, flows eliminated the same way. The unknown heads but the
closing one make a matrix A whose pattern is that of the network; the closing node goes round it as a border:

    | A  b | | x |   | f |       A y = f,  A z = b  with one factorisation
    | g  d | | t | = | e |       t = (e - g y)/(d - g z),  x = y - t z

so that the node into which every drain falls, and the row of the total volume, cost two products. The signs of the slopes make
-A an M-matrix: no pivots, see `hydro.solve.pattern`. Floats only: no arrays of designs.

Measured by tests/bench/large.py: time and memory grow as N. Of a step at 1000 tanks half goes into the laws, a quarter into the
factors; a law costs some hundred calls of numpy, however few the links.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from hydro.solve.grouped import LawGroup, group
from hydro.solve.newton import ENOUGH, LEAST, LONGEST_STEP, SMALL_FLOW, SMALL_HEAD, SMALL_MERIT, Solution
from hydro.solve.pattern import Pattern, factorised, laid_out
from hydro.solve.relaxing import CREEP, STORAGE
from hydro.solve.system import BALANCE, FAR, STEEP, VOLUME, System

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from hydro.solve.grouped import Array


@dataclass(slots=True)
class LawValues:
    """What the laws say at heads and flows. `law` has rows r, r_q, r_up, r_down, one column a link; `rows` one entry a node.

    `areas` (m2, one a node) and `slopes` (s, one a link) are those of the total volume, None where no volume closes.
    """

    law: Array
    rows: Array
    merit: float
    areas: Array | None = None
    slopes: Array | None = None


@dataclass(frozen=True, slots=True)
class Prepared:
    """A system made ready: links in the order of their groups. `order` gives for each its place in the system."""

    system: System
    order: NDArray[np.intp]
    starts: NDArray[np.intp]
    ends: NDArray[np.intp]
    links: tuple[tuple[slice, LawGroup], ...]
    stored: tuple[LawGroup, ...]
    held: tuple[LawGroup, ...]
    vessels: NDArray[np.intp]
    pattern: Pattern

    def evaluate(self, h: Array, q: Array, put_back: bool = False) -> LawValues:
        """Return residuals, rows and merit at heads and flows; see `System.evaluate`. `q` is changed where flows stray."""
        import numpy as np

        system = self.system
        law = np.empty((4, len(q)))
        ups, downs = h[self.starts], h[self.ends]
        for cut, some in self.links:
            flow, up, down = q[cut], ups[cut], downs[cut]
            out = law[:, cut]
            out[0], out[1], out[2], out[3] = some.ask(flow, up, down)
            if put_back:
                strays = (abs(out[0]) > FAR) & (out[1] < -STEEP)
                if strays.any():
                    flow[:] = np.where(strays, flow - out[0] / out[1], flow)
                    out[0], out[1], out[2], out[3] = some.ask(flow, up, down)
        rows = self.net(q, q)
        if system.storage is not None:
            balances = rows.tolist()
            system.storage.add_to(balances, system.links, h.tolist(), self.listed(q))
            rows = np.array(balances)
        rows[list(system.fixed)] = 0.0
        point = LawValues(law, rows, 0.0)
        beside = 0.0
        if system.closing is not None:
            beside = self._close(point, h, q)
            rows[system.closing] = 0.0
        point.merit = float(law[0] @ law[0]) + BALANCE * BALANCE * float(rows @ rows) + VOLUME * VOLUME * beside * beside
        if system.closing is not None:
            rows[system.closing] = beside
        return point

    def listed(self, q: Array) -> list[float]:
        """Return flows in the order of the system's links."""
        import numpy as np

        back = np.empty_like(q)
        back[self.order] = q
        return list(back.tolist())

    def net(self, given: Array, taken: Array) -> Array:
        """Return for each node what links give at their lower ends less what they take at their upper ends."""
        import numpy as np

        n = len(self.system.stored)
        return np.asarray(np.bincount(self.ends, given, n) - np.bincount(self.starts, taken, n), dtype=float)

    def _close(self, point: LawValues, h: Array, q: Array) -> float:
        """Return the closing row, with the slopes of the volume in `point`."""
        import numpy as np

        system = self.system
        assert system.closing is not None
        if system.level is not None:
            return float(h[system.closing] - system.level)
        point.areas, point.slopes = np.zeros_like(h), np.zeros_like(q)
        volume = -float(system.total)
        for groups, slopes, at in ((self.stored, point.areas, h), (self.held, point.slopes, q)):
            amounts = np.zeros_like(at)
            for some in groups:
                amounts[some.places], slopes[some.places] = some.ask(at[some.places])
            volume += float(amounts.sum())
        return volume

    def step(self, point: LawValues, h: Array, q: Array, rest: float = 0.0) -> tuple[Array, Array]:
        """Return the Newton step in heads and flows. `rest` (m2/s) is a storage that holds every node where it stands."""
        import numpy as np

        system, pattern = self.system, self.pattern
        r, r_q, r_up, r_down = point.law
        up, down, own = r_up / r_q, r_down / r_q, r / r_q
        passed: Array | float = 1.0
        still = np.full(len(h), rest)
        if system.storage is not None:
            passed = self._store(still, h, q)
        data = np.bincount(pattern.spots, np.concatenate((up, down, -passed * up, -passed * down)), pattern.size)
        known = (self.net(passed * own, own) - point.rows)[pattern.free]
        places = len(pattern.matrix.data)
        pattern.matrix.data = data[:places]
        pattern.matrix.data[pattern.diagonal] -= still[pattern.free]
        heads = np.zeros(len(h))
        if system.closing is None:
            heads[pattern.free] = factorised(pattern.matrix).solve(known)
        else:
            both = np.column_stack((known, data[places:places + len(known)]))
            alone, lifted = factorised(pattern.matrix).solve(both).T
            row, miss = self._border(point, up, down, own)
            ours = row[pattern.free]
            change = (miss - ours @ alone) / (row[system.closing] - ours @ lifted)
            heads[pattern.free] = alone - change * lifted
            heads[system.closing] = change
        return heads, -(own + up * heads[self.starts] + down * heads[self.ends])

    def _border(self, point: LawValues, up: Array, down: Array, own: Array) -> tuple[Array, float]:
        """Return the closing row, an entry a node, and its right-hand side; see `hydro.solve.newton`."""
        import numpy as np

        closing = self.system.closing
        assert closing is not None
        if point.areas is None or point.slopes is None:
            row = np.zeros(len(point.rows))
            row[closing] = 1.0
            return row, -float(point.rows[closing])
        n = len(point.rows)
        row = (point.areas - np.bincount(self.starts, point.slopes * up, n) - np.bincount(self.ends, point.slopes * down, n))
        return row, float(point.slopes @ own - point.rows[closing])

    def _store(self, still: Array, h: Array, q: Array) -> Array:
        """Add to `still` what the nodes store, and return the share of its flow that each link passes on."""
        import numpy as np

        assert self.system.storage is not None
        areas, less = self.system.storage.slopes(h.tolist(), self.listed(q))
        still[list(areas)] += list(areas.values())
        passed = np.ones_like(q)
        passed[list(less)] -= list(less.values())
        return passed[self.order]

    def settled(self, h: Array, q: Array) -> Array:
        """Return the flow in each link that its law asks for at the heads; see `hydro.solve.newton.flows_at_heads`."""
        import numpy as np

        flows = q.copy()
        ups, downs = h[self.starts], h[self.ends]
        for cut, some in self.links:
            flow = flows[cut]
            for _ in range(60):
                r, r_q, _, _ = some.ask(flow, ups[cut], downs[cut])
                off = abs(r) > 1e-6
                if not off.any():
                    break
                new = flow - r / r_q
                side = np.where(flow >= 0.0, LEAST, -LEAST)
                crossing = (flow >= 0.0) != (new >= 0.0)
                new = np.where(crossing, np.where(abs(flow) > LEAST, side, -side), new)
                flow[:] = np.where(off, new, flow)
        return flows


def prepare(system: System) -> Prepared:
    """Group the laws of a system and lay out its matrix. BatchError where one of its laws holds arrays of designs."""
    import numpy as np

    groups = group([link[0] for link in system.links], 3)
    order = np.concatenate([some.places for some in groups])
    cuts = np.cumsum([0, *(len(some.places) for some in groups)]).tolist()
    starts, ends = (np.array([link[side] for link in system.links])[order] for side in (1, 2))
    held: tuple[LawGroup, ...] = ()
    stored: tuple[LawGroup, ...] = ()
    if system.closing is not None and system.level is None:
        held = tuple(group([system.held[k] for k in order.tolist()], 1))
        stored = tuple(group(system.stored, 1))
    vessels = [k for k in system.order() if system.stored[k] is not None] or range(len(system.stored))
    return Prepared(system, order, starts, ends,
                    tuple((slice(a, b), some) for a, b, some in zip(cuts, cuts[1:], groups, strict=False)),
                    stored, held, np.array(vessels), laid_out(system, starts, ends))


def solve_sparse(
    prepared: Prepared, heads: Sequence[float], flows: Sequence[float], most: int = 60, put_back: bool = True
) -> Solution:
    """Return the solution from a start, as `hydro.solve.solve` does; heads and flows as the system has them."""
    import numpy as np

    h, q = np.array(heads, dtype=float), np.array(flows, dtype=float)[prepared.order]
    with np.errstate(over="ignore", invalid="ignore"):  # a trial far out may overflow: its merit tells
        h, q, count, merit, solved = _solved(prepared, h, q, most, put_back)
    return Solution(tuple(h.tolist()), tuple(prepared.listed(q)), count, merit, solved)


def _solved(prepared: Prepared, h: Array, q: Array, most: int, put_back: bool) -> tuple[Array, Array, int, float, bool]:
    """Return heads, flows, steps, merit and whether it has converged; line for line the steps of `hydro.solve.newton`."""
    point = prepared.evaluate(h, q, put_back)
    for count in range(most + 1):
        try:
            dh, dq = prepared.step(point, h, q)
        except RuntimeError:  # SuperLU on what are no numbers any more
            break
        longest = float(abs(dh[prepared.vessels]).max())
        small = abs(dh).max() < SMALL_HEAD and abs(dq).max() < SMALL_FLOW and point.merit < SMALL_MERIT
        if small and (q * (q + dq) >= 0.0).all():
            return h + dh, q + dq, count, point.merit, True
        if count == most:
            break
        share = LONGEST_STEP / longest if longest > LONGEST_STEP else 1.0
        for _ in range(10):
            trial_h, trial_q = h + share * dh, q + share * dq
            trial = prepared.evaluate(trial_h, trial_q, put_back)
            good = trial.merit <= (1.0 - ENOUGH * share) * point.merit or trial.merit <= 1e-18
            if good:
                break
            share *= 0.5
        if put_back and not good:
            trial_q = prepared.settled(trial_h, trial_q)
            trial = prepared.evaluate(trial_h, trial_q)
        h, q, point = trial_h, trial_q, trial
    return h, q, count, point.merit, False


def relax_sparse(prepared: Prepared, heads: Sequence[float], flows: Sequence[float], rounds: int = 80,
          ) -> tuple[list[float], list[float]]:
    """Return heads and flows nearer to a solution, as `hydro.solve.relax` does."""
    import numpy as np

    h, q = np.array(heads, dtype=float), np.array(flows, dtype=float)[prepared.order]
    storage = STORAGE
    for _ in range(rounds):
        q = prepared.settled(h, q)
        dh, _ = prepared.step(prepared.evaluate(h, q), h, q, storage)
        largest = abs(dh).max()
        h = h + np.clip(dh, -CREEP, CREEP)
        storage *= 2.0 if largest > CREEP else 0.5 if largest < 0.2 * CREEP else 1.0
    return h.tolist(), prepared.listed(prepared.settled(h, q))
