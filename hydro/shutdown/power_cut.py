"""The answer to a power cut: where all water stands, what came down, the room left in each sump. And a loop at rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from hydro.elements.waters import Body
from hydro.network.model import CHAMBER, UPPER, Network, only
from hydro.quantities.reaching import reached
from hydro.shutdown.drawdown_limits import ended_by
from hydro.shutdown.line_contents import comes_out, out_of_drains, pool_contents, runs_empty
from hydro.shutdown.passages import Passages, passages_of
from hydro.shutdown.rest import Rest, leading_to, levels_at_cut, levels_at_rest, run_out_aside
from hydro.shutdown.settling import Settling
from hydro.shutdown.sumps import Sump, crests_held, lowest_opening, open_water, room_at_rest, sump_volume
from hydro.steady.state import State

TOGETHER = 1e-6
"""How near two sumps must stand to each other to count as one, m."""
ENDLESS = 1e7
"""Surface of a water that takes whatever comes down, m2."""


@dataclass(frozen=True, slots=True)
class Shutdown:
    """The state after a power cut. Volumes in m3, levels in m above the datum.

    `breaks` and `holds` say what was counted on: siphon breaks working, check valves holding. `levels` and `ended` are the
    level of each tank and box at rest and what ended its fall, by place in the waters. `items` is what comes down, by words:
    a tank that rose counts below nothing. `chambers` are the final levels in the order of `Network.chambers`; `spares` the
    room left in each sump up to its lowest opening (negative: that much goes over); `floor` what runs over rims of tanks.

    Where water may go to one sump or to another (`contested`), chambers, spares and floor are each the worst that can come;
    tanks and items are those of the case that leaves the least room.
    """

    breaks: bool
    holds: bool
    levels: Mapping[int, float]
    ended: Mapping[int, str]
    items: dict[str, float]
    chambers: tuple[float, ...]
    spares: tuple[float, ...]
    sumps: tuple[Sump, ...] = ()
    floor: float = 0.0
    tanks: tuple[int, ...] = ()
    contested: bool = False

    @property
    def tank_level(self) -> float:
        """The level of the only tank, m; ValueError where there are several."""
        return self.levels[only(self.tanks)]

    @property
    def ends_by(self) -> str:
        """What ends the fall of the only tank; ValueError where there are several."""
        return self.ended[only(self.tanks)]

    @property
    def comes_down(self) -> float:
        """All that comes down, m3."""
        return sum(self.items.values())

    @property
    def over(self) -> float:
        """All that goes over rims and openings, m3."""
        return self.floor + sum(max(0.0, -spare) for spare in self.spares)

    @property
    def spare(self) -> float:
        """The room left in the sump that has the least, m3."""
        return min(self.spares)

    def spare_of(self, sump: Sump) -> float:
        """Return the room left in a sump, m3."""
        return self.spares[self.sumps.index(sump)]

    @property
    def sump_level(self) -> float:
        """The highest of all chambers' final levels, m: all of one sump stand there where its walls are under water."""
        return max(self.chambers)

    def sump_level_of(self, sump: Sump) -> float:
        """Return the highest of the final levels of a sump's chambers, m."""
        first = sum(len(other) for other in self.sumps[:self.sumps.index(sump)])
        return max(self.chambers[first:first + len(sump)])


def tank_begins(state: State) -> float:
    """Return the only tank's level when the power fails, m (see `levels_at_cut`)."""
    return levels_at_cut(state)[state.network.tank]


def joined(network: Network, passages: Passages, levels: Sequence[float]) -> list[list[int]]:
    """Return the sumps (places in `Network.sumps`) that stand at one level through a pipe between them, group by group."""
    leads = list(range(len(network.sumps)))
    home = {k: n for n, sump in enumerate(network.sumps) for k in sump}
    for up in network.chambers:
        for port in passages.ports[up]:
            for down, low in ([] if port.pumped else passages.pools[port.pool].chambers):
                if down in home and home[down] != home[up] and min(levels[up], levels[down]) > max(port.stop, low) - TOGETHER \
                        and abs(levels[up] - levels[down]) < TOGETHER:
                    one, other = leads[home[up]], leads[home[down]]
                    leads = [one if lead == other else lead for lead in leads]
    return [[n for n, lead in enumerate(leads) if lead == group] for group in sorted(set(leads))]


def spares_of(network: Network, passages: Passages, rest: Rest) -> list[float]:
    """Return the room left in each sump, m3; sumps that stand level through a pipe share theirs up to the lowest opening."""
    was = [rest.begins[k] for k in network.chambers]
    now = [rest.levels[k] for k in network.chambers]
    spares = [0.0] * len(network.sumps)
    for group in joined(network, passages, rest.levels):
        sumps = [network.sumps[n] for n in group]
        brim = min(lowest_opening(network, sump) for sump in sumps)
        room = sum(room_at_rest(network, was, sump, brim) - sump_volume(network, now, sump) for sump in sumps)
        for n in group:
            spares[n] = room
    return spares


def forks(network: Network, passages: Passages) -> list[tuple[int, ...]]:
    """Return where open forks are to lead, case by case: to the sumps, and to each one between which some tank may choose.

    One of those are the tanks and boxes that have no lower way out than their rim: what comes to them goes on the floor.
    """
    ends = [(sump, leading_to(passages, sump)) for sump in network.sumps]
    spilling = [k for k in network.uppers if _only_rim(passages, k)]
    if spilling:
        ends.append((tuple(spilling), leading_to(passages, spilling)))
    choices = [sum(k in leads for _, leads in ends) > 1 for k in network.uppers]
    torn = {k for k, choice in zip(network.uppers, choices, strict=True) if choice}
    return [network.chambers, *(end for end, leads in ends if not torn.isdisjoint(leads))]


def _only_rim(passages: Passages, water: int) -> bool:
    ways = passages.ways(water)
    return bool(ways) and min((sill, down != passages.floor, down) for down, sill, _ in ways)[2] == passages.floor


def items_of(network: Network, rest: Rest) -> dict[str, float]:
    """Return what comes down by words, m3: tanks and boxes by name ('tank' for an only tank), drains, returns."""
    items: dict[str, float] = {}
    tanks = network.tanks
    for k in network.uppers:
        water = network.waters[k]
        assert water.body is not None
        name = "tank" if tanks == (k,) else water.name
        fallen = float(water.body.stored(rest.begins[k])[0]) - float(water.body.stored(rest.levels[k])[0])
        items[name] = items.get(name, 0.0) + fallen
    items["drains"] = items.get("drains", 0.0) + rest.drains
    items["returns"] = items.get("returns", 0.0) + rest.lines
    return items


def shut_down(state: State, breaks: bool, holds: bool) -> Shutdown:
    """Return where everything stands after all pumps have stopped, from a running state."""
    network = state.network
    passages = passages_of(network, breaks, holds)
    held = out_of_drains(state)
    rests = [levels_at_rest(state, passages, wanted, held) for wanted in forks(network, passages)]
    rooms = [spares_of(network, passages, rest) for rest in rests]
    worst = min(range(len(rests)), key=lambda n: (min(rooms[n], default=0.0), -rests[n].floor, n))
    chambers: list[float] = []
    for n, sump in enumerate(network.sumps):
        least = min(range(len(rests)), key=lambda one: (rooms[one][n], one != worst, one))
        chambers += [rests[least].levels[k] for k in sump]
    rest = rests[worst]
    return Shutdown(
        breaks, holds, {k: rest.levels[k] for k in network.uppers},
        {k: ended_by(network, passages, rest.levels, k) for k in network.uppers}, items_of(network, rest), tuple(chambers),
        tuple(map(min, zip(*rooms, strict=True))), network.sumps, max(rest.floor for rest in rests), network.tanks,
        len(rests) > 1)


def worst_shutdown(cases: Sequence[Shutdown]) -> Shutdown:
    """Return the worst that can come of a power cut in several states: each sump and the floor as in the one worst for it.

    Tanks and items are those of the state that leaves the least room.
    """
    worst = min(cases, key=lambda case: case.spare)
    chambers: list[float] = []
    first = 0
    for sump in worst.sumps:
        least = min((worst, *cases), key=lambda case: case.spare_of(sump))
        chambers += least.chambers[first:first + len(sump)]
        first += len(sump)
    return replace(worst, chambers=tuple(chambers), spares=tuple(map(min, zip(*(case.spares for case in cases), strict=True))),
                   floor=max(case.floor for case in cases))


def still_volume(network: Network, level: float) -> float:
    """Return all the water when the pump chamber stands at `level` with the pumps off, m3.

    Siphon breaks are counted as working and check valves as holding: so the person saw it who measured that level. Tanks and
    boxes stand where they come to rest from above, another sump as high over its bottom, or level where a pipe joins the two.
    """
    passages = passages_of(network, True, True)
    levels, gone = at_rest_above(network, passages, level)
    upper = 0.0
    for k in network.uppers:
        body = network.waters[k].body
        assert body is not None
        upper += float(body.stored(levels[k])[0])
    chambers = [max(levels[k], held) for k, held in zip(network.chambers, crests_held(network), strict=True)]
    return upper + sump_volume(network, chambers) + float(network.full) - gone


def at_rest_above(network: Network, passages: Passages, level: float) -> tuple[list[float], float]:
    """Return the levels (m) of all waters when tanks and boxes have run down from their rims, and what ran out of lines (m3).

    The pump chamber stands at `level`, m.
    """
    levels = [0.0] * len(network.waters)
    above = level - _bottom(network, network.pump_chamber)
    for sump in network.sumps:
        mine = level if _one_water(network, passages, sump) else _bottom(network, open_water(network, sump)) + above
        for k in sump:
            levels[k] = mine
    for k in network.uppers:
        water = network.waters[k]
        crests = [sill for _, sill, _ in passages.ways(k)]
        assert water.body is not None
        levels[k] = max([float(water.body.bottom if water.opening is None else water.opening), *crests])
    endless = [replace(water, body=Body.box(water.name, 0.0, ENDLESS, 1.0)) if water.kind == CHAMBER else water
               for water in network.waters]
    settling = Settling(replace(network, waters=tuple(endless)), passages, levels)
    settling.settle()
    contents, empty = pool_contents(network, passages), runs_empty(passages)
    gone = comes_out(network, contents, empty) + run_out_aside(settling, passages, contents, set(empty))
    return [settling.levels[k] if water.kind in UPPER else levels[k] for k, water in enumerate(network.waters)], gone


def _bottom(network: Network, water: int) -> float:
    body = network.waters[water].body
    return 0.0 if body is None else float(body.bottom)


def _one_water(network: Network, passages: Passages, sump: Sump) -> bool:
    """Whether a sump is the pump chamber's, or joined to it by pipes without a pump."""
    def beside(water: int) -> list[int]:
        found = [passage.down for passage in passages.direct[water]]
        found += [down for port in passages.ports[water] if not port.pumped for down, _ in passages.pools[port.pool].chambers]
        return [k for k in found if k != passages.floor and network.waters[k].kind == CHAMBER]

    return network.pump_chamber in reached(sump, beside)
