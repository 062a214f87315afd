"""A solved network: levels and flows, and the ladder of starts that leads there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from hydro.errors import SolveError
from hydro.network import JUNCTION, Closing, Network
from hydro.ops import Number, first, greater, lesser, some, where
from hydro.solve import Solution, System, relax, solve

LADDER = ((0.7, 0.03), (0.0, 0.0), (0.2, 0.03), (0.05, 0.005))
"""Starts to try in turn: the pump's flow as a share of its last point (0: at rest), and the head over each edge, m."""
QUICK, LONG = 25, 60
"""Most steps of the likeliest starts, and of the others: a loop that runs takes some ten."""
AT_REST = 5e-13
"""Squared misfit (0.7 um) that is enough once every start was tried: where nothing flows, levels between a mouth and a lip are
open, and Newton goes on moving them by next to nothing."""
STILL = 1e-13
"""Reversed flow from which a loop at rest is started, m3/s: on the side of each law that keeps water from running back."""


Attempt = tuple[Sequence[Number], Sequence[Number], int, bool]
"""Levels and flows to start from, the most steps, and whether flows that stray are put back."""


@dataclass(frozen=True, slots=True)
class State:
    """Levels (m above the datum) of the waters and flows (m3/s) in the links of a network.

    `solved` is True; with arrays it says which designs are.
    """

    network: Network
    closing: Closing | None
    levels: tuple[Number, ...]
    flows: tuple[Number, ...]
    steps: int
    solved: Number = True

    @property
    def tank_level(self) -> Number:
        """The tank's level, m."""
        return self.levels[self.network.tank]

    @property
    def pump_level(self) -> Number:
        """The pump chamber's level, m."""
        return self.levels[self.network.pump_chamber]

    @property
    def pump_flow(self) -> Number:
        """The pump's flow, m3/s."""
        return self.flows[self.network.pump]

    @property
    def total(self) -> Number:
        """All the water, in vessels and lines, m3."""
        return self.network.system(self.closing).volume(self.levels, self.flows) + self.network.full

    def ends(self, link: int) -> tuple[Number, Number]:
        """Return the levels at the upper and the lower end of a link."""
        return self.levels[self.network.links[link].up], self.levels[self.network.links[link].down]

    def imbalance(self) -> Number:
        """Return the largest imbalance of any water, m3/s."""
        sums: list[Number] = [0.0] * len(self.levels)
        for link, flow in zip(self.network.links, self.flows, strict=True):
            sums[link.up] = sums[link.up] - flow
            sums[link.down] = sums[link.down] + flow
        free = [abs(s) for s, water in zip(sums, self.network.waters, strict=True) if water.level is None]
        return max(free)


def starts(network: Network, closing: Closing | None) -> Iterator[tuple[list[Number], list[Number]]]:
    """Yield first guesses of levels and flows, likeliest first."""
    pump: Any = network.links[network.pump].element
    for share, head in LADDER:
        flows = guessed_flows(network, share * pump.curve.flows[-1] * pump.speed if share else -STILL)
        levels = guessed_levels(network, closing, head)
        if share:
            _fill(network, levels, flows)
        for k, link in enumerate(network.links):
            if network.waters[link.down].kind == JUNCTION:
                lift = pump.curve.head(flows[k], pump.speed, true=False)[0] if k == network.pump else 0.0
                levels[link.down] = levels[link.up] + lift - link.element.line.loss(flows[k])[0]
        yield levels, flows


def _fill(network: Network, levels: list[Number], flows: Sequence[Number]) -> None:
    """Bring tank and chambers near the levels at which inlets and walls pass the flows guessed."""
    lips = [network.links[k].element for k in network.drains if first(network.links[k].element.blocked) < 0.5]
    stands = [drain.inlet.crest + drain.needed(flows[network.drains[0]])[0] for drain in lips]
    levels[network.tank] = min(stands, key=first, default=levels[network.tank])
    for k in reversed(network.barriers):
        link = network.links[k]
        for _ in range(3):
            passes, by_up, _ = link.element.flow(levels[link.up], levels[link.down])
            more = (flows[k] - passes) / by_up
            levels[link.up] = levels[link.up] + greater(lesser(more, 0.05), -0.05)


def guessed_flows(network: Network, flow: Number) -> list[Number]:
    """Return a flow in every link: shared evenly by the drains, by the returns as their losses have it, none in a hole."""
    links = network.links
    flows: list[Number] = [0.0 * flow] * len(links)
    for k in (network.pump, *network.barriers):
        flows[k] = flow
    for k in network.drains:
        flows[k] = flow / len(network.drains)
    even = abs(flow) / len(network.returns)
    ways = [[k, *(n for n, link in enumerate(links) if link.down == links[k].up and n != network.pump
                  and network.waters[link.down].kind == JUNCTION)] for k in network.returns]
    ease = [(1e-9 + sum(abs(links[n].element.line.loss(even)[0]) for n in way)) ** -0.5 for way in ways]
    for way, one in zip(ways, ease, strict=True):
        for k in way:
            flows[k] = flow * one / sum(ease)
    return flows


def guessed_levels(network: Network, closing: Closing | None, head: float) -> list[Number]:
    """Return levels with `head` (m) over every edge, the pump chamber at its line or a little over the intake."""
    pump: Any = network.links[network.pump].element
    crests = [network.links[k].element.inlet.crest for k in network.drains]
    lowest = min(crests, key=first) if crests else 0.0
    levels: list[Number] = [lowest + head] * len(network.waters)
    below = pump.intake + 0.1 if closing is None or closing.level is None else closing.level
    levels[network.pump_chamber] = below
    walls = {network.links[b].up: network.links[b].element for b in network.barriers}
    for k in reversed(network.chambers):
        if k == network.pump_chamber:
            continue
        crest = getattr(walls.get(k), "crest", None)
        below = crest + head if crest is not None and first(crest) > first(below) else below + 0.01
        levels[k] = below
    return levels


def attempts(system: System, network: Network, closing: Closing | None, near: State | None) -> Iterator[Attempt]:
    """Yield what to try in turn: from a neighbour, up the ladder, then from each rung after letting the waters settle."""
    if near is not None:
        yield near.levels, near.flows, QUICK, True
    guesses = []
    for k, guess in enumerate(starts(network, closing)):
        guesses.append(guess)
        yield *guess, QUICK if k == 0 else LONG, LADDER[k][0] > 0.0
    for guess in guesses:
        yield *relax(system, *guess), LONG, False


def solve_network(network: Network, closing: Closing | None, near: State | None = None, scenario: str = "running",
                  ) -> State:
    """Return the solution in the modes that the network stands in; `near` is a neighbouring state to start from.

    SolveError if no start leads to a solution; with arrays, if none does for any design (`State.solved` tells which).
    """
    system = network.system(closing)
    best: Solution | None = None
    for levels, flows, most, put_back in attempts(system, network, closing, near):
        if best is not None:
            levels = [where(best.solved, a, b) for a, b in zip(best.heads, levels, strict=True)]
            flows = [where(best.solved, a, b) for a, b in zip(best.flows, flows, strict=True)]
        best = better(best, solve(system, levels, flows, most, put_back))
        if not some(best.solved == False):  # noqa: E712 - an array is compared entry by entry
            break
    assert best is not None
    solved = best.solved | (best.merit < AT_REST)
    if some(solved):
        return State(network, closing, best.heads, best.flows, best.steps, solved)
    worst = network.links[system.worst(best.heads, best.flows)].name
    raise SolveError(scenario, best.steps, first(best.merit) ** 0.5, worst,
                     "look at the heights and sizes along that part")


def better(one: Solution | None, other: Solution) -> Solution:
    """Return the better one of two attempts, design by design."""
    if one is None:
        return other
    keep = (one.merit < other.merit) & (other.solved == False)  # noqa: E712 - an array is compared entry by entry
    return Solution(tuple(where(keep, a, b) for a, b in zip(one.heads, other.heads, strict=True)),
                    tuple(where(keep, a, b) for a, b in zip(one.flows, other.flows, strict=True)),
                    max(one.steps, other.steps), where(keep, one.merit, other.merit), where(keep, one.solved, other.solved))
