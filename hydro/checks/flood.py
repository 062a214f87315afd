"""Does the water stay off the floor when the pump stops, and does everything start again?"""

from __future__ import annotations

import math
from dataclasses import replace

from hydro.checks.check import FAILS, HOLDS, TIGHT, Check, CheckKind, held
from hydro.checks.folding import worst_of_groups
from hydro.checks.overflow import DRY, near_the_rim
from hydro.checks.pump import draws_from_water, running_pumps
from hydro.checks.restart import Restarts
from hydro.elements import limits
from hydro.network.paths import fed_by
from hydro.scenarios.flush import highest_in_a_flush
from hydro.scenarios.results import COMBINATIONS, Results, opening_of
from hydro.shutdown import Shutdown
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, TWO_POINTS
from hydro.steady.pump_lift import mouth_head
from hydro.steady.state import State


def flood_checks(results: Results) -> list[Check]:
    """Return the checks on power cut, running levels in the sump, and restart."""
    network, build = results.network, results.build
    cuts = [cut_fits(results, sump) for sump in network.sumps]
    rooms = [sump_room(results, sump) for sump in network.sumps]
    restarts = Restarts(results)
    starts = worst_of_groups(build, [(network.links[k].name, restarts.check(k)) for k in network.drains])
    pumps = worst_of_groups(
        build, [(network.links[k].name, pump_starts(results, k)) for k in running_pumps(network) if draws_from_water(network, k)])
    floors = [floor(results)] if len(network.uppers) > 1 else []
    return [*cuts, *floors, *rooms, *starts, *pumps]


def floor(results: Results) -> Check:
    """Hold what runs over the rims of tanks in a power cut against nothing: a tank may siphon into a lower one through a header.

    Asked in every case: with the check valves holding the water finds that way, with them stuck it runs to the sump.
    """
    worst = max(results.stopped.values(), key=lambda case: case.floor)
    standing = max(_over_openings(state) for state in results.answer.states)
    because = case_of_cut(worst.breaks, worst.holds) if worst.floor > 0.0 else ""
    check = held(CheckKind.CUT_OVER_RIMS, "power cut: no tank runs over its rim", worst.floor + standing, 0.0,
                 "not a drop over a rim", because)
    return check.downgraded("a tank stands over its opening while running already", FAILS) if standing > 0.0 else check


def _over_openings(state: State) -> float:
    """Return the water that stands over the openings of tanks and boxes in a state, m3: it cannot stand there."""
    over = 0.0
    for k in state.network.uppers:
        body, opening, level = state.network.waters[k].body, opening_of(state.network, k), float(state.levels[k])
        if body is not None and level > opening:
            over += float(body.stored(level)[0]) - float(body.stored(opening)[0])
    return over


def sump_name(results: Results, sump: tuple[int, ...]) -> str:
    """Return the name of a sump by its chambers."""
    return results.build.sumps[results.network.sumps.index(sump)].name


def fits(results: Results, case: Shutdown, sump: tuple[int, ...]) -> bool:
    """Whether a power cut leaves the wanted room below a sump's lowest opening."""
    return case.sump_level_of(sump) <= opening_of(results.network, sump[0]) - wanted_room(results)[0]


def wanted_room(results: Results) -> tuple[float, str]:
    """Return the room to be left below the sump's lowest opening (m, never less than nothing) and who asks for it."""
    room, origin = results.limit(limits.ROOM)
    return max(room, 0.0), origin


def cut_fits(results: Results, sump: tuple[int, ...] | None = None) -> Check:
    """Hold a sump's level after a power cut against its lowest opening less the wanted room.

    The case that has to fit counts on nothing unless the owner says so. Neither a siphon break nor a check valve alone saves the
    verdict: a hole that plugs with algae, like a grain of sand in a valve, shows only in the cut that floods. Mouths so shallow
    that it fits either way do.
    """
    sump = results.network.sumps[0] if sump is None else sump
    wanted = results.wanted_cut()
    case = results.stopped[wanted]
    room, origin = wanted_room(results)
    several = len(results.network.sumps) > 1
    name = sump_name(results, sump)
    check = held(CheckKind.POWER_CUT, f"power cut: what comes down fits into {name if several else 'the sump'}",
                 case.sump_level_of(sump), opening_of(results.network, sump[0]) - room, origin, case_of_cut(*wanted),
                 subject=name if several else "", water=sump[0])
    check = replace(check, reserve=room)
    check.figures.update({f"comes down, {case_of_cut(*pair)}": (results.stopped[pair].comes_down, "volume")
                          for pair in COMBINATIONS})
    if check.verdict == HOLDS:
        return check
    if check.margin >= -room:
        tight = check.with_verdict(TIGHT, case_of_cut(*wanted), "it stays under the opening, with less room than is wanted")
        return replace(tight, soft=False)
    if results.breaks_counted() and fits(results, results.stopped[True, False], sump):
        return check.downgraded("only siphon breaks that work keep the water off the floor, and a hole plugs unseen", FAILS)
    if fits(results, results.stopped[True, False], sump):
        return check.downgraded("it would fit with siphon breaks, but one is missing or too small to be counted", FAILS)
    if fits(results, results.stopped[False, True], sump):
        return check.downgraded(
            "only a check valve that holds keeps the water off the floor, and one grain of sand keeps it open", FAILS
        )
    if fits(results, results.stopped[True, True], sump):
        return check.downgraded(
            "only a check valve that holds together with siphon breaks that work keeps the water off the floor", FAILS
        )
    return check


def case_of_cut(breaks: bool, holds: bool) -> str:
    """Return the case of a power cut in words: the first reason of its checks."""
    return (f"siphon breaks {'working' if breaks else 'plugged'}, "
            f"check valves {'holding' if holds else 'stuck or none'}")


def sump_room(results: Results, sump: tuple[int, ...] | None = None) -> Check:
    """Hold the highest level of any chamber of a sump while running, a flush coming down too, against its lowest opening.

    Waves want room below it.
    """
    sump = results.network.sumps[0] if sump is None else sump
    flush = highest_in_a_flush(results.answer, sump)
    level = max(flush, *(float(state.levels[k]) for state in results.answer.states for k in sump))
    name, several = sump_name(results, sump), len(results.network.sumps) > 1
    who = name if several else "the sump"
    check = held(CheckKind.SUMP_ROOM, f"running: every chamber stays below {who}'s lowest opening", level,
                 opening_of(results.network, sump[0]), f"lowest opening of {who}",
                 "the highest while a flush comes down" if level == flush else "", subject=name if several else "", water=sump[0])
    return near_the_rim(results, check)


def _climbs(results: Results, end: int) -> float:
    """Return the height of a return's highest point where that is not its mouth (m), minus infinity else."""
    highest = results.element(end).end.highest
    return -math.inf if highest is None else float(highest)


def _from_others(results: Results, way: tuple[int, ...], k: int) -> float:
    """Return what the other running pumps on a way give from rest, m."""
    others = [results.element(n) for n in running_pumps(results.network) if n in way and n != k]
    return sum((float(pump.curve.shutoff) * float(pump.speed) ** 2 for pump in others), 0.0)


def pump_starts(results: Results, k: int | None = None) -> Check:
    """Hold a pump's shut-off head against the height it must lift from the sump after a power cut.

    The height is that of the tank's running level or of the mouth, and of a line's highest point where it climbs over more:
    an empty line has to be filled over it before anything siphons down behind it. It counts from the lowest level at which
    the pump chamber can come to rest. What the pumps behind it give from rest is taken off.
    """
    network, state = results.network, results.state
    k = network.pump if k is None else k
    pump, drawn, name = results.element(k), network.links[k].up, network.links[k].name
    lowest = float(state.levels[drawn])
    if drawn in network.chambers:
        lowest = min((case.chambers[network.chambers.index(drawn)] for case in results.stopped.values()), default=lowest)
    shutoff = float(pump.curve.shutoff) * float(pump.speed) ** 2
    tops = [max(mouth_head(state, end), _climbs(results, end)) - _from_others(results, way, k)
            for end, way in fed_by(network, k).items()]
    lift = min(tops, default=-math.inf) - lowest
    several = len(network.pumps) > 1
    check = held(CheckKind.RESTART_PUMP, f"restart: {name if several else 'the pump'} lifts from rest", shutoff, lift,
                 "height of the return over the sump after a power cut", subject=name if several else "")
    if results.answer.kind in (CANNOT_LIFT, BACKWARDS, TWO_POINTS) and results.answer.which in (k, None):
        return check.downgraded(results.answer.reason, FAILS)
    over = [results.network.links[end].name for end, way in fed_by(network, k).items() if float(state.flows[end]) > DRY
            and _climbs(results, end) - _from_others(results, way, k) - lowest > shutoff]
    return (
        check.downgraded(f"{', '.join(over)} climbs higher than it lifts from rest: emptied, it may not run again") if over
        else check
    )
