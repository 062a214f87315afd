"""Newton on heads and flows, the flows eliminated link by link (the global gradient idea, Todini and Pilati 1988).

A link's linear equation  r + r_q dq + r_up dh_i + r_down dh_j = 0  gives dq; put into the balances it leaves a matrix for the
heads whose signs (r_q < 0, r_up >= 0, r_down <= 0) make it an M-matrix: elimination needs no pivots, the closing row comes
last. The head step is capped, then halved while the merit grows. One code for floats and for arrays of designs; a design that
has converged goes on unchanged while others still move.

Measured on the worked loop: see tests/bench.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from hydro.ops import Number, peak, some, where
from hydro.solve.dense import eliminate
from hydro.solve.system import System

LONGEST_STEP = 0.3
"""Largest change of a head in one step, m."""
SMALL_HEAD, SMALL_FLOW, SMALL_MERIT = 1e-9, 1e-11, 1e-16
"""A solution has moved less than 1 nm and 0.04 mL/h in its last step, and its squared misfit is below (10 nm)^2."""


@dataclass(frozen=True, slots=True)
class Solution:
    """Heads (m) at the nodes, flows (m3/s) in the links, steps taken, the squared misfit, and where it has converged."""

    heads: tuple[Number, ...]
    flows: tuple[Number, ...]
    steps: int
    merit: Number
    solved: Number


def step(system: System, order: Sequence[int], laws: Sequence[tuple[Number, ...]], rows: Sequence[Number],
         h: Sequence[Number], q: Sequence[Number]) -> tuple[list[Number], list[Number]]:
    """Return the Newton step in heads and flows."""
    n = len(order)
    place = {node: k for k, node in enumerate(order)}
    matrix: list[list[Number]] = [[0.0] * n + [-rows[node]] for node in order]
    last = n - 1 if system.closing is not None else -1
    for (_, i, j), (r, r_q, r_up, r_down) in zip(system.links, laws, strict=True):
        up, down, rest = r_up / r_q, r_down / r_q, r / r_q
        for node, sign in ((i, 1.0), (j, -1.0)):
            k = place.get(node, -1)
            if k < 0 or k == last:
                continue
            row = matrix[k]
            if i in place:
                row[place[i]] = row[place[i]] + sign * up
            if j in place:
                row[place[j]] = row[place[j]] + sign * down
            row[n] = row[n] - sign * rest
    if system.closing is not None:
        _close(system, place, matrix[last], laws, h, q)
    dh = eliminate(matrix)
    heads = [dh[place[k]] if k in place else 0.0 for k in range(len(h))]
    flows = [-(r + r_up * heads[i] + r_down * heads[j]) / r_q
             for (r, r_q, r_up, r_down), (_, i, j) in zip(laws, system.links, strict=True)]
    return heads, flows


def _close(system: System, place: dict[int, int], row: list[Number], laws: Sequence[tuple[Number, ...]],
           h: Sequence[Number], q: Sequence[Number]) -> None:
    """Fill the closing row: one level, or the total volume with what the links hold (their flows follow the heads)."""
    n = len(row) - 1
    if system.level is not None:
        row[n - 1] = 1.0
        return
    for node, k in place.items():
        stored = system.stored[node]
        if stored is not None:
            row[k] = row[k] + stored(h[node])[1]
    for held, flow, (_, i, j), (r, r_q, r_up, r_down) in zip(system.held, q, system.links, laws, strict=True):
        if held is None:
            continue
        slope = held(flow)[1] / r_q
        for node, by in ((i, r_up), (j, r_down)):
            if node in place:
                row[place[node]] = row[place[node]] - slope * by
        row[n] = row[n] + slope * r


def solve(system: System, heads: Sequence[Number], flows: Sequence[Number], most: int = 60) -> Solution:
    """Return the solution from a start; `solved` says where it has converged (never raises for want of a solution)."""
    order = system.order()
    h, q = list(heads), list(flows)
    laws, rows, merit = system.evaluate(h, q)
    done: Number = False
    for count in range(1, most + 1):
        dh, dq = step(system, order, laws, rows, h, q)
        largest = peak(dh)
        share = where(largest > LONGEST_STEP, LONGEST_STEP / (largest + 1e-30), 1.0 + 0.0 * largest)
        done = (largest < SMALL_HEAD) & (peak(dq) < SMALL_FLOW)
        for _ in range(10):
            trial_h = [a + share * b for a, b in zip(h, dh, strict=True)]
            trial_q = [a + share * b for a, b in zip(q, dq, strict=True)]
            laws, rows, trial = system.evaluate(trial_h, trial_q)
            worse = (trial > merit) & (trial > 1e-18)
            if not some(worse):
                break
            share = where(worse, 0.5 * share, share)
        h, q, merit = trial_h, trial_q, trial
        if not some(done == False):  # noqa: E712 - an array is compared entry by entry
            break
    return Solution(tuple(h), tuple(q), count, merit, done & (merit < SMALL_MERIT))
