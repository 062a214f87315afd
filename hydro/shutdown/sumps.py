"""What sumps hold: walls hold back what stands below their crests, and go under when the water tops them.

A chamber that no water passed, standing below its wall's crest, takes none until the open water tops that wall. Every sump has
an open water: the chamber its pump draws from. Where functions take `levels`, they are those of `Network.chambers` in order,
or of the chambers of `sump` where one is given.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from hydro.network.model import Network
from hydro.quantities.bisection import halved

Sump = tuple[int, ...]


def open_water(network: Network, sump: Sump) -> int:
    """Return the chamber of a sump that the others spill towards: the balance's, a pump's by name, else the last."""
    if network.pump_chamber in sump:
        return network.pump_chamber
    drawn = [network.links[k].up for k in network.pumps if network.links[k].up in sump]
    return min(drawn, key=lambda k: network.waters[k].name, default=sump[-1])


def outward(network: Network, sump: Sump) -> list[tuple[int, int, Any]]:
    """Return a sump's chambers from its open water outward: (chamber, the one before it, the element of the wall between)."""
    beside: dict[int, list[tuple[int, Any]]] = {}
    for k in network.barriers:
        link = network.links[k]
        beside.setdefault(link.up, []).append((link.down, link.element))
        beside.setdefault(link.down, []).append((link.up, link.element))
    found: list[tuple[int, int, Any]] = []
    seen, waiting = {open_water(network, sump)}, [open_water(network, sump)]
    while waiting:
        node = waiting.pop()
        for beyond, element in beside.get(node, []):
            if beyond not in seen:
                seen.add(beyond)
                waiting.append(beyond)
                found.append((beyond, node, element))
    return found


def crests_held(network: Network) -> list[float]:
    """Return for each chamber the level that the walls between it and its sump's open water hold back, m (that one: -inf)."""
    held: dict[int, float] = {}
    for sump in network.sumps:
        held[open_water(network, sump)] = float("-inf")
        for beyond, nearer, element in outward(network, sump):
            held[beyond] = max(float(element.holds), held[nearer])
    return [held[k] for k in network.chambers]


def _of(network: Network, values: Sequence[float], sump: Sump | None) -> list[float]:
    """Return what belongs to a sump out of a list for all chambers; a list for the sump alone is returned as it is."""
    if sump is None or len(values) == len(sump) != len(network.chambers):
        return list(values)
    return [value for k, value in zip(network.chambers, values, strict=True) if k in sump]


def chamber_levels(network: Network, level: float, was: Sequence[float], sump: Sump | None = None) -> list[float]:
    """Return the chambers' levels at rest when the open water stands at `level`; `was` are their running levels, m."""
    crests = _of(network, crests_held(network), sump)
    return [level if level > held else min(before, held) for held, before in zip(crests, _of(network, was, sump), strict=True)]


def sump_volume(network: Network, levels: Sequence[float], sump: Sump | None = None) -> float:
    """Return the water in all sumps, or in one, at given chamber levels, m3."""
    total = 0.0
    for k, level in zip(network.chambers if sump is None else sump, _of(network, levels, sump), strict=True):
        body = network.waters[k].body
        assert body is not None
        total += float(body.stored(level)[0])
    return total


def level_for(network: Network, volume: float, was: Sequence[float], sump: Sump | None = None) -> float:
    """Return the level of the open water at rest when all sumps, or one, hold `volume` (m3), by bisection to 1 nm."""
    places = network.chambers if sump is None else sump
    bottoms = [float(network.waters[k].body.bottom) for k in places]  # type: ignore[union-attr]
    low, high = min(bottoms) - 1.0, max(bottoms) + 1.0

    def less(level: float) -> bool:
        return sump_volume(network, chamber_levels(network, level, was, sump), sump) < volume

    while less(high):
        high += high - low
    low, high = halved(low, high, less, close=1e-9)
    return 0.5 * float(low + high)


def lowest_opening(network: Network, sump: Sump | None = None) -> float:
    """Return the height of a sump's lowest opening, without one named the lowest of all sumps' openings, m."""
    openings = [network.waters[k].opening for k in (network.chambers if sump is None else sump)]
    return min((float(opening) for opening in openings if opening is not None), default=float("inf"))


def room_at_rest(network: Network, was: Sequence[float], sump: Sump | None = None, opening: float | None = None) -> float:
    """Return the most that all sumps, or one, hold at rest before the lowest opening spills, m3.

    A chamber behind a wall higher than the opening takes no more than it held while running.
    """
    brim = lowest_opening(network, sump) if opening is None else opening
    crests = _of(network, crests_held(network), sump)
    return sump_volume(network, [brim if brim > held else min(before, brim)
                                 for held, before in zip(crests, _of(network, was, sump), strict=True)], sump)
