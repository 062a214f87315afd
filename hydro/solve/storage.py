"""Storage through time: what turns the balances of a network at rest into one implicit step (backward Euler).

    (stored(h) - old)/dt - source = sum of flows in - sum of flows out        each node that holds water
    o = passing(q)                                                            what leaves a link's lower end while q enters it

The argument `storage` of `System` adds the left-hand side to the rows of the balances, and its slopes to the matrix. A link whose
contents change passes on another flow than it takes in; 0 <= do/dq <= 1 keeps the signs of the matrix. Floats only.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

Stored = Callable[[float], tuple[float, float]]
Passing = Callable[[float], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Storage:
    """One step of `dt` seconds from volumes `old` (m3, one a node; of no meaning where `stored` is None).

    `sources` (m3/s) flow into nodes from elsewhere; `passing` maps links to their law, flow in -> (flow out, slope).
    """

    dt: float
    old: tuple[float, ...]
    stored: tuple[Stored | None, ...]
    sources: dict[int, float]
    passing: dict[int, Passing]

    def add_to(self, rows: list[float], links: Sequence[tuple[object, int, int]], h: Sequence[float], q: Sequence[float],
               ) -> None:
        """Take what is stored from the balances, and give the lower ends what their links really pass on."""
        for k, stored in enumerate(self.stored):
            if stored is not None:
                rows[k] -= (stored(h[k])[0] - self.old[k]) / self.dt
        for k, source in self.sources.items():
            rows[k] += source
        for k, passing in self.passing.items():
            rows[links[k][2]] += passing(q[k])[0] - q[k]

    def slopes(self, h: Sequence[float], q: Sequence[float]) -> tuple[dict[int, float], dict[int, float]]:
        """Return area/dt of each node that stores (m2/s), and 1 - do/dq of each link that passes on another flow."""
        areas = {k: stored(h[k])[1] / self.dt for k, stored in enumerate(self.stored) if stored is not None}
        return areas, {k: 1.0 - passing(q[k])[1] for k, passing in self.passing.items()}
