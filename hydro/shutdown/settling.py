"""Water that moves until nothing moves: every water falls over its open ways until it stands at a sill or at another's level.

    open:    level > max(sill, level beyond)
    falls:   down to that height; where the water beyond rises, until both stand level

Highest water first. What reaches a water that is full to one of its own sills goes on down; waters that stand at one level and
join are filled together. Where several ways are open the water takes the one that leads to the sump asked about (`wanted`),
else the lowest. Names settle what heights leave open, so the order of a description does not matter. Nothing is lost: each
move takes from one body what it gives to others.
"""

from __future__ import annotations

from collections.abc import Sequence

from hydro.elements.waters import Body
from hydro.errors import SolveError
from hydro.network.model import Network
from hydro.shutdown.outlets import CLOSE, INFINITE, Mouths, Way
from hydro.shutdown.passages import Passages

EXACT = 1e-14
"""Volumes nearer than this are the same, m3."""
ROUNDS = 400


def level_at(bodies: Sequence[Body], volume: float, low: float, high: float = INFINITE) -> float:
    """Return the level (m) between two others at which bodies hold a volume (m3) together: Newton's steps, kept inside."""
    level = low
    for _ in range(100):
        over, area = -volume, 0.0
        for body in bodies:
            held, surface = body.stored(level)
            over, area = over + float(held), area + float(surface)
        if abs(over) < EXACT or high - low < 1e-15:
            break
        low, high = (low, min(high, level)) if over > 0.0 else (max(low, level), high)
        new = level - over / area if area > 0.0 else INFINITE
        if not low <= new <= high:
            new = 0.5 * (low + high) if high < INFINITE else low + 1.0
        if new == level:
            break
        level = new
    return level


class Settling:
    """Waters on their way to rest. `levels` (m) by place, `floor` what ran over rims (m3); `wanted` the waters of a sump."""

    def __init__(self, network: Network, passages: Passages, levels: Sequence[float], wanted: frozenset[int] = frozenset(),
                 leads: frozenset[int] = frozenset()) -> None:
        self.passages = passages
        self.levels = [*map(float, levels), -INFINITE]
        self.names = [*(water.name for water in network.waters), ""]
        self.bodies = [*(water.body for water in network.waters), None]
        self.standing = [k for k, water in enumerate(network.waters) if water.body is not None]
        self.wanted = wanted
        self.floor = 0.0
        self.ranks = [0 if k in wanted else 1 if k in leads else 2 for k in range(len(self.levels))]
        self.aside = [not pool.chambers or (bool(wanted) and wanted.isdisjoint(down for down, _ in pool.chambers))
                      for pool in passages.pools]
        self.mouths = [Mouths(pool.tanks, self.levels, self.names, self.ranks) for pool in passages.pools]
        self.fed_through: dict[int, list[Mouths]] = {}
        for mouths in self.mouths:
            for down in mouths.rows:
                self.fed_through.setdefault(down, []).append(mouths)

    def held(self, water: int, level: float | None = None) -> float:
        """Return what a water holds at a level, by default its own, m3."""
        body = self.bodies[water]
        assert body is not None
        return float(body.stored(self.levels[water] if level is None else level)[0])

    def stand(self, water: int, level: float) -> None:
        """Put a water at a level, m."""
        self.levels[water] = level
        for mouths in self.fed_through.get(water, ()):
            mouths.move(water)

    def ways(self, water: int) -> list[Way]:
        """Return the ways over edges, through drains, and through pipes into chambers."""
        levels, passages, wanted = self.levels, self.passages, self.wanted
        found = [(max(way.sill, levels[way.down]), way.down, way.sill) for way in passages.direct[water]]
        for port in passages.ports[water]:
            for down, low in passages.pools[port.pool].chambers:
                # A siphon through a stopped pump is counted on to bring water into the sump asked about, not to relieve one.
                if down == water or (port.pumped and (down not in wanted or water in wanted)):
                    continue
                sill = max(port.stop, low)
                found.append((max(sill, levels[down]), down, sill))
        return found

    def mouths_of(self, water: int) -> list[tuple[Mouths, float]]:
        """Return the pools through which a water gives to tanks, with its stop there, m: those that end in no wanted chamber."""
        found = []
        for port in self.passages.ports[water]:
            pool = self.passages.pools[port.pool]
            alone = len(pool.chambers) == 1 and pool.chambers[0][0] == water
            if pool.tanks and (alone or port.pumped or self.aside[port.pool]):
                found.append((self.mouths[port.pool], port.stop))
        return found

    def open_ways(self, water: int) -> list[Way]:
        """Return the ways that are open, of each pool the one that is taken."""
        level = self.levels[water] - CLOSE
        found = [way for way in self.ways(water) if way[0] < level]
        for mouths, stop in self.mouths_of(water):
            way = mouths.lower(water, stop, level, INFINITE)
            if way is not None and way[0] < level:
                found.append(way)
        return found

    def best(self, ways: Sequence[Way]) -> Way:
        """Return the way that leads to the sump asked about, else the lowest."""
        return min(ways, key=lambda way: (self.ranks[way[1]], way[0], self.names[way[1]], way[1]))

    def settle(self) -> None:
        """Move water until no way is open any more, those to what is wanted first; SolveError if it never rests."""
        most = 1
        for _ in range(ROUNDS):
            moved = False
            for water in sorted(self.standing, key=lambda k: (-self.levels[k], self.names[k])):
                while self._falls(water, most):
                    moved = True
            if not moved and most == 2:
                return
            if not moved:
                most = 2
        raise SolveError("pumps stopped", ROUNDS, float("nan"), "the waters", "they do not come to rest by volumes")

    def pour(self, water: int, volume: float) -> None:
        """Add water (m3) at a place."""
        while volume > EXACT:
            rising, cap = self.receivers(water, INFINITE)
            volume -= self._raise(rising, cap, volume)

    def receivers(self, water: int, above: float) -> tuple[list[int], float]:
        """Return the waters that rise together when water comes to one, and the level (m) up to which nothing else does.

        `above` is the level of the water that it comes from.
        """
        while water != self.passages.floor:
            level = self.levels[water]
            rising, lower, above_it = self._level_with(water)
            if not lower:
                return rising, min(above, above_it)
            water, above = self.best(lower)[1], level
        return [water], INFINITE

    def _level_with(self, water: int) -> tuple[list[int], list[Way], float]:
        """Return the waters that join one at its level, the ways from them to lower ones, and where the next way opens, m."""
        level, rising, inside = self.levels[water], [water], {water}
        lower: list[Way] = []
        beyond: list[Way] = []
        stops: dict[Mouths, float] = {}
        for one in rising:
            if any(self.ranks[way[1]] == 0 for way in lower):
                break
            beside: list[int] = []
            for way in self.ways(one):
                if way[0] > level + CLOSE:
                    beyond.append(way)
                elif self.levels[way[1]] < level - CLOSE:
                    lower.append(way)
                else:
                    beside.append(way[1])
            for mouths, stop in self.mouths_of(one):
                before = stops.get(mouths, INFINITE)
                if stop <= level + CLOSE < before:
                    way_down = mouths.lower(one, stop, level + CLOSE, level - CLOSE)
                    lower += [] if way_down is None else [way_down]
                    beside += mouths.level_with(level)
                stops[mouths] = min(stop, before)
            new = set(beside) - inside
            inside |= new
            rising += sorted(new, key=lambda k: self.names[k])
        opens = [way[0] for way in beyond if way[1] not in inside]
        opens += [mouths.next_above(level, stop, inside) for mouths, stop in stops.items()]
        return rising, lower, min(opens, default=INFINITE)

    def _raise(self, rising: list[int], cap: float, volume: float) -> float:
        """Fill waters that rise together with up to `volume` (m3), not over `cap` (m); return what they took."""
        if rising[0] == self.passages.floor:
            self.floor += volume
            return volume
        before = sum(self.held(k) for k in rising)
        room = sum(self.held(k, cap) for k in rising) - before if cap < INFINITE else INFINITE
        if room <= volume:
            level, took = cap, room
        else:
            bodies = [body for body in (self.bodies[k] for k in rising) if body is not None]
            level, took = level_at(bodies, before + volume, min(self.levels[k] for k in rising), cap), volume
        for k in rising:
            self.stand(k, level)
        return took

    def _falls(self, water: int, most: int) -> bool:
        """Let a water fall over one open way, of rank `most` at most, until something stops it; False where none is open."""
        level = self.levels[water]
        ways = [way for way in self.open_ways(water) if self.ranks[way[1]] <= most]
        if not ways:
            return False
        _, down, sill = self._chosen(ways)
        rising, cap = self.receivers(down, level)
        if down in rising and down != self.passages.floor and self._meets(water, rising, sill, cap):
            return True
        target = max(sill, self.levels[down])
        before = self.held(water)
        took = self._raise(rising, cap, before - self.held(water, target))
        body = self.bodies[water]
        assert body is not None
        left = before - took
        self.stand(water, target if left - self.held(water, target) < EXACT else level_at((body,), left, target, level))
        return True

    def _chosen(self, ways: Sequence[Way]) -> Way:
        """Return the way to take: one over which the water arrives where it is wanted goes before one that fills a tank first."""
        best = self.best(ways)
        if self.ranks[best[1]] != 1 or len(ways) == 1:
            return best
        leading = [way for way in ways if self.ranks[way[1]] == 1]
        arriving = [way for way in leading if not self.wanted.isdisjoint(self.receivers(way[1], INFINITE)[0])]
        return self.best(arriving or leading)

    def _meets(self, water: int, rising: list[int], sill: float, cap: float) -> bool:
        """Let a falling and a rising water meet, where they do so over the sill between them and before anything else."""
        together = [water, *rising]
        bodies = [body for body in (self.bodies[k] for k in together) if body is not None]
        level = level_at(bodies, sum(self.held(k) for k in together), self.levels[rising[0]], self.levels[water])
        if level < sill or level > cap:
            return False
        for k in together:
            self.stand(k, level)
        return True
