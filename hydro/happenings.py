"""What may happen to a running loop: the power goes or comes back, drains block, a top-up stays open. Each is data.

    happening = Happening("power cut", "the power fails", breaks=True, valves=HOLDING, running=False)
    course = happen(state, happening)

A happening names changed parameters by link, modes, volumes that join in, and what is counted on; `begin` makes the first
instant of it. Water that goes over an opening is kept in a water of its own, 'floor', of one square metre.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from hydro.elements.air_lock import LOCKED, AirLocked
from hydro.elements.drain import FLUSHING_HIGH, FLUSHING_LOW, WITH_AIR
from hydro.elements.feed import Feed
from hydro.elements.fittings import SHUT, LocalLoss
from hydro.elements.line import LEAKING, NO_OUTLET, Line, LineLink, Mouth
from hydro.elements.return_line import Hole
from hydro.elements.spill import Spill
from hydro.elements.waters import Body
from hydro.events import going_round, one_way, tail, watches
from hydro.marks import first_flags
from hydro.moment import Moment, moment_of
from hydro.network import OUTSIDE, Link, Network, Water
from hydro.state import State
from hydro.stopped import open_holes, siphon_paths, tank_begins
from hydro.transient import TOLERANCE, Course, course

HOLDING, STUCK, LEAKS = "holding", "stuck", "leaking"
BACK = {HOLDING: SHUT, STUCK: 0.0, LEAKS: LEAKING}
"""Resistance of the check valves to reversed flow, s/m2."""
FLOOR, RESERVOIR = "floor", "top-up reservoir"
LONGEST = 4 * 3600.0
"""Longest time that is looked at, s."""
FULL = 1e-6
"""What the pump's lines may lack and still count as full, m3."""
RESERVOIR_AREA = 0.1
"""Surface of the reservoir, m2; only its volume matters."""


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing that happens. `changes` are parameters by place of a link, `modes` modes by place of a drain.

    `running` says whether the pump has power, `breaks` whether siphon breaks work, `valves` how check valves behave when water
    would run back, `top_up` what runs out of the reservoir (m3) at `top_up_flow` (m3/s).
    """

    name: str
    words: str
    running: bool = True
    breaks: bool = True
    valves: str = HOLDING
    changes: Mapping[int, Mapping[str, Any]] = field(default_factory=dict)
    modes: Mapping[int, str] = field(default_factory=dict)
    top_up: float = 0.0
    top_up_flow: float = 0.0


def power_cut(breaks: bool = True, valves: str = HOLDING) -> Happening:
    """Return the power cut."""
    return Happening("power cut", "the power fails", False, breaks, valves)


def power_back(network: Network, end: Moment, breaks: bool = True, locks: bool = True) -> Happening:
    """Return the power's return after a cut that ended as given: drains whose lower end is drowned begin air-locked."""
    drowned = [k for k in network.drains if float(network.links[k].element.blocked) < 0.5
               and end.ends(k)[1] > float(network.links[k].element.end)]
    return Happening("power back", "the power comes back", breaks=breaks,
                     modes=dict.fromkeys(drowned, LOCKED if locks else WITH_AIR))


def drains_blocked(network: Network, which: tuple[int, ...]) -> Happening:
    """Return the blocking of drains while the loop runs."""
    names = " and ".join(network.links[k].element.name for k in which)
    return Happening("drains blocked", f"{names}: blocked", changes={k: {"blocked": 1.0} for k in which},
                     modes=dict.fromkeys(which, WITH_AIR))


def top_up_stuck(amount: float, flow: float) -> Happening:
    """Return a top-up that stays open until its reservoir (m3) is empty, at a flow in m3/s."""
    return Happening("top-up stuck", "the top-up stays open", top_up=amount, top_up_flow=flow)


def as_it_is() -> Happening:
    """Return the loop left to itself: what a surging drain does."""
    return Happening("as it is", "the loop is left to itself")


def with_ways_out(network: Network) -> Network:
    """Return the network with a floor and a way to it over the lowest opening of each vessel."""
    waters, links = list(network.waters), list(network.links)
    floor = len(waters)
    waters.append(Water(FLOOR, OUTSIDE, Body.box(FLOOR, 0.0, 1.0, 1.0)))
    for k, water in enumerate(network.waters):
        if water.opening is not None:
            links.append(Link(f"{water.name} over its opening", Spill(water.name, float(water.opening)), k, floor))
    return replace(network, waters=tuple(waters), links=tuple(links))


def with_reservoir(network: Network, happening: Happening) -> Network:
    """Return the network with the top-up's reservoir and its way into the pump chamber."""
    body = Body.box(RESERVOIR, 0.0, RESERVOIR_AREA, happening.top_up / RESERVOIR_AREA)
    link = Link(RESERVOIR, Feed(RESERVOIR, 0.0, happening.top_up_flow), len(network.waters), network.pump_chamber)
    return replace(network, waters=(*network.waters, Water(RESERVOIR, OUTSIDE, body)), links=(*network.links, link))


def changed_by(network: Network, happening: Happening) -> Network:
    """Return the network with what the happening changes; its places stay the same."""
    links = []
    for k, link in enumerate(network.links):
        element: Any = link.element
        if k in network.drains and element.mode in (FLUSHING_HIGH, FLUSHING_LOW):
            element = element.in_mode(WITH_AIR)
        if k in happening.changes:
            element = replace(element, **happening.changes[k])
        if k in happening.modes:
            locked = happening.modes[k] == LOCKED
            element = AirLocked(element.in_mode(WITH_AIR)) if locked else element.in_mode(happening.modes[k])
        if happening.valves != HOLDING and getattr(element, "line", None) is not None and element.line.check_valves:
            element = replace(element, line=element.line.with_check_valves(BACK[happening.valves]))
        links.append(replace(link, element=element))
    changed = replace(network, links=tuple(links))
    return changed if happening.running else without_power(changed, happening.breaks)


def without_power(network: Network, breaks: bool) -> Network:
    """Return the network with the pump standing: mouths that water can run back through take it down to their stop."""
    pump = network.pump
    network = network.changed({pump: {"running": 0.0}})
    network = network.changed({k: {"outlet": NO_OUTLET} for k in siphon_paths(network, True)})
    holes = {k: link for k, link in enumerate(network.links) if isinstance(link.element, Hole)}
    if not breaks:
        return network.changed({k: {"plugged": 1.0} for k in holes})
    links = list(network.links)
    for k in open_holes(network, True):
        links[k] = replace(links[k], element=way_in(holes[k].element))
    return replace(network, links=tuple(links))


def way_in(hole: Hole) -> LineLink:
    """Return a hole in a line as a way that water takes back until air gets in at the hole's lowest point."""
    loss = LocalLoss(hole.name, 0.0, hole.hole, hole.quadratic)
    return LineLink(hole.name, Line.of([loss]),
                    end=Mouth(f"siphon break of {hole.name}", float(hole.height) - float(hole.hole) / 2.0))


def begin(state: State, happening: Happening) -> Moment:
    """Return the first instant of what happens to a loop that runs as `state` says."""
    network = with_ways_out(changed_by(state.network, happening))
    levels, flows = [0.0], [0.0] * (len(network.links) - len(state.network.links))
    if happening.top_up > 0.0:
        network = with_reservoir(network, happening)
        levels.append(happening.top_up / RESERVOIR_AREA)
        flows.append(happening.top_up_flow)
    levels = [*map(float, state.levels), *levels]
    if not happening.running:
        levels[network.tank] = tank_begins(state)
    moment = moment_of(replace(state, network=network, levels=tuple(levels), flows=(*state.flows, *flows)))
    return first_flags(replace(moment, held=(*lines_hold(state, happening), *[0.0] * len(flows))))


def lines_hold(state: State, happening: Happening) -> list[float]:
    """Return the water in each link's own line (m3): what a drain holds while it runs, or lets go when nothing more comes."""
    held = list(moment_of(state).held)
    for k in state.network.drains:
        element: Any = state.network.links[k].element
        if held[k] > 0.0 and (not happening.running or k in happening.changes):
            held[k] = float(element.runs_out(float(state.flows[k]), float(state.ends(k)[1])))
    return held


def begin_again(state: State, cut: Moment, happening: Happening) -> Moment:
    """Return the first instant of the power's return after a cut that ended in `cut`; `state` is how the loop ran before."""
    network = with_ways_out(changed_by(state.network, happening))
    nothing, lines = (0.0,) * len(network.links), cut.lines + cut.falling
    empty = lines < float(network.full) - FULL
    return first_flags(Moment(one_way(network) if empty else network, 0.0, cut.levels, cut.volumes, nothing, cut.held, lines,
                              0.0, 0.0, empty, nothing, nothing, 0.0))


def happen(state: State, happening: Happening, tolerance: float = TOLERANCE, longest: float = LONGEST,
           whole_tail: bool = True) -> Course:
    """Return what happens to a running loop. SolveError where a step is not solved.

    A power cut goes on until less than 1 L/h flows, or without its `whole_tail` until the rest is not worth waiting for.
    """
    enough = going_round if whole_tail or happening.running else tail
    return course(begin(state, happening), watches(happening.breaks), tolerance, longest, enough)


def restart(state: State, breaks: bool = True, valves: str = HOLDING, locks: bool = True, tolerance: float = TOLERANCE,
            longest: float = LONGEST) -> tuple[Course, Course]:
    """Return the power cut to its end, and the power's return after it; without `locks` air is taken to leave upward."""
    cut = happen(state, power_cut(breaks, valves), tolerance, longest)
    back = power_back(state.network, cut.end, breaks, locks)
    return cut, course(begin_again(state, cut.end, back), watches(breaks), tolerance, longest, going_round)
