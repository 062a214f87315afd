"""Every drain of a tank blocked: what the pumps can still bring up into it, by volumes, and the line from which it fits.

    comes up = water in the sumps over walls' crests and intakes + what stands over the lips of the other tanks
               + what runs down from the drains' lines + the whole top-up reservoir
"""

from __future__ import annotations

from dataclasses import dataclass

from hydro import limits
from hydro.errors import SolveError
from hydro.guesses import crest_of
from hydro.limits import limit_of
from hydro.network import Network
from hydro.regimes import run
from hydro.rough import Picks
from hydro.scenarios import Loop, held_at
from hydro.state import State
from hydro.stopped import crests_held, drains_run_out, lowest_opening, sump_volume


@dataclass(frozen=True, slots=True)
class AllBlocked:
    """Every drain of a tank blocked: water that can still come up (with the top-up reservoir) against its dry room, m3.

    `comes_up` stands in the sumps and over the lips of other tanks, `held` runs down from the drains' lines. `tank` is the
    tank's place.
    """

    comes_up: float
    top_up: float
    room: float
    held: float = 0.0
    tank: int = -1

    @property
    def all(self) -> float:
        """All that can come up, m3."""
        return self.comes_up + self.held + self.top_up


def station(network: Network, tank: int) -> tuple[int, ...]:
    """Return the drains of a tank and of the boxes it spills into."""
    waters = {tank, *(network.links[k].down for k in network.edges if network.links[k].up == tank)}
    return tuple(k for k in network.drains if network.links[k].up in waters)


def line_when_blocked(loop: Loop, picks: Picks, network: Network, state: State | None, tank: int, rounds: int = 4,
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
        limit = _line_with_room(brought_up(loop, picks, state, tank), state)
        if limit is None or (before is not None and abs(limit - before) < 2e-4):
            break
        try:
            state = run(network, held_at(network, max(limit, _intake(state) + 1e-3)), state).state
        except SolveError:
            break
    return limit


def _intake(state: State) -> float:
    network = state.network
    return min((float(network.links[k].element.intake) for k in network.pumps if network.links[k].up == network.pump_chamber),
               default=float("-inf"))


def stays(network: Network) -> list[float]:
    """Return for each chamber the level below which no pump can take its water, m: walls' crests and intakes."""
    lowest: list[float] = []
    for sump in network.sumps:
        intakes = [float(network.links[k].element.intake) for k in network.pumps if network.links[k].up in sump]
        lowest += [min(intakes, default=float("inf"))] * len(sump)
    return [max(level, intake) for level, intake in zip(crests_held(network), lowest, strict=True)]


def _line_with_room(case: AllBlocked, state: State) -> float | None:
    """Return the line from which what comes up fills the tank's room just as it is in a state, m; None if none does."""
    network = state.network
    held = stays(network)

    def over(line: float) -> float:
        levels = [line if k == network.pump_chamber else max(float(state.levels[k]), line) for k in network.chambers]
        rest = [min(level, kept) for level, kept in zip(levels, held, strict=True)]
        return sump_volume(network, levels) - sump_volume(network, rest) + case.held + case.top_up - case.room
    low, high = _intake(state), lowest_opening(network)
    if over(low) > 0.0 or over(high) <= 0.0:
        return None if over(low) > 0.0 else high
    while high - low > 1e-5:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if over(middle) <= 0.0 else (low, middle)
    return low


def brought_up(loop: Loop, picks: Picks, state: State, tank: int) -> AllBlocked:
    """Return what can still come up when nothing comes down from a tank, against the room in it."""
    return next(case for case in every_brought_up(loop, picks, state) if case.tank == tank)


def every_brought_up(loop: Loop, picks: Picks, state: State) -> tuple[AllBlocked, ...]:
    """Return for each tank what can still come up when nothing comes down from it, against the room in it.

    In the end every litre that a pump reaches is up there, and what stands over the lips of the other tanks with it.
    """
    network = state.network
    levels = [float(state.levels[k]) for k in network.chambers]
    reached = sump_volume(network, levels) - sump_volume(network, [min(level, kept) for level, kept in
                                                                   zip(levels, stays(network), strict=True)])
    over = _over_lips(state)
    top_up, held = float(limit_of(loop.build, limits.TOP_UP).at(picks)), drains_run_out(state)
    boxes: dict[int, list[int]] = {}
    for k in network.edges:
        boxes.setdefault(network.links[k].up, []).append(network.links[k].down)
    found = []
    for tank in network.tanks:
        opening, body = network.waters[tank].opening, network.waters[tank].body
        assert body is not None
        assert opening is not None
        room = float(body.stored(opening)[0]) - float(body.stored(state.levels[tank])[0])
        others = sum(over.values()) - sum(over[k] for k in (tank, *boxes.get(tank, [])))
        found.append(AllBlocked(reached + max(others, 0.0), top_up, room, held, tank))
    return tuple(found)


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
