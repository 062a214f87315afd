"""What several drains or two waters share: a pipe that more than one drain runs into, siphon tubes, lines over the rim."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from hydro.checks.check import FAILS, HOLDS, TIGHT, Check, CheckKind, held
from hydro.checks.folding import worst_of_groups
from hydro.elements import limits
from hydro.elements.drain import QUIET_AT, SIPHON
from hydro.elements.high_point import GREATEST, SOFTENS
from hydro.elements.siphon_tube import SiphonTube
from hydro.network.model import JUNCTION
from hydro.quantities.arrays import GRAVITY
from hydro.scenarios.results import Results
from hydro.shutdown import Shutdown
from hydro.steady.pump_lift import mouth_head


def shared_checks(results: Results) -> list[Check]:
    """Return the checks on shared drain pipes, siphon tubes and lines that climb over a rim; none where there are none."""
    network, build = results.network, results.build
    tubes = [(k, network.links[k].name) for k in network.runs if isinstance(network.links[k].element, SiphonTube)]
    over = [(k, network.links[k].name) for k in network.returns if network.links[k].element.end.highest is not None]
    return [
        *(shared_pipe(results, node) for node in headers_of_drains(results)),
        *worst_of_groups(build, [(name, prime(results, k)) for k, name in tubes if results.element(k).highest is not None]),
        *worst_of_groups(build, [(name, suction(results, k)) for k, name in over]),
    ]


def headers_of_drains(results: Results) -> list[int]:
    """Return the headers that more than one drain runs into."""
    network = results.network
    into = [network.links[k].down for k in network.drains]
    return [node for node in dict.fromkeys(into) if network.waters[node].kind == JUNCTION and into.count(node) > 1]


def shared_pipe(results: Results, node: int) -> Check:
    """Hold J = V/sqrt(g D) of a pipe that several drains share against the limit up to which it vents itself.

    Beyond it the pipe runs full in places and the air of one drain comes out at another; a siphon that shares its pipe draws
    the others' air and breaks.
    """
    network = results.network
    quiet, origin = results.limit(QUIET_AT)
    name = network.waters[node].name
    carrying = [k for k, link in enumerate(network.links) if link.up == node and hasattr(link.element, "line")]
    number = max((_number(results, k) for k in carrying), default=0.0)
    drains = [k for k in network.drains if network.links[k].down == node]
    check = held(CheckKind.SHARED_PIPE, f"{len(drains)} drains share {name}: it runs half empty and vents itself", number, quiet,
                 origin, otherwise=TIGHT, subject=name)
    if any(state.network.links[k].element.mode == SIPHON for state in results.answer.states for k in drains):
        return check.downgraded("a siphon shares its pipe with other drains: each draws the other's air", FAILS)
    return check if check.verdict == HOLDS else check.downgraded("it fills up, and the air of one drain comes out at another")


def _number(results: Results, k: int) -> float:
    """Return the largest J of a line's runs in any way the loop may run."""
    flow = max(abs(float(state.flows[k])) for state in results.answer.states)
    bores = [float(pipe.bore) for pipe in results.element(k).line.pipes]
    return max((flow / (math.pi / 4.0 * bore * bore * math.sqrt(GRAVITY * bore)) for bore in bores), default=0.0)


def prime(results: Results, k: int) -> Check:
    """Hold the water over the ends of a siphon tube, running and after a power cut, against nothing: without it air gets in.

    A tube that lost its prime passes nothing: what it should carry goes over the rim. Air that collects at its crown takes it in
    time, so it never does better than tight where the water is too slow to carry air along.
    """
    network = results.network
    tube: Any = results.element(k)
    link, states = network.links[k], results.answer.states
    running = min(float(tube.cover(*map(float, state.ends(k)))) for state in states)
    rest = [level for case in results.stopped.values() for level in case_levels(results, case, (link.up, link.down))]
    cover = min([running, *(level - float(tube.stops_at) for level in rest)])
    check = held(CheckKind.PRIME, f"{link.name} keeps its ends under water and its prime", cover, 0.0,
                 "water over the higher end, running and after a power cut", subject=link.name)
    broken = [guard.words for state in states
              for guard in state.network.links[k].element.guards(float(state.flows[k]), *map(float, state.ends(k)))
              if guard.margin < 0.0]
    if broken:
        return check.downgraded(broken[0], FAILS)
    if check.verdict == HOLDS and check.margin < results.limit(limits.TANK_RIM)[0]:
        check = check.downgraded("less water stands over its ends than a wave takes away")
    slow = min(float(tube.air_number(float(state.flows[k]))) for state in states) < float(tube.clears_at)
    return (
        check.downgraded("the water may be too slow to carry air over its highest point; published limits disagree")
        if slow
        else check
    )


def case_levels(results: Results, case: Shutdown, waters: tuple[int, ...]) -> list[float]:
    """Return the levels of some waters at rest after a power cut, m."""
    levels = {**dict(zip(results.network.chambers, case.chambers, strict=True)), **case.levels}
    return [float(levels[k]) for k in waters]


def suction(results: Results, k: int) -> Check:
    """Hold the suction where a return climbs over its mouth's level against what hose and water stand.

    All losses are counted before the highest point, which is the side of more suction: p = mouth's level - highest point.
    """
    end: Any = results.element(k).end
    name = results.network.links[k].name
    soft, origin = results.limit(SOFTENS)
    greatest, _ = results.limit(GREATEST)
    level = min(mouth_head(state, k) for state in results.answer.states)
    value = max(float(end.highest) - level, 0.0)
    check = held(CheckKind.SUCTION, f"{name} does not draw itself flat at its highest point", value, soft, origin,
                 otherwise=TIGHT, subject=name)
    check = replace(check, soft=False, reserve=greatest - soft)
    return check if value <= greatest else check.downgraded("the column parts there", FAILS)
