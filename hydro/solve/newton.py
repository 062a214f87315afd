"""Newton on heads and flows, the flows eliminated link by link (the global gradient idea, Todini and Pilati 1988).

A link's linear equation  r + r_q dq + r_up dh_i + r_down dh_j = 0  gives dq; put into the balances it leaves a matrix for the
heads whose signs (r_q < 0, r_up >= 0, r_down <= 0) make it an M-matrix: elimination needs no pivots, the closing row comes
last. The head step is capped, then halved while the merit does not fall. One code for floats and for arrays of designs; a
design that has converged goes on unchanged while others still move.

Measured on the worked loop: see tests/bench.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from hydro.quantities.arrays import Number, any_of, peak, where
from hydro.solve.dense import eliminate
from hydro.solve.system import System

LONGEST_STEP = 0.3
"""Largest change of a vessel's level in one step, m; heads in the lines between follow freely."""
ENOUGH = 0.1
"""Share of the merit that a full step must take off: across a square root Newton steps to and fro between equal merits."""
SMALL_HEAD, SMALL_FLOW, SMALL_MERIT = 1e-7, 1e-9, 1e-16
"""At a squared misfit below (10 nm)^2 a last step of less than 0.1 um and 3.6 mL/h is taken and not asked about again.

Laws bend over 0.1 mm and 3.6 L/h at the least, so such a step leaves a thousandth of itself; but not where a flow crosses
rest: there a law may break.
"""

LEAST = 1e-12
"""Flow to each side of rest at which a law is asked that a flow wants to cross, m3/s."""

Laws = Sequence[tuple[Number, ...]]
Columns = Sequence[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Solution:
    """Heads (m) at the nodes, flows (m3/s) in the links, steps taken, the squared misfit, and where it has converged."""

    heads: tuple[Number, ...]
    flows: tuple[Number, ...]
    steps: int
    merit: Number
    solved: Number


def matrix_columns(system: System, order: Sequence[int]) -> list[tuple[int, int]]:
    """Return for each link the columns of its two nodes in the matrix, -1 for a node of given head."""
    place = {node: k for k, node in enumerate(order)}
    return [(place.get(i, -1), place.get(j, -1)) for _, i, j in system.links]


def newton_step(system: System, order: Sequence[int], ends: Columns, laws: Laws, rows: Sequence[Number], h: Sequence[Number],
         q: Sequence[Number], rest: Number | None = None) -> tuple[list[Number], list[Number]]:
    """Return the Newton step in heads and flows. `rest` (m2/s) is a storage that holds every node where it stands."""
    n = len(order)
    matrix: list[list[Number]] = [[*([None] * n), -rows[node]] for node in order]
    last = n - 1 if system.closing is not None else -1
    if rest is not None:
        for k in range(n):
            matrix[k][k] = -rest
    shares: list[tuple[Number, Number, Number]] = []
    for (a, b), (r, r_q, r_up, r_down) in zip(ends, laws, strict=True):
        share = up, down, own = r_up / r_q, r_down / r_q, r / r_q
        shares.append(share)
        if a >= 0 and a != last:
            row = matrix[a]
            row[a] = up if row[a] is None else row[a] + up
            row[n] = row[n] - own
            if b >= 0:
                row[b] = down if row[b] is None else row[b] + down
        if b >= 0 and b != last:
            row = matrix[b]
            row[b] = -down if row[b] is None else row[b] - down
            row[n] = row[n] + own
            if a >= 0:
                row[a] = -up if row[a] is None else row[a] - up
    if system.storage is not None:
        _store(system, order, ends, shares, matrix, h, q)
    if last >= 0:
        _close(system, order, ends, shares, matrix[last], h, q)
    heads: list[Number] = [0.0] * len(h)
    for node, change in zip(order, eliminate(matrix), strict=True):
        heads[node] = change
    flows = [-(own + up * heads[i] + down * heads[j])
             for (up, down, own), (_, i, j) in zip(shares, system.links, strict=True)]
    return heads, flows


def _store(system: System, order: Sequence[int], ends: Columns, shares: Laws, matrix: list[list[Number]], h: Sequence[Number],
           q: Sequence[Number]) -> None:
    """Add the slopes of what nodes store and of what links keep back."""
    assert system.storage is not None
    areas, kept = system.storage.slopes(h, q)
    for k, node in enumerate(order):
        if node in areas:
            matrix[k][k] = -areas[node] if matrix[k][k] is None else matrix[k][k] - areas[node]
    for link, less in kept.items():
        (a, b), (up, down, own) = ends[link], shares[link]
        if b >= 0:
            matrix[b][b] = matrix[b][b] + less * down
            matrix[b][-1] = matrix[b][-1] - less * own
            if a >= 0:
                matrix[b][a] = matrix[b][a] + less * up


def _close(system: System, order: Sequence[int], ends: Columns, shares: Laws, row: list[Number], h: Sequence[Number],
           q: Sequence[Number]) -> None:
    """Fill the closing row: one level, or the total volume with what the links hold (their flows follow the heads)."""
    if system.level is not None:
        row[-2] = 1.0
        return
    for k, node in enumerate(order):
        stored = system.stored[node]
        if stored is not None:
            row[k] = stored(h[node])[1]
    for held, flow, (a, b), (up, down, own) in zip(system.held, q, ends, shares, strict=True):
        if held is None:
            continue
        slope = held(flow)[1]
        for k, by in ((a, up), (b, down)):
            if k >= 0:
                row[k] = -slope * by if row[k] is None else row[k] - slope * by
        row[-1] = row[-1] + slope * own


def flows_at_heads(system: System, h: Sequence[Number], q: Sequence[Number]) -> list[Number]:
    """Return the flow in each link that its law asks for at the heads, link by link.

    A law falls with the flow and may bend at rest, however sharply: a flow on its way across is asked on both sides of rest.
    """
    flows: list[Number] = []
    for (residual, i, j), flow in zip(system.links, q, strict=True):
        for _ in range(60):
            r, r_q, _, _ = residual(flow, h[i], h[j])
            off = abs(r) > 1e-6
            if not any_of(off):
                break
            new = flow - r / r_q
            side = where(flow >= 0.0, LEAST, -LEAST)
            crossing = (flow >= 0.0) != (new >= 0.0)
            new = where(crossing, where(abs(flow) > LEAST, side, -side), new)
            flow = where(off, new, flow)
        flows.append(flow)
    return flows


def solve_dense(system: System, heads: Sequence[Number], flows: Sequence[Number], most: int = 60, put_back: bool = True,
          ) -> Solution:
    """Return the solution from a start; `solved` says where it has converged (never raises where there is none).

    `put_back` is for a start with flows that run (see `System.evaluate`); from a start at rest it is better without.
    """
    order = system.order()
    ends = matrix_columns(system, order)
    vessels = [k for k in order if system.stored[k] is not None] or range(len(heads))
    h, q = list(heads), list(flows)
    laws, rows, merit = system.evaluate(h, q, put_back)
    solved: Number = False
    for count in range(most + 1):
        dh, dq = newton_step(system, order, ends, laws, rows, h, q)
        largest = peak(dh)
        longest = peak([dh[k] for k in vessels])
        solved = (largest < SMALL_HEAD) & (peak(dq) < SMALL_FLOW) & (merit < SMALL_MERIT)
        if any_of(solved):
            for a, b in zip(q, dq, strict=True):
                solved = solved & (a * (a + b) >= 0.0)
        if count == most or not any_of(solved == False):  # noqa: E712 - an array is compared entry by entry
            h = [where(solved, a + b, a) for a, b in zip(h, dh, strict=True)]
            q = [where(solved, a + b, a) for a, b in zip(q, dq, strict=True)]
            break
        share = where(longest > LONGEST_STEP, LONGEST_STEP / (longest + 1e-30), 1.0 + 0.0 * longest)
        for _ in range(10):
            trial_h = [a + share * b for a, b in zip(h, dh, strict=True)]
            trial_q = [a + share * b for a, b in zip(q, dq, strict=True)]
            laws, rows, trial = system.evaluate(trial_h, trial_q, put_back)
            worse = (trial > (1.0 - ENOUGH * share) * merit) & (trial > 1e-18)
            if not any_of(worse):
                break
            share = where(worse, 0.5 * share, share)
        if put_back and any_of(worse):
            nodal = flows_at_heads(system, trial_h, trial_q)
            trial_q = [where(worse, a, b) for a, b in zip(nodal, trial_q, strict=True)]
            laws, rows, trial = system.evaluate(trial_h, trial_q)
        h, q, merit = trial_h, trial_q, trial
    return Solution(tuple(h), tuple(q), count, merit, solved)
