"""Do the overflows carry what the pump really delivers, also with one of them blocked?

Judged with the pump chamber held at its running line, as a top-up holds it, and the pump at its best: the closed amount of
water hides the flood, because the pump starves before the tank is full.
"""

from __future__ import annotations

from dataclasses import replace

from hydro.checks.check import FAILS, HOLDS, TIGHT, Check, CheckKind, held
from hydro.checks.folding import worst_of_groups
from hydro.description.build import Build
from hydro.elements import limits
from hydro.scenarios.all_drains_blocked import AllBlocked, drains_of, with_boxes
from hydro.scenarios.flush import highest_in_a_flush
from hydro.scenarios.placed_build import slowed
from hydro.scenarios.results import DRY as DRY
from hydro.scenarios.results import OverflowCase, Results, opening_of, wet_drains
from hydro.steady.operating_point import OperatingPoint


def overflow_checks(results: Results) -> list[Check]:
    """Return the checks on overflow capacity, with all drains and with each one blocked, and on common causes."""
    network, build = results.network, results.build
    checks = [capacity(results, overflow) for overflow in results.overflows if not overflow.out]
    checks += worst_of_groups(build, [(network.links[overflow.out[0]].name, capacity(results, overflow))
                                      for overflow in results.overflows if overflow.out])
    checks += worst_of_groups(build, [(_whose(results, case), check) for case, check in
                                      zip(results.emergencies, emergency_alone(results), strict=True)])
    uppers = [(network.waters[k].name, tank_room(results, k)) for k in network.uppers]
    blocked = [(network.waters[case.tank].name, nothing_comes_down(results, case)) for case in results.blocked_tanks]
    spare = [(network.waters[k].name, spare_drain(results, k)) for k in network.tanks if drains_of(network, k)]
    return [*checks, *worst_of_groups(build, uppers), *worst_of_groups(build, blocked), *worst_of_groups(build, spare)]


def the(results: Results, water: int) -> str:
    """Return what a tank or box is called in a sentence: 'the tank' where there is one, else its name."""
    name = results.network.waters[water].name
    return "the tank" if len(results.network.uppers) == 1 or name == "tank" else name


def _whose(results: Results, case: OverflowCase) -> str:
    """Return the name of the tank or box whose drains an overflow has out."""
    return results.network.waters[results.network.links[case.out[0]].up].name


def tank_room(results: Results, water: int) -> Check:
    """Hold the running level of a tank or box against its lowest opening."""
    level, who = results.answer.highest_of(water), the(results, water)
    check = held(CheckKind.TANK_ROOM, f"running: {who} stays below its lowest opening", level, opening_of(results.network, water),
                 f"lowest opening of {who}", "highest of the levels it may stand at" if results.answer.others else "",
                 subject=results.network.waters[water].name if len(results.network.uppers) > 1 else "", water=water)
    return near_the_rim(results, check)


def near_the_rim(results: Results, check: Check) -> Check:
    """Return a check on a level, tight where it holds with less room than waves want."""
    return short_of_room(check, results.limit(limits.TANK_RIM)[0])


def short_of_room(check: Check, wanted: float) -> Check:
    """Return a check, tight where it holds with a margin less than what waves want, in its own unit."""
    near = check.verdict == HOLDS and check.margin < wanted
    return check.downgraded("less room is left than waves want below a rim") if near else check


def capacity(results: Results, overflow: OverflowCase) -> Check:
    """Hold the level of the tank or box with the least room, drains running with air, against its lowest opening.

    Holds where the drains running with air are enough; tight where that takes a drain that siphons, or where one flushes: then
    the highest level of its cycle counts; fails otherwise.
    """
    build = results.build
    names = ", ".join(results.network.links[k].name for k in overflow.out)
    kind = CheckKind.BLOCKED if names else CheckKind.CAPACITY
    best = "the pump's best" if len(results.network.pumps) == 1 else "the pumps' best"
    question = f"{names} blocked: the rest carry {best}" if names else f"overflows carry {best}"
    if slowed(build) and not overflow.full_speed:
        question = f"{names} blocked: the rest carry the stated speed"
    water = results.network.tanks[0] if overflow.water is None else overflow.water
    opening, who = opening_of(results.network, water), the(results, water)
    check = held(kind, question, overflow.level, opening, f"lowest opening of {who}", subject=names, water=water)
    if check.verdict == FAILS:
        if overflow.siphons is not None and overflow.siphons <= opening:
            check = check.with_verdict(TIGHT, f"only while a drain siphons; running with air {who} goes over")
        elif overflow.flushes is not None and overflow.flushes <= opening:
            check = replace(check.with_verdict(TIGHT, "a drain flushes then: the level is the highest of its cycle"),
                            value=overflow.flushes, margin=opening - overflow.flushes)
        else:
            check = check.downgraded(f"water over {who}'s lowest opening", FAILS)
    check = near_the_rim(results, check)
    if any(_over_the_sump(results, overflow.closed, sump) for sump in results.network.sumps):
        check = check.downgraded("what comes down then goes over the sump", FAILS)
    if slowed(build):
        check = replace(check, reasons=(*check.reasons, at_speed(build, overflow.full_speed)))
    if overflow.closed is not None and overflow.closed.state is not None:
        check.figures[f"with only the water in the system, {who} stands at"] = (overflow.closed.highest_of(water), "length")
        check.figures["and the pump chamber at"] = (float(overflow.closed.state.pump_level), "length")
    return check


def _over_the_sump(results: Results, closed: OperatingPoint | None, sump: tuple[int, ...]) -> bool:
    """Whether a chamber stands over its sump's opening only with a drain blocked: others lead elsewhere, or flush."""
    def highest(answer: OperatingPoint) -> float:
        return max(highest_in_a_flush(answer, sump), *(float(state.levels[k]) for state in answer.states for k in sump))

    opening = opening_of(results.network, sump[0])
    return closed is not None and closed.state is not None and highest(closed) > opening >= highest(results.answer)


def at_speed(build: Build, full: bool) -> str:
    """Say at which pump speed an overflow was judged, where the file states less than full speed."""
    names, alone = slowed(build), len(build.pumps) == 1
    stated = ", ".join(("" if alone else f"{pump.name} ") + f"{100.0 * pump.speed.middle:.0f} %"
                       for pump in build.pumps if pump.name in names and pump.speed is not None)
    who = "pump" if alone else "pumps"
    if full:
        return f"{who} at 100 % though the file says {stated}: a controller may forget its setting"
    return f"{who} at the stated {stated}: the drain is dry there, and a controller that forgets its setting is a second fault"


def emergency_alone(results: Results) -> list[Check]:
    """Hold the tank's level with every wet drain blocked against its lowest opening; no check without two wet and a dry one.

    What hangs in the same water may be blocked by the same cause. Several faults at once: never worse than tight. Waves want
    their room below the rim as everywhere.
    """
    return [_emergency(results, case) for case in results.emergencies]


def _emergency(results: Results, case: OverflowCase) -> Check:
    water = results.network.links[case.out[0]].up if case.water is None else case.water
    whose, several = _whose(results, case), len(results.network.uppers) > 1
    what = f"every wet drain of {whose} blocked: the dry ones carry its water" if several else \
        "every wet drain blocked: the dry ones carry the pump's best"
    check = held(CheckKind.EMERGENCY_ALONE, what, case.level, opening_of(results.network, water),
                 f"lowest opening of {the(results, water)}", otherwise=TIGHT, subject=whose if several else "", water=water)
    return near_the_rim(results, check) if check.verdict == HOLDS else \
        check.downgraded("the emergency drain alone is too small or stands too high")


def nothing_comes_down(results: Results, case: AllBlocked | None = None) -> Check:
    """Hold the water that the pumps can still bring up, all drains of a tank blocked, against the dry room in it.

    Where a dry drain that carries everything stands as an emergency, all of them blocked at once, the dry one too, is remote:
    the check holds, and says so. What fits only into the room that waves want is tight.
    """
    case = case or results.all_blocked
    assert case is not None
    who, several = the(results, case.tank), len(results.network.tanks) > 1
    name = results.network.waters[case.tank].name
    dry = "the pump runs" if len(results.network.pumps) == 1 else "the pumps run"
    before = f"all drains of {name} blocked" if several else "all drains blocked"
    check = held(CheckKind.ALL_BLOCKED, f"{before}: {dry} dry before the tank is full", case.all, case.room,
                 f"room in {who} up to its lowest opening",
                 "the whole top-up reservoir is counted" if case.top_up > 0.0 else "no top-up reservoir was described",
                 subject=name if several else "")
    if remote(results, case.tank):
        # Beyond its limit it holds still: near the limit, a few figures near their bad ends are no doubt about it.
        check = check.with_verdict(HOLDS, *check.reasons, REMOTE) if check.verdict == FAILS else replace(check, soft=True)
    else:
        check = short_of_room(check, waves_room(results, case.tank))
    check.figures["from the sump"] = (case.comes_up - case.others, "volume")
    if case.others > 0.0:
        check.figures["from the other tanks"] = (case.others, "volume")
    check.figures["from the drains' lines"] = (case.held, "volume")
    check.figures["from the top-up"] = (case.top_up, "volume")
    return check


def waves_room(results: Results, tank: int) -> float:
    """Return what a tank and its boxes hold in the height that waves want below their lowest opening, m3."""
    waters = [results.network.waters[k] for k in with_boxes(results.network, tank)]
    opening = min((float(water.opening) for water in waters if water.opening is not None), default=float("inf"))
    if opening == float("inf"):
        return 0.0
    below = opening - results.limit(limits.TANK_RIM)[0]
    return sum(float(water.body.stored(opening)[0]) - float(water.body.stored(below)[0]) for water in waters
               if water.body is not None)


REMOTE = "remote: it takes every drain blocked at once, the dry one that carries all alone too"


def remote(results: Results, tank: int | None = None) -> bool:
    """Whether all drains of a tank blocked is remote: a dry one stands as an emergency that carries everything alone.

    Which of several drains are the wet ones is settled in the middle of every band: an emergency that gets a trickle at some end
    is one all the same. Of tanks built alike that were not asked, with their wet drains out, those that were answer: the worst
    stands for all. Of one that no water reaches (the highest of many, at an end of a band) every drain is dry: all that was asked
    has to go well.
    """
    tank = results.network.tanks[0] if tank is None else tank
    mine = drains_of(results.network, tank)
    asked = [case for case in results.emergencies if set(case.out) < set(mine)]
    if asked:
        return all(case.room[1] >= 0.0 for case in asked)
    wet = set(wet_drains(results.answer, mine))
    if len(mine) < 2 or len(wet) == len(mine) or (not wet and len(results.network.tanks) == 1):
        return False
    cases = [case for case in results.overflows if wet <= set(case.out)]
    if not cases:
        return not wet <= {k for case in results.overflows for k in case.out}
    return all(case.room[1] >= 0.0 for case in cases)


def dry_drains(results: Results, tank: int) -> int:
    """Return how many drains of a tank stand dry in every way the loop may run."""
    mine = drains_of(results.network, tank)
    return len(mine) - len(wet_drains(results.answer, mine))


def spare_drain(results: Results, tank: int | None = None) -> Check:
    """Ask for a drain that stands dry while running: one leaf can block two wet drains, a dry one it does not find."""
    network = results.network
    tank = network.tanks[0] if tank is None else tank
    dry, several = dry_drains(results, tank), len(network.tanks) > 1
    where = f" of {network.waters[tank].name}" if several else ""
    check = held(CheckKind.DRY_EMERGENCY, f"one drain{where} stands dry, as an emergency", float(dry), 1.0,
                 "common practice, no source", otherwise=TIGHT, subject=network.waters[tank].name if several else "")
    if check.verdict == HOLDS:
        return check
    alone = len(drains_of(network, tank)) == 1
    return check.downgraded("a single drain: blocked, nothing is left" if alone else "the same leaf can block them all")
