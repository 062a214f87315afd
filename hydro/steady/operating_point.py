"""How a loop runs, or why it does not: the named answers."""

from __future__ import annotations

from dataclasses import dataclass, field

from hydro.steady.state import State

STEADY, DRAWS_AIR, CANNOT_LIFT, BACKWARDS, TWO_POINTS, SURGES, NONE = (
    "steady", "draws air", "cannot lift that high", "runs backwards", "two operating points", "surges", "no steady state")
NO_FLOW = 1e-6
"""Flow below which a pump delivers nothing, m3/s (3.6 L/h): ten times the flow over which a cracking head builds up."""


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """How a loop runs. `state` is the state found first, `others` further consistent states, or the two bounds of surging.

    `reason` says why in words; `figures` are the numbers that the reason rests on (SI). `which` is the place of the link that
    the answer is about, where it is one: a pump.
    """

    kind: str
    state: State | None
    others: tuple[State, ...] = ()
    reason: str = ""
    figures: dict[str, float] = field(default_factory=dict)
    one_reachable: bool = False
    which: int | None = None

    @property
    def states(self) -> tuple[State, ...]:
        """Every state the loop may stand in."""
        return (() if self.state is None else (self.state,)) + self.others

    @property
    def runs(self) -> bool:
        """Whether water comes out of some return: a running state for checks to rest on."""
        return self.kind != NONE and any(float(state.flows[k]) > NO_FLOW for state in self.states for k in state.network.returns)

    @property
    def highest(self) -> float:
        """The highest level that the only tank reaches in any of them, m."""
        return max(float(state.tank_level) for state in self.states)

    def highest_of(self, water: int) -> float:
        """Return the highest level that a water reaches in any of them, m."""
        return max(float(state.levels[water]) for state in self.states)
