"""What happens, told for a terminal of 80 columns: the answer, the time line, the levels as small charts."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.elements import limits
from hydro.elements.air_lock import LOCKED
from hydro.network.model import Network
from hydro.quantities.formatting import convert, show, unit_name
from hydro.quantities.tape import mark, tape
from hydro.report.content.levels import bottom_of
from hydro.report.terminal.chart import level_plot
from hydro.report.terminal.layout import heading, labelled, paragraph, table, titled
from hydro.scenarios.histories import DROP, LOOSE_HOSE, Outcome, Over, Question, outcome_of
from hydro.scenarios.results import BREAKS, VALVES, opening_of
from hydro.steady.operating_point import STEADY
from hydro.transient.disturbances import FLOOR, HOLDING
from hydro.transient.integrate import History
from hydro.transient.level_marks import vessels_by_name
from hydro.transient.manifold_filling import header_in_words
from hydro.transient.state import TransientState

MOVES, LEAST_MOVE = 0.1, 1e-3
"""A chart ends when every level has no more than this share of its move before it, or this height, m."""
MOST_UPPER, MOST_CHAMBERS = 2, 2
"""Columns of levels in a time line of many waters."""
MARK = "\0"
"""Stands for a name while lines are put together."""
LATE = 1.15
"""How much longer than that a chart goes on."""
CAUTION = ("Every figure in the middle of its band. Left out: the inertia of the water (some 0.2 s), waves, water hammer. How "
           "fast the last litres leave a line is an estimate; how many they are is not.")
SURGING = ("Surging has bounds, but no period that could be relied on: it is not known well when air breaks a siphon.")


def history_text(asked: Question, units: str | None = None) -> str:
    """Return what happens as text; `units` is 'metric', 'US' or 'imperial', by default what the build asks for."""
    system = units or asked.build.units
    outcome = outcome_of(asked.history)
    lines = titled(asked.build.title, asked.build.file)
    lines += ["", *labelled("What", *_what(asked, system)), *labelled("Answer", *_answer(asked, outcome, system))]
    lines += labelled("End", f"After {show(asked.history.end.time, 'time', system)}: {asked.history.ended}.")
    lines += [*heading("Time line"), "", *table(_rows(asked, system), words=(0, 1))]
    lines += paragraph(_counted(asked))
    lines += [*_charts(asked, system), "", *paragraph(CAUTION, 0), *(paragraph(SURGING, 0) if outcome.turns else [])]
    return "\n".join(lines) + "\n"


def _counted(asked: Question) -> str:
    """Return what the time line's columns count, and which of many waters they show."""
    network = asked.history.start.network
    plain = "Levels count from the bottom of their own vessel."
    count = len(network.uppers) + len(network.chambers)
    if len(shown_waters(asked)) == count:
        return plain
    return f"{plain} Of {count} waters those are shown that move apart most; litres are those of all of them."


def _what(asked: Question, system: str) -> list[str]:
    disturbance, network = asked.disturbance, asked.history.start.network
    counted = []
    if any(getattr(link.element, "end", None) is not None and getattr(link.element.end, "break_at", None) is not None
           for link in network.links):
        counted.append(f"siphon breaks {'work' if disturbance.breaks else 'are plugged'}")
    if any(link.element.line.check_valves for link in network.links if hasattr(link.element, "line")):
        counted.append("check valves hold" if disturbance.valves == HOLDING else f"check valves are {disturbance.valves}")
    lines = [f"{disturbance.words[0].upper()}{disturbance.words[1:]}."]
    if counted and (not disturbance.running or disturbance.stops or asked.cut is not None):
        lines.append(f"Counted on: {', '.join(counted)}.")
    reserve = asked.build.wishes.get(limits.TOP_UP.name)
    if reserve is not None and disturbance.running and disturbance.top_up <= 0.0:
        lines.append(f"The top-up's {show(reserve.middle, 'volume', system)} stay where they are.")
    if asked.answer.kind != STEADY:
        lines.append(f"Before that: {asked.answer.kind}.")
    elif asked.answer.others:
        lines.append("It may run in more than one way; this is the first of them.")
    return lines


def _judged(asked: Question, system: str) -> list[str]:
    """Return what goes over in the power cut that has to fit, where that is another one: nothing is counted on unasked."""
    if asked.counted_over <= DROP:
        return []
    wanted = BREAKS in asked.build.counts_on, VALVES in asked.build.counts_on
    counted = " and ".join(word for word, on in zip((BREAKS, VALVES), wanted, strict=True) if on)
    return [f"Counting on {f'the {counted} alone' if counted else 'nothing'}, as 'run' judges it, "
            f"{show(asked.counted_over, 'volume', system)} go over."]


def _answer(asked: Question, outcome: Outcome, system: str) -> list[str]:
    network = asked.history.start.network
    lines = [f"{show(one.volume, 'volume', system)} {_leaves(one)}, from {_clock(one.since, system)} on."
             for one in outcome.over] or ["Nothing goes over."]
    if not asked.disturbance.running and not outcome.over:
        lines += _judged(asked, system)
    lines += _highest(asked, system)
    if outcome.dry is not None and len(network.pumps) == 1:
        lines.append(f"The pump draws air after {_clock(outcome.dry, system)}.")
    elif outcome.dry is not None:
        lines += [f"{name} draws air after {_clock(time, system)}." for name, time in outcome.dry_pumps]
    if asked.history.end.filling:
        lines.append("The pump does not bring the water up to the tank." if len(network.pumps) == 1 else
                     f"Not filled up to the tanks: {'; '.join(_unfilled(asked.history.end))}.")
    locked = [link.element.name for link in asked.history.end.network.links if getattr(link.element, "mode", "") == LOCKED]
    if locked:
        lines.append(f"{' and '.join(locked)} may stay air-locked: the water over the lip does not outweigh the drowned end, and "
                     "it is given no more than the flow at which air leaves upward.")
    for turn in outcome.turns:
        lines.append(f"{turn.words} flushes about every {show(turn.period, 'time', system, digits=2)} (an estimate).")
    return lines


def _leaves(one: Over) -> str:
    return "pour out of the loose hose" if one.vessel == LOOSE_HOSE else f"go over {one.vessel}'s lowest opening"


def _unfilled(moment: TransientState) -> list[str]:
    return [header_in_words(moment.network, store.system) for store in moment.stores if store.filling]


def _highest(asked: Question, system: str) -> list[str]:
    """Return how high sump and tank come; of several tanks, and of several sumps, the one that comes nearest to its opening."""
    network = asked.history.start.network
    every = vessels_by_name(network)
    if len(network.tanks) == 1 and len(network.sumps) == 1 and len(every) == 2:
        (_, tank), (_, sump) = every
        return [f"The sump's highest level: {_reached(asked, sump, system)}. The tank's: "
                f"{_reached(asked, tank, system, False)}."]
    lines = []
    upper = "tanks and boxes" if len(network.uppers) > len(network.tanks) else "tanks"
    for noun, group in (("sumps", [one for one in every if one[1] in network.sumps]),
                        (upper, [one for one in every if one[1] not in network.sumps])):
        name, waters = max(group, key=lambda one: max(moment.levels[k] - opening_of(network, k) for k in one[1]
                                                      for moment in asked.history.moments))
        who = (f"Of {len(group)} {noun} {name} comes nearest to its opening" if len(group) > 1 else
               f"{name[0].upper()}{name[1:]}'s highest level")
        lines.append(f"{who}: {_reached(asked, waters, system)}.")
    return lines


def _reached(asked: Question, waters: Sequence[int], system: str, when: bool = True) -> str:
    """Return the highest level of a vessel off the tape, and when it stands there."""
    network = asked.history.start.network
    level, time = max((moment.levels[k], moment.time) for moment in asked.history.moments for k in waters)
    room = _room(waters[0], level, network, system)
    return f"{room}, after {_clock(time, system)}" if when else room


def _room(water: int, level: float, network: Network, system: str) -> str:
    opening = opening_of(network, water)
    where = f"{tape(opening - level, system)} below" if level <= opening else f"{tape(level - opening, system)} over"
    return f"{tape(level - bottom_of(network, water), system)}, {where} its lowest opening"


def _clock(seconds: float, system: str) -> str:
    return "the start" if seconds == 0.0 else show(seconds, "time", system)


def shown_waters(asked: Question) -> list[tuple[int, str]]:
    """Return the waters whose levels are told, with their names: tank and chambers, or of many those that move apart most."""
    moments = asked.history.moments
    network = moments[0].network
    if len(network.uppers) == 1 and len(network.sumps) == 1:
        return [(network.tank, "tank"), *((k, network.waters[k].name) for k in network.chambers)]
    return [(k, network.waters[k].name) for k in (*spaced_moments(moments, network.uppers, MOST_UPPER),
                                                  *spaced_moments(moments, network.chambers, MOST_CHAMBERS,
                                                                  (network.pump_chamber,)))]


def spaced_moments(moments: Sequence[TransientState], waters: Sequence[int], most: int, first: tuple[int, ...] = ()) -> list[int]:
    """Return the waters that move most, in their order, leaving out those that move like one already taken."""
    def turns(water: int) -> tuple[float, ...]:
        levels = [moment.levels[water] - bottom_of(moments[0].network, water) for moment in moments]
        return levels[0], levels[-1], max(levels), min(levels)

    taken: dict[int, tuple[float, ...]] = {}
    for water in [*first, *sorted(waters, key=lambda k: turns(k)[3] - turns(k)[2])]:
        own = turns(water)
        if len(taken) < most and all(max(abs(a - b) for a, b in zip(own, other, strict=True)) > LEAST_MOVE
                                     for other in taken.values()):
            taken[water] = own
    return sorted(taken)


def _rows(asked: Question, system: str) -> list[list[str]]:
    """Return the time line: each event with levels and volumes."""
    history = asked.history
    network = history.start.network
    height, volume = unit_name("length", system), unit_name("volume", system)
    spills = history.end.named(FLOOR) > 0.0
    waters = shown_waters(asked)
    tanks = "tank" if len(network.uppers) == 1 else "above"
    head = ["after", "what happens", *(f"{name}, {height}" for _, name in waters), f"{tanks}, {volume}",
            f"{'sump' if len(network.sumps) == 1 else 'sumps'}, {volume}"]

    def row(moment: TransientState, words: str) -> list[str]:
        upper, sump = (sum(moment.volumes[k] for k in places) for places in (network.uppers, network.chambers))
        cells = [show(moment.time, "time", system), words,
                 *(mark(moment.levels[k] - bottom_of(network, k), system) for k, _ in waters),
                 _figure(upper, system), _figure(sump, system)]
        return [*cells, _figure(moment.named(FLOOR), system)] if spills else cells

    rows = [[*head, f"floor, {volume}"] if spills else head, row(history.start, asked.disturbance.words)]
    rows += [row(moment, words) for moment, words in timed_sentences(history)]
    return [*rows, row(history.end, history.ended)]


def timed_sentences(history: History) -> list[tuple[TransientState, str]]:
    """Return the events, those of many tanks at one instant with one wording for all of them in one line."""
    if len(history.start.network.uppers) == 1:
        return [(event.moment, event.words) for event in history.events]
    names = sorted({str(named.element.name) for named in history.start.network.links if hasattr(named.element, "name")}
                   | {water.name for water in history.start.network.waters}, key=len, reverse=True)
    lines: list[tuple[TransientState, str, list[str]]] = []
    for event in history.events:
        name = next((name for name in names if name in event.words), "")
        before, _, after = event.words.partition(name) if name else (event.words, "", "")
        pattern = f"{before}{MARK}{after}"
        if lines and name and lines[-1][1] == pattern and event.moment.time - lines[-1][0].time < 1.0:
            lines[-1] = (event.moment, pattern, [*lines[-1][2], name])
        else:
            lines.append((event.moment, pattern, [name]))
    return [(moment, pattern.replace(MARK, some(parts))) for moment, pattern, parts in lines]


def some(names: Sequence[str]) -> str:
    """Return names in a row: all of two, else the first and how many more."""
    return " and ".join(names) if len(names) < 3 else f"{names[0]} (and {len(names) - 1} more)"


def _figure(volume: float, system: str) -> str:
    return f"{convert(volume, 'volume', system):.1f}"


def shown_until(asked: Question) -> float:
    """Return the time up to which charts go: a little beyond nine tenths of every level's way from its last turn to its end."""
    moments = asked.history.moments
    last = 0.0
    for water in (*moments[0].network.uppers, *moments[0].network.chambers):
        misses = [abs(moment.levels[water] - moments[-1].levels[water]) for moment in moments]
        near = max(MOVES * max(misses), LEAST_MOVE)
        last = max([last, *(moment.time for moment, miss in zip(moments, misses, strict=True) if miss > near)])
    return max(1.0, min(LATE * last, moments[-1].time)) if last > 0.0 else max(1.0, moments[-1].time)


def _charts(asked: Question, system: str) -> list[str]:
    network, until = asked.history.start.network, shown_until(asked)
    times = [moment.time for moment in asked.history.moments]
    lines = heading("Levels")
    many = len(network.uppers) > 1 or len(network.sumps) > 1
    pump = network.pump_chamber
    charted = [(k, name) for k, name in shown_waters(asked) if k in network.uppers or (many and k != pump)]
    for water, name in (*charted, (pump, f"chamber {network.waters[pump].name}")):
        bottom = bottom_of(network, water)
        values: Sequence[float] = [moment.levels[water] - bottom for moment in asked.history.moments]
        lines += ["", *level_plot(f"{name}, {unit_name('length', system)} above its bottom", times, values, until,
                                  lambda value: mark(value, system), lambda time: show(time, "time", system))]
    return lines
