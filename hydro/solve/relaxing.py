"""A way to a start for Newton that nothing deters: the waters are let settle, each with a storage of its own.

    sum of flows in - sum of flows out = G (h - h old)

with flows that satisfy their links at the heads as they stand, found link by link. G begins large, so that the heads creep, and
is halved whenever they hardly move. All matrices keep their signs; nothing needs to fall from step to step. Used where Newton
fails from every start: loops in which almost every way is shut.
"""

from __future__ import annotations

from collections.abc import Sequence

from hydro.ops import Number, peak, some, where
from hydro.solve.newton import columns, step
from hydro.solve.system import System

STORAGE = 0.1
"""Storage at the start, m2 for a step of one second."""
CREEP = 0.1
"""Largest change of a head in one step, m."""
LEAST = 1e-12
"""Flow on the other side of rest at which a law is asked first, m3/s."""


def relax(system: System, heads: Sequence[Number], flows: Sequence[Number], rounds: int = 80,
          ) -> tuple[list[Number], list[Number]]:
    """Return heads and flows nearer to a solution."""
    order = system.order()
    ends = columns(system, order)
    h, q = list(heads), list(flows)
    storage: Number = STORAGE
    for _ in range(rounds):
        q = settled(system, h, q)
        laws, rows, _ = system.evaluate(h, q)
        dh, dq = step(system, order, ends, laws, rows, h, q, storage)
        largest = peak(dh)
        share = where(largest > CREEP, CREEP / (largest + 1e-30), 1.0 + 0.0 * largest)
        h = [a + share * b for a, b in zip(h, dh, strict=True)]
        q = [a + share * b for a, b in zip(q, dq, strict=True)]
        storage = storage * where(largest > CREEP, 2.0 + 0.0 * largest, where(largest < 0.2 * CREEP, 0.5, 1.0))
    return h, q


def settled(system: System, h: Sequence[Number], q: Sequence[Number]) -> list[Number]:
    """Return the flow in each link that its law asks for at the heads. Laws fall with the flow; at rest they may bend."""
    flows: list[Number] = []
    for (residual, i, j), flow in zip(system.links, q, strict=True):
        for _ in range(60):
            r, r_q, _, _ = residual(flow, h[i], h[j])
            off = abs(r) > 1e-6
            if not some(off):
                break
            new = flow - r / r_q
            over = where(abs(flow) > LEAST, 0.0 * new, where(new > 0.0, LEAST + 0.0 * new, -LEAST + 0.0 * new))
            flow = where(off, where(flow * new < 0.0, over, new), flow)
        flows.append(flow)
    return flows
