"""Do the overflows carry what the pump really delivers, also with one of them blocked?

Judged with the pump chamber held at its running line, as a top-up holds it, and the pump at its best: the closed amount of
water hides the flood, because the pump starves before the tank is full.
"""

from __future__ import annotations

from hydro.checks.row import FAILS, HOLDS, ONLY_JUST, Row, at_most
from hydro.findings import DRY as DRY
from hydro.findings import Findings, Overflow, wet_drains


def overflow_rows(findings: Findings) -> list[Row]:
    """Return the rows on overflow capacity, with all drains and with each one blocked, and on common causes."""
    rows = [capacity(findings, overflow) for overflow in findings.overflows]
    return [*rows, *emergency_alone(findings), tank_room(findings), nothing_comes_down(findings), spare_drain(findings)]


def tank_room(findings: Findings) -> Row:
    """Hold the tank's running level against its lowest opening."""
    level = findings.answer.highest
    return at_most("tank room", "running: the tank stays below its lowest opening", level, findings.tank_opening, "length",
                   "lowest opening of the tank", "highest of the levels it may stand at" if findings.answer.others else "")


def capacity(findings: Findings, overflow: Overflow) -> Row:
    """Hold the tank's level, drains running with air, against its lowest opening.

    Holds where the drains running with air are enough; only just where that takes a drain that siphons; fails otherwise.
    """
    names = ", ".join(findings.network.links[k].name for k in overflow.out)
    key = f"blocked {names}" if names else "overflow"
    question = f"{names} blocked: the rest carry the pump's best" if names else "overflows carry the pump's best"
    opening = findings.tank_opening
    row = at_most(key, question, overflow.level, opening, "length", "lowest opening of the tank")
    if row.verdict == FAILS:
        if overflow.siphons is not None and overflow.siphons <= opening:
            row = row.instead(ONLY_JUST, "only while a drain siphons; running with air the tank goes over")
        else:
            row = row.but("water over the tank's lowest opening", FAILS)
    if overflow.closed is not None and overflow.closed.state is not None:
        row.figures["with only the water in the system, the tank stands at"] = (overflow.closed.highest, "length")
        row.figures["and the pump chamber at"] = (float(overflow.closed.state.pump_level), "length")
    return row


def emergency_alone(findings: Findings) -> list[Row]:
    """Hold the tank's level with every wet drain blocked against its lowest opening; no row without two wet and a dry one.

    What hangs in the same water may be blocked by the same cause. Several faults at once: never worse than only just.
    """
    case = findings.emergency
    if case is None:
        return []
    row = at_most("emergency alone", "every wet drain blocked: the dry ones carry the pump's best", case.level,
                  findings.tank_opening, "length", "lowest opening of the tank", otherwise=ONLY_JUST)
    return [row if row.verdict == HOLDS else row.but("the emergency drain alone is too small or stands too high")]


def nothing_comes_down(findings: Findings) -> Row:
    """Hold the water the pump can still bring up, all drains blocked, against the dry room in the tank.

    Where a dry drain that carries everything stands as an emergency, all of them blocked at once is remote: never worse
    than only just.
    """
    case = findings.all_blocked
    assert case is not None
    row = at_most("all blocked", "all drains blocked: the pump runs dry before the tank is full", case.all,
                  case.room, "volume", "room in the tank up to its lowest opening",
                  "the whole top-up reservoir is counted" if case.top_up > 0.0 else "no top-up reservoir was described",
                  otherwise=ONLY_JUST if remote(findings) else FAILS)
    row.figures["from the sump"] = (case.comes_up, "volume")
    row.figures["from the drains' lines"] = (case.held, "volume")
    row.figures["from the top-up"] = (case.top_up, "volume")
    return row


def remote(findings: Findings) -> bool:
    """Whether all drains blocked is remote: a dry one stands as an emergency that carries everything alone."""
    return dry_drains(findings) > 0 and all(row.verdict == HOLDS for row in emergency_alone(findings))


def dry_drains(findings: Findings) -> int:
    """Return how many drains stand dry in every way the loop may run."""
    return len(findings.network.drains) - len(wet_drains(findings.answer, findings.network.drains))


def spare_drain(findings: Findings) -> Row:
    """Ask for a drain that stands dry while running: one leaf can block two wet drains, a dry one it does not find."""
    network = findings.network
    dry = dry_drains(findings)
    row = Row("dry emergency", "one drain stands dry, as an emergency", float(dry), 1.0, dry - 1.0,
              HOLDS if dry >= 1 else ONLY_JUST, "number", "common practice, no source")
    if row.verdict == HOLDS:
        return row
    return row.but("the same leaf can block them all" if len(network.drains) > 1 else "a single drain: blocked, nothing is left")
