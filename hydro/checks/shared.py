"""What several drains or two waters share: a pipe that more than one drain runs into, siphon tubes, lines over the rim."""

from __future__ import annotations

import math
from typing import Any

from hydro.checks.folding import folded
from hydro.checks.row import FAILS, HOLDS, ONLY_JUST, Row, at_least, at_most
from hydro.elements.drain import QUIET_AT, SIPHON
from hydro.elements.high_point import GREATEST, SOFTENS
from hydro.elements.siphon_tube import SiphonTube
from hydro.network.model import JUNCTION
from hydro.quantities.arrays import GRAVITY
from hydro.scenarios.results import Findings
from hydro.shutdown import Stopped
from hydro.steady.pump_lift import mouth_head


def shared_rows(findings: Findings) -> list[Row]:
    """Return the rows on shared drain pipes, siphon tubes and lines that climb over a rim; none where there are none of them."""
    network, build = findings.network, findings.build
    tubes = [(k, network.links[k].name) for k in network.runs if isinstance(network.links[k].element, SiphonTube)]
    over = [(k, network.links[k].name) for k in network.returns if network.links[k].element.end.highest is not None]
    return [*(shared_pipe(findings, node) for node in headers_of_drains(findings)),
            *folded(build, "prime", [(name, prime(findings, k)) for k, name in tubes if findings.element(k).highest is not None]),
            *folded(build, "suction", [(name, suction(findings, k)) for k, name in over])]


def headers_of_drains(findings: Findings) -> list[int]:
    """Return the headers that more than one drain runs into."""
    network = findings.network
    into = [network.links[k].down for k in network.drains]
    return [node for node in dict.fromkeys(into) if network.waters[node].kind == JUNCTION and into.count(node) > 1]


def shared_pipe(findings: Findings, node: int) -> Row:
    """Hold J = V/sqrt(g D) of a pipe that several drains share against the limit up to which it vents itself.

    Beyond it the pipe runs full in places and the air of one drain comes out at another; a siphon that shares its pipe draws
    the others' air and breaks.
    """
    network = findings.network
    quiet, origin = findings.limit(QUIET_AT)
    name = network.waters[node].name
    carrying = [k for k, link in enumerate(network.links) if link.up == node and hasattr(link.element, "line")]
    number = max((_number(findings, k) for k in carrying), default=0.0)
    drains = [k for k in network.drains if network.links[k].down == node]
    row = at_most(f"shared pipe {name}", f"{len(drains)} drains share {name}: it runs half empty and vents itself", number, quiet,
                  "number", origin, otherwise=ONLY_JUST)
    if any(state.network.links[k].element.mode == SIPHON for state in findings.answer.states for k in drains):
        return row.but("a siphon shares its pipe with other drains: each draws the other's air", FAILS)
    return row if row.verdict == HOLDS else row.but("it fills up, and the air of one drain comes out at another")


def _number(findings: Findings, k: int) -> float:
    """Return the largest J of a line's runs in any way the loop may run."""
    flow = max(abs(float(state.flows[k])) for state in findings.answer.states)
    bores = [float(pipe.bore) for pipe in findings.element(k).line.pipes]
    return max((flow / (math.pi / 4.0 * bore * bore * math.sqrt(GRAVITY * bore)) for bore in bores), default=0.0)


def prime(findings: Findings, k: int) -> Row:
    """Hold the water over the ends of a siphon tube, running and after a power cut, against nothing: without it air gets in.

    A tube that lost its prime passes nothing: what it should carry goes over the rim. Air that collects at its crown takes it in
    time, so it never does better than only just where the water is too slow to carry air along.
    """
    network = findings.network
    tube: Any = findings.element(k)
    link, states = network.links[k], findings.answer.states
    running = min(float(tube.cover(*map(float, state.ends(k)))) for state in states)
    rest = [level for case in findings.stopped.values() for level in case_levels(findings, case, (link.up, link.down))]
    cover = min([running, *(level - float(tube.stops_at) for level in rest)])
    row = at_least(f"prime {link.name}", f"{link.name} keeps its ends under water and its prime", cover, 0.0, "length",
                   "water over the higher end, running and after a power cut")
    broken = [guard.words for state in states
              for guard in state.network.links[k].element.guards(float(state.flows[k]), *map(float, state.ends(k)))
              if guard.margin < 0.0]
    if broken:
        return row.but(broken[0], FAILS)
    slow = min(float(tube.air_number(float(state.flows[k]))) for state in states) < float(tube.clears_at)
    return row.but("the water may be too slow to carry air over its highest point; published limits disagree") if slow else row


def case_levels(findings: Findings, case: Stopped, waters: tuple[int, ...]) -> list[float]:
    """Return the levels of some waters at rest after a power cut, m."""
    levels = {**dict(zip(findings.network.chambers, case.chambers, strict=True)), **case.levels}
    return [float(levels[k]) for k in waters]


def suction(findings: Findings, k: int) -> Row:
    """Hold the suction where a return climbs over its mouth's level against what hose and water stand.

    All losses are counted before the highest point, which is the side of more suction: p = mouth's level - highest point.
    """
    end: Any = findings.element(k).end
    name = findings.network.links[k].name
    soft, origin = findings.limit(SOFTENS)
    greatest, _ = findings.limit(GREATEST)
    level = min(mouth_head(state, k) for state in findings.answer.states)
    value = max(float(end.highest) - level, 0.0)
    row = at_most(f"suction {name}", f"{name} does not draw itself flat at its highest point", value, soft, "length", origin,
                  otherwise=ONLY_JUST)
    return row if value <= greatest else row.but("the column parts there", FAILS)
