"""A solved network: levels and flows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from hydro.elements.tee_rounds import solve_with_tees
from hydro.errors import SolveError
from hydro.network.model import Closing, Network
from hydro.quantities.arrays import Number, any_of, first, where
from hydro.solve import Solution, System, relax, solve
from hydro.steady.initial_guess import LADDER, initial_guesses
from hydro.steady.standing import still_waters, water_at_rest

QUICK, LONG, LAST = 25, 60, 250
"""Most steps of the likeliest starts, of the others, and of the first when all have failed: a loop that runs takes some ten."""
BACK, NEAR = 1e-6, 1e-3
"""Reversed flow (m3/s) and level over the intake (m) at which a pump is known to stand in the air."""
AT_REST = 5e-13
"""Squared misfit (0.7 um) that is enough once every start was tried: where nothing flows, levels between a mouth and a lip are
open, and Newton goes on moving them by next to nothing."""


Attempt = tuple[Sequence[Number], Sequence[Number], int, bool]
"""Levels and flows to start from, the most steps, and whether flows that stray are put back."""


@dataclass(frozen=True, slots=True)
class State:
    """Levels (m above the datum) of the waters and flows (m3/s) in the links of a network.

    `solved` is True; with arrays it says which designs are. `moved` is the head by which the tees would still move a leg, m.
    """

    network: Network
    closing: Closing | None
    levels: tuple[Number, ...]
    flows: tuple[Number, ...]
    steps: int
    solved: Number = True
    moved: Number = 0.0

    @property
    def tank_level(self) -> Number:
        """The only tank's level, m."""
        return self.levels[self.network.tank]

    @property
    def pump_level(self) -> Number:
        """The level of the chamber that closes the balance, m."""
        return self.levels[self.network.pump_chamber]

    @property
    def pump_flow(self) -> Number:
        """The only pump's flow, m3/s."""
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


def attempts(system: System, network: Network, closing: Closing | None, near: State | None) -> Iterator[Attempt]:
    """Yield starts in turn: a neighbouring state, each first guess, each with its waters settled, the first with most steps."""
    if near is not None:
        yield near.levels, near.flows, QUICK, True
    guesses = []
    for k, guess in enumerate(initial_guesses(network, closing)):
        guesses.append(guess)
        yield *guess, QUICK if k == 0 else LONG, LADDER[k][0] > 0.0
    for guess in guesses:
        try:
            calm = relax(system, *guess)
        except (ZeroDivisionError, RuntimeError):  # the second is SuperLU's: nothing holds some water where it stands
            continue
        yield *calm, LONG, False
    yield *guesses[0], LAST, True


def solve_network(network: Network, closing: Closing | None, near: State | None = None, scenario: str = "running",
                  ) -> State:
    """Return the solution in the modes that the network stands in; `near` is a neighbouring state to start from.

    Tees are renewed until their losses fit the split. Pumps through which water would come back to an intake in the air are
    marked `aired` and the rest solved again. SolveError if no start leads to a solution; with arrays, if none does for any design
    (`State.solved` tells which).
    """
    asked = any(any_of(network.links[k].element.driven > 0.5) for k in network.pumps)
    if asked and near is not None:
        calm = _around_still_waters(over_a_low_line(network, closing), closing, near, scenario)
        if calm is not None:
            return calm
    state = _settled(over_a_low_line(network, closing), closing, near, scenario)
    if len(network.pumps) > 1:
        state = _put_out(state, closing, scenario)
    if asked or not isinstance(state.levels[0], float):  # a forced flow asks for a head, whether or not there is water for it
        return state

    def again(held: Mapping[int, Number], near: State) -> State:
        return _put_out(_settled(near.network, closing, near, scenario, held), closing, scenario, held)
    return water_at_rest(state, again)


def _around_still_waters(network: Network, closing: Closing | None, near: State, scenario: str) -> State | None:
    """Return the state with a flow forced while the tanks that stand in `near` keep their water; None where none does so.

    What such a tank holds is not in the chambers, and a pump's head counts from there.
    """
    if closing is None or closing.level is not None or not isinstance(near.levels[0], float):
        return None
    held = still_waters(near)
    while held:
        try:
            found = _settled(network, closing, near, scenario, held)
            found = _put_out(found, closing, scenario, held) if len(network.pumps) > 1 else found
        except SolveError:
            return None
        still = still_waters(found).keys()
        if held.keys() <= still:
            return found
        held = {k: level for k, level in held.items() if k in still}
    return None


def _put_out(state: State, closing: Closing | None, scenario: str, held: Mapping[int, Number] | None = None) -> State:
    """Return the state with the pumps put out, one after the other, that stand in the air while others draw on their chamber."""
    for _ in state.network.pumps:
        out = aired(state)
        if not out:
            break
        state = _settled(state.network.changed({k: {"aired": 1.0} for k in out}), closing, state, scenario, held)
    return state


def over_a_low_line(network: Network, closing: Closing | None) -> Network:
    """Return the network with the pumps marked `aired` whose intake stands over the level that their chamber is held at."""
    if closing is None or closing.level is None:
        return network
    changes = {}
    for k in network.leaving(closing.node, network.pumps):
        element = network.links[k].element
        dry = (closing.level < element.intake) & (element.running > 0.5)
        if any_of(dry):
            changes[k] = {"aired": where(dry, 1.0, 0.0)}
    return network.changed(changes) if changes else network


def aired(state: State) -> list[int]:
    """Return the running pumps through which water would come back to hold their chamber at the intake: in air none can."""
    network = state.network
    return [k for k in network.pumps if float(network.links[k].element.running) > 0.5 and float(state.flows[k]) < -BACK
            and float(network.links[k].element.aired) < 0.5
            and float(state.levels[network.links[k].up]) < float(network.links[k].element.intake) + NEAR]


def _settled(network: Network, closing: Closing | None, near: State | None, scenario: str,
             levels: Mapping[int, Number] | None = None) -> State:
    """Return the solution with the tees renewed; `levels` are those of waters that are held, m."""
    if not network.tees:
        return _solved(network, closing, near, scenario, levels)
    found: list[State] = [] if near is None else [near]

    def again(renewed: Network) -> State:
        found.append(_solved(renewed, closing, found[-1] if found else None, scenario, levels))
        return found[-1]
    if near is not None:
        network = network.changed({k: {"split": near.network.links[k].element.split}
                                   for tee in network.tees for k in (tee.run, tee.branch)})
    settled = solve_with_tees(again, network, network.tees)
    return replace(found[-1], moved=settled.moved)


def _solved(network: Network, closing: Closing | None, near: State | None, scenario: str,
            held: Mapping[int, Number] | None = None) -> State:
    """Return the solution with the tees' losses held, and the levels of waters that are `held`."""
    system = network.system(closing)
    if held:
        system = replace(system, fixed={**system.fixed, **held})
    best: Solution | None = None
    for levels, flows, most, put_back in attempts(system, network, closing, near):
        if best is not None:
            levels = [where(best.solved, a, b) for a, b in zip(best.heads, levels, strict=True)]
            flows = [where(best.solved, a, b) for a, b in zip(best.flows, flows, strict=True)]
        if held:
            levels = [held.get(k, level) for k, level in enumerate(levels)]
        try:
            best = better(best, solve(system, levels, flows, most, put_back))
        except ZeroDivisionError:  # a level that nothing moves, as in a sump that only a forced pump draws from
            continue
        if not any_of(best.solved == False):  # noqa: E712 - an array is compared entry by entry
            break
    if best is None:
        raise SolveError(scenario, 0, float("inf"), network.links[0].name, "some water's level hangs on nothing: see that each "
                         "tank and sump is fed and emptied")
    solved = best.solved | (best.merit < AT_REST)
    if any_of(solved):
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
