"""A way to a start for Newton that nothing deters: the waters are let settle, each with a storage of its own.

    sum of flows in - sum of flows out = G (h - h old)

with flows that satisfy their links at the heads as they stand, found link by link. G begins large, so that the heads creep, and
is halved whenever they hardly move. All matrices keep their signs; nothing needs to fall from step to step. Used where Newton
fails from every start: loops in which almost every way is shut.
"""

from __future__ import annotations

from collections.abc import Sequence

from hydro.quantities.arrays import Number, greater, lesser, peak, where
from hydro.solve.newton import flows_at_heads, matrix_columns, newton_step
from hydro.solve.system import System

STORAGE = 0.1
"""Storage at the start, m2 for a step of one second."""
CREEP = 0.1
"""Largest change of a head in one step, m; each head for itself, for the flows are found anew."""


def relax_dense(system: System, heads: Sequence[Number], flows: Sequence[Number], rounds: int = 80,
          ) -> tuple[list[Number], list[Number]]:
    """Return heads and flows nearer to a solution."""
    order = system.order()
    ends = matrix_columns(system, order)
    h, q = list(heads), list(flows)
    storage: Number = STORAGE
    for _ in range(rounds):
        q = flows_at_heads(system, h, q)
        laws, rows, _ = system.evaluate(h, q)
        dh, _ = newton_step(system, order, ends, laws, rows, h, q, storage)
        largest = peak(dh)
        h = [a + greater(lesser(b, CREEP), -CREEP) for a, b in zip(h, dh, strict=True)]
        storage = storage * where(largest > CREEP, 2.0 + 0.0 * largest, where(largest < 0.2 * CREEP, 0.5, 1.0))
    return h, flows_at_heads(system, h, q)
