"""Every drain of a tank blocked: what the pumps can still bring up into it, by volumes, and the line from which it fits.

    comes up = water in the sumps over walls' crests and intakes + what stands over the lips of the other tanks
               + what runs down from the drains' lines + the whole top-up reservoir
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from hydro.elements import limits
from hydro.elements.limits import limit_of
from hydro.elements.waters import Body
from hydro.errors import SolveError
from hydro.network.model import Network
from hydro.quantities.bisection import halved
from hydro.quantities.uncertain import Sample
from hydro.scenarios.placed_build import PlacedBuild, held_at
from hydro.shutdown import crests_held, drains_run_out, lowest_opening, open_water, passages_of, sump_volume
from hydro.shutdown.passages import Passages
from hydro.steady.initial_guess import crest_of
from hydro.steady.modes import operating_point
from hydro.steady.state import State


@dataclass(frozen=True, slots=True)
class AllBlocked:
    """Every drain of a tank blocked: water that can still come up (with the top-up reservoir) against its dry room, m3.

    The room ends at the lowest opening of the tank and its boxes. `comes_up` stands in the sumps and over the lips of other
    tanks, `held` runs down from the drains' lines. `tank` is the tank's place, `others` what other tanks give of `comes_up`.
    """

    comes_up: float
    top_up: float
    room: float
    held: float = 0.0
    tank: int = -1
    others: float = 0.0

    @property
    def all(self) -> float:
        """All that can come up, m3."""
        return self.comes_up + self.held + self.top_up


def with_boxes(network: Network, tank: int) -> tuple[int, ...]:
    """Return a tank and the boxes it spills into."""
    return (tank, *(network.links[k].down for k in network.edges if network.links[k].up == tank))


def drains_of(network: Network, tank: int) -> tuple[int, ...]:
    """Return the drains of a tank and of the boxes it spills into."""
    waters = with_boxes(network, tank)
    return tuple(k for k in network.drains if network.links[k].up in waters)


def line_when_blocked(loop: PlacedBuild, sample: Sample, network: Network, state: State | None, tank: int, rounds: int = 4,
                      ) -> float | None:
    """Return the highest pump-chamber level (m) from which nothing goes over a tank, its drains blocked; None if none.

    What stands over the intake and over the walls' crests comes up. By volumes from a running state, solved again at the
    line so found until it stays: the tank stands a little higher over a higher line.
    """
    limit = None
    for _ in range(rounds):
        before = limit
        if state is None:
            break
        limit = _line_with_room(raised_when_blocked(loop, sample, state, tank), state)
        if limit is None or (before is not None and abs(limit - before) < 2e-4):
            break
        try:
            state = operating_point(network, held_at(network, max(limit, _intake(state) + 1e-3)), state).state
        except SolveError:
            break
    return limit


def _intake(state: State) -> float:
    network = state.network
    return min((float(network.links[k].element.intake) for k in network.pumps if network.links[k].up == network.pump_chamber),
               default=float("-inf"))


def stays(network: Network) -> list[float]:
    """Return for each chamber the level below which no pump can take its water, m: walls' crests and intakes.

    A sump that a pipe joins to another one gives to that one's pump too, what stands over the pipe's mouths.
    """
    crests = dict(zip(network.chambers, crests_held(network), strict=True))
    found: dict[int, float] = {}
    for sump in network.sumps:
        intakes = [float(network.links[k].element.intake) for k in network.pumps if network.links[k].up in sump]
        lowest = min(intakes, default=float("inf"))
        found.update({k: max(crests[k], lowest) for k in sump})
    pipes = _pipes_between(network) if len(network.sumps) > 1 else []
    # Each round carries a lower level one pipe further.
    for _ in network.sumps if pipes else ():
        for up, down, sill in pipes:
            found[up] = min(found[up], max(sill, found[down]))
        for sump in network.sumps:
            level = found[open_water(network, sump)]
            found.update({k: min(found[k], max(crests[k], level)) for k in sump})
    return [found[k] for k in network.chambers]


def _pipes_between(network: Network) -> list[tuple[int, int, float]]:
    """Return the ways that lead from one sump's chamber into another one's, no pump between: (from, to, sill in m)."""
    home = {k: n for n, sump in enumerate(network.sumps) for k in sump}
    passages = passages_of(network, False, False)
    found = [(up, way.down, way.sill) for up in network.chambers for way in passages.direct[up]]
    found += [(up, down, max(port.stop, low)) for up in network.chambers for port in passages.ports[up] if not port.pumped
              for down, low in passages.pools[port.pool].chambers]
    return [(up, down, sill) for up, down, sill in found if down in home and home[down] != home[up]]


def _at_line(state: State, line: float) -> list[float]:
    """Return the chambers' levels (m) with the line moved: the open water of each sump moves as far, walls keep what they hold.

    Sumps that share a loop hang together by pipes or by pumps on one header: where one stands higher, so do the others.
    """
    network, levels = state.network, []
    for sump in network.sumps:
        open_chamber = open_water(network, sump)
        moved = line + (float(state.levels[open_chamber]) - float(state.levels[network.pump_chamber]))
        levels += [moved if k == open_chamber else max(float(state.levels[k]), moved) for k in sump]
    return levels


def _line_with_room(case: AllBlocked, state: State) -> float | None:
    """Return the line from which what comes up fills the tank's room just as it is in a state, m; None if none does."""
    network = state.network
    held, others = stays(network), case.others

    def over(line: float) -> float:
        levels = _at_line(state, line)
        rest = [min(level, kept) for level, kept in zip(levels, held, strict=True)]
        return sump_volume(network, levels) - sump_volume(network, rest) + others + case.held + case.top_up - case.room
    low, high = _intake(state), lowest_opening(network, network.sump_of(network.pump_chamber))
    if over(low) > 0.0 or over(high) <= 0.0:
        return None if over(low) > 0.0 else high
    return float(halved(low, high, lambda line: over(line) <= 0.0, close=1e-5)[0])


def raised_when_blocked(loop: PlacedBuild, sample: Sample, state: State, tank: int) -> AllBlocked:
    """Return what can still come up when nothing comes down from a tank, against the room in it."""
    return next(case for case in raised_in_every_tank(loop, sample, state) if case.tank == tank)


def raised_in_every_tank(loop: PlacedBuild, sample: Sample, state: State) -> tuple[AllBlocked, ...]:
    """Return for each tank what can still come up when nothing comes down from it, against the room in it.

    In the end every litre that a pump reaches is up there, and what stands over the lips of the other tanks with it. Once the
    pump runs dry nothing presses any more, and a tank that stands higher siphons into this one through their header.
    """
    network = state.network
    levels = [float(state.levels[k]) for k in network.chambers]
    reached = sump_volume(network, levels) - sump_volume(network, [min(level, kept) for level, kept in
                                                                   zip(levels, stays(network), strict=True)])
    over, passages = _over_lips(state), passages_counted_on(loop, network)
    givers, mouths = _givers(state, passages), _mouths(passages)
    top_up, held = float(limit_of(loop.build, limits.TOP_UP).at(sample)), drains_run_out(state)
    found = []
    for tank in network.tanks:
        body, mine = network.waters[tank].body, with_boxes(network, tank)
        assert body is not None
        # A box that spills before its tank is full sets the end; the room in the box itself is not counted.
        brim = min(float(opening) for opening in (network.waters[k].opening for k in mine) if opening is not None)
        room = float(body.stored(brim)[0]) - float(body.stored(max(float(state.levels[tank]), float(body.bottom)))[0])
        beside = sum((volume for k, volume in over.items() if k not in mine), 0.0)
        others = beside + _siphons_in(givers, mouths.get(tank, {}), tank, brim)
        found.append(AllBlocked(reached + others, top_up, room, held, tank, others))
    return tuple(found)


def passages_counted_on(loop: PlacedBuild, network: Network) -> Passages:
    """Return the ways of the water with pumps that stand; siphon breaks and check valves work if the owner counts on them."""
    return passages_of(network, *(words in loop.build.counts_on for words in ("siphon breaks", "check valves")))


def _givers(state: State, passages: Passages) -> list[tuple[int, Body, float, list[tuple[int, float]]]]:
    """Return the tanks and boxes with pipes: place, body, the level up to which it gives (m), and (pool, lowest level) each."""
    network = state.network
    lips: dict[int, float] = {}
    for k in network.spills:
        link = network.links[k]
        lips[link.up] = min(lips.get(link.up, float("inf")), float(crest_of(link.element)))
    found = []
    for k in network.uppers:
        body, ports = network.waters[k].body, [(port.pool, port.stop) for port in passages.ports[k]]
        if body is not None and ports:
            found.append((k, body, min(float(state.levels[k]), lips.get(k, float("inf"))), ports))
    return found


def _siphons_in(givers: Sequence[tuple[int, Body, float, list[tuple[int, float]]]], mouths: Mapping[int, float], tank: int,
                brim: float) -> float:
    """Return what other tanks and boxes give to a tank through pipes full of water until it is full to its brim (m), m3.

    `mouths` are its lowest mouths by pool, m. Down from the givers' lowest lips: what stands over those counts apart. Each
    gives down to its own mouth.
    """
    given = 0.0
    for k, body, top, ports in givers if mouths else ():
        ends = [max(stop, mouths[pool], brim) for pool, stop in ports if pool in mouths]
        if k != tank and ends and min(ends) < top:
            given += float(body.stored(top)[0]) - float(body.stored(min(ends))[0])
    return given


def _mouths(passages: Passages) -> dict[int, dict[int, float]]:
    """Return for each tank that pipes end in its lowest mouth in each pool of them, m."""
    found: dict[int, dict[int, float]] = {}
    for n, pool in enumerate(passages.pools):
        for down, low in pool.tanks:
            mine = found.setdefault(down, {})
            mine[n] = min(low, mine.get(n, low))
    return found


def _over_lips(state: State) -> dict[int, float]:
    """Return the water of each tank and box over its lowest lip, m3."""
    network, over = state.network, {}
    crests: dict[int, float] = {}
    for k in network.spills:
        link = network.links[k]
        crests[link.up] = min(crests.get(link.up, float("inf")), float(crest_of(link.element)))
    for k in network.uppers:
        body, level = network.waters[k].body, float(state.levels[k])
        assert body is not None
        over[k] = float(body.stored(level)[0]) - float(body.stored(min(level, crests.get(k, level)))[0])
    return over
