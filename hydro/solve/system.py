"""What the solver is given: links with residuals, nodes with stored volumes, and the row that closes the water balance.

Unknown are a head at each node and a flow in each link. Each link answers r(q, up, down) in metres with its slopes; each node
but the last balances its flows. The last row closes: in a closed system the balances add up to nothing, so one of them is
replaced by the total volume or by the level of one node; with a node of fixed level no row is replaced.
Heads and flows are lists of floats (one system) or of arrays (many systems of one shape).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from hydro.quantities.arrays import Number, any_of, peak, where
from hydro.solve.storage import Storage

Residual = Callable[[Number, Number, Number], tuple[Number, Number, Number, Number]]
Stored = Callable[[Number], tuple[Number, Number]]
Held = Callable[[Number], tuple[Number, Number]]

BALANCE, VOLUME = 1e3, 10.0
"""Metres of merit for 1 m3/s of imbalance, and for 1 m3 of volume: what makes errors of flow and head comparable."""
STEEP, FAR = 1e3, 1.0
"""A flow strays where its link's law is steeper than this (s/m2) and missed by more than this (m)."""


@dataclass(frozen=True, slots=True)
class System:
    """Links (residual, from, to), nodes' storage, and the closing row.

    `stored[k]` is None for a node without volume; `held[k]` None for a link without. `fixed` maps nodes to given heads.
    `closing` is the node whose balance gives way: to the total volume `total` where `level` is None, else to that level of
    its own. It is None where a level is fixed, and through time, where `storage` adds to the balances.
    """

    links: tuple[tuple[Residual, int, int], ...]
    stored: tuple[Stored | None, ...]
    held: tuple[Held | None, ...]
    fixed: dict[int, Number]
    closing: int | None
    total: Number = 0.0
    level: Number | None = None
    storage: Storage | None = None

    def order(self) -> list[int]:
        """Return the nodes with unknown heads, the closing one last."""
        free = [k for k in range(len(self.stored)) if k not in self.fixed and k != self.closing]
        return free if self.closing is None else [*free, self.closing]

    def volume(self, h: Sequence[Number], q: Sequence[Number]) -> Number:
        """Return all the water in nodes and links, m3."""
        volume: Number = 0.0
        for stored, head in zip(self.stored, h, strict=True):
            if stored is not None:
                volume = volume + stored(head)[0]
        for held, flow in zip(self.held, q, strict=True):
            if held is not None:
                volume = volume + held(flow)[0]
        return volume

    def evaluate(self, h: Sequence[Number], q: list[Number], put_back: bool = False,
                 ) -> tuple[list[tuple[Number, ...]], list[Number], Number]:
        """Return the links' residuals with slopes, the nodes' rows (m3/s; m3 or m in the closing one), and the merit.

        With `put_back` a flow that has strayed into a way that is shut is put back, in `q` itself, to what the heads press
        through there. The miss then shows as an imbalance of flows, which says how far off it was; metres of head over a
        shut way do not.
        """
        laws: list[tuple[Number, ...]] = []
        rows: list[Number] = [0.0] * len(h)
        merit: Number = 0.0
        for k, (residual, i, j) in enumerate(self.links):
            flow = q[k]
            law = residual(flow, h[i], h[j])
            r = law[0]
            if put_back:
                strays = abs(r) > FAR
                if any_of(strays):
                    strays = strays & (law[1] < -STEEP)
                    flow = q[k] = where(strays, flow - r / law[1], flow)
                    law = residual(flow, h[i], h[j])
                    r = law[0]
            laws.append(law)
            rows[i] = rows[i] - flow
            rows[j] = rows[j] + flow
            merit = merit + r * r
        if self.storage is not None:
            self.storage.add_to(rows, self.links, h, q)
        for k in self.fixed:
            rows[k] = 0.0
        missed: Number = 0.0
        for k, row in enumerate(rows):
            if k != self.closing:
                missed = missed + row * row
        merit = merit + BALANCE * BALANCE * missed
        if self.closing is not None:
            k = self.closing
            rows[k] = self.volume(h, q) - self.total if self.level is None else h[k] - self.level
            merit = merit + VOLUME * VOLUME * (rows[k] * rows[k])
        return laws, rows, merit

    def worst(self, h: Sequence[Number], q: Sequence[Number]) -> int:
        """Return the link whose residual is largest."""
        laws, _, _ = self.evaluate(h, list(q))
        return max(range(len(laws)), key=lambda k: float(peak([laws[k][0]])))
