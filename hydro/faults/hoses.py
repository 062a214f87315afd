"""Hoses that come off outside the sump: what is pumped, or drained, goes on the floor until the pump draws air.

No build holds against it, so it is counted apart from the faults that a build can survive. By volumes:

    floor = what the pump can take out of the sump, down to its intake and the walls' crests
          + what the tanks then give: down to their lips; where the open end lies below the water, to where air gets in
          + what runs out of lines  +  the whole top-up reservoir, which fills the sump up meanwhile

| hose | open end | the tank falls to |
|---|---|---|
| pump's line or return, end at the tank's rim, only fittings behind it | over the water | its lips |
| any other end of the pressure side | below the water: what is behind it siphons back | holes and mouths, check valves hold |
| drain that carries water, either end | - | that drain's own lip |

Where other pumps run on, this is the most that can come: what they keep up is counted as lost too. Left out: hoses that carry
nothing as it runs (a dry drain, a pump that stands) and siphon tubes between two waters.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from hydro.elements.fittings import Closed
from hydro.elements.line import Line
from hydro.elements.loose_hose import hoses, off_at_pump, opened_below, rigid
from hydro.elements.siphon_tube import SiphonTube
from hydro.faults.effects import Effect, Sound
from hydro.faults.single import COMES_OFF, DRAIN, PUMP, RETURN, Fault, asked_once
from hydro.network.manifolds import downstream
from hydro.network.model import JUNCTION, Network
from hydro.network.paths import is_pipe
from hydro.scenarios.all_drains_blocked import stays
from hydro.scenarios.results import DRY
from hydro.shutdown import shut_down, sump_volume
from hydro.steady.operating_point import DRAWS_AIR
from hydro.steady.state import State

UPPER_END, LOWER_END = f"{COMES_OFF} at its upper end", f"{COMES_OFF} at its lower end"


@dataclass(frozen=True, slots=True)
class LooseEnd:
    """An end of a hose that pours on the floor: place of its link and of the hose among the parts, and whether at the rim."""

    link: int
    part: int
    at_rim: bool = False


def loose_ends(network: Network, states: Sequence[State]) -> dict[Fault, LooseEnd]:
    """Return every fault of a hose that comes off outside the sump and carries water as it runs."""
    found: dict[Fault, LooseEnd] = {}
    for k, link in enumerate(network.links):
        carries = max(float(state.flows[k]) for state in states) >= DRY
        if not carries or not hasattr(link.element, "line") or isinstance(link.element, SiphonTube):
            continue
        for place, label in hoses(link.element.line):
            for words, at_rim in _ends(network, k, place):
                found[_fault(network, k, label, words)] = LooseEnd(k, place, at_rim)
    return found


def hoses_off(base: Sound) -> Iterator[Effect]:
    """Yield what each hose that comes off outside the sump puts on the floor; of several built alike, the one with most flow."""
    ends = loose_ends(base.network, base.answer.states)
    assert base.answer.state is not None
    flows = [float(q) for q in base.answer.state.flows]
    places = {fault.members: end for fault, end in ends.items()}
    for fault in ends if base.loop.build.one else asked_once(base.loop.build, base.network, ends, flows):
        lost = max(lost_by(state, places[fault.members]) for state in base.answer.states) + base.reservoir
        yield Effect((fault,), DRAWS_AIR, over=lost, where="a hose", dry=True, lowest=0.0)


def _ends(network: Network, k: int, place: int) -> Iterator[tuple[str, bool]]:
    """Yield the ends of a hose at which water goes on the floor, each with whether the open end hangs at the tank's rim."""
    if k in network.drains:
        yield COMES_OFF, False
        return
    line = network.links[k].element.line
    # The end at the pump pours into the pump's own chamber: that is a fault of the pump, asked with the others.
    if k not in network.pumps or rigid(line, 0, place) or not _stands_in_water(network, k):
        yield LOWER_END, False
    yield UPPER_END, _at_rim(network, k, place)


def _stands_in_water(network: Network, k: int) -> bool:
    return bool(off_at_pump(network.links[k].element.line)) and network.waters[network.links[k].up].kind != JUNCTION


def _at_rim(network: Network, k: int, place: int) -> bool:
    """Whether nothing but fittings lies between the upper end of a hose and the tank, and one mouth only."""
    beyond = [network.links[n].element for n in downstream(network, k) - {k} if is_pipe(network, n)]
    mouths = [element for element in (network.links[k].element, *beyond) if getattr(element, "end", None) is not None]
    return len(mouths) == 1 and not rigid(network.links[k].element.line, place + 1) and not any(one.line.pipes for one in beyond)


def _fault(network: Network, k: int, label: str, words: str) -> Fault:
    noun = DRAIN if k in network.drains else PUMP if k in network.pumps else RETURN
    part = str(network.links[k].element.name)
    return Fault(noun, part, f"{label.removeprefix(f'{noun} ').removeprefix(f'{part}: ')}: {words}", ((k, f"{label}: {words}"),))


def lost_by(state: State, end: LooseEnd) -> float:
    """Return what a loose end of a hose puts on the floor from a running state, m3."""
    network, k = state.network, end.link
    drain = k in network.drains
    if drain:
        changes = {pump: {"line": _barred(network.links[pump].element.line)} for pump in network.pumps}
    elif end.at_rim:
        changes = {k: {"line": _barred(network.links[k].element.line)}}
    else:
        changes = {pump: {"line": opened_below(line, len(line.parts))} for pump in network.pumps
                   for line in (network.links[pump].element.line,)}
        changes[k] = {"line": opened_below(network.links[k].element.line, end.part)}
    stopped = shut_down(replace(state, network=network.changed(changes)), True, True)
    running = [float(state.levels[n]) for n in network.chambers]
    left = [min(level, stay) for level, stay in zip(running, stays(network), strict=True)]
    given = stopped.comes_down
    if drain:
        water = network.links[k].up
        body: Any = network.waters[water].body
        own = max(float(network.links[k].element.inlet.crest), stopped.levels[water])
        given -= max(0.0, float(body.stored(own)[0]) - float(body.stored(stopped.levels[water])[0]))
    return given + sump_volume(network, running) - sump_volume(network, left)


def _barred(line: Line) -> Line:
    """Return a line that nothing runs back through."""
    return Line.of([*line.parts, Closed.of(0.0, 1.0)])
