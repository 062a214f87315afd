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

from hydro.elements.holding import Filling, falling
from hydro.errors import SolveError
from hydro.network.manifolds import runs
from hydro.network.model import JUNCTION, Network
from hydro.solve import Solution, System, relax, solve
from hydro.solve.storage import Storage
from hydro.transient.state import TransientState, holds_volume

LINE_AREA = 1.0
"""Area over which contents of lines count as a level in the error, m2: 20 mL at the usual tolerance."""
INSTANT = 1e-4
"""Step in which levels do not move but flows find their place, s."""
SHORT = 2e-3
"""Step up to which a solution is looked for by every means, s."""
GOOD = 1e-12
"""Squared misfit (1 um) that is enough where rounding over a short step keeps Newton from its own limit."""
NEAR = 0.02
"""Water over an intake below which one of several pumps may be about to draw air, m."""
AT_REST = 1e-13
"""Reversed flow from which a pump with its intake in the air is looked for, m3/s: its law bends sharply at rest."""
UNDER_WAY = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
"""Shares of a pump's most flow at which it is looked for where it starts from rest."""
QUICK, LONG = 12, 25
"""Most steps of Newton from the instant before, and from elsewhere."""


def solved_step(system: System, starts: Iterable[tuple[Sequence[float], Sequence[float]]]) -> Solution | None:
    """Return the solution of one step from one of several starts, None where it is not found.

    A long step is rather taken in pieces than looked for from afar.
    """
    h: Sequence[float] = ()
    q: Sequence[float] = ()
    for k, (h, q) in enumerate(starts):
        try:
            best = solve(system, h, q, LONG if k else QUICK)
        except (ZeroDivisionError, RuntimeError):  # on the way nothing held some water where it stands: not from here
            continue
        if best.solved or best.merit < GOOD:
            return best
    assert system.storage is not None
    if system.storage.dt > SHORT:
        return None
    try:
        best = solve(system, *relax(system, h, q), 60, False)
    except (ZeroDivisionError, RuntimeError):
        return None
    return best if best.solved or best.merit < GOOD else None


def step_guesses(moment: TransientState) -> Iterator[tuple[Sequence[float], Sequence[float]]]:
    """Yield where to look for the next instant: here; with pumps drawing air, moving what reaches them, or nothing; under way.

    Of several chambers that pumps draw from those near an intake are asked, all together and then each.
    """
    yield moment.levels, moment.flows
    drawn: dict[int, list[int]] = {}
    for k in moment.network.pumps:
        if hasattr(moment.network.links[k].element, "intake") and moment.flows[k] > 0.0:
            drawn.setdefault(moment.network.links[k].up, []).append(k)
    if len(moment.network.pumps) > 1:
        drawn = {node: pumps for node, pumps in drawn.items() if moment.levels[node] < intake_of(moment.network, pumps) + NEAR}
    if len(drawn) > 1:
        yield _drawing_air(moment, drawn)
    for node, pumps in drawn.items():
        yield _drawing_air(moment, {node: pumps})
    dry = [k for k in moment.network.pumps if hasattr(moment.network.links[k].element, "intake")
           and moment.levels[moment.network.links[k].up] < intake_of(moment.network, [k]) + NEAR]
    if dry:
        still = {k for pump in dry for k in moment.stores[moment.store_of(pump)].system.links}
        yield moment.levels, [-AT_REST if k in still else q for k, q in enumerate(moment.flows)]
    resting = [k for k in moment.network.pumps if hasattr(moment.network.links[k].element, "curve")
               and runs(moment.network.links[k].element) and abs(moment.flows[k]) < AT_REST]
    for share in UNDER_WAY if resting else ():
        yield moment.levels, _under_way(moment, resting, share)


def _under_way(moment: TransientState, resting: Sequence[int], share: float) -> list[float]:
    """Return flows with resting pumps, and the lines on their side, at a share of their most: a curve is flat at no flow."""
    flows = list(moment.flows)
    for pump in resting:
        element: Any = moment.network.links[pump].element
        for k in (pump, *moment.stores[moment.store_of(pump)].system.links):
            flows[k] = share * float(element.curve.flows[-1])
    return flows


def intake_of(network: Network, pumps: Sequence[int]) -> float:
    """Return the highest intake of some pumps, m: the first to draw air."""
    return max(float(network.links[k].element.intake) for k in pumps)


def _drawing_air(moment: TransientState, drawn: dict[int, list[int]]) -> tuple[Sequence[float], Sequence[float]]:
    """Return levels and flows with the pumps of some chambers drawing air."""
    levels, flows = list(moment.levels), list(moment.flows)
    for node, pumps in drawn.items():
        moves = sum(moment.flows[k] for k in pumps)
        share = max(moment.gaining(node) + moves, 1e-9) / moves
        levels[node] = intake_of(moment.network, pumps)
        for k in {k for pump in pumps for k in moment.stores[moment.store_of(pump)].system.links}:
            flows[k] = moment.flows[k] * share
    return levels, flows


class Passing:
    """What a drain's line passes on in one step: flow in -> (flow out, slope). Asked twice, so the latest answer is kept."""

    def __init__(self, filling: Filling, held: float, dt: float) -> None:
        self.filling, self.held, self.dt = filling, held, dt
        self.asked, self.answer = float("nan"), (0.0, 0.0)

    def __call__(self, q: float) -> tuple[float, float]:
        """Return the flow out (m3/s) and its slope."""
        if q != self.asked:
            self.asked, self.answer = q, self.filling.passing(self.held, q, self.dt)
        return self.answer


def with_fillings(moment: TransientState) -> TransientState:
    """Return the instant with what is worked out of its drains' lines: anew of those that were changed since."""
    links = moment.network.links
    known = (*moment.fillings, *[None] * len(links))
    found = tuple(None if not holds_volume(link.element) else
                  old if old is not None and old.drain is link.element else Filling.of(link.element)
                  for link, old in zip(links, known, strict=False))
    return replace(moment, fillings=found)


def storage_of(moment: TransientState, dt: float) -> tuple[Storage, list[float]]:
    """Return the storage of a step, and what is left on its way down out of each header system's lines after it."""
    network = moment.network
    rests = [falling(store.falling, store.system.full or 1.0, store.flow, dt) for store in moment.stores]
    laws: dict[int, Any] = {}
    for k, filling in enumerate(moment.fillings):
        if filling is not None:
            laws[k] = Passing(filling, moment.held[k], dt)
    for k in filled_by(moment):
        laws[k] = lambda q: (0.0, 0.0)
    stored = tuple(None if water.body is None else water.body.stored for water in network.waters)
    sources: dict[int, float] = {}
    for store, rest in zip(moment.stores, rests, strict=True):
        if store.falling > 0.0:
            sources[store.into] = sources.get(store.into, 0.0) + (store.falling - rest) / dt
    return Storage(dt, moment.volumes, stored, sources, laws), rests


def filled_by(moment: TransientState) -> dict[int, int]:
    """Return the pumps whose water fills lines, each with the place of the header system in `stores`."""
    network = moment.network
    return {k: n for n, store in enumerate(moment.stores) if store.filling for k in store.system.pumps
            if network.waters[network.links[k].up].kind != JUNCTION}


def euler(moment: TransientState, dt: float) -> TransientState | None:
    """Return the instant `dt` later by one implicit step, None where its equations are not solved."""
    moment = with_fillings(moment)
    storage, rests = storage_of(moment, dt)
    network = moment.network
    system = replace(network.system(None), storage=storage)
    found = solved_step(system, step_guesses(moment))
    if found is None:
        return None
    out = list(found.flows)
    for k, law in storage.passing.items():
        out[k] = law(out[k])[0]
    gained = [0.0] * len(network.waters)
    for link, q, o in zip(network.links, found.flows, out, strict=True):
        gained[link.up] -= q * dt
        gained[link.down] += o * dt
    came_down = list(moment.came_down)
    for store, rest in zip(moment.stores, rests, strict=True):
        if store.falling > 0.0:
            gained[store.into] += store.falling - rest
            came_down[store.into] += store.falling - rest
    filling = filled_by(moment)
    held = tuple(h + dt * (found.flows[k] - out[k]) if k in storage.passing and k not in filling else h
                 for k, h in enumerate(moment.held))
    filled = [0.0] * len(moment.stores)
    for k, n in filling.items():
        filled[n] += dt * found.flows[k]
    return replace(
        moment, time=moment.time + dt, levels=tuple(found.heads), flows=tuple(found.flows), held=held,
        volumes=tuple(v + g if stored is not None else 0.0
                      for v, g, stored in zip(moment.volumes, gained, storage.stored, strict=True)),
        stores=tuple(replace(store, lines=store.lines + more, falling=rest) if store.falling > 0.0 or store.filling else store
                     for store, more, rest in zip(moment.stores, filled, rests, strict=True)),
        came_down=tuple(came_down),
        entered=tuple(e + dt * q for e, q in zip(moment.entered, found.flows, strict=True)),
        left=tuple(e + dt * o for e, o in zip(moment.left, out, strict=True)))


def time_step(moment: TransientState, dt: float) -> tuple[TransientState, float] | None:
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
    misses += [max(abs(a.lines - b.lines), abs(a.falling - b.falling)) / LINE_AREA
               for a, b in zip(halves.stores, whole.stores, strict=True)]
    return extrapolated(whole, halves), max(misses)


def extrapolated(whole: TransientState, halves: TransientState) -> TransientState:
    """Return what two half steps and the whole one lead to: every amount 2 b - a, unless that would be less than nothing."""
    def further(a: tuple[float, ...], b: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(2.0 * y - x for x, y in zip(a, b, strict=True))

    held = further(whole.held, halves.held)
    stores = tuple(b if b is a else replace(b, lines=2.0 * b.lines - a.lines, falling=2.0 * b.falling - a.falling)
                   for a, b in zip(whole.stores, halves.stores, strict=True))
    volumes = further(whole.volumes, halves.volumes)
    if min(*held, *volumes) < 0.0 or any(store.falling < 0.0 for store in stores):
        return halves
    levels = tuple(level if water.body is None else level_of(water.body, volume, level) for water, volume, level in
                   zip(halves.network.waters, volumes, halves.levels, strict=True))
    return replace(halves, levels=levels, volumes=volumes, held=held, stores=stores,
                   entered=further(whole.entered, halves.entered), left=further(whole.left, halves.left),
                   came_down=further(whole.came_down, halves.came_down))


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


def anew(moment: TransientState) -> TransientState:
    """Return the instant with its flows found anew, after something was changed: levels and volumes stay."""
    found = euler(moment, INSTANT)
    if found is None:
        raise stuck(moment)
    levels = tuple(new if water.body is None else old for water, old, new in
                   zip(moment.network.waters, moment.levels, found.levels, strict=True))
    return replace(moment, levels=levels, flows=found.flows)


def stuck(moment: TransientState) -> SolveError:
    """Return the complaint that a step is not solved."""
    system = moment.network.system(None)
    worst = moment.network.links[system.worst(moment.levels, moment.flows)].name
    return SolveError(f"through time, after {moment.time:.4g} s", 0, 0.0, worst, "look at the heights and sizes along that part")
