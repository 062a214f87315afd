"""What happens, told for a terminal of 80 columns: the answer, the time line, the levels as small charts."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.answer import STEADY
from hydro.display import convert, show, unit_name
from hydro.elements.air_lock import LOCKED
from hydro.happenings import FLOOR, HOLDING
from hydro.moment import Moment
from hydro.network import Network
from hydro.outcome import Asked, Outcome, outcome_of
from hydro.report.chart import chart
from hydro.report.levels import bottom_of, sump_opening
from hydro.report.page import clean, heading, labelled, paragraph, table, wrap
from hydro.report.tape import mark, tape

MOVES, LEAST_MOVE = 0.1, 1e-3
"""A chart ends when every level has no more than this share of its move before it, or this height, m."""
LATE = 1.15
"""How much longer than that a chart goes on."""
CAUTION = ("Every figure in the middle of its band. Left out: the inertia of the water (some 0.2 s), waves, water hammer. How "
           "fast the last litres leave a line is an estimate; how many they are is not.")
SURGING = ("Surging has bounds, but no period that could be relied on: it is not known well when air breaks a siphon.")


def text(asked: Asked, units: str | None = None) -> str:
    """Return what happens as text; `units` is 'metric', 'US' or 'imperial', by default what the build asks for."""
    system = units or asked.build.units
    outcome = outcome_of(asked.course)
    lines = wrap(asked.build.title or "A build", 80)[:3]
    if asked.build.file:
        lines.append(clean(asked.build.file))
    lines += ["", *labelled("What", *_what(asked)), *labelled("Answer", *_answer(asked, outcome, system))]
    lines += labelled("End", f"After {show(asked.course.end.time, 'time', system)}: {asked.course.ended}.")
    lines += [*heading("Time line"), "", *table(_rows(asked, system), words=(0, 1))]
    lines += paragraph("Levels count from the bottom of their own vessel.")
    return "\n".join([*lines, *_charts(asked, system), *_cautions(outcome)]) + "\n"


def _what(asked: Asked) -> list[str]:
    happening, network = asked.happening, asked.course.start.network
    counted = []
    if any(getattr(link.element, "end", None) is not None and getattr(link.element.end, "break_at", None) is not None
           for link in network.links):
        counted.append(f"siphon breaks {'work' if happening.breaks else 'are plugged'}")
    if any(link.element.line.check_valves for link in network.links if hasattr(link.element, "line")):
        counted.append("check valves hold" if happening.valves == HOLDING else f"check valves are {happening.valves}")
    lines = [f"{happening.words[0].upper()}{happening.words[1:]}."]
    if counted and (not happening.running or asked.cut is not None):
        lines.append(f"Counted on: {', '.join(counted)}.")
    if asked.answer.kind != STEADY:
        lines.append(f"Before that: {asked.answer.kind}.")
    elif asked.answer.others:
        lines.append("It may run in more than one way; this is the first of them.")
    return lines


def _answer(asked: Asked, outcome: Outcome, system: str) -> list[str]:
    lines = [f"{show(one.volume, 'volume', system)} go over {one.vessel}'s lowest opening, from {_clock(one.since, system)} on."
             for one in outcome.over] or ["Nothing goes over."]
    network = asked.course.start.network
    highest = max((moment.levels[k], moment.time) for moment in asked.course.moments for k in network.chambers)
    tank = max((moment.tank_level, moment.time) for moment in asked.course.moments)
    lines.append(f"The sump's highest level: {_room(network.chambers[0], highest[0], network, system)}, after "
                 f"{_clock(highest[1], system)}. The tank's: {_room(network.tank, tank[0], network, system)}.")
    if outcome.dry is not None:
        lines.append(f"The pump draws air after {_clock(outcome.dry, system)}.")
    if asked.course.end.filling:
        lines.append("The pump does not bring the water up to the tank.")
    locked = [link.element.name for link in asked.course.end.network.links if getattr(link.element, "mode", "") == LOCKED]
    if locked:
        lines.append(f"{' and '.join(locked)} may stay air-locked: the water over the lip does not outweigh the drowned end, and "
                     "it is given no more than the flow at which air leaves upward.")
    for turn in outcome.turns:
        lines.append(f"{turn.words} flushes about every {show(turn.period, 'time', system, digits=2)} (an estimate).")
    return lines


def _room(water: int, level: float, network: Network, system: str) -> str:
    opening = sump_opening(network) if water != network.tank else float(network.waters[water].opening or float("inf"))
    where = f"{tape(opening - level, system)} below" if level <= opening else f"{tape(level - opening, system)} over"
    return f"{tape(level - bottom_of(network, water), system)}, {where} its lowest opening"


def _clock(seconds: float, system: str) -> str:
    return "the start" if seconds == 0.0 else show(seconds, "time", system)


def _rows(asked: Asked, system: str) -> list[list[str]]:
    """Return the time line: each event with levels and volumes."""
    course = asked.course
    network = course.start.network
    height, volume = unit_name("length", system), unit_name("volume", system)
    spills = course.end.named(FLOOR) > 0.0
    waters = [network.tank, *network.chambers]
    names = ["tank", *(network.waters[k].name for k in network.chambers)]
    head = ["after", "what happens", *(f"{name}, {height}" for name in names), f"tank, {volume}", f"sump, {volume}"]

    def row(moment: Moment, words: str) -> list[str]:
        sump = sum(moment.volumes[k] for k in network.chambers)
        cells = [show(moment.time, "time", system), words,
                 *(mark(moment.levels[k] - bottom_of(network, k), system) for k in waters),
                 _figure(moment.volumes[network.tank], system), _figure(sump, system)]
        return [*cells, _figure(moment.named(FLOOR), system)] if spills else cells

    rows = [[*head, f"floor, {volume}"] if spills else head, row(course.start, asked.happening.words)]
    rows += [row(event.moment, event.words) for event in course.events]
    return [*rows, row(course.end, course.ended)]


def _figure(volume: float, system: str) -> str:
    return f"{convert(volume, 'volume', system):.1f}"


def shown_until(asked: Asked) -> float:
    """Return the time up to which charts go: a little beyond nine tenths of every level's way from its last turn to its end."""
    moments = asked.course.moments
    last = 0.0
    for water in (moments[0].network.tank, *moments[0].network.chambers):
        misses = [abs(moment.levels[water] - moments[-1].levels[water]) for moment in moments]
        near = max(MOVES * max(misses), LEAST_MOVE)
        last = max([last, *(moment.time for moment, miss in zip(moments, misses, strict=True) if miss > near)])
    return max(1.0, min(LATE * last, moments[-1].time)) if last > 0.0 else max(1.0, moments[-1].time)


def _charts(asked: Asked, system: str) -> list[str]:
    network, until = asked.course.start.network, shown_until(asked)
    times = [moment.time for moment in asked.course.moments]
    lines = heading("Levels")
    for water, name in ((network.tank, "tank"), (network.pump_chamber, f"chamber {network.waters[network.pump_chamber].name}")):
        bottom = bottom_of(network, water)
        values: Sequence[float] = [moment.levels[water] - bottom for moment in asked.course.moments]
        lines += ["", *chart(f"{name}, {unit_name('length', system)} above its bottom", times, values, until,
                             lambda value: mark(value, system), lambda time: show(time, "time", system))]
    return lines


def _cautions(outcome: Outcome) -> list[str]:
    return ["", *paragraph(CAUTION, 0), *(paragraph(SURGING, 0) if outcome.turns else [])]
