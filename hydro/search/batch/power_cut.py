"""What comes down in each of many designs when the pump stops: the volumes of `hydro.shutdown`, for one tank, on arrays.

Which pipes hang together is the same in all designs and is read off one of them; heights and volumes are each design's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from hydro.network.model import Network
from hydro.quantities.arrays import Number, greater, lesser, take, where
from hydro.quantities.bisection import halved
from hydro.shutdown import RESTS, open_holes, siphon_paths
from hydro.shutdown.line_contents import comes_out, pool_contents, runs_empty
from hydro.shutdown.passages import passages_of
from hydro.shutdown.sumps import outward
from hydro.steady.state import State

HALVINGS = 42
"""Bisections of a level between the sump's bottom less 1 m and its rim plus 1 m and more: down to a nanometre."""


@dataclass(frozen=True, slots=True)
class BatchPowerCut:
    """A power cut in many designs: the tank's level at rest (m), what comes down by words (m3), the chambers' levels, the room.

    `spare` is the room left up to the sump's lowest opening, m3, negative where it goes over.
    """

    tank_level: Number
    items: dict[str, Number]
    chambers: tuple[Number, ...]
    spare: Number


def tank_stops(network: Network, one: Network, breaks: bool, holds: bool) -> Number:
    """Return the level at which the tank comes to rest, m: the lowest sill over which water can leave it."""
    stops = [network.links[k].element.stops_at(breaks) for k in network.drains]
    stops += [network.links[k].element.end.stop(breaks) for k in siphon_paths(one, holds)]
    stops += [network.links[k].element.height - network.links[k].element.hole / 2.0 for k in open_holes(one, holds)]
    lowest = stops[0]
    for stop in stops[1:]:
        lowest = lesser(lowest, stop)
    body = network.waters[network.tank].body
    assert body is not None
    return greater(lowest, body.bottom)


def cut(state: State, breaks: bool, holds: bool, one: Network | None = None) -> BatchPowerCut:
    """Return what a power cut does to every design of a running state; `one` is one of its designs, alone."""
    network = state.network
    one = take(network, 0) if one is None else one
    tank: Any = network.waters[network.tank].body
    begins = state.tank_level
    if state.closing is not None and state.closing.level is not None:
        crest = network.links[network.drains[0]].element.inlet.crest
        for k in network.drains[1:]:
            crest = lesser(crest, network.links[k].element.inlet.crest)
        begins = where(state.pump_flow > RESTS, begins, greater(begins, crest))
    level = lesser(tank_stops(network, one, breaks, holds), begins)
    passages = passages_of(one, breaks, holds)
    items = {"tank": tank.stored(begins)[0] - tank.stored(level)[0],
             "drains": sum((network.links[k].element.runs_out(state.flows[k], state.ends(k)[1]) for k in network.drains), 0.0),
             "returns": comes_out(network, pool_contents(network, passages), runs_empty(passages))}
    chambers, spare = sump_levels_at_rest(network, [state.levels[k] for k in network.chambers], sum(items.values()))
    return BatchPowerCut(level, items, chambers, spare)


def sump_levels_at_rest(network: Network, was: Sequence[Number], gained: Number) -> tuple[tuple[Number, ...], Number]:
    """Return the chambers' levels at rest when the sump gains a volume (m3), and the room then left in it, m3."""
    bodies: list[Any] = [network.waters[k].body for k in network.chambers]
    held = _held(network)
    brim = network.waters[network.chambers[0]].opening
    wanted = gained + sum((body.stored(level)[0] for body, level in zip(bodies, was, strict=True)), 0.0)

    def levels(open_water: Number) -> list[Number]:
        return [where(open_water > crest, open_water, lesser(before, crest)) for crest, before in zip(held, was, strict=True)]

    def volume(found: Sequence[Number]) -> Number:
        return sum((body.stored(level)[0] for body, level in zip(bodies, found, strict=True)), 0.0)
    low, high = bodies[0].bottom - 1.0 + 0.0 * wanted, bodies[0].rim + 1.0 + 0.0 * wanted
    for body in bodies[1:]:
        low, high = lesser(low, body.bottom - 1.0), greater(high, body.rim + 1.0)
    area = sum((body.stored(body.rim)[1] for body in bodies), 0.0)
    high = high + greater(wanted - volume(levels(high)), 0.0 * wanted) / area
    low, high = halved(low, high, lambda level: volume(levels(level)) < wanted, HALVINGS)
    rest = levels(0.5 * (low + high))
    full = [where(brim > crest, brim, lesser(before, brim)) for crest, before in zip(held, was, strict=True)]
    return tuple(rest), volume(full) - wanted


def _held(network: Network) -> list[Number]:
    """Return for each chamber the level that the walls between it and the pump chamber hold back, m."""
    crests: dict[int, Number] = {network.pump_chamber: float("-inf")}
    for k, nearer, element in outward(network, network.sump_of(network.pump_chamber)):
        crests[k] = greater(element.holds, crests[nearer])
    return [crests[k] for k in network.chambers]
