"""What comes of drains that do not start when the power is back: the loop runs without them, or water goes over."""

from __future__ import annotations

from dataclasses import dataclass, field

from hydro.faults.levels import DROP, opening_or_above_all, solved_or_none, spilled
from hydro.network.model import Closing, Network
from hydro.shutdown import Refilling
from hydro.steady.operating_point import OperatingPoint


@dataclass(frozen=True, slots=True)
class WithoutDrains:
    """The loop without the drains that do not start.

    `answer` is how it runs with the water that the cut left in it, `over` what must leave until no level stands over an opening
    (m3), `lost` by drain what goes over before it starts after all (m3): of those whose tank or box it comes from.
    """

    answer: OperatingPoint
    over: float = 0.0
    lost: dict[int, float] = field(default_factory=dict)

    @property
    def on_the_floor(self) -> float:
        """What goes over until the last of them starts, m3."""
        return max(self.lost.values(), default=self.over)


def without_drains(network: Network, refilling: Refilling, running: OperatingPoint, stuck: tuple[int, ...]) -> WithoutDrains:
    """Return what comes of drains that do not start in a loop that was `running`."""
    total = max(float(state.total) for state in running.states) - refilling.gone
    shut = network.changed({k: {"blocked": 1.0} for k in stuck})
    answer = solved_or_none(shut, Closing(network.pump_chamber, total=total), running.state)
    over = spilled(shut, total, answer) if answer.states else 0.0
    if over <= DROP:
        return WithoutDrains(answer)
    at_rim = solved_or_none(shut, Closing(network.pump_chamber, total=total - over), answer.state)
    lost = {k: refilling.lost_before(k, at_rim.states, over) for k in stuck
            if any(answer.highest_of(water) > opening_or_above_all(network, water)
                   for water in refilling.leading_to(network.links[k].up))}
    return WithoutDrains(answer, over, lost)
