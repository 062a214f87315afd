"""What can happen on the way: the elements' guards, air getting into a return, lines filling up, and levels passing marks.

| watched | while | what follows |
|---|---|---|
| a drain's guards | always | its next mode |
| the tank over a return's hole or mouth | water runs back through it | air gets in: it stops, its contents run down |
| the lines of a header system full | they fill | water passes to the tanks |
| marks (`hydro.transient.level_marks`) | always | nothing but a note |

A siphon whose edge feeds less than its full pipe would carry breaks in the steady state. While the tank falls it holds on, down
to the breaking head: that is how a drain flushes. It holds on too where it would begin again at once.

Where a check valve holds what stands in a header, its tanks siphon into each other through it, down to equal levels or until
air gets in at the upper one. What the valve does not hold then counts as running into the lower one, whole, as it does by
volumes (`hydro.shutdown`): the safe side.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from hydro.elements.holding import falling_flow
from hydro.network.manifolds import HeaderSystem, ManifoldPath, downstream, pipes_at, pool_at, runs, way_from, ways_back
from hydro.network.model import CHAMBER, UPPER, Network
from hydro.network.paths import has_check_valve
from hydro.shutdown.line_contents import around_valves
from hydro.steady.initial_guess import crest_of
from hydro.transient.integrate import STILL, Event, Watch
from hydro.transient.level_marks import LevelMark, marks
from hydro.transient.manifold_filling import filling_watches, with_store
from hydro.transient.state import TransientState

FALLING = 5e-5
"""Speed from which on the tank counts as falling, m/s: 3 mm a minute (chosen here; a period of flushing hangs on it)."""
AGAIN = 0.1
"""How far under the conditions of priming a siphon must be to break, in rim diameters and in J: no turn is shorter than that."""
LOWER = 1e-3
"""How much lower a way out must lie for water to run there, m."""
LEAST_COLUMN = 0.1
"""Least height from which contents of a line run down, m."""
TAIL = 1e-3
"""What is still to come is left out when it would raise the sump by less, m."""
TURNS = 5
"""So often the same thing has to happen before it is said to go on."""


def watches(breaks: bool) -> Callable[[TransientState], Sequence[Watch]]:
    """Return the function that lists what to watch at an instant; `breaks` says whether siphon breaks work.

    The list is made anew only where something has happened: it hangs on the network, on what fills and on the notes that stand.
    """
    made: list[tuple[Network, tuple[bool, ...], Sequence[Watch], Sequence[LevelMark]]] = []
    noted: list[tuple[Sequence[LevelMark], frozenset[str], Sequence[Watch]]] = []

    def listed(moment: TransientState) -> Sequence[Watch]:
        filling = tuple(store.filling for store in moment.stores)
        if not made or made[0][0] is not moment.network or made[0][1] != filling:
            found = [*drain_watches(moment), *tube_watches(moment), *air_watches(moment, breaks), *filling_watches(moment)]
            made[:] = [(moment.network, filling, found, list(marks(moment.network)))]
        _, _, changing, every = made[0]
        if not noted or noted[0][0] is not every or noted[0][1] != moment.flags:
            noted[:] = [(every, moment.flags, [*changing, *(mark.watch(moment) for mark in every)])]
        return noted[0][2]
    return listed


def drain_watches(moment: TransientState) -> Iterator[Watch]:
    """Yield the guards of every drain; where the mode changes, what a mode says of the drain is asked again."""
    for k in moment.network.drains:
        element: Any = moment.network.links[k].element

        def margin(now: TransientState, k: int = k, element: Any = element) -> float:
            return float(min(guard.margin for guard in _guards(now, k, element)))

        def act(now: TransientState, k: int = k, element: Any = element) -> tuple[TransientState, str]:
            guard = min(_guards(now, k, element), key=lambda guard: guard.margin)
            after = replace(now, network=now.network.in_modes({k: guard.next_mode}))
            return after, f"{element.name}{': ' if guard.words.startswith('its ') else ' '}{guard.words}"

        yield Watch(f"{element.name}: {element.mode}", margin, act)


def tube_watches(moment: TransientState) -> Iterator[Watch]:
    """Yield what keeps each siphon tube full of water; once air is in, it lets go what stood in it.

    A pipe to a chamber whose highest point is not given climbs over nothing: an end in the air does not stop it for good.
    """
    network = moment.network
    for k in network.runs:
        element: Any = network.links[k].element
        ends = {network.waters[n].kind for n in (network.links[k].up, network.links[k].down)}
        falls = getattr(element, "highest", None) is None and CHAMBER in ends
        if not hasattr(element, "guards") or falls or not element.guards(moment.flows[k], *moment.ends(k)):
            continue

        def margin(now: TransientState, k: int = k, element: Any = element) -> float:
            return float(min(guard.margin for guard in element.guards(now.flows[k], *now.ends(k))))

        def act(now: TransientState, k: int = k, element: Any = element) -> tuple[TransientState, str]:
            guard = min(element.guards(now.flows[k], *now.ends(k)), key=lambda guard: guard.margin)
            link, place = now.network.links[k], now.store_of(k)
            store = now.stores[place]
            into = min((link.up, link.down), key=lambda water: now.levels[water])
            height = max(max(now.ends(k)) - min(now.ends(k)), LEAST_COLUMN)
            gone = replace(store, lines=0.0, falling=store.falling + store.lines, into=into,
                           flow=falling_flow(element.line, 0.0, height))
            after = replace(now, network=now.network.in_modes({k: guard.next_mode}), stores=with_store(now.stores, place, gone))
            return after, f"{element.name}: {guard.words}"

        yield Watch(f"{element.name}: {element.mode}", margin, act)


def _guards(now: TransientState, k: int, element: Any) -> list[Any]:
    """Return a drain's guards at an instant; a siphon holds on while the tank falls, and where it would begin again at once."""
    up, down = now.ends(k)
    guards = element.guards(max(now.flows[k], 0.0), up, down)
    if float(element.primed) > 0.5:
        holds = begins_again(element, up)
        water = now.network.links[k].up
        tank: Any = now.network.waters[water].body
        if now.gaining(water) < -FALLING * float(tank.stored(up)[1]):
            breaks = float(element.breaking_head(0.0))
            holds = max(holds, (up - float(element.inlet.crest) - breaks) / float(element.inlet.rim))
        guards = [replace(guard, margin=max(guard.margin, holds)) for guard in guards]
    return list(guards)


def begins_again(drain: Any, up: float) -> float:
    """Return how far a siphon that broke would lie within the conditions to begin anew, less a little, in rim diameters or J."""
    head = max(up - float(drain.inlet.crest), 0.0)
    return AGAIN - float(drain.air_holds(head, float(drain.inlet.flow_at(head))))


def shut(element: Any) -> Any:
    """Return a link of a line with nothing passing through it."""
    return replace(element, shut=1.0) if hasattr(element, "shut") else replace(element, driven=1.0, target=0.0)


def air_watches(moment: TransientState, breaks: bool) -> Iterator[Watch]:
    """Yield for each return that may run back the level at which air gets in, and what comes of that.

    Where it leads into another tank, or a pump presses against it, air gets in only if water runs back, or would if it could.
    Where a sump stands higher than the mouth, its water goes on through a pump that stands.
    """
    network = moment.network
    for k, way in ways_back(network).items():
        element: Any = network.links[k].element
        stop, water, low = float(element.end.stop(breaks)), network.links[k].down, float(element.end.lowest) + LOWER

        def act(now: TransientState, k: int = k, element: Any = element) -> tuple[TransientState, str]:
            return with_air(now, k), f"{element.end.name} draws air and stops"

        def margin(
            now: TransientState, stop: float = stop, k: int = k, water: int = water, way: ManifoldPath = way, low: float = low
        ) -> float:
            over = now.levels[water] - stop
            if over >= STILL:                                      # whatever comes of it, it is not yet there
                return over
            if now.flows[k] > STILL and any(now.levels[node] > low for node in way.chambers):
                return max(over, STILL)
            if way.certain or now.flows[k] < -STILL or (now.flows[k] < STILL and leads_lower(now, way, stop)):
                return over
            return max(over, STILL)

        yield Watch(f"{element.end.name}: air", margin, act)


def leads_lower(moment: TransientState, way: ManifoldPath, level: float) -> bool:
    """Whether a way that leads into tanks only, and against no pump, ends lower than a level in one of them."""
    ends: dict[int, Any] = {k: getattr(moment.network.links[k].element, "end", None) for k, _ in way.mouths}
    return not way.chambers and not way.pressed and any(max(moment.levels[water], float(ends[k].lowest)) < level - LOWER
                                    for k, water in way.mouths if ends[k] is not None)


def running_back(moment: TransientState) -> bool:
    """Whether water runs back through some return, or will until air gets in."""
    return any(way.certain or moment.flows[k] < -STILL for k, way in ways_back(moment.network).items())


def with_air(moment: TransientState, k: int) -> TransientState:
    """Return the instant after air got into a return: it is shut, and what nothing holds up any more begins to run down."""
    network = moment.network
    links = tuple(replace(link, element=shut(link.element)) if n == k else link for n, link in enumerate(network.links))
    after = replace(network, links=links)
    place = moment.store_of(k)
    store = moment.stores[place]
    drop = max(0.0, store.lines - water_left_in_header(after, store.system, k))
    into, flow = runs_down(moment, k)
    fallen = replace(store, lines=store.lines - drop, falling=store.falling + drop, flow=flow, into=into)
    return replace(moment, network=after, stores=with_store(moment.stores, place, fallen))


def runs_down(moment: TransientState, k: int) -> tuple[int, float]:
    """Return the water that the contents of a return run down into once air is in, and at most how fast, m3/s.

    A chamber goes first, that of the pump through which most runs back; else the tank that stands lowest.
    """
    network = moment.network
    system = moment.stores[moment.store_of(k)].system
    way = ways_back(network)[k]
    lowest = float(network.links[k].element.end.lowest)
    pumps = [n for n in system.pumps if network.links[n].up in way.chambers]
    out = [n for n in system.links if network.links[n].up in way.chambers or network.links[n].down in way.chambers]
    if pumps or out:
        passing = min(pumps or out, key=lambda n: moment.flows[n])
        link = network.links[passing]
        into = link.up if link.up in way.chambers else link.down
        still = float(getattr(link.element, "stopped", 0.0)) + float(getattr(link.element, "leaving", 0.0))
    else:
        passing, into = min(way.mouths, key=lambda mouth: (moment.levels[mouth[1]], mouth[1]))
        link, still = network.links[passing], 0.0
    line = replace(link.element.line, quadratic=link.element.line.quadratic + 1e-9)
    return into, falling_flow(line, still, max(lowest - moment.levels[into], LEAST_COLUMN))


def water_left_in_header(network: Network, system: HeaderSystem, aired: int) -> float:
    """Return the water (m3) that stays in a header system's lines once air got in at a return.

    A valve holds up what stands behind it, or it still runs back into a chamber. Where it can run nowhere but into another tank,
    all lets go that hangs together with that return.
    """
    meets = pipes_at(network)
    live = {k for k, way in ways_back(network).items() if way.chambers}
    pool = pool_at(network, network.links[aired].up, meets)
    empties = not any(network.links[k].up in pool for k in live)
    volume = 0.0
    for k in system.links:
        link = network.links[k]
        if not hasattr(link.element, "line"):
            continue
        beyond = downstream(network, k)
        if has_check_valve(link.element) and empties and pool & {link.up, link.down}:
            before, behind = around_valves(link.element.line)
            volume -= (before if link.up in pool else 0.0) + (behind if link.down in pool and k in network.runs else 0.0)
        if has_check_valve(link.element) or runs(link.element):
            stays = True
        elif way_from(network, link.up, meets, tuple(beyond)).chambers:
            stays = bool(live & beyond)
        else:
            stays = not pool & {link.up, link.down}
        volume += float(link.element.line.volume) if stays else 0.0
    return volume


def going_round(moment: TransientState, events: Sequence[Event]) -> str:
    """Say that it goes on as before, once the same thing has happened often enough; '' before that."""
    words = events[-1].words if events else ""
    return "it goes on like this" if words and sum(event.words == words for event in events) >= TURNS else ""


def remainder_ends(moment: TransientState, events: Sequence[Event]) -> str:
    """Say that what is still to come after a power cut is not worth waiting for; '' before that.

    No return runs back any more, nothing is in the lines on its way, no vessel runs over, chambers pass on only what the tanks
    give, and what stands over the lowest lips, or still comes through a pipe, would raise the smallest sump by less than 1 mm.
    """
    network = moment.network
    area = min((sum(surface(moment, k) for k in sump) for sump in network.sumps), default=0.0)
    rest = sum(over_lip(moment, water) for water in network.uppers) + sum(through_pipe(moment, k) for k in network.runs)
    if moment.falling + sum(moment.held) + rest > TAIL * area or running_back(moment):
        return ""
    quick = 2.0 * sum(abs(moment.gaining(water)) for water in network.uppers) + STILL
    swings = any(abs(moment.gaining(k)) > quick for k in network.chambers)
    edges = {k: float(water.opening) for k, water in enumerate(network.waters) if water.opening is not None}
    over = any(moment.levels[k] > edge for k, edge in edges.items())
    words = "the sump" if len(network.sumps) == 1 else "a sump"
    return "" if swings or over else f"what still trickles down would raise {words} by less than 1 mm"


def surface(moment: TransientState, water: int) -> float:
    """Return the surface of a water, m2."""
    body: Any = moment.network.waters[water].body
    return float(body.stored(moment.levels[water])[1])


def over_lip(moment: TransientState, water: int) -> float:
    """Return what stands in a tank or box over its lowest lip or edge, m3."""
    network = moment.network
    body: Any = network.waters[water].body
    level = moment.levels[water]
    lip = min([level, *(float(crest_of(network.links[k].element)) for k in network.leaving(water, network.spills))])
    return float(body.stored(level)[0]) - float(body.stored(lip)[0])


def through_pipe(moment: TransientState, k: int) -> float:
    """Return what a tank or box still gives to a chamber through a pipe between them, m3; 0 for other pipes and with air in."""
    network, link = moment.network, moment.network.links[k]
    element: Any = link.element
    up, down = link.up, link.down
    if network.waters[up].kind == CHAMBER:
        up, down = down, up
    if network.waters[up].kind not in UPPER or network.waters[down].kind != CHAMBER or float(element.primed) < 0.5:
        return 0.0
    body: Any = network.waters[up].body
    level = moment.levels[up]
    stop = min(level, max(float(element.stops_at), moment.levels[down]))
    return float(body.stored(level)[0]) - float(body.stored(stop)[0])
