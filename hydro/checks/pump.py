"""Is the pump the right one, and does it stay under water?"""

from __future__ import annotations

import math

from hydro import limits
from hydro.answer import STEADY, SURGES, TWO_POINTS
from hydro.checks.row import FAILS, HOLDS, ONLY_JUST, Row, at_least, at_most
from hydro.findings import Findings
from hydro.lifting import static_head
from hydro.ops import GRAVITY


def pump_rows(findings: Findings) -> list[Row]:
    """Return the rows on the operating point, the lift and the intake."""
    runs = how_it_runs(findings)
    if findings.answer.state is None:
        return [runs]
    return [runs, on_curve(findings), lift_margin(findings), intake(findings)]


def how_it_runs(findings: Findings) -> Row:
    """Say whether there is a steady way to run, and hold the number of ways against one."""
    answer = findings.answer
    ways = len(answer.states) if answer.kind == STEADY else 0
    verdict = HOLDS if ways == 1 else ONLY_JUST if ways > 1 else FAILS
    if answer.kind == TWO_POINTS:
        verdict = ONLY_JUST
    because = answer.reason if verdict != HOLDS else ""
    row = Row("steady", "it runs steadily", float(ways), 1.0, float(ways == 1), verdict, "number",
              "the equations of the loop", because if answer.kind in (STEADY, SURGES) else f"{answer.kind}: {because}")
    return row


def on_curve(findings: Findings) -> Row:
    """Hold the pump's flow against the last point of its curve; beyond it the curve is carried on by its last slope."""
    pump = findings.element(findings.network.pump)
    last = float(pump.curve.flows[-1]) * float(pump.speed)
    flow = max(float(state.pump_flow) for state in findings.answer.states)
    return at_most("pump curve", "the pump works within the points of its curve", flow, last,
                   "flow", "last point of the curve", otherwise=ONLY_JUST)


def lift_margin(findings: Findings) -> Row:
    """Hold the share of the shut-off head left above what must be lifted against the wanted margin."""
    pump = findings.element(findings.network.pump)
    wanted, origin = findings.limit(limits.LIFT_MARGIN)
    best = float(pump.curve.shutoff) * float(pump.speed) ** 2
    lift = static_head(findings.state)
    row = at_least("lift margin", "the pump has head to spare over the lift", 1.0 - lift / best, wanted, "share", origin,
                   otherwise=ONLY_JUST)
    row.figures["shut-off head"] = (best, "length")
    row.figures["to be lifted"] = (lift, "length")
    return row if best > lift else row.but("the pump cannot lift that high", FAILS)


def intake(findings: Findings) -> Row:
    """Hold the water over the intake against the submergence S = D (1 + 2.3 Fr), Fr = V/sqrt(g D).

    ANSI/HI 9.8, made for big bells: below it a small pump may still run without a vortex, so never worse than only just;
    at the intake itself the pump draws air and the row fails.
    """
    network, states = findings.network, findings.answer.states
    pump = findings.element(network.pump)
    bore = float(pump.line.first_bore)
    if math.isnan(bore):
        bore = float(findings.element(network.returns[0]).line.first_bore)
    speed = max(0.0, *(float(state.pump_flow) for state in states)) / (math.pi / 4.0 * bore * bore)
    needed = bore * (1.0 + 2.3 * speed / math.sqrt(GRAVITY * bore))
    lowest = min(float(state.pump_level) for state in states)
    # While it surges the tank takes its water from here: the bound of that is lower than any line drawn.
    lowest = min(lowest, findings.answer.figures.get("lowest pump chamber level", lowest))
    depth = lowest - float(pump.intake)
    row = at_least("intake", "the intake is deep enough under water", depth, needed, "length",
                   "ANSI/HI 9.8, S = D (1 + 2.3 Fr) on the bore of the pump's line", otherwise=ONLY_JUST)
    return row if depth > 1e-3 else row.but("the pump draws air", FAILS)
