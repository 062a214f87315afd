"""Does the water stay off the floor when the pump stops, and does everything start again?"""

from __future__ import annotations

import math

from hydro import limits
from hydro.answer import BACKWARDS, CANNOT_LIFT, TWO_POINTS
from hydro.checks.overflow import DRY
from hydro.checks.row import FAILS, HOLDS, ONLY_JUST, Row, at_least, at_most
from hydro.elements.drain import QUIET_AT, SIPHON
from hydro.findings import COMBINATIONS, Findings
from hydro.stopped import Stopped, lowest_opening


def flood_rows(findings: Findings) -> list[Row]:
    """Return the rows on power cut, running levels in the sump, and restart."""
    starts = [restart(findings, k) for k in findings.network.drains]
    return [power_cut(findings), sump_room(findings), *starts, pump_starts(findings)]


def fits(findings: Findings, case: Stopped) -> bool:
    """Whether a power cut leaves the wanted room below the sump's lowest opening."""
    return case.sump_level <= lowest_opening(findings.network) - wanted_room(findings)[0]


def wanted_room(findings: Findings) -> tuple[float, str]:
    """Return the room to be left below the sump's lowest opening (m, never less than nothing) and who asks for it."""
    room, origin = findings.limit(limits.ROOM)
    return max(room, 0.0), origin


def power_cut(findings: Findings) -> Row:
    """Hold the sump's level after a power cut against its lowest opening less the wanted room.

    The case that has to fit counts on nothing unless the owner says so. Where it does not fit but the siphon breaks, large
    enough to be counted, would make it fit: only just. A check valve alone never saves the verdict.
    """
    wanted = findings.wanted_cut()
    case = findings.stopped[wanted]
    room, origin = wanted_room(findings)
    row = at_most("power cut", "power cut: what comes down fits into the sump", case.sump_level,
                  lowest_opening(findings.network) - room, "length", origin, _words(*wanted))
    row.figures.update({f"comes down, {_words(*pair)}": (findings.stopped[pair].comes_down, "volume")
                        for pair in COMBINATIONS})
    if row.verdict == HOLDS:
        return row
    if findings.breaks_counted() and fits(findings, findings.stopped[True, False]):
        return row.instead(ONLY_JUST, "it rests on the siphon breaks alone: with one plugged the sump runs over its room")
    if fits(findings, findings.stopped[True, False]):
        return row.but("it would fit with siphon breaks, but one is missing or too small to be counted", FAILS)
    if fits(findings, findings.stopped[False, True]):
        return row.but("only a check valve that holds keeps the water off the floor, and one grain of sand keeps it open", FAILS)
    if fits(findings, findings.stopped[True, True]):
        return row.but("only a check valve that holds together with siphon breaks that work keeps the water off the floor", FAILS)
    return row


def _words(breaks: bool, holds: bool) -> str:
    return (f"siphon breaks {'working' if breaks else 'plugged'}, "
            f"check valves {'holding' if holds else 'stuck or none'}")


def sump_room(findings: Findings) -> Row:
    """Hold the highest level of any chamber while running against the sump's lowest opening."""
    network = findings.network
    level = max(float(state.levels[k]) for state in findings.answer.states for k in network.chambers)
    return at_most("sump room", "running: every chamber stays below the sump's lowest opening", level, lowest_opening(network),
                   "length", "lowest opening of the sump")


def restart(findings: Findings, k: int) -> Row:
    """Hold the depth at which a drain's end is drowned after a power cut against the head its inlet can build up.

    Air under a drowned rim must be pushed out below. A drain that vents itself (J <= 0.3, rim open) lets it out above and
    needs no head; between, air and water share the pipe. A drain that stands dry is asked at the flow it takes over from a
    blocked one, and is not needed for the start itself: never worse than only just.
    """
    network, element = findings.network, findings.element(k)
    chamber = network.chambers.index(network.links[k].down)
    case = findings.stopped[findings.wanted_cut()]
    depth = case.chambers[chamber] - float(element.end)
    crest = float(element.inlet.crest)
    higher = [float(findings.element(other).inlet.crest) for other in network.drains]
    room = min([level for level in higher if level > crest + 1e-4] + [findings.tank_opening]) - crest
    row = at_most(f"restart {network.links[k].name}", f"restart: {network.links[k].name} clears its air", depth, room,
                  "length", "head over its lip up to the next inlet or the rim",
                  "its lower end is drowned after a power cut" if depth > 0.0 else "its lower end stays in the air")
    if row.verdict == HOLDS:
        return row
    states = findings.answer.states
    dry = all(float(state.flows[k]) < DRY for state in states)
    asked = [one.with_air for one in findings.overflows if one.with_air is not None and k not in one.out] if dry else states
    quiet, _ = findings.limit(QUIET_AT)
    siphons = any(state.network.links[k].element.mode == SIPHON for state in states)
    number = max((float(element.air_number(max(float(state.flows[k]), 0.0))) for state in asked), default=0.0)
    if not dry and (siphons or number > float(element.sweeps_at)):
        return row
    if number <= quiet:
        return row.instead(HOLDS, "drowned, but it runs half empty and vents at its rim")
    return row.instead(ONLY_JUST, "its end is drowned deeper than its inlet can push air out; air has to leave upward")


def pump_starts(findings: Findings) -> Row:
    """Hold the pump's shut-off head against the height it must lift from the sump after a power cut.

    The height is that of the tank's running level or of the mouth, and of a line's highest point where it climbs over more:
    an empty line has to be filled over it before anything siphons down behind it. It counts from the lowest level at which
    the pump chamber can come to rest.
    """
    network, state = findings.network, findings.state
    pump = findings.element(network.pump)
    place = network.chambers.index(network.pump_chamber)
    lowest = min(case.chambers[place] for case in findings.stopped.values())
    shutoff = float(pump.curve.shutoff) * float(pump.speed) ** 2
    tops = [max(float(findings.element(k).outlet), float(state.tank_level),
                float(findings.element(k).end.highest or -math.inf)) for k in network.returns]
    lift = min(tops) - lowest
    row = at_least("restart pump", "restart: the pump lifts from rest", shutoff, lift, "length",
                   "height of the return over the sump after a power cut")
    if findings.answer.kind in (CANNOT_LIFT, BACKWARDS, TWO_POINTS):
        return row.but(findings.answer.reason, FAILS)
    return row
