"""Single faults and pairs, as the elements of a network answer them: nothing is listed here by hand.

    faults = single_faults(build, network, wet)      each element's `faults()`, the water's own, and the common causes
    network = faulty(network, faults[:2])            the elements are asked again, so that faults of one line add up

Two answers of one name and words (a drilled siphon break: its hole, and its mouth) are one fault. Faults of one link with the
same subject, the words before the last ': ', exclude each other: a valve is not stuck open and shut at once.

Where things were described once for several (`Build.groups`), each fault is asked for one of them, the one that carries the most
flow; of parts that are all alike it stands for all.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from hydro.description.build import Build, Group
from hydro.elements.limits import TOP_UP, limit_of
from hydro.elements.loose_hose import OFF_AT_PUMP
from hydro.elements.return_line import RATIO
from hydro.network.loose_ends import COMES_OFF
from hydro.network.model import Network

OVERFILLED = 0.010
"""How much over its line somebody fills the sump, m; common practice, no source."""
NO_POWER, BLOCKED = "without power", "blocked"
DRAIN, RETURN, WALL, PUMP, WATER, CAUSE, POWER = "drain", "return", "wall", "pump", "water", "common cause", "power"
EDGE, PIPE = "edge", "pipe"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that goes wrong: `words` of the element `part`, which is a `noun`.

    `members` are (place of a link, words that its element answers). `over` is the height filled over the line (m), `top_up`
    the water that runs in (m3), `restarts` that the power fails and comes back. `stands_for` names the like things
    that it was asked for: 'any of 12 x rack tank'.
    """

    noun: str
    part: str
    words: str
    members: tuple[tuple[int, str], ...] = ()
    over: float = 0.0
    top_up: float = 0.0
    stands_for: str = ""
    restarts: bool = False

    @property
    def who(self) -> str:
        """Say which part it is; where it stands for several, for which, and where it was asked."""
        return f"{self.stands_for} (asked at {self.part}, the one with the most flow)" if self.stands_for else self.part

    @property
    def power_lost(self) -> bool:
        """Whether a pump stands."""
        return bool(self.pumps_lost)

    @property
    def pumps_lost(self) -> frozenset[int]:
        """The places of the pumps that lift nothing: they stand, or stir their own chamber, their hose off."""
        return frozenset(k for k, words in self.members if words == NO_POWER or words.endswith(OFF_AT_PUMP))

    @property
    def hose_off(self) -> bool:
        """Whether a hose has come off."""
        return COMES_OFF in self.words

    @property
    def subjects(self) -> frozenset[tuple[int, str]]:
        """What it touches: links with the part of them that it is about."""
        return frozenset((k, words.rpartition(": ")[0]) for k, words in self.members)

    def excludes(self, other: Fault) -> bool:
        """Whether both cannot be true at once, or one is part of the other."""
        lost = (self.power_lost and other.restarts) or (self.restarts and other.power_lost)
        return lost or bool(self.subjects & other.subjects)


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
    if k in network.edges:
        return EDGE
    if k in network.runs:
        return PIPE
    return PUMP if k in network.pumps else RETURN


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
    """Return what one cause does to several parts: a leaf on all drains of a tank that carry water (`wet`: their places).

    Several pumps lose their power together; or the power fails, and comes back when all has come to rest.
    """
    found = []
    for tank in dict.fromkeys(network.links[k].up for k in wet):
        drains = [k for k in wet if network.links[k].up == tank]
        if len(drains) > 1:
            names = " and ".join(network.links[k].name for k in drains)
            found.append(Fault(CAUSE, names, BLOCKED, tuple((k, BLOCKED) for k in drains)))
    powered = [k for k in network.pumps if float(network.links[k].element.running) > 0.5]
    if len(powered) > 1:
        found.append(Fault(CAUSE, "every pump", NO_POWER, tuple((k, NO_POWER) for k in powered)))
    if powered:
        found.append(Fault(POWER, "the power", "fails and comes back", restarts=True))
    return found


def single_faults(build: Build, network: Network, wet: Sequence[int], flows: Sequence[float] = ()) -> list[Fault]:
    """Return every single fault; of several tanks those described together are asked once, by the `flows` in the links (m3/s)."""
    found = [*element_faults(network), *water_faults(build), *common_causes(network, wet)]
    return found if build.one or not flows else asked_once(build, network, found, flows)


def asked_once(build: Build, network: Network, faults: Iterable[Fault], flows: Sequence[float]) -> list[Fault]:
    """Return the faults with those of one group and one kind asked at the member that carries the most flow."""
    homes = {name: group for group in build.groups if len(group.members) > 1 for name in group.members}
    kept: dict[object, tuple[float, int, Fault]] = {}
    for number, fault in enumerate(faults):
        owner = _owner(network, fault, homes)
        flow = sum(abs(float(flows[k])) for k, _ in fault.members)
        if not owner:
            kept[number] = (flow, 1, fault)
            continue
        kind = (homes[owner].name, fault.noun, fault.words.replace(fault.part, "").replace(owner, ""))
        most, count, best = kept.get(kind, (-1.0, 0, fault))
        kept[kind] = (max(flow, most), count + 1, fault if flow > most else best)
    return [replace(fault, stands_for=f"any of {count} x {homes[_owner(network, fault, homes)].name}") if count > 1 else fault
            for _, count, fault in kept.values()]


def _owner(network: Network, fault: Fault, homes: Mapping[str, Group]) -> str:
    """Return the member of a group that a fault belongs to: its part, or the tank at one of its ends; '' for none."""
    if fault.part in homes:
        return fault.part
    if fault.noun == PUMP or not fault.members:
        return ""
    link = network.links[fault.members[0][0]]
    return next((network.waters[k].name for k in (link.up, link.down) if network.waters[k].name in homes), "")


def pairs(faults: Sequence[Fault]) -> Iterator[tuple[Fault, Fault]]:
    """Yield every two faults that can be true at once."""
    return ((a, b) for a, b in itertools.combinations(faults, 2) if not a.excludes(b))


def faulty(network: Network, faults: Sequence[Fault]) -> Network:
    """Return the network with faults; that a pump lifts nothing is left to whoever asks what happens then."""
    for fault in faults:
        for k, words in fault.members:
            changes = dict(network.links[k].element.faults()[words])
            if k in fault.pumps_lost:
                del changes["running"]
            network = network.changed({k: changes}) if changes else network
    return network
