"""Valves that are tuned by hand: on the running build, until the next higher inlet of the same water carries a trickle.

    up   where the next inlet, running with air, carries the trickle s Q          its own law
    K    = (up - what the drain needs there, its valve open) / (V^2 / 2g) + K open, for the flow left over: Q (1 - s) - q_lower

Q is what leaves the water, s the default 'trickle share', q_lower what lower inlets take with it, V the speed in the valve. Q
hangs on K through the pump's lift, a little: the loop is solved again until K stays. The drain runs as a siphon, the next inlet
with air, the pump chamber as the file states it. Derived here from the drains' laws; valid as they are.

The setting is that of the running build under one choice of values. A blocked drain, a cut or a fault leaves the valve where
it stands.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.elements.fittings import LocalLoss, Valve
from hydro.errors import SolveError
from hydro.network.model import Closing, Network
from hydro.steady.pump_lift import solve_true
from hydro.steady.state import State

ROUNDS = 40
STAYS = 1e-7
"""Change of K, as a share, at which it counts as found."""
NO_NEXT = "there is no higher inlet in its water to leave a trickle for: counted as fully open"
TOO_SMALL = ("even fully open its line does not carry, as a siphon, all but a trickle at the level at which {} trickles: it "
             "cannot be tuned, and is counted as fully open")
STAYS_DRY = "however far it is shut, lower inlets take all and {} stays dry: it cannot be tuned, and is counted as fully open"
NOT_SOLVED = "no setting was found at which the loop runs with a trickle in {}: counted as fully open"
Settings = Mapping[int, Valve]
"""Place of a drain in `links` -> its valve as it was set."""


def tuned_drains(network: Network) -> tuple[int, ...]:
    """Return the drains with a valve that is tuned."""
    return tuple(k for k in network.drains if network.links[k].element.line.tuned is not None)


def next_higher(network: Network, drain: int) -> int | None:
    """Return the drain with the next higher lip in the same water, None without one."""
    crests = {k: float(network.links[k].element.inlet.crest) for k in network.leaving(network.links[drain].up, network.drains)}
    above = [k for k in crests if crests[k] > crests[drain]]
    return min(above, key=crests.__getitem__, default=None)


def valve_settings(network: Network) -> dict[int, Valve]:
    """Return the tuned valves of a network as they stand."""
    return {k: network.links[k].element.line.tuned for k in tuned_drains(network)}


def set_to(network: Network, settings: Settings) -> Network:
    """Return the network with its tuned valves as they were set."""
    changes = {}
    for k, valve in settings.items():
        line = network.links[k].element.line
        changes[k] = {"line": line.with_part(line.parts.index(line.tuned), valve)}
    return network.changed(changes)


def tuned(network: Network, closing: Closing) -> Network:
    """Return the network with each tuned valve as it is set where the loop runs as `closing` says.

    `network` has them fully open. Where no setting leaves a trickle a valve stays so, and says why.
    """
    upper = {k: next_higher(network, k) for k in tuned_drains(network)}
    open_valves = valve_settings(network)
    settings = {k: valve.with_k(valve.k, NO_NEXT) for k, valve in open_valves.items() if upper[k] is None}
    wanted = {k: beside for k, beside in upper.items() if beside is not None}
    if not wanted:
        return set_to(network, settings)
    pinned = {**dict.fromkeys(wanted.values(), WITH_AIR), **dict.fromkeys(wanted, SIPHON)}
    others: dict[int, str] = {}
    found, state = {k: open_valves[k] for k in wanted}, None
    for _ in range(ROUNDS):
        try:
            state = solve_true(set_to(network, found).in_modes({**others, **pinned}), closing, state)
        except SolveError:
            break
        before = found
        found = {k: _set(network, state, k, beside) for k, beside in wanted.items()}
        if all(abs(float(found[k].k) - float(before[k].k)) <= STAYS * float(found[k].k) for k in wanted):
            broken = _broken(state, pinned)
            if not broken:
                return set_to(network, {**settings, **found})
            others.update(broken)
    unsolved = {k: open_valves[k].with_k(open_valves[k].k, NOT_SOLVED.format(_name(network, beside)))
                for k, beside in wanted.items()}
    return set_to(network, {**settings, **unsolved})


def _name(network: Network, k: int) -> str:
    return network.links[k].name


def _broken(state: State, pinned: Mapping[int, str]) -> dict[int, str]:
    """Return the drains beside the tuned ones that do not stay in their mode, with the one they pass to."""
    return {k: guard.next_mode for k in state.network.drains if k not in pinned
            for guard in state.network.links[k].element.guards(float(state.flows[k]), *map(float, state.ends(k)))
            if guard.margin < 0.0}


def _set(network: Network, state: State, k: int, beside: int) -> Valve:
    """Return a drain's valve as it has to stand for the next inlet's trickle, by the flows and levels of a state."""
    drain: Any = network.links[k].element
    upper: Any = network.links[beside].element.in_mode(WITH_AIR)
    valve: Valve = drain.line.tuned
    flows = {one: max(float(state.flows[one]), 0.0) for one in network.leaving(network.links[k].up, network.drains)}
    whole = sum(flows.values())
    trickle = float(valve.trickle or 0.0) * whole
    rest = whole - trickle - sum(flow for one, flow in flows.items() if one not in (k, beside))
    if rest <= 0.0:
        return valve.with_k(valve.k, STAYS_DRY.format(_name(network, beside)))
    # The residual falls by what is missing under the level that it needs: asked at level 0, it is that level.
    level = -float(upper.residual(trickle, 0.0, float(state.ends(beside)[1]))[0])
    spare = level + float(drain.in_mode(SIPHON).residual(rest, 0.0, float(state.ends(k)[1]))[0])
    if spare < 0.0:
        return valve.with_k(valve.k, TOO_SMALL.format(_name(network, beside)))
    over = level - float(drain.inlet.crest) - float(drain.pipe_head(rest, float(state.ends(k)[1])))
    return valve.with_k(float(valve.k) + over / float(LocalLoss.of(1.0, valve.bore).loss(rest)[0]))
