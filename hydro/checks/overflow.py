"""Do the overflows carry what the pump really delivers, also with one of them blocked?

Judged with the pump chamber held at its running line, as a top-up holds it, and the pump at its best: the closed amount of
water hides the flood, because the pump starves before the tank is full.
"""

from __future__ import annotations

from hydro.checks.folding import folded, keyed
from hydro.checks.row import FAILS, HOLDS, ONLY_JUST, Row, at_most
from hydro.scenarios.all_drains_blocked import AllBlocked, station
from hydro.scenarios.results import DRY as DRY
from hydro.scenarios.results import Findings, Overflow, opening_of, wet_drains


def overflow_rows(findings: Findings) -> list[Row]:
    """Return the rows on overflow capacity, with all drains and with each one blocked, and on common causes."""
    network, build = findings.network, findings.build
    rows = [capacity(findings, overflow) for overflow in findings.overflows if not overflow.out]
    rows += folded(build, "blocked", [(network.links[overflow.out[0]].name, capacity(findings, overflow))
                                      for overflow in findings.overflows if overflow.out])
    rows += folded(build, "emergency alone", [(_whose(findings, case), row) for case, row in
                                              zip(findings.emergencies, emergency_alone(findings), strict=True)])
    uppers = [(network.waters[k].name, tank_room(findings, k)) for k in network.uppers]
    blocked = [(network.waters[case.tank].name, nothing_comes_down(findings, case)) for case in findings.blocked_tanks]
    spare = [(network.waters[k].name, spare_drain(findings, k)) for k in network.tanks if station(network, k)]
    return [*rows, *folded(build, "tank room", uppers), *folded(build, "all blocked", blocked),
            *folded(build, "dry emergency", spare)]


def the(findings: Findings, water: int) -> str:
    """Return what a tank or box is called in a sentence: 'the tank' where there is one, else its name."""
    name = findings.network.waters[water].name
    return "the tank" if len(findings.network.uppers) == 1 or name == "tank" else name


def _whose(findings: Findings, case: Overflow) -> str:
    """Return the name of the tank or box whose drains an overflow has out."""
    return findings.network.waters[findings.network.links[case.out[0]].up].name


def tank_room(findings: Findings, water: int) -> Row:
    """Hold the running level of a tank or box against its lowest opening."""
    level, who = findings.answer.highest_of(water), the(findings, water)
    return at_most(keyed("tank room", findings.network.waters[water].name, len(findings.network.uppers) > 1),
                   f"running: {who} stays below its lowest opening", level, opening_of(findings.network, water), "length",
                   f"lowest opening of {who}", "highest of the levels it may stand at" if findings.answer.others else "")


def capacity(findings: Findings, overflow: Overflow) -> Row:
    """Hold the level of the tank or box with the least room, drains running with air, against its lowest opening.

    Holds where the drains running with air are enough; only just where that takes a drain that siphons; fails otherwise.
    """
    names = ", ".join(findings.network.links[k].name for k in overflow.out)
    key = f"blocked {names}" if names else "overflow"
    best = "the pump's best" if len(findings.network.pumps) == 1 else "the pumps' best"
    question = f"{names} blocked: the rest carry {best}" if names else f"overflows carry {best}"
    water = findings.network.tanks[0] if overflow.water is None else overflow.water
    opening, who = opening_of(findings.network, water), the(findings, water)
    row = at_most(key, question, overflow.level, opening, "length", f"lowest opening of {who}")
    if row.verdict == FAILS:
        if overflow.siphons is not None and overflow.siphons <= opening:
            row = row.instead(ONLY_JUST, f"only while a drain siphons; running with air {who} goes over")
        else:
            row = row.but(f"water over {who}'s lowest opening", FAILS)
    if overflow.closed is not None and overflow.closed.state is not None:
        row.figures[f"with only the water in the system, {who} stands at"] = (overflow.closed.highest_of(water), "length")
        row.figures["and the pump chamber at"] = (float(overflow.closed.state.pump_level), "length")
    return row


def emergency_alone(findings: Findings) -> list[Row]:
    """Hold the tank's level with every wet drain blocked against its lowest opening; no row without two wet and a dry one.

    What hangs in the same water may be blocked by the same cause. Several faults at once: never worse than only just.
    """
    return [_emergency(findings, case) for case in findings.emergencies]


def _emergency(findings: Findings, case: Overflow) -> Row:
    water = findings.network.links[case.out[0]].up if case.water is None else case.water
    whose, several = _whose(findings, case), len(findings.network.uppers) > 1
    what = f"every wet drain of {whose} blocked: the dry ones carry its water" if several else \
        "every wet drain blocked: the dry ones carry the pump's best"
    row = at_most(keyed("emergency alone", whose, several), what, case.level, opening_of(findings.network, water), "length",
                  f"lowest opening of {the(findings, water)}", otherwise=ONLY_JUST)
    return row if row.verdict == HOLDS else row.but("the emergency drain alone is too small or stands too high")


def nothing_comes_down(findings: Findings, case: AllBlocked | None = None) -> Row:
    """Hold the water that the pumps can still bring up, all drains of a tank blocked, against the dry room in it.

    Where a dry drain that carries everything stands as an emergency, all of them blocked at once is remote: never worse
    than only just.
    """
    case = case or findings.all_blocked
    assert case is not None
    who, several = the(findings, case.tank), len(findings.network.tanks) > 1
    name = findings.network.waters[case.tank].name
    dry = "the pump runs" if len(findings.network.pumps) == 1 else "the pumps run"
    before = f"all drains of {name} blocked" if several else "all drains blocked"
    row = at_most(keyed("all blocked", name, several), f"{before}: {dry} dry before the tank is full", case.all,
                  case.room, "volume", f"room in {who} up to its lowest opening",
                  "the whole top-up reservoir is counted" if case.top_up > 0.0 else "no top-up reservoir was described",
                  otherwise=ONLY_JUST if remote(findings, case.tank) else FAILS)
    row.figures["from the sump"] = (case.comes_up - case.others, "volume")
    if case.others > 0.0:
        row.figures["from the other tanks"] = (case.others, "volume")
    row.figures["from the drains' lines"] = (case.held, "volume")
    row.figures["from the top-up"] = (case.top_up, "volume")
    return row


def remote(findings: Findings, tank: int | None = None) -> bool:
    """Whether all drains of a tank blocked is remote: a dry one stands as an emergency that carries everything alone."""
    tank = findings.network.tanks[0] if tank is None else tank
    mine = set(station(findings.network, tank))
    cases = [case for case in findings.emergencies if mine & set(case.out)]
    return dry_drains(findings, tank) > 0 and all(_emergency(findings, case).verdict == HOLDS for case in cases)


def dry_drains(findings: Findings, tank: int) -> int:
    """Return how many drains of a tank stand dry in every way the loop may run."""
    mine = station(findings.network, tank)
    return len(mine) - len(wet_drains(findings.answer, mine))


def spare_drain(findings: Findings, tank: int | None = None) -> Row:
    """Ask for a drain that stands dry while running: one leaf can block two wet drains, a dry one it does not find."""
    network = findings.network
    tank = network.tanks[0] if tank is None else tank
    dry, several = dry_drains(findings, tank), len(network.tanks) > 1
    where = f" of {network.waters[tank].name}" if several else ""
    row = Row(keyed("dry emergency", network.waters[tank].name, several), f"one drain{where} stands dry, as an emergency",
              float(dry), 1.0, dry - 1.0, HOLDS if dry >= 1 else ONLY_JUST, "number", "common practice, no source")
    if row.verdict == HOLDS:
        return row
    alone = len(station(network, tank)) == 1
    return row.but("a single drain: blocked, nothing is left" if alone else "the same leaf can block them all")
