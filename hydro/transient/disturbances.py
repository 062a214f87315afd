"""What may happen to a running loop: the power goes or comes back, drains block, a top-up stays open. Each is data.

    happening = Happening("power cut", "the power fails", breaks=True, valves=HOLDING, running=False)
    course = happen(state, happening)

A happening names changed parameters by link, modes, volumes that join in, and what is counted on; `begin` makes the first
instant of it. Water that goes over an opening is kept in a water of its own, 'floor', of one square metre.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from hydro.elements.air_lock import LOCKED, AirLocked
from hydro.elements.drain import FLUSHING_HIGH, FLUSHING_LOW, WITH_AIR
from hydro.elements.feed import Feed
from hydro.elements.fittings import SHUT, LocalLoss
from hydro.elements.line import COVER, LEAKING, NO_OUTLET, Line, LineLink, Mouth
from hydro.elements.return_line import BreakHole
from hydro.elements.spill import Spill
from hydro.elements.waters import Body
from hydro.network.manifolds import header_systems, pipes_at, runs, way_from, ways_back
from hydro.network.model import OUTSIDE, Link, Network, Water
from hydro.network.paths import fed_by
from hydro.steady.state import State
from hydro.transient.events import going_round, remainder_ends, watches
from hydro.transient.integrate import TOLERANCE, History, history
from hydro.transient.level_marks import first_flags
from hydro.transient.manifold_filling import one_way, with_store
from hydro.transient.state import Store, TransientState, moment_of, nothing_yet
from hydro.transient.step import level_of

HOLDING, STUCK, LEAKS = "holding", "stuck", "leaking"
BACK = {HOLDING: SHUT, STUCK: 0.0, LEAKS: LEAKING}
"""Resistance of the check valves to reversed flow, s/m2."""
FLOOR, RESERVOIR = "floor", "top-up reservoir"
LONGEST = 4 * 3600.0
"""Longest time that is looked at, s."""
FULL = 1e-6
"""What the pump's lines may lack and still count as full, m3."""
TRICKLE = 1e-5
"""Flow at which a pipe that drains share runs out at the least, m3/s."""
WIDE = 1e3
"""Length of a floor that loose ends pour on, m, a metre wide: it never drowns them."""
RESERVOIR_AREA = 0.1
"""Surface of the reservoir, m2; only its volume matters."""


@dataclass(frozen=True, slots=True)
class Disturbance:
    """One thing that happens. `changes` are parameters by place of a link, `modes` modes by place of a drain.

    `running` says whether the pumps have power, `stops` which of them stand while the others run, `breaks` whether siphon breaks
    work, `valves` how check valves behave when water would run back, `top_up` what runs out of the reservoir (m3) at
    `top_up_flow` (m3/s). What `pours` lists, links whose lower end hangs loose, ends on the floor.
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
    stops: tuple[int, ...] = ()
    pours: tuple[int, ...] = ()

    def standing(self, network: Network) -> tuple[int, ...]:
        """Return the pumps that stand: all of them without power."""
        return self.stops if self.running else network.pumps


def power_cut(breaks: bool = True, valves: str = HOLDING) -> Disturbance:
    """Return the power cut."""
    return Disturbance("power cut", "the power fails", False, breaks, valves)


def power_back(state: State, end: TransientState, breaks: bool = True, locks: bool | None = None) -> Disturbance:
    """Return the power's return after a cut that ended as given, for a loop that ran as `state` says.

    Drains whose lower end is drowned begin with air in their lines, air-locked where they are sealed (`DrainLine.sealed`) at
    the flow that they carried. `locks` says instead that all of them are, or that none is.
    """
    modes = {}
    for k in state.network.drains:
        element: Any = state.network.links[k].element
        if float(element.blocked) < 0.5 and end.ends(k)[1] > float(element.end):
            locked = element.sealed(max(float(state.flows[k]), 0.0)) if locks is None else locks
            modes[k] = LOCKED if locked else WITH_AIR
    return Disturbance("power back", "the power comes back", breaks=breaks, modes=modes)


def pump_stops(network: Network, which: tuple[int, ...], breaks: bool = True, valves: str = HOLDING) -> Disturbance:
    """Return the stopping of some pumps while the others run; of all of them, it is the power cut."""
    names = " and ".join(str(network.links[k].element.name) for k in which)
    left = any(runs(network.links[k].element) for k in network.pumps if k not in which)
    return Disturbance("pump stops", f"{names} stop{'s' if len(which) == 1 else ''}", left, breaks, valves, stops=which)


def drains_blocked(network: Network, which: tuple[int, ...]) -> Disturbance:
    """Return the blocking of drains while the loop runs."""
    names = " and ".join(network.links[k].element.name for k in which)
    return Disturbance("drains blocked", f"{names}: blocked", changes={k: {"blocked": 1.0} for k in which},
                     modes=dict.fromkeys(which, WITH_AIR))


def top_up_stuck(amount: float, flow: float) -> Disturbance:
    """Return a top-up that stays open until its reservoir (m3) is empty, at a flow in m3/s."""
    return Disturbance("top-up stuck", "the top-up stays open", top_up=amount, top_up_flow=flow)


def as_it_is() -> Disturbance:
    """Return the loop left to itself: what a surging drain does."""
    return Disturbance("as it is", "the loop is left to itself")


def with_ways_out(network: Network, pours: tuple[int, ...] = ()) -> Network:
    """Return the network with a floor and a way to it over the lowest opening of each vessel; some links pour there too."""
    waters, links = list(network.waters), list(network.links)
    floor = len(waters)
    waters.append(Water(FLOOR, OUTSIDE, Body.box(FLOOR, 0.0, 1.0, WIDE if pours else 1.0)))
    links = [replace(link, down=floor) if k in pours else link for k, link in enumerate(links)]
    for k, water in enumerate(network.waters):
        if water.opening is not None:
            links.append(Link(f"{water.name} over its opening", Spill(water.name, float(water.opening)), k, floor))
    return replace(network, waters=tuple(waters), links=tuple(links))


def with_reservoir(network: Network, disturbance: Disturbance) -> Network:
    """Return the network with the top-up's reservoir and its way into the pump chamber."""
    body = Body.box(RESERVOIR, 0.0, RESERVOIR_AREA, disturbance.top_up / RESERVOIR_AREA)
    link = Link(RESERVOIR, Feed(RESERVOIR, 0.0, disturbance.top_up_flow), len(network.waters), network.pump_chamber)
    return replace(network, waters=(*network.waters, Water(RESERVOIR, OUTSIDE, body)), links=(*network.links, link))


def changed_by(network: Network, disturbance: Disturbance, levels: Sequence[float]) -> Network:
    """Return the network with what the happening changes at levels (m); its places stay the same."""
    links = []
    for k, link in enumerate(network.links):
        element: Any = link.element
        if k in network.drains and element.mode in (FLUSHING_HIGH, FLUSHING_LOW):
            element = element.in_mode(WITH_AIR)
        if k in disturbance.changes:
            element = replace(element, **disturbance.changes[k])
        if k in disturbance.modes:
            locked = disturbance.modes[k] == LOCKED
            element = AirLocked(element.in_mode(WITH_AIR)) if locked else element.in_mode(disturbance.modes[k])
        if disturbance.valves != HOLDING and getattr(element, "line", None) is not None and element.line.check_valves:
            element = replace(element, line=element.line.with_check_valves(BACK[disturbance.valves]))
        links.append(replace(link, element=element))
    changed = replace(network, links=tuple(links))
    standing = disturbance.standing(network)
    return without_power(changed, disturbance.breaks, standing, levels) if standing else changed


def without_power(network: Network, breaks: bool, pumps: tuple[int, ...], levels: Sequence[float]) -> Network:
    """Return the network with pumps standing: mouths that water can run back through take it down to their stop.

    Where it is not certain that it runs back (into another tank, against pumps that run), a mouth under water at `levels` (m)
    does so, and one in the air goes on pouring.
    """
    network = without_gains(network.changed({k: {"running": 0.0} for k in pumps}), pumps)
    meets = pipes_at(network)
    changes = {}
    for k, way in ways_back(network, network.returns).items():
        link = network.links[k]
        if way.certain:
            changes[k] = {"outlet": NO_OUTLET, "hole": None}
        elif levels[link.down] > float(link.element.outlet):
            changes[k] = {"outlet": min(float(link.element.outlet), float(link.element.end.lowest)) - 2.0 * COVER, "hole": None}
    network = network.changed(changes)
    holes = {k: link for k, link in enumerate(network.links) if isinstance(link.element, BreakHole)}
    if not breaks:
        return network.changed({k: {"plugged": 1.0} for k in holes})
    links = list(network.links)
    for k, link in holes.items():
        way = way_from(network, link.up, meets)
        if way.certain or (way.past(link.down) and levels[link.down] > float(link.element.height)):
            links[k] = replace(link, element=way_in(link.element))
    return replace(network, links=tuple(links))


def without_gains(network: Network, pumps: tuple[int, ...]) -> Network:
    """Return the network whose tees, in the header systems of some pumps, give no leg head back any more.

    Through time a tee keeps the losses of the split that it ran with; what it gave back belonged to that flow alone.
    """
    links = {k for system in header_systems(network) if set(system.pumps) & set(pumps) for k in system.links}
    return network.changed({k: {"split": 0.0} for k in links if float(getattr(network.links[k].element, "split", 0.0)) < 0.0})


def way_in(hole: BreakHole) -> LineLink:
    """Return a hole in a line as a way that water takes back until air gets in at the hole's lowest point."""
    loss = LocalLoss(hole.name, 0.0, hole.hole, hole.quadratic)
    return LineLink(hole.name, Line.of([loss]),
                    end=Mouth(f"siphon break of {hole.name}", float(hole.height) - float(hole.hole) / 2.0))


def begin(state: State, disturbance: Disturbance) -> TransientState:
    """Return the first instant of what happens to a loop that runs as `state` says."""
    network = with_ways_out(changed_by(state.network, disturbance, [float(level) for level in state.levels]), disturbance.pours)
    levels, flows = [0.0], [0.0] * (len(network.links) - len(state.network.links))
    if disturbance.top_up > 0.0:
        network = with_reservoir(network, disturbance)
        levels.append(disturbance.top_up / RESERVOIR_AREA)
        flows.append(disturbance.top_up_flow)
    levels = [*map(float, state.levels), *levels]
    moment = moment_of(replace(state, network=network, levels=tuple(levels), flows=(*state.flows, *flows)))
    if not disturbance.running:
        moment = replace(moment, stores=tuple(let_go(moment, store) for store in moment.stores))
    return first_flags(replace(moment, held=(*lines_hold(state, disturbance), *[0.0] * len(flows))))


def gathers(network: Network, store: Store) -> bool:
    """Whether drains end in a header system: a pipe that they share, which no pump fills."""
    return not store.system.pumps and any(network.links[k].down in store.system.nodes for k in network.drains)


def let_go(moment: TransientState, store: Store) -> Store:
    """Return what stands in a pipe that drains share on its way down, whole, for nothing more comes; other stores as they are."""
    if not gathers(moment.network, store):
        return store
    ends = [k for k in store.system.links if moment.network.links[k].down not in store.system.nodes]
    last = max(ends, key=lambda k: moment.flows[k], default=None)
    if last is None:
        return store
    return replace(store, lines=0.0, falling=store.lines, flow=max(moment.flows[last], TRICKLE),
                   into=moment.network.links[last].down)


def lines_hold(state: State, disturbance: Disturbance) -> list[float]:
    """Return the water in each link's own line (m3): what a drain holds while it runs, or lets go when nothing more comes."""
    held = list(moment_of(state).held)
    network = state.network
    fed = {network.links[k].down for pump in network.pumps if pump not in disturbance.standing(network)
           and runs(network.links[pump].element) for k in fed_by(network, pump)}
    for _ in network.spills:
        fed |= {network.links[k].down for k in network.spills if network.links[k].up in fed}
    for k in network.drains:
        element: Any = network.links[k].element
        comes_no_more = bool(disturbance.standing(network)) and network.links[k].up not in fed
        if held[k] > 0.0 and (comes_no_more or k in disturbance.changes):
            held[k] = float(element.runs_out(float(state.flows[k]), float(state.ends(k)[1])))
    return held


def begin_again(state: State, cut: TransientState, disturbance: Disturbance) -> TransientState:
    """Return the first instant of the power's return after a cut that ended in `cut`; `state` is how the loop ran before."""
    network = with_ways_out(changed_by(state.network, disturbance, cut.levels))
    nothing = (0.0,) * len(network.links)
    stores, volumes, levels = cut.stores, list(cut.volumes), list(cut.levels)
    network = network.in_modes({k: cut.network.links[k].element.mode for k in network.runs
                                if hasattr(cut.network.links[k].element, "mode")})
    for place, store in enumerate(cut.stores):
        lines = store.lines + store.falling
        if gathers(network, store) and store.into >= 0:
            # Drains fill a pipe that they share within seconds: it takes its water back at once.
            volumes[store.into] -= store.system.full - lines
            levels[store.into] = level_of(network.waters[store.into].body, volumes[store.into], levels[store.into])
            lines = store.system.full
        empty = lines < store.system.full - FULL and any(runs(network.links[k].element) for k in store.system.pumps)
        stores = with_store(stores, place, Store(store.system, lines, filling=empty))
        network = one_way(network, store.system) if empty else network
    return first_flags(
        TransientState(network, 0.0, tuple(levels), tuple(volumes), nothing, cut.held, stores, *nothing_yet(network))
    )


def simulate(state: State, disturbance: Disturbance, tolerance: float = TOLERANCE, longest: float = LONGEST,
           whole_tail: bool = True) -> History:
    """Return what happens to a running loop. SolveError where a step is not solved.

    A power cut goes on until less than 1 L/h flows, or without its `whole_tail` until the rest is not worth waiting for.
    """
    enough = going_round if whole_tail or disturbance.running else remainder_ends
    return history(begin(state, disturbance), watches(disturbance.breaks), tolerance, longest, enough)


def simulate_restart(state: State, breaks: bool = True, valves: str = HOLDING, locks: bool | None = None,
                     tolerance: float = TOLERANCE, longest: float = LONGEST) -> tuple[History, History]:
    """Return the power cut to its end, and the power's return after it; `locks` as in `power_back`."""
    cut = simulate(state, power_cut(breaks, valves), tolerance, longest)
    back = power_back(state, cut.end, breaks, locks)
    return cut, history(begin_again(state, cut.end, back), watches(breaks), tolerance, longest, going_round)
