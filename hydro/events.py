"""What can happen on the way: the elements' guards, air getting into a return, lines filling up, and levels passing marks.

| watched | while | what follows |
|---|---|---|
| a drain's guards | always | its next mode |
| the tank over a return's hole or mouth | water runs back through it | air gets in: it stops, its contents run down |
| the pump's lines full | they fill | water passes to the tank |
| marks (`hydro.marks`) | always | nothing but a note |

A siphon whose edge feeds less than its full pipe would carry breaks in the steady state. While the tank falls it holds on, down
to the breaking head: that is how a drain flushes. It holds on too where it would begin again at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from hydro.elements.fittings import CheckValve
from hydro.elements.holding import falling_flow
from hydro.marks import mark_watches
from hydro.moment import Moment
from hydro.network import JUNCTION, Network
from hydro.stopped import holds_back, runs_back
from hydro.transient import STILL, Event, Watch

FALLING = 5e-5
"""Speed from which on the tank counts as falling, m/s: 3 mm a minute (chosen here; a period of flushing hangs on it)."""
AGAIN = 0.1
"""How far under the conditions of priming a siphon must be to break, in rim diameters and in J: no turn is shorter than that."""
LEAST_COLUMN = 0.1
"""Least height from which contents of a line run down, m."""
TAIL = 1e-3
"""What is still to come is left out when it would raise the sump by less, m."""
TURNS = 5
"""So often the same thing has to happen before it is said to go on."""


def watches(breaks: bool) -> Callable[[Moment], list[Watch]]:
    """Return the function that lists what to watch at an instant; `breaks` says whether siphon breaks work."""
    def listed(moment: Moment) -> list[Watch]:
        return [*drain_watches(moment), *air_watches(moment, breaks), *filling_watches(moment), *mark_watches(moment)]
    return listed


def drain_watches(moment: Moment) -> Iterator[Watch]:
    """Yield the guards of every drain; where the mode changes, what a mode says of the drain is asked again."""
    for k in moment.network.drains:
        element: Any = moment.network.links[k].element

        def margin(now: Moment, k: int = k, element: Any = element) -> float:
            return float(min(guard.margin for guard in _guards(now, k, element)))

        def act(now: Moment, k: int = k, element: Any = element) -> tuple[Moment, str]:
            guard = min(_guards(now, k, element), key=lambda guard: guard.margin)
            after = replace(now, network=now.network.in_modes({k: guard.next_mode}))
            return after, f"{element.name}{': ' if guard.words.startswith('its ') else ' '}{guard.words}"

        yield Watch(f"{element.name}: {element.mode}", margin, act)


def _guards(now: Moment, k: int, element: Any) -> list[Any]:
    """Return a drain's guards at an instant; a siphon holds on while the tank falls, and where it would begin again at once."""
    up, down = now.ends(k)
    guards = element.guards(max(now.flows[k], 0.0), up, down)
    if float(element.primed) > 0.5:
        holds = begins_again(element, up)
        tank: Any = now.network.waters[now.network.tank].body
        if now.gaining(now.network.tank) < -FALLING * float(tank.stored(up)[1]):
            holds = max(holds, (up - float(element.inlet.crest)) / float(element.inlet.rim) - float(element.breaks_at))
        guards = [replace(guard, margin=max(guard.margin, holds)) for guard in guards]
    return list(guards)


def begins_again(drain: Any, up: float) -> float:
    """Return how far a siphon that broke would lie within the conditions to begin anew, less a little, in rim diameters or J."""
    head = max(up - float(drain.inlet.crest), 0.0)
    number = float(drain.air_number(drain.inlet.flow_at(head)))
    return min(head / float(drain.inlet.rim) - float(drain.primes_at), number - float(drain.sweeps_at)) + AGAIN


def open_ends(network: Network) -> list[int]:
    """Return the links through whose mouth in the tank water can run back into the sump, the pump standing."""
    pump: Any = network.links[network.pump].element
    if float(pump.running) > 0.5:
        return []
    return [k for k, link in enumerate(network.links) if getattr(link.element, "end", None) is not None
            and hasattr(link.element.end, "stop") and not is_shut(link.element) and not holds_back(link)
            and runs_back(network, link.up, True)]


def is_shut(element: Any) -> bool:
    """Whether a link of a line is shut."""
    return float(getattr(element, "shut", 0.0)) > 0.5 or float(getattr(element, "driven", 0.0)) > 0.5


def shut(element: Any) -> Any:
    """Return a link of a line with nothing passing through it."""
    return replace(element, shut=1.0) if hasattr(element, "shut") else replace(element, driven=1.0, target=0.0)


def air_watches(moment: Moment, breaks: bool) -> Iterator[Watch]:
    """Yield for each return that runs back the level at which air gets in, and what comes of that."""
    network = moment.network
    for k in open_ends(network):
        element: Any = network.links[k].element
        stop = float(element.end.stop(breaks))

        def act(now: Moment, k: int = k, element: Any = element) -> tuple[Moment, str]:
            return with_air(now, k), f"{element.end.name} draws air and stops"

        def margin(now: Moment, stop: float = stop) -> float:
            return now.tank_level - stop

        yield Watch(f"{element.end.name}: air", margin, act)


def with_air(moment: Moment, k: int) -> Moment:
    """Return the instant after air got into a return: it is shut, and what nothing holds up any more begins to run down."""
    network = moment.network
    links = tuple(replace(link, element=shut(link.element)) if n == k else link for n, link in enumerate(network.links))
    after = replace(network, links=links)
    stays = standing(after)
    drop = max(0.0, moment.lines - stays)
    pump: Any = network.links[network.pump].element
    end = network.links[k].element.end
    height = max(float(end.lowest) - moment.pump_level, LEAST_COLUMN)
    line = replace(pump.line, quadratic=pump.line.quadratic + 1e-9)
    return replace(moment, network=after, lines=moment.lines - drop, falling=moment.falling + drop,
                   fall_flow=falling_flow(line, float(pump.stopped), height))


def standing(network: Network) -> float:
    """Return the water (m3) that stays in the pump's lines: what a valve holds up, and what still runs back to the sump."""
    live = set(open_ends(network))
    volume = 0.0
    for link in network.links:
        line = getattr(link.element, "line", None)
        if line is None or hasattr(link.element, "inlet"):
            continue
        held = holds_back(link) or not runs_back(network, link.up, True)
        if held or live & downstream(network, link):
            volume += float(line.volume)
    return volume


def downstream(network: Network, link: Any) -> set[int]:
    """Return the places of the link and of all links that it feeds over junctions."""
    found = {k for k, other in enumerate(network.links) if other is link}
    waiting = [link.down] if network.waters[link.down].kind == JUNCTION else []
    while waiting:
        node = waiting.pop()
        for k, other in enumerate(network.links):
            if other.up == node and k not in found:
                found.add(k)
                if network.waters[other.down].kind == JUNCTION:
                    waiting.append(other.down)
    return found


def filling_watches(moment: Moment) -> Iterator[Watch]:
    """Yield the condition that the pump's lines are not full yet, while they fill."""
    if moment.filling:
        full = float(moment.network.full)

        def act(now: Moment) -> tuple[Moment, str]:
            # The step ends a little behind the event: what is over goes back to the chamber.
            after = replace(now, network=both_ways(now.network), filling=False, lines=full, falling=now.lines - full,
                            fall_flow=max(now.flows[now.network.pump], 0.0))
            return after, "the pump's lines are full: water comes to the tank"

        yield Watch("lines fill", lambda now: full - now.lines, act)


def one_way(network: Network) -> Network:
    """Return the network with a bar against running back behind the pump: nothing stands yet in the lines beyond."""
    line = network.links[network.pump].element.line
    return network.changed({network.pump: {"line": replace(line, others=(*line.others, CheckValve.of(0.0, 1.0)))}})


def both_ways(network: Network) -> Network:
    """Return the network without that bar."""
    line = network.links[network.pump].element.line
    return network.changed({network.pump: {"line": replace(line, others=line.others[:-1])}})


def going_round(moment: Moment, events: Sequence[Event]) -> str:
    """Say that it goes on as before, once the same thing has happened often enough; '' before that."""
    words = events[-1].words if events else ""
    return "it goes on like this" if words and sum(event.words == words for event in events) >= TURNS else ""


def tail(moment: Moment, events: Sequence[Event]) -> str:
    """Say that what is still to come after a power cut is not worth waiting for; '' before that.

    No return runs back any more, nothing is in the lines on its way, no vessel runs over, chambers pass on only what the tank
    gives, and what stands over the lowest lip would raise the sump by less than 1 mm.
    """
    network = moment.network
    tank: Any = network.waters[network.tank].body
    bodies: list[tuple[Any, float]] = [(network.waters[k].body, moment.levels[k]) for k in network.chambers]
    area = float(sum(body.stored(level)[1] for body, level in bodies))
    lip = min([moment.tank_level, *(float(network.links[k].element.inlet.crest) for k in network.drains)])
    rest = float(tank.stored(moment.tank_level)[0]) - float(tank.stored(lip)[0])
    if open_ends(network) or moment.falling + sum(moment.held) + rest > TAIL * area:
        return ""
    quick = 2.0 * abs(moment.gaining(network.tank)) + STILL
    swings = any(abs(moment.gaining(k)) > quick for k in network.chambers)
    edges = {k: float(water.opening) for k, water in enumerate(network.waters) if water.opening is not None}
    over = any(moment.levels[k] > edge for k, edge in edges.items())
    return "" if swings or over else "what still trickles down would raise the sump by less than 1 mm"
