"""The mouths through which a header gives water to tanks, kept in order of height: a header of hundreds is asked for its lowest.

A row is (height over which the tank takes water, name, place, lowest point of its mouth), heights in m.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Sequence

CLOSE = 1e-9
"""Levels nearer than this are the same, m."""
INFINITE = float("inf")
Way = tuple[float, int, float]
"""Height over which a way is open (m), where it leads, its sill (m)."""


class Mouths:
    """The tanks that a pool of pipes gives to, lowest first, one list for each rank. `levels` moves on outside: see `move`."""

    def __init__(self, outs: Sequence[tuple[int, float]], levels: Sequence[float], names: Sequence[str], ranks: Sequence[int],
                 ) -> None:
        self.levels, self.names, self.ranks = levels, names, ranks
        self.rows = {down: self._row(down, low) for down, low in outs}
        self.lists = [sorted(row for down, row in self.rows.items() if ranks[down] == rank) for rank in range(3)]

    def _row(self, down: int, low: float) -> tuple[float, str, int, float]:
        return max(low, self.levels[down]), self.names[down], down, low

    def move(self, down: int) -> None:
        """Put a tank whose level has changed into its place."""
        old = self.rows[down]
        new = self._row(down, old[3])
        if new != old:
            rows = self.lists[self.ranks[down]]
            del rows[bisect_left(rows, old)]
            insort(rows, new)
            self.rows[down] = new

    def lower(self, water: int, stop: float, open_below: float, stands_below: float) -> Way | None:
        """Return the first way, by rank and height, that is open below one level (m) into a tank that stands below another."""
        if stop > open_below:
            return None
        for rows in self.lists:
            for height, _, down, low in rows:
                if height > open_below:
                    break
                if down != water and self.levels[down] < stands_below:
                    return max(stop, height), down, max(stop, low)
        return None

    def level_with(self, level: float) -> list[int]:
        """Return the tanks that stand at a level (m) over their mouths."""
        found = []
        for rows in self.lists:
            for height, _, down, _ in rows[bisect_left(rows, (level - CLOSE,)):]:
                if height > level + CLOSE:
                    break
                if self.levels[down] >= level - CLOSE:
                    found.append(down)
        return found

    def next_above(self, level: float, stop: float, inside: set[int]) -> float:
        """Return the height (m) over a level from which the next tank not `inside` takes water."""
        least = INFINITE
        for rows in self.lists:
            start = 0 if stop > level + CLOSE else bisect_left(rows, (level + CLOSE,))
            least = min(least, next((max(stop, row[0]) for row in rows[start:start + len(inside) + 2]
                                     if row[2] not in inside and max(stop, row[0]) > level + CLOSE), INFINITE))
        return least
