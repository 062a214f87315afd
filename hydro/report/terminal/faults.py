"""The fault table for a terminal of 80 columns: the answer, the heights that survive, the rows, worst first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from hydro.faults.effects import Effect
from hydro.faults.levels import DROP, NOISY, SURGING
from hydro.faults.single import Fault
from hydro.faults.survivable_heights import SurvivableHeight, Surviving, below
from hydro.faults.table import FaultRow, FaultTable, fault_in_words
from hydro.network.model import Network
from hydro.quantities.formatting import convert, show, unit_name
from hydro.quantities.tape import tape_above, tape_below
from hydro.report.content.blocked_answers import UNLESS, unsolved_rows
from hydro.report.content.levels import bottom_of
from hydro.report.terminal.layout import heading, labelled, paragraph, table, titled
from hydro.steady.operating_point import NONE

HOSES = ("No build holds against that: all goes on the floor until the pump draws air, with what the tank then gives, and the "
         "whole top-up reservoir. Two clamps at each end, and a leak alarm on the floor. A hose that comes off at a pump in the "
         "sump is among the faults above; where the pump stands beside the sump, that end counts here.")
NOTES = (
    "Every figure in the middle of its band. 'At rest' is read off steady states and volumes, 'through time' was followed "
    "second by second as well. Each fault is asked running, and with the power cut on top; with the water that is in the loop, "
    "and topped up to the line where that is worse. 'More' is as much as is topped up.",
    "A half blocked inlet has half of its openings left, a fouled strainer a quarter, a clogged mat a fiftieth of its flow; a "
    "weak pump has 0.8 of its head. Common practice, no source.")


def faults_text(found: FaultTable, heights: Surviving | None, units: str | None = None) -> str:
    """Return the table as text; `heights` is None where it was stopped before they were found."""
    build = found.base.loop.build
    system = units or build.units
    lines = titled(build.title, build.file)
    lines += ["", *labelled("Answer", *_answer(found))]
    if not found.complete:
        lines += labelled("Stopped", f"after {found.done} of {found.asked} choices of faults; what is missing is not judged, nor "
                          "followed through time.")
    if found.left_out:
        every = found.left_out + found.asked - len(found.faults)
        lines += labelled("Pairs", f"{found.left_out} of {every} pairs are not asked; the faults that do most harm alone go "
                          "first.")
    if heights is not None:
        lines += ["", *_heights(found.base.network, heights, system)]
    head = ["what goes wrong", "what comes of it", f"floor, {unit_name('volume', system)}", "after", "found"]
    rows = [[row.names, outcome(row.effect, system, found.base.room), floor_litres(row.effect, system), _after(row, system),
             row.method]
            for row in found.rows]
    lines += [*heading("Faults, worst first"), "", *table([head, *rows], words=(0, 1, 4)), ""]
    if found.hoses:
        loose = [[row.names, floor_litres(row.effect, system)] for row in found.hoses]
        lines += [*heading("A hose comes off outside the sump"), "", *table([[head[0], head[2]], *loose], words=(0,)), "",
                  *paragraph(HOSES, 0)]
    for note in NOTES:
        lines += paragraph(note, 0)
    return "\n".join(lines) + "\n"


def _answer(found: FaultTable) -> list[str]:
    return [*([unsolved_rows(found)] if unsolved_rows(found) else []), *_flooding(found)]


def _flooding(found: FaultTable) -> list[str]:
    flooding = found.flooding
    if not flooding:
        return ["No single fault puts water on the floor." if found.complete else "No single fault looked at puts water on the "
                "floor."]
    return ["Water on the floor from a single fault:", *(f"{row.names}." for row in flooding)]


def outcome(effect: Effect, system: str, room: float) -> str:
    """Return in words what faults come to: 'holds', or what happens and where; `room` (m) is wanted after a power cut."""
    if effect.kind == NONE:
        return "not solved"
    words = []
    if effect.hose_off and effect.over > DROP:
        return "all goes on the floor until the pump draws air"
    if effect.floods:
        topped = "topped up, " if effect.topped else ""
        if effect.over > DROP or effect.endless:
            words.append(f"{topped}{effect.where} runs over{UNLESS if effect.unless_siphons else ''}")
        if effect.cut > DROP:
            then = "as the tank runs back" if effect.hose_off else f"when the power {'' if effect.power_fails else 'then '}fails"
            words.append(f"{'' if words else topped}the sump runs over {then}")
    if effect.dry:
        words.append("the pump draws air")
    if effect.noise == SURGING:
        words.append("the drains surge")
    if not words:
        left = f", {tape_below(effect.left, system)} left after a power cut"
        return f"{'tight' if effect.left < room else 'holds'}{left}{'; gurgles' if effect.noise == NOISY else ''}"
    return "; ".join(words)


def floor_litres(effect: Effect, system: str) -> str:
    """Return the water on the floor as a figure, '-' for none, 'more' where topping up feeds it."""
    figure = f"{convert(effect.litres, 'volume', system):.1f}" if effect.litres > DROP else ""
    if effect.endless:
        return f"{figure} or more" if figure else "more"
    return figure or "-"


def _after(row: FaultRow, system: str) -> str:
    return "-" if row.time is None else show(row.time, "time", system)


def _heights(network: Network, heights: Surviving, system: str) -> list[str]:
    """Return the heights that survive every single fault, off the tape."""
    sump = bottom_of(network, network.pump_chamber)
    lines = labelled("Highest line", *_line(heights.highest, sump, system, True))
    if heights.lowest is None or heights.siphon_break is None:
        return lines + labelled("Not asked", "With several tanks, boxes, sumps or pumps, the lowest line and the height of "
                                "siphon breaks.")
    tank = network.waters[network.tank].body
    assert tank is not None
    helped = heights.lowest if heights.higher is None else replace(heights.lowest, never=heights.higher.never)
    lines += labelled("Lowest line", *_line(helped, sump, system, False), *_no_line_serves_both(heights, sump, system))
    level = heights.siphon_break.level
    if level is None:
        return lines + labelled("Siphon breaks", "No height of theirs survives a single fault.")
    told = [f"Every return has to let in air no lower than {tape_below(float(tank.rim) - level, system)} under the tank's rim"
            f"{_set_by(heights.siphon_break)}."]
    names = below(network, level)
    if names:
        told.append(f"The mouth of {' and of '.join(names)} lies lower: it rests on a siphon break that must not plug.")
    return lines + labelled("Siphon breaks", *told, *_never(heights.siphon_break))


def _line(height: SurvivableHeight, bottom: float, system: str, highest: bool) -> list[str]:
    if height.level is None:
        return ["No line leaves enough room after a single fault." if highest else
                "No line keeps the pump under water through a restart after a single fault."]
    over = height.level - bottom
    told = tape_below(over, system) if highest else tape_above(over, system)
    return [f"{told} over the sump's bottom{_set_by(height)}.", *_never(height)]


def _no_line_serves_both(heights: Surviving, bottom: float, system: str) -> list[str]:
    """Return that a fault asks for a line over the highest, why, and what would serve; nothing where none does."""
    most, least = heights.highest, heights.higher
    if least is None or least.level is None or most.level is None or least.fault is None:
        return []
    allowed = f"{most.fault.who}: {fault_in_words(most.fault)}" if most.fault is not None else "the room in the sump"
    return [f"No line serves both: with {least.fault.who}: {fault_in_words(least.fault)} the pump draws air or does not get "
            f"through a restart below {tape_above(least.level - bottom, system)}, and {allowed} allows no more than "
            f"{tape_below(most.level - bottom, system)}; a larger sump, less that comes down or a lower intake would."]


def _set_by(height: SurvivableHeight) -> str:
    return "" if height.fault is None else f" (set by {height.fault.who}: {fault_in_words(height.fault)})"


def _never(height: SurvivableHeight) -> list[str]:
    return [f"No help against {_listed(height.never)}."] if height.never else []


def _listed(faults: Sequence[Fault]) -> str:
    return "; ".join(f"{fault.who}: {fault_in_words(fault)}" for fault in faults)
