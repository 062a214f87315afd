"""One step through time: the same residuals with storage, implicit, and what its error is.

    (V_new - V_old)/dt = flows in - flows out, at the new levels          backward Euler: stable however stiff
    two half steps against a whole one                                    the difference is the error
    V = 2 V_halves - V_whole                                              taken on from there (second order)

Volumes are combined, levels read off them: every water's own balance closes to rounding.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from hydro.elements.holding import falling, passing
from hydro.errors import SolveError
from hydro.moment import Moment, holds_volume
from hydro.solve import Solution, System, relax, solve
from hydro.solve.storage import Storage

LINE_AREA = 1.0
"""Area over which contents of lines count as a level in the error, m2: 20 mL at the usual tolerance."""
INSTANT = 1e-4
"""Step in which levels do not move but flows find their place, s."""
SHORT = 2e-3
"""Step up to which a solution is looked for by every means, s."""
GOOD = 1e-12
"""Squared misfit (1 um) that is enough where rounding over a short step keeps Newton from its own limit."""
QUICK, LONG = 12, 25
"""Most steps of Newton from the instant before, and from elsewhere."""


def solved(system: System, starts: Iterable[tuple[Sequence[float], Sequence[float]]]) -> Solution | None:
    """Return the solution of one step from one of several starts, None where it is not found.

    A long step is rather taken in pieces than looked for from afar.
    """
    h: Sequence[float] = ()
    q: Sequence[float] = ()
    for k, (h, q) in enumerate(starts):
        best = solve(system, h, q, LONG if k else QUICK)
        if best.solved or best.merit < GOOD:
            return best
    assert system.storage is not None
    if system.storage.dt > SHORT:
        return None
    best = solve(system, *relax(system, h, q), 60, False)
    return best if best.solved or best.merit < GOOD else None


def starts(moment: Moment) -> Iterator[tuple[Sequence[float], Sequence[float]]]:
    """Yield where to look for the next instant: here; with the pump drawing air, moving only what reaches it."""
    yield moment.levels, moment.flows
    network = moment.network
    pump: Any = network.links[network.pump].element
    flow = moment.flows[network.pump]
    if hasattr(pump, "intake") and flow > 0.0:
        reaches = max(moment.gaining(network.pump_chamber) + flow, 1e-9)
        beyond = {network.pump, *(k for k, link in enumerate(network.links) if hasattr(link.element, "line")
                                  and k not in network.drains)}
        levels = list(moment.levels)
        levels[network.pump_chamber] = float(pump.intake)
        yield levels, [q * reaches / flow if k in beyond else q for k, q in enumerate(moment.flows)]


def storage_of(moment: Moment, dt: float) -> tuple[Storage, float]:
    """Return the storage of a step, and what is left on its way down out of the lines after it."""
    network = moment.network
    rest = falling(moment.falling, float(network.full) or 1.0, moment.fall_flow, dt)
    laws: dict[int, Any] = {}
    for k, link in enumerate(network.links):
        if holds_volume(link.element):
            laws[k] = lambda q, element=link.element, held=moment.held[k]: passing(element, held, q, dt)
    if moment.filling:
        laws[network.pump] = lambda q: (0.0, 0.0)
    stored = tuple(None if water.body is None else water.body.stored for water in network.waters)
    source = {network.pump_chamber: (moment.falling - rest) / dt}
    return Storage(dt, moment.volumes, stored, source, laws), rest


def euler(moment: Moment, dt: float) -> Moment | None:
    """Return the instant `dt` later by one implicit step, None where its equations are not solved."""
    storage, rest = storage_of(moment, dt)
    network = moment.network
    system = replace(network.system(None), storage=storage)
    found = solved(system, starts(moment))
    if found is None:
        return None
    out = list(found.flows)
    for k, law in storage.passing.items():
        out[k] = law(out[k])[0]
    gained = [0.0] * len(network.waters)
    for link, q, o in zip(network.links, found.flows, out, strict=True):
        gained[link.up] -= q * dt
        gained[link.down] += o * dt
    let_down = moment.falling - rest
    gained[network.pump_chamber] += let_down
    held = tuple(h + dt * (found.flows[k] - out[k]) if k in storage.passing and not (moment.filling and k == network.pump)
                 else h for k, h in enumerate(moment.held))
    filled = dt * found.flows[network.pump] if moment.filling else 0.0
    return replace(
        moment, time=moment.time + dt, levels=tuple(found.heads), flows=tuple(found.flows), held=held,
        volumes=tuple(v + g if stored is not None else 0.0
                      for v, g, stored in zip(moment.volumes, gained, storage.stored, strict=True)),
        lines=moment.lines + filled, falling=rest, let_down=moment.let_down + let_down,
        entered=tuple(e + dt * q for e, q in zip(moment.entered, found.flows, strict=True)),
        left=tuple(e + dt * o for e, o in zip(moment.left, out, strict=True)))


def step(moment: Moment, dt: float) -> tuple[Moment, float] | None:
    """Return the instant `dt` later with the error of the step as a level, m; None where a step is not solved."""
    whole = euler(moment, dt)
    half = euler(moment, 0.5 * dt)
    halves = None if half is None else euler(half, 0.5 * dt)
    if whole is None or halves is None:
        return None
    areas = [None if water.body is None else float(water.body.stored(level)[1])
             for water, level in zip(moment.network.waters, halves.levels, strict=True)]
    misses = [abs(a - b) / area for a, b, area in zip(halves.volumes, whole.volumes, areas, strict=True) if area is not None]
    misses += [abs(a - b) / LINE_AREA for a, b in zip(halves.held, whole.held, strict=True)]
    misses += [abs(halves.lines - whole.lines) / LINE_AREA, abs(halves.falling - whole.falling) / LINE_AREA]
    return extrapolated(whole, halves), max(misses)


def extrapolated(whole: Moment, halves: Moment) -> Moment:
    """Return what two half steps and the whole one lead to: every amount 2 b - a, unless that would be less than nothing."""
    def further(a: tuple[float, ...], b: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(2.0 * y - x for x, y in zip(a, b, strict=True))

    held, rest = further(whole.held, halves.held), 2.0 * halves.falling - whole.falling
    if min(held) < 0.0 or rest < 0.0:
        return halves
    volumes = further(whole.volumes, halves.volumes)
    levels = tuple(level if water.body is None else level_of(water.body, volume, level) for water, volume, level in
                   zip(halves.network.waters, volumes, halves.levels, strict=True))
    return replace(halves, levels=levels, volumes=volumes, held=held, falling=rest, lines=2.0 * halves.lines - whole.lines,
                   entered=further(whole.entered, halves.entered), left=further(whole.left, halves.left),
                   let_down=2.0 * halves.let_down - whole.let_down)


def level_of(body: Any, volume: float, guess: float) -> float:
    """Return the level at which a body holds a volume (m3), from a guess nearby, by Newton to rounding."""
    level = guess
    for _ in range(30):
        stored, area = body.stored(level)
        change = (stored - volume) / area
        level -= change
        if abs(change) < 1e-13:
            break
    return level


def anew(moment: Moment) -> Moment:
    """Return the instant with its flows found anew, after something was changed: levels and volumes stay."""
    found = euler(moment, INSTANT)
    if found is None:
        raise stuck(moment)
    levels = tuple(new if water.body is None else old for water, old, new in
                   zip(moment.network.waters, moment.levels, found.levels, strict=True))
    return replace(moment, levels=levels, flows=found.flows)


def stuck(moment: Moment) -> SolveError:
    """Return the complaint that a step is not solved."""
    system = moment.network.system(None)
    worst = moment.network.links[system.worst(moment.levels, moment.flows)].name
    return SolveError(f"through time, after {moment.time:.4g} s", 0, 0.0, worst, "look at the heights and sizes along that part")
