"""Hoses that come off outside the sump: what is pumped, or drained, goes on the floor until the pump draws air.

No build holds against it, so it is counted apart from the faults that a build can survive. By volumes:

    floor = what the pump can take out of the sump, down to its intake and the walls' crests
          + what the tanks then give: down to their lips; where the open end lies below the water, to where air gets in
          + what runs out of lines  +  the whole top-up reservoir, which fills the sump up meanwhile

Check valves hold back what lies behind them, as seen from the open end. Of a drain its own lip counts, for what lower ones take
comes back. Where other pumps run on, this is the most that can come: what they keep up is counted as lost too. Hoses that carry
nothing as it runs (a dry drain, a pump that stands) are not asked. Which ends there are: `hydro.network.loose_ends`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from hydro.elements.fittings import Closed
from hydro.elements.line import Line
from hydro.elements.loose_hose import opened_below
from hydro.faults.effects import Effect, Sound
from hydro.faults.single import DRAIN, PUMP, RETURN, Fault, asked_once
from hydro.network.loose_ends import LooseEnd, loose_ends
from hydro.network.model import Network
from hydro.scenarios.all_drains_blocked import stays
from hydro.scenarios.results import DRY
from hydro.shutdown import shut_down, sump_volume
from hydro.steady.operating_point import DRAWS_AIR
from hydro.steady.state import State


def hoses_off(base: Sound) -> Iterator[Effect]:
    """Yield what each hose that comes off outside the sump puts on the floor; of several built alike, the one with most flow."""
    states = base.answer.states
    ends = {_fault(base.network, end): end for end in loose_ends(base.network)
            if max(float(state.flows[end.link]) for state in states) >= DRY}
    by_members = {fault.members: end for fault, end in ends.items()}
    flows = [float(q) for q in states[0].flows]
    for fault in ends if base.loop.build.one else asked_once(base.loop.build, base.network, ends, flows):
        lost = max(lost_by(state, by_members[fault.members]) for state in states) + base.reservoir
        yield Effect((fault,), DRAWS_AIR, over=lost, where="a hose", dry=True, lowest=0.0)


def _fault(network: Network, end: LooseEnd) -> Fault:
    k = end.link
    noun = DRAIN if k in network.drains else PUMP if k in network.pumps else RETURN
    part = str(network.links[k].element.name)
    label = end.label.removeprefix(f"{noun} ").removeprefix(f"{part}: ")
    return Fault(noun, part, f"{label}: {end.words}", ((k, f"{end.label}: {end.words}"),))


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
