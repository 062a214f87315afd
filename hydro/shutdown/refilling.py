"""The power is back and the tank fills out of its sump: how deep a drain's lower end is drowned when water reaches its lip again.

    sump gives back = what its tanks and boxes fell by, up to their lips  +  what had run out of the pumps' lines
    depth           = level of the chamber that the drain ends in, after that  -  height of the drain's end

What drains let go, and what ran over the lips, stays in the sump. Where the water after the cut stood over a plate, the chamber
behind it falls to the plate's crest and no lower: above it the water flows on to the pump, below it nothing leaves.

Air under a drowned end has two ways out. An open inlet lets it out upward, past the water that runs down the wall: no head is
needed. From a sealed drain (`DrainLine.sealed`) it has to be pushed out below: that takes a head over the lip of the depth, and
there is `room` for so much: up to the next higher inlet of the same water, else to the lowest opening of tank or box.

By volumes, with every tank that the sump's pumps feed full to its lowest lip. Range of validity: slow against the settling of the
walls; water held by the head over a plate while it runs (some millimetres) is not counted.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from hydro.elements.line import NO_OUTLET
from hydro.network.manifolds import downstream
from hydro.network.model import JUNCTION, Network
from hydro.network.paths import fed_by
from hydro.quantities.bisection import halved
from hydro.quantities.reaching import reached
from hydro.shutdown.power_cut import Shutdown
from hydro.shutdown.sumps import Sump, chamber_levels, level_for, sump_volume
from hydro.steady.initial_guess import crest_of
from hydro.steady.state import State

SAME = 1e-4
"""Lips closer than this are of one height, m."""
CLOSE = 1e-6
"""Volumes are found to this, m3."""


@dataclass(frozen=True, slots=True)
class Start:
    """How a drain starts after a power cut, m.

    Its end is drowned by `depth` when water reaches its lip and by `later` when it stands `room` over it. `sealed`: its air has
    to be pushed out below; an open one hands over to no other, and has room up to the opening.
    """

    depth: float
    later: float
    room: float
    sealed: bool

    @property
    def needed(self) -> float:
        """The head over its lip that clears its air, m; below nothing while its end stays in the air."""
        return self.depth if self.sealed else min(self.depth, 0.0)

    @property
    def clears(self) -> bool:
        """Whether there is room for that head at the instant that water reaches its lip."""
        return self.needed <= self.room

    @property
    def stuck(self) -> bool:
        """Whether it does not start: sealed, and drowned too deep for its room also when that is full."""
        return not self.clears and self.later > self.room


def sealed_in(states: Iterable[State], k: int) -> bool:
    """Whether a drain is sealed in some way that the loop may run."""
    return any(state.network.links[k].element.sealed(max(float(state.flows[k]), 0.0)) for state in states)


def most_sealed(states: Iterable[State]) -> State:
    """Return the one of several ways to run in which most drains are sealed, the first of those."""
    return max(states, key=lambda state: sum(sealed_in((state,), k) for k in state.network.drains))


class Refilling:
    """The loop filling up again after a power cut. Levels and depths in m above the datum, volumes in m3."""

    def __init__(self, network: Network, case: Shutdown) -> None:
        """Take a network and where its power cut ended; `gone` is what went on the floor by then, m3."""
        self.network, self.case = network, case
        self.rest = {**case.levels, **dict(zip(network.chambers, case.chambers, strict=True))}
        for water, level in self.rest.items():
            opening = network.waters[water].opening
            self.rest[water] = level if opening is None else min(level, float(opening))
        self.gone = case.over
        self.led = {up: [network.links[k].down for k in network.leaving(up, network.spills)] for up in network.uppers}
        self.lips = {up: min((self._crest(k) for k in network.leaving(up, network.spills)), default=case.levels[up])
                     for up in network.uppers}
        self.fills = {sump: self._filled_by(sump) for sump in network.sumps}
        self.known: dict[tuple[Sump, float], list[float]] = {}
        # Of hundreds of tanks each drain asks for nearly the same sum: it is made once, and what differs taken off.
        self.held = {sump: {water: self._holds(water, self.lips[water]) for water in self.fills[sump]} for sump in network.sumps}
        self.all_held = {sump: sum(held.values()) for sump, held in self.held.items()}

    def _crest(self, k: int) -> float:
        return float(crest_of(self.network.links[k].element))

    def _filled_by(self, sump: Sump) -> set[int]:
        """Return the tanks and boxes that pumps fill out of one sump and no other."""
        network = self.network
        feeds: dict[bool, set[int]] = {True: set(), False: set()}
        for pump in network.pumps:
            if float(network.links[pump].element.running) > 0.5:
                feeds[network.links[pump].up in sump] |= {network.links[k].down for k in fed_by(network, pump)}
        return self._with_what_follows(feeds[True]) - self._with_what_follows(feeds[False])

    def _with_what_follows(self, waters: Iterable[int]) -> set[int]:
        """Return tanks and boxes with all those that they spill into, one after the other."""
        return reached((water for water in waters if water in self.led),
                       lambda water: (down for down in self.led[water] if down in self.led))

    def leading_to(self, water: int) -> set[int]:
        """Return the tanks and boxes that spill into one, one over the other; itself too."""
        return {up for up in self.led if water in self._with_what_follows([up])}

    def given(self, sump: Sump, k: int, over: float, lost: float) -> float:
        """Return what a sump has given when water stands `over` a drain's lip (m) and `lost` ran over an opening, m3."""
        up, held = self.network.links[k].up, self.held[sump]
        lines = self.case.items.get("returns", 0.0) if len(self.network.sumps) == 1 else 0.0
        fewer = sum(held.get(water, 0.0) for water in {*self._with_what_follows(self.led[up]), up})
        here = self._holds(up, self._crest(k) + over) if up in held else 0.0
        return lost + lines + self.all_held[sump] - fewer + here

    def _holds(self, water: int, level: float) -> float:
        """Return what a tank or box takes from where the cut left it up to a level, m3."""
        body: Any = self.network.waters[water].body
        return max(0.0, float(body.stored(level)[0]) - float(body.stored(self.rest[water])[0]))

    def depth(self, k: int, over: float = 0.0, lost: float = 0.0) -> float:
        """Return how deep a drain's end is drowned when water stands `over` its lip (m) and `lost` (m3) ran over an opening.

        A tank or box that it ends in stands where the cut left it. Ends in a header are those of the pipes that it leads to.
        """
        return max(self._level(water, k, over, lost) - end for water, end in self._ends(k))

    def _ends(self, k: int) -> list[tuple[int, float]]:
        """Return the waters that a drain leads to, each with the height at which air leaves its pipe there, m."""
        links, own = self.network.links, float(self.network.links[k].element.end)
        if self.network.waters[links[k].down].kind != JUNCTION:
            return [(links[k].down, own)]
        last = [links[n] for n in downstream(self.network, k) if self.network.waters[links[n].down].kind != JUNCTION]
        outlets = [(link.down, float(getattr(link.element, "outlet", NO_OUTLET))) for link in last]
        return [(water, own if outlet <= NO_OUTLET else outlet) for water, outlet in outlets] or [(-1, own)]

    def _level(self, water: int, k: int, over: float, lost: float) -> float:
        sump = next((sump for sump in self.network.sumps if water in sump), None)
        if sump is None:
            return self.rest.get(water, float("-inf"))
        given = round(self.given(sump, k, over, lost), 9)
        if (sump, given) not in self.known:
            was = [self.rest[chamber] for chamber in sump]
            left = sump_volume(self.network, was, sump) - given
            self.known[sump, given] = chamber_levels(self.network, level_for(self.network, left, was, sump), was, sump)
        return self.known[sump, given][sump.index(water)]

    def opening(self, k: int) -> float:
        """Return the head over a drain's lip at which water goes over the lowest opening of its tank or box, m."""
        opening = self.network.waters[self.network.links[k].up].opening
        return (float("inf") if opening is None else float(opening)) - self._crest(k)

    def room(self, k: int) -> float:
        """Return the head that water may build up over a drain's lip: to the next higher inlet, else to the opening, m."""
        network, crest = self.network, self._crest(k)
        higher = [self._crest(other) - crest for other in network.leaving(network.links[k].up, network.spills)
                  if float(getattr(network.links[other].element, "blocked", 0.0)) < 0.5]
        return min([head for head in higher if head > SAME] + [self.opening(k)])

    def start(self, k: int, sealed: bool) -> Start:
        """Return how a drain starts."""
        room, depth = self.room(k) if sealed else self.opening(k), self.depth(k)
        later = self.depth(k, room) if sealed and depth > room else depth
        return Start(depth, later, room, sealed)

    def pushes_out(self, k: int, state: State) -> bool:
        """Whether the water over a drain's lip stands high enough in a state to push its air out below."""
        over = float(state.levels[self.network.links[k].up]) - self._crest(k)
        return all(over >= float(state.levels[water]) - end for water, end in self._ends(k) if water >= 0)

    def lost_before(self, k: int, without: Iterable[State], most: float = 0.0) -> float:
        """Return what goes over the opening before a sealed drain starts with the water standing there, m3; at most `most`.

        `without` are the ways in which the loop runs without it: their flow keeps its chamber over the plate behind it.
        """
        link: Any = self.network.links[k]
        head = self.opening(k)
        kept = [float(state.levels[link.down]) - float(link.element.end) for state in without
                if self.network.waters[link.down].kind != JUNCTION]

        def shut(lost: float) -> bool:
            return max([self.depth(k, head, lost), *kept]) > head

        if not shut(0.0) or shut(most):
            return most if shut(0.0) else 0.0
        return float(halved(0.0, most, shut, close=CLOSE)[1])
