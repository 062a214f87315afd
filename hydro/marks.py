"""Marks that a level may pass on the way: nothing changes there, but it is worth a note.

Openings of tank and sump, the intake, crests of walls, lips of drains, the bottom of a reservoir. A mark once passed is passed
back only 1 mm beyond it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from hydro.elements.edge import Plate
from hydro.elements.feed import Feed
from hydro.moment import Moment
from hydro.network import Network
from hydro.transient import Watch

BACK = 1e-3
"""How far a level must go back behind a mark before it counts as back, m."""
NEAR = 1e-3
"""How close to a lip or to the intake a level counts as there, m."""
AGAIN = 5e-3
"""Water over the intake from which on the pump counts as having water again, m."""

Height = Callable[[Moment], float]


@dataclass(frozen=True, slots=True)
class Mark:
    """A level passing a height: `over` (m) is positive beyond it. Words for passing it and for coming back, '' for none."""

    name: str
    over: Height
    passed: str
    back: str = ""
    band: float = BACK

    def watch(self, moment: Moment) -> Watch:
        """Return the condition that it stays on the side where it is."""
        there = self.name in moment.flags

        def margin(now: Moment) -> float:
            return self.over(now) + self.band if there else -self.over(now)

        def act(now: Moment) -> tuple[Moment, str]:
            flags = now.flags - {self.name} if there else now.flags | {self.name}
            return replace(now, flags=flags), self.back if there else self.passed

        return Watch(self.name, margin, act)


def mark_watches(moment: Moment) -> list[Watch]:
    """Return the watches of every mark on the way."""
    return [mark.watch(moment) for mark in marks(moment.network)]


def first_flags(moment: Moment) -> Moment:
    """Return the instant with the flags of all marks that are passed from the start, without telling them."""
    return replace(moment, flags=frozenset(mark.name for mark in marks(moment.network) if mark.over(moment) > 0.0))


def highest_over(waters: Sequence[int], height: float) -> Height:
    """Return how far the highest of some waters stands over a height."""
    return lambda now: max(now.levels[k] for k in waters) - height


def lowest_over(waters: Sequence[int], height: float) -> Height:
    """Return how far the lowest of some waters stands over a height."""
    return lambda now: min(now.levels[k] for k in waters) - height


def under(water: int, height: float) -> Height:
    """Return how far a water stands under a height."""
    return lambda now: height - now.levels[water]


def marks(network: Network) -> Iterator[Mark]:
    """Yield the marks of a network."""
    yield from _openings(network)
    pump: Any = network.links[network.pump].element
    if float(pump.running) > 0.5:
        yield Mark("pump dry", under(network.pump_chamber, float(pump.intake) + NEAR),
                   "the pump chamber is down to the intake: the pump draws air", "the pump has water again", AGAIN)
    for k in network.barriers:
        link = network.links[k]
        if isinstance(link.element, Plate) and float(link.element.under) == 0.0:
            yield Mark(f"wall {k}", lowest_over((link.up, link.down), float(link.element.crest)),
                       f"{link.name} goes under water", f"{link.name} comes out of the water")
    for k in network.drains:
        drain: Any = network.links[k].element
        yield Mark(f"lip {k}", under(network.tank, float(drain.inlet.crest) + NEAR),
                   f"hardly any water is left over the lip of {drain.name}", f"water comes over the lip of {drain.name}")
    for link in network.links:
        if isinstance(link.element, Feed):
            yield Mark("reservoir", under(link.up, float(link.element.bottom) + NEAR), "the top-up reservoir is empty")


def _openings(network: Network) -> Iterator[Mark]:
    for vessel, waters in (("the tank", (network.tank,)), ("the sump", network.chambers)):
        edge = network.waters[waters[0]].opening if waters else None
        if edge is not None:
            yield Mark(f"over {vessel}", highest_over(waters, float(edge)), f"{vessel} runs over its lowest opening",
                       f"{vessel} no longer runs over")
