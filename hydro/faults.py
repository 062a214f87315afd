"""Single faults and pairs, as the elements of a network answer them: nothing is listed here by hand.

    faults = single_faults(build, network, wet)      each element's `faults()`, the water's own, and the common causes
    network = faulty(network, faults[:2])            the elements are asked again, so that faults of one line add up

Two answers of one name and words (a drilled siphon break: its hole, and its mouth) are one fault. Faults of one link with the
same subject, the words before the last ': ', exclude each other: a valve is not stuck open and shut at once.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from hydro.build import Build
from hydro.elements.return_line import RATIO
from hydro.limits import TOP_UP, limit_of
from hydro.network import Network

OVERFILLED = 0.010
"""How much over its line somebody fills the sump, m; common practice, no source."""
NO_POWER, BLOCKED = "without power", "blocked"
DRAIN, RETURN, WALL, PUMP, WATER, CAUSE = "drain", "return", "wall", "pump", "water", "common cause"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that goes wrong: `words` of the element `part`, which is a `noun`.

    `members` are (place of a link, words that its element answers). `over` is the height filled over the line (m), `top_up`
    the water that runs in (m3).
    """

    noun: str
    part: str
    words: str
    members: tuple[tuple[int, str], ...] = ()
    over: float = 0.0
    top_up: float = 0.0

    @property
    def power_lost(self) -> bool:
        """Whether the pump stands."""
        return any(words == NO_POWER for _, words in self.members)

    @property
    def subjects(self) -> frozenset[tuple[int, str]]:
        """What it touches: links with the part of them that it is about."""
        return frozenset((k, words.rpartition(": ")[0]) for k, words in self.members)

    def excludes(self, other: Fault) -> bool:
        """Whether both cannot be true at once, or one is part of the other."""
        return bool(self.subjects & other.subjects)


def counted_breaks(build: Build, network: Network) -> Network:
    """Return the network without the siphon breaks at mouths that are too small to be counted on."""
    least = float(limit_of(build, RATIO).at({}))
    small = {k: {"end": replace(end, break_at=None)} for k in network.returns
             if (end := network.links[k].element.end).ratio is not None and float(end.ratio) < least}
    return network.changed(small)


def _noun(network: Network, k: int) -> str:
    if k in network.drains:
        return DRAIN
    if k in network.barriers:
        return WALL
    return PUMP if k == network.pump else RETURN


def element_faults(network: Network) -> list[Fault]:
    """Return every fault that the elements of a network answer, in their order."""
    found: dict[tuple[str, str], Fault] = {}
    for k, link in enumerate(network.links):
        ask = getattr(link.element, "faults", None)
        for words in ask() if ask is not None else ():
            name = str(link.element.name) if _noun(network, k) == RETURN else link.name
            before = found.get((name, words))
            members = (*(before.members if before else ()), (k, words))
            found[name, words] = Fault(_noun(network, k), name, words, members)
    return list(found.values())


def water_faults(build: Build) -> list[Fault]:
    """Return what goes wrong with the amount of water: filled too high, and the top-up where a reservoir is described."""
    reservoir = float(limit_of(build, TOP_UP).at({}))
    filled = Fault(WATER, "sump", "filled 10 mm over its line", over=OVERFILLED)
    return [filled, Fault(WATER, "top-up", "stuck open", top_up=reservoir)] if reservoir > 0.0 else [filled]


def common_causes(network: Network, wet: Sequence[int]) -> list[Fault]:
    """Return what one cause does to several parts: a leaf on all drains that carry water (`wet`: their places)."""
    if len(wet) < 2:
        return []
    names = " and ".join(network.links[k].name for k in wet)
    return [Fault(CAUSE, names, BLOCKED, tuple((k, BLOCKED) for k in wet))]


def single_faults(build: Build, network: Network, wet: Sequence[int]) -> list[Fault]:
    """Return every single fault."""
    return [*element_faults(network), *water_faults(build), *common_causes(network, wet)]


def pairs(faults: Sequence[Fault]) -> Iterator[tuple[Fault, Fault]]:
    """Yield every two faults that can be true at once."""
    return ((a, b) for a, b in itertools.combinations(faults, 2) if not a.excludes(b))


def faulty(network: Network, faults: Sequence[Fault]) -> Network:
    """Return the network with faults; the loss of power is left to whoever asks what happens then."""
    for fault in faults:
        for k, words in fault.members:
            if words != NO_POWER:
                network = network.changed({k: network.links[k].element.faults()[words]})
    return network
