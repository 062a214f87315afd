"""Marks that a level may pass on the way: nothing changes there, but it is worth a note.

Openings of tanks, boxes and sumps, intakes, crests of walls, lips of drains, edges of boxes, the bottom of a reservoir. A mark
once passed is passed back only 1 mm beyond it. Names stand in the words only where there are several of a kind.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from hydro.elements.edge import Plate
from hydro.elements.feed import Feed
from hydro.network.model import JUNCTION, Network
from hydro.steady.initial_guess import crest_of
from hydro.transient.integrate import Watch
from hydro.transient.state import TransientState

BACK = 1e-3
"""How far a level must go back behind a mark before it counts as back, m."""
NEAR = 1e-3
"""How close to a lip or to the intake a level counts as there, m."""
AGAIN = 5e-3
"""Water over the intake from which on the pump counts as having water again, m."""

Height = Callable[[TransientState], float]


@dataclass(frozen=True, slots=True)
class LevelMark:
    """A level passing a height: `over` (m) is positive beyond it. Words for passing it and for coming back, '' for none."""

    name: str
    over: Height
    passed: str
    back: str = ""
    band: float = BACK

    def watch(self, moment: TransientState) -> Watch:
        """Return the condition that it stays on the side where it is."""
        there = self.name in moment.flags

        def margin(now: TransientState) -> float:
            return self.over(now) + self.band if there else -self.over(now)

        def act(now: TransientState) -> tuple[TransientState, str]:
            flags = now.flags - {self.name} if there else now.flags | {self.name}
            return replace(now, flags=flags), self.back if there else self.passed

        return Watch(self.name, margin, act)


def first_flags(moment: TransientState) -> TransientState:
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


def vessels_by_name(network: Network) -> list[tuple[str, tuple[int, ...]]]:
    """Return every tank, box and sump in words, with the places of its waters.

    The only tank is 'the tank', the only sump 'the sump'; of several sumps each goes by its chambers.
    """
    one_tank, one_sump = len(network.tanks) == 1, len(network.sumps) == 1
    upper = [("the tank" if one_tank and k in network.tanks else network.waters[k].name, (k,)) for k in network.uppers]
    return [*upper, *(("the sump" if one_sump else sump_in_words(network, sump), sump) for sump in network.sumps)]


def sump_in_words(network: Network, sump: Sequence[int]) -> str:
    """Return the words for one of several sumps: its only chamber's name, or those of all its chambers."""
    names = [network.waters[k].name for k in sump]
    return names[0] if len(names) == 1 else f"the sump of {', '.join(names)}"


def marks(network: Network) -> Iterator[LevelMark]:
    """Yield the marks of a network."""
    for vessel, waters in vessels_by_name(network):
        edge = network.waters[waters[0]].opening
        if edge is not None:
            yield LevelMark(f"over {vessel}", highest_over(waters, float(edge)), f"{vessel} runs over its lowest opening",
                       f"{vessel} no longer runs over")
    yield from _intakes(network)
    for k in network.barriers:
        link = network.links[k]
        if isinstance(link.element, Plate) and float(link.element.under) == 0.0:
            yield LevelMark(f"wall {k}", lowest_over((link.up, link.down), float(link.element.crest)),
                       f"{link.name} goes under water", f"{link.name} comes out of the water")
    for k in network.spills:
        link = network.links[k]
        what = f"the lip of {link.name}" if k in network.drains else link.name
        yield LevelMark(f"lip {k}", under(link.up, float(crest_of(link.element)) + NEAR),
                   f"hardly any water is left over {what}", f"water comes over {what}")
    for link in network.links:
        if isinstance(link.element, Feed):
            yield LevelMark("reservoir", under(link.up, float(link.element.bottom) + NEAR), "the top-up reservoir is empty")


DRY = "pump dry"
"""The first words of the notes that say that a pump draws air."""


def _intakes(network: Network) -> Iterator[LevelMark]:
    """Yield the marks of the pumps that run and draw from a chamber."""
    for k in network.pumps:
        link = network.links[k]
        pump: Any = link.element
        if float(pump.running) < 0.5 or network.waters[link.up].kind == JUNCTION:
            continue
        over = under(link.up, float(pump.intake) + NEAR)
        if len(network.pumps) == 1:
            yield LevelMark(
                DRY, over, "the pump chamber is down to the intake: the pump draws air", "the pump has water again", AGAIN
            )
        else:
            chamber = network.waters[link.up].name
            yield LevelMark(f"{DRY}: {pump.name}", over, f"{chamber} is down to the intake of {pump.name}: it draws air",
                       f"{pump.name} has water again", AGAIN)
