"""A solved network: levels and flows, and the ladder of starts that leads there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from hydro.errors import SolveError
from hydro.network import CHAMBER, TANK, Closing, Network
from hydro.ops import Number, first
from hydro.solve import Solution, solve

LADDER = ((0.5, 0.015), (0.2, 0.03), (0.8, 0.06), (0.05, 0.005), (1.0, 0.15), (0.01, 0.4))
"""Starts to try in turn: the pump's flow as a share of its last point, and the head over each edge, m."""


@dataclass(frozen=True, slots=True)
class State:
    """Levels (m above the datum) of the waters and flows (m3/s) in the links of a network."""

    network: Network
    closing: Closing | None
    levels: tuple[Number, ...]
    flows: tuple[Number, ...]
    steps: int

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
    crests = [network.links[k].element.inlet.crest for k in network.drains]
    lowest = min(crests, key=first) if crests else 0.0
    for share, head in LADDER:
        flow = share * pump.curve.flows[-1] * pump.speed
        levels: list[Number] = [lowest + head] * len(network.waters)
        below = pump.intake + 0.1 if closing is None or closing.level is None else closing.level
        for k in reversed(network.chambers):
            wall = next((network.links[b].element for b in network.barriers if network.links[b].up == k), None)
            crest = getattr(wall, "crest", None)
            below = below + 0.01 if crest is None else crest + head if first(crest) > first(below) else below + 0.01
            levels[k] = below if k != network.pump_chamber else levels[k]
            if k == network.pump_chamber:
                below = levels[k] = pump.intake + 0.1 if closing is None or closing.level is None else closing.level
        for k, water in enumerate(network.waters):
            if water.kind not in (TANK, CHAMBER):
                levels[k] = lowest + head + 0.3
        flows: list[Number] = [flow] * len(network.links)
        for group in (network.drains, network.returns):
            for k in group:
                flows[k] = flow / max(1, len(group))
        yield levels, flows


def solve_network(network: Network, closing: Closing | None, near: State | None = None, scenario: str = "running",
                  ) -> State:
    """Return the solution in the modes that the network stands in; `near` is a neighbouring state to start from.

    SolveError if no start of the ladder leads to a solution.
    """
    system = network.system(closing)
    best: Solution | None = None
    guesses: list[tuple[Sequence[Number], Sequence[Number]]] = [] if near is None else [(near.levels, near.flows)]
    for levels, flows in (*guesses, *starts(network, closing)):
        found = solve(system, levels, flows)
        if found.solved:
            return State(network, closing, found.heads, found.flows, found.steps)
        if best is None or found.merit < best.merit:
            best = found
    assert best is not None
    worst = network.links[system.worst(best.heads, best.flows)].name
    raise SolveError(scenario, best.steps, float(best.merit) ** 0.5, worst,
                     "look at the heights and sizes along that part")
