"""Is the pump the right one, and does it stay under water?"""

from __future__ import annotations

import math
from dataclasses import replace

from hydro.checks.check import FAILS, HOLDS, TIGHT, Check, CheckKind, held
from hydro.checks.folding import worst_of_groups
from hydro.elements import limits
from hydro.network.model import JUNCTION, Network
from hydro.quantities.arrays import GRAVITY
from hydro.scenarios.results import Results
from hydro.steady.operating_point import NO_FLOW, STEADY, SURGES, TWO_POINTS
from hydro.steady.pump_lift import static_head


def pump_checks(results: Results) -> list[Check]:
    """Return the checks on the operating point, the lift and the intake; of a loop that does not run those that do not hold."""
    runs = how_it_runs(results)
    if results.answer.state is None:
        return [runs]
    network = results.network
    pumps = [(network.links[k].name, k) for k in running_pumps(network)]
    checks = [runs]
    # A pump behind another one lifts from its pressure: of height and intake only the first can be asked.
    first = [(name, k) for name, k in pumps if draws_from_water(network, k)]
    for ask, asked in ((on_curve, pumps), (lift_margin, first), (intake, first)):
        checks += worst_of_groups(results.build, [(name, ask(results, k)) for name, k in asked])
    if not results.answer.runs:
        return [check for check in checks if check.verdict != HOLDS]
    back = [(network.links[k].name, back_flow(results, k)) for k in network.pumps if k not in running_pumps(network)]
    return [*checks, *worst_of_groups(results.build, back)]


def draws_from_water(network: Network, k: int) -> bool:
    """Whether a pump draws from a chamber or tank, not from the header behind another pump."""
    return network.waters[network.links[k].up].kind != JUNCTION


def running_pumps(network: Network) -> list[int]:
    """Return the pumps that are not switched off."""
    return [k for k in network.pumps if float(network.links[k].element.running) > 0.5]


def how_it_runs(results: Results) -> Check:
    """Say whether there is a steady way to run, and hold the number of ways against one."""
    answer = results.answer
    ways = len(answer.states) if answer.kind == STEADY else 0
    verdict = HOLDS if ways == 1 else TIGHT if ways > 1 else FAILS
    if answer.kind == TWO_POINTS:
        verdict = TIGHT
    because = answer.reason if verdict != HOLDS else ""
    told = because if answer.kind in (STEADY, SURGES) else f"{answer.kind}: {because}"
    return Check(CheckKind.STEADY, "it runs steadily", float(ways), 1.0, float(ways == 1), verdict, "the equations of the loop",
                 (told,) if told else (), soft=True)


def back_flow(results: Results, k: int) -> Check:
    """Hold what runs back through a pump that is switched off against nothing: lost to the tank, but not on the floor.

    It fails where more runs back than is left for the tanks.
    """
    network = results.network
    name = network.links[k].name
    back, left = max((-float(state.flows[k]), sum(float(state.flows[n]) for n in network.returns))
                     for state in results.answer.states)
    check = held(CheckKind.BACK_FLOW, f"no water runs back through {name}, which is off", max(back, 0.0), NO_FLOW, "no loss",
                 "" if back < NO_FLOW else "no check valve holds it back", otherwise=TIGHT, subject=name)
    return check if back < max(NO_FLOW, left) else check.downgraded("more of it than the tank gets", FAILS)


def on_curve(results: Results, k: int | None = None) -> Check:
    """Hold a pump's flow against the last point of its curve; beyond it the curve is carried on by its last slope."""
    k, subject, who = _asked(results, k)
    pump = results.element(k)
    last = float(pump.curve.flows[-1]) * float(pump.speed)
    flow = max(float(state.flows[k]) for state in results.answer.states)
    return held(CheckKind.PUMP_CURVE, f"{who} works within the points of its curve", flow, last, "last point of the curve",
                otherwise=TIGHT, subject=subject)


def _asked(results: Results, k: int | None) -> tuple[int, str, str]:
    """Return the pump asked about (None: the only one), the subject of its check, and what it is called."""
    network = results.network
    k = network.pump if k is None else k
    subject = network.links[k].name if len(network.pumps) > 1 else ""
    return k, subject, subject or "the pump"


def lift_margin(results: Results, k: int | None = None) -> Check:
    """Hold the share of the shut-off head left above what must be lifted against the wanted margin."""
    k, subject, who = _asked(results, k)
    pump = results.element(k)
    wanted, origin = results.limit(limits.LIFT_MARGIN)
    best = float(pump.curve.shutoff) * float(pump.speed) ** 2
    lift = static_head(results.state, k)
    check = held(CheckKind.LIFT_MARGIN, f"{who} has head to spare over the lift", 1.0 - lift / best, wanted, origin,
                 otherwise=TIGHT, subject=subject)
    check = replace(check, soft=False, reserve=wanted)
    check.figures["shut-off head"] = (best, "length")
    check.figures["to be lifted"] = (lift, "length")
    return check if best > lift else check.downgraded(f"{who} cannot lift that high{_from_rest(results, k)}", FAILS)


def _from_rest(results: Results, k: int) -> str:
    """Return ' from rest' where a pump whose curve droops does lift it once it runs."""
    return " from rest" if float(results.state.flows[k]) > NO_FLOW else ""


COVERED = 1.5
"""Depth over an intake, in bores or in velocity heads, below which it may draw air in a whirl."""


def intake(results: Results, k: int | None = None) -> Check:
    """Hold the water over the intake against 1.5 bores of it; with less than the velocity head V^2/2g there it draws air.

    1.5 bores: USBR Water Measurement Manual, small siphons, as quoted; below it may draw air in a whirl. Through a small opening
    that may be less than V^2/2g: then half as much again as that is asked, so that the row is tight before it fails (chosen
    here). V and the bore are those of the intake's own opening or strainer face. What ANSI/HI 9.8 asks of large bells,
    S = D (1 + 2.3 Fr), Fr = V/sqrt(g D), stands among the figures: small pumps run without a whirl well below it.
    """
    network, states = results.network, results.answer.states
    k, subject, who = _asked(results, k)
    pump, drawn = results.element(k), network.links[k].up
    speed, bore = map(float, pump.drawn_in(max(0.0, *(float(state.flows[k]) for state in states))))
    lowest = min(float(state.levels[drawn]) for state in states)
    # While it surges the tank takes its water from here: the bound of that is lower than any line drawn.
    if drawn == network.pump_chamber:
        lowest = min(lowest, results.answer.figures.get("lowest pump chamber level", lowest))
    depth, least = lowest - float(pump.intake), max(speed * speed / (2.0 * GRAVITY), AT_INTAKE)
    needed, fast = max(COVERED * bore, COVERED * least), least > bore
    whose = "the intake" if who == "the pump" else f"the intake of {who}"
    origin = "1.5 times the velocity head in the intake, V^2/2g, at which it draws air; chosen here" if fast else \
        "1.5 bores of the intake: USBR Water Measurement Manual, small siphons, as quoted"
    check = held(CheckKind.INTAKE, f"{whose} is deep enough under water", depth, needed, origin, otherwise=TIGHT, subject=subject)
    bell = bore * (1.0 + 2.3 * speed / math.sqrt(GRAVITY * bore))
    check.figures.update({"at which it draws air": (least, "length"), "bore of the intake": (bore, "length"),
                          "what ANSI/HI 9.8 asks of a large bell": (bell, "length")})
    if depth <= least:
        return replace(check.with_verdict(FAILS, f"{who} draws air"), soft=False, reserve=needed - least)
    return replace(check.downgraded("it may draw air in a whirl") if check.verdict != HOLDS else check, soft=False,
                   reserve=needed - least)


AT_INTAKE = 1e-3
"""Water over an intake that is none, m."""
