"""Water that stands: where a tank or box is left that gets no water and gives none.

The laws leave the level of such a water open, anywhere up to its lip; what still seeps through ways that are shut (litres in
years) would choose it, far below the bottom too. It stands

    line given     where it has drained to, once filled to its lip: at the lip, or where water runs back through a return that
                   no check valve holds, or is drawn out through it, down to mouth or hole, or to the head that stands in the
                   return where that is higher
    total given    there as well, and lower by what chambers would otherwise lack; while a pump chamber stands at its intake,
                   all else is above, and the tank stands where that fills it to

and never below its bottom. Where even dry tanks leave a chamber less than nothing there is no state.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from hydro.elements.break_above import open_end
from hydro.elements.fittings import Closed
from hydro.elements.line import COVER
from hydro.errors import SolveError
from hydro.network.model import JUNCTION, Network
from hydro.network.paths import has_check_valve, is_pipe
from hydro.steady.initial_guess import crest_of

if TYPE_CHECKING:
    from hydro.steady.state import State

SEEPS = 3e-9
"""Flow up to which a way is shut, m3/s: a head of 30 m on what stands shut."""
UNDER = 1.5e-3
"""How far under its lip a tank stands that is full to it, m: the laws of edges begin some tenths of a millimetre below."""
HARDLY = 1e-4
"""A level this near to where it stands is left alone, m."""
DRY = 1e-7
"""Level below a bottom that rounding leaves, m."""
AT_INTAKE = 1e-3
ROUNDS = 4
HALVINGS = 30

Again = Callable[[Mapping[int, float], "State"], "State"]
"""Solve again with the levels of some waters held, from a state nearby."""


def water_at_rest(state: State, again: Again) -> State:
    """Return the state with its standing waters where they stand; SolveError where the water somewhere would be negative.

    Only for one design (floats). `again` solves with levels held.
    """
    held: dict[int, float] = {}
    for _ in range(ROUNDS):
        wanted = {k: level for k, level in _stands(state).items() if k not in held
                  and abs(float(state.levels[k]) - level) > HARDLY}
        if not wanted and not _lacking(state):
            break
        held = {**held, **wanted}
        found, lowered = _with(shut_off_dry(state, held), held, again)
        emptied = _drawn_out(found, held)
        if emptied:
            held = {**held, **emptied}
            found, lowered = _with(shut_off_dry(state, held), held, again)
        if any(abs(_net(found, k)) > SEEPS for k in held):  # it moves there: what stands is open after all
            break
        state = found
        if lowered:
            break
    below = [k for k in under_bottom(state) if state.network.waters[k].level is None]
    if below:
        name = state.network.waters[below[0]].name
        raise SolveError("running", state.steps, 0.0, name, "there is not enough water for it to stand above its bottom")
    return state


def under_bottom(state: State) -> list[int]:
    """Return the waters that stand below their bottom, lowest first."""
    found = [(float(state.levels[k]) - float(water.body.bottom), k) for k, water in enumerate(state.network.waters)
             if water.body is not None]
    return [k for margin, k in sorted(found) if margin < -DRY]


def _net(state: State, k: int) -> float:
    return sum((float(flow) * ((link.down == k) - (link.up == k)) for link, flow in
                zip(state.network.links, state.flows, strict=True)), 0.0)


def _drawn_out(state: State, held: Mapping[int, float]) -> dict[int, float]:
    """Return the held waters that something draws on through their returns, with the level (m) at which that ends."""
    network, mouths = state.network, dict[int, list[float]]()
    for n in network.returns:
        link = network.links[n]
        if link.down in held and float(state.flows[n]) < -SEEPS:
            mouths.setdefault(link.down, []).append(_dry_mouth(link.element))
    return {k: max(min(heights), _bottom(network, k)) for k, heights in mouths.items() if _net(state, k) < -SEEPS}


def shut_off_dry(state: State, held: Mapping[int, float]) -> State:
    """Return the state with the returns shut whose mouths lie under the bottom of a tank held there: dry, it passes nothing."""
    network, changes = state.network, dict[int, dict[str, float]]()
    for n in network.returns:
        link = network.links[n]
        if link.down in held and held[link.down] <= _bottom(network, link.down) and _dry_mouth(link.element) < held[link.down]:
            changes[n] = {"aired" if n in network.pumps else "shut": 1.0}
    return replace(state, network=network.changed(changes)) if changes else state


def _with(state: State, held: Mapping[int, float], again: Again) -> tuple[State, bool]:
    """Return the state with waters held, and whether lower: where some chamber has less than nothing, it and they share.

    The tanks give first, until no pump stands in the air: further down than its intake none draws its chamber.
    """
    tried = _tried(again, held, state)
    if tried is not None and not _lacking(tried):
        return tried, False
    found = tried or state
    lower = _lowered(found, held, again, _in_the_air)
    if lower is not None:
        return lower, True
    if tried is not None:
        chambers = {k for k in found.network.chambers if found.closing is not None and k != found.closing.node} - _moving(found)
        held = {**{k: max(float(found.levels[k]), _bottom(found.network, k)) for k in chambers}, **held}
    lower = _lowered(found, held, again, _lacking)
    return lower or again({k: _bottom(state.network, k) for k in held}, found), True


def _lowered(near: State, held: Mapping[int, float], again: Again, short: Callable[[State], bool]) -> State | None:
    """Return the state with waters held as high over their bottoms as leaves no other short; None where they do even when dry."""
    bottoms = {k: _bottom(near.network, k) for k in held}
    low, high, best = 0.0, 1.0, _tried(again, bottoms, near)
    if best is None or short(best):
        return None
    for _ in range(HALVINGS):
        share = 0.5 * (low + high)
        tried = _tried(again, {k: bottoms[k] + share * (level - bottoms[k]) for k, level in held.items()}, best)
        low, high, best = (low, share, best) if tried is None or short(tried) else (share, high, tried)
    return best


def _tried(again: Again, held: Mapping[int, float], near: State) -> State | None:
    """Return the state with waters held; None where it has no solution, for want of the water that they would take."""
    try:
        return again(held, near)
    except SolveError:
        return None


def _lacking(state: State) -> bool:
    return any(k in state.network.chambers for k in under_bottom(state))


def _in_the_air(state: State) -> bool:
    """Whether a chamber lacks water to its bottom, or to the intake of a pump that runs in it."""
    network = state.network
    return _lacking(state) or any(
        float(network.links[k].element.running) > 0.5 and network.waters[network.links[k].up].kind != JUNCTION
        and float(state.ends(k)[0]) < float(network.links[k].element.intake) - DRY for k in network.pumps)


def _bottom(network: Network, k: int) -> float:
    body = network.waters[k].body
    assert body is not None
    return float(body.bottom)


def _stands(state: State) -> dict[int, float]:
    """Return the standing waters above with the levels they stand at, m."""
    network = state.network
    moving = _moving(state)
    joined = {node for k in network.runs for node in (network.links[k].up, network.links[k].down)}
    drawn = state.closing is None or state.closing.level is None
    starved = drawn and any(_at_intake(state, k) for k in network.pumps)
    found, pipes = {}, pipes_by_node(network)
    for k in network.uppers:
        if k in moving or network.waters[k].level is not None:
            continue
        level, bottom = float(state.levels[k]), _bottom(network, k)
        if starved or k in joined:
            if level < bottom - DRY:
                found[k] = bottom
        else:
            found[k] = drained_to(state, k, pipes)
    return found


def still_waters(state: State) -> dict[int, float]:
    """Return the tanks and boxes that get no water and give none, with their levels, m."""
    return {k: float(state.levels[k]) for k in state.network.uppers if k not in _moving(state)}


def _moving(state: State) -> set[int]:
    """Return the waters that get or give some."""
    return {node for link, flow in zip(state.network.links, state.flows, strict=True) if abs(float(flow)) > SEEPS
            for node in (link.up, link.down)}


def _at_intake(state: State, k: int) -> bool:
    pump = state.network.links[k].element
    return float(pump.running) > 0.5 and state.network.waters[state.network.links[k].up].kind != JUNCTION and \
        float(state.ends(k)[0]) < float(pump.intake) + AT_INTAKE


def drained_to(state: State, k: int, pipes: Mapping[int, Sequence[int]]) -> float:
    """Return the level (m) at which a tank or box stands that was full to its lip and gets no more water.

    Where it stands over a mouth that is open back, the head in that return decides; over its lip (drains blocked), what the
    pump lifts to: the state has it.
    """
    network, stands = state.network, float(state.levels[k])
    opening = network.waters[k].opening
    edges = [float(crest_of(network.links[n].element)) for n in network.leaving(k, network.spills)]
    lip = min([*edges, *([float(opening)] if opening is not None else [])], default=float("inf"))
    into = [n for n in network.returns if network.links[n].down == k]
    mouths = [_dry_mouth(network.links[n].element) for n in into if open_back(network, n, pipes)]
    level = min([lip - UNDER, *mouths])
    if level == lip - UNDER and level < stands < lip + UNDER:  # full to its lip: one level, however the solver came there
        return level
    return max(stands if stands > level - HARDLY or level == float("inf") else level, _bottom(network, k))


def _dry_mouth(element: Any) -> float:
    """Return the level at which a mouth lies in the air, or a siphon-break hole that counts, m."""
    end, hole = element.end, getattr(element, "hole", None)
    lowest = float(open_end(element.outlet, hole)) - 2.0 * COVER
    return lowest if end is None else min(lowest, float(end.stop(True) if hole is not None else end.lowest))


def pipes_by_node(network: Network) -> dict[int, list[int]]:
    """Return the full pipes that meet each node, by their places."""
    found: dict[int, list[int]] = {}
    for n, link in enumerate(network.links):
        if is_pipe(network, n):
            for node in {link.up, link.down}:
                found.setdefault(node, []).append(n)
    return found


def open_back(network: Network, k: int, pipes: Mapping[int, Sequence[int]]) -> bool:
    """Whether water that runs back through a return comes to another water: no valve on the way holds or stands shut.

    `pipes` are those of `pipes_by_node`.
    """
    start, waiting, seen = network.links[k].down, [k], {k}
    while waiting:
        here = waiting.pop()
        element = network.links[here].element
        shut = has_check_valve(element) or any(isinstance(part, Closed) for part in element.line.check_valves) \
            or float(getattr(element, "shut", 0.0)) > 0.5 or float(getattr(element, "aired", 0.0)) > 0.5
        if shut:
            continue
        for node in (network.links[here].up, network.links[here].down):
            if node == start:
                continue
            if network.waters[node].kind != JUNCTION:
                return True
            more = [n for n in pipes.get(node, ()) if n not in seen]
            seen.update(more)
            waiting += more
    return False

