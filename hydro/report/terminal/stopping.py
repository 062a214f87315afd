"""The pump stopped, by volumes: what comes down in each of the four cases, where it goes, and the running line in each."""

from __future__ import annotations

from hydro.checks.assessment import Assessment
from hydro.quantities.formatting import convert, unit_name
from hydro.quantities.tape import ceiling_mark, floor_mark, mark, tape_below
from hydro.report.content.levels import sump_bottom, sump_opening
from hydro.report.terminal.answers import SAME, counted_on
from hydro.report.terminal.layout import heading, paragraph, table
from hydro.scenarios.results import COMBINATIONS

ITEMS = {"tank": "from the tank", "drains": "from the drains", "returns": "from the returns"}


def stopping(assessment: Assessment, system: str) -> list[str]:
    """Return the section on the stopped pump."""
    results = assessment.results
    lines = heading("Pump stopped: what comes down, and the highest running line")
    lines += ["", *table(_rows(assessment, system))]
    wanted = results.wanted_cut()
    lines += paragraph(f"The case that has to fit: {counted_on(wanted)}. '-' stands where the water would be over the "
                       "opening, or where no line is low enough.")
    lines += _ends(assessment)
    worst = assessment.wanted_line
    if worst is not None and worst.height is not None and (worst.safe is None or worst.height - worst.safe > SAME):
        pressed = "there is none" if worst.safe is None else f"it is {tape_below(worst.safe, system)}"
        lines += paragraph("Lines are for every figure in its middle; for the case that has to fit and with "
                           f"all bands together (most of it for {worst.worst}), {pressed}.")
    if not _valves(assessment):
        lines += paragraph("There is no check valve: 'holding' and 'stuck' are the same.")
    if not any(results.element(k).end.break_at is not None for k in results.network.returns):
        lines += paragraph("There is no siphon break: 'working' and 'plugged' are the same.")
    return lines


def _valves(assessment: Assessment) -> bool:
    network = assessment.results.network
    return any(link.element.line.check_valves for link in network.links
               if hasattr(link.element, "line") and not hasattr(link.element, "inlet"))


def _rows(assessment: Assessment, system: str) -> list[list[str]]:
    results, network = assessment.results, assessment.results.network
    cases = [results.stopped[case] for case in COMBINATIONS]
    marks = ["yes" if case == results.wanted_cut() else "" for case in COMBINATIONS]
    litres, height = unit_name("volume", system), unit_name("length", system)
    bottom, opening = sump_bottom(network), sump_opening(network)

    def volumes(words: str, values: list[float]) -> list[str]:
        return [f"{words}, {litres}", *(volume(value, system) for value in values)]

    levels = ["-" if case.spare < 0.0 else mark(ceiling_mark(case.sump_level - bottom, system), system) for case in cases]
    below = ["-" if case.spare < 0.0 else mark(floor_mark(opening - case.sump_level, system), system) for case in cases]
    lines = {(line.breaks, line.holds): line.height for line in assessment.lines}
    drawn = [lines.get(case) for case in COMBINATIONS]
    line_marks = ["-" if line is None else mark(floor_mark(line, system), system) for line in drawn]
    tank = network.waters[network.tank].body
    assert tank is not None
    return [
        ["siphon breaks", *("working" if case.breaks else "plugged" for case in cases)],
        ["check valves", *("holding" if case.holds else "stuck" for case in cases)],
        ["has to fit", *marks],
        *(volumes(words, [case.items.get(key, 0.0) for case in cases]) for key, words in ITEMS.items()),
        volumes("in all", [case.comes_down for case in cases]),
        volumes("room left in the sump", [case.spare for case in cases]),
        [f"sump ends above its bottom, {height}", *levels],
        [f"below its lowest opening, {height}", *below],
        [f"tank ends above its bottom, {height}", *(mark(case.tank_level - float(tank.bottom), system) for case in cases)],
        [f"highest running line, {height}", *line_marks]]


def volume(value: float, system: str) -> str:
    """Return a volume without its unit, to a tenth while it is small."""
    number = convert(value, "volume", system)
    return f"{number:.0f}" if abs(number) >= 99.5 else f"{number:.1f}"


def _ends(assessment: Assessment) -> list[str]:
    """Return what ends the fall of the tank's level, cases with the same end together."""
    ends: dict[str, list[str]] = {}
    for case in COMBINATIONS:
        stopped = assessment.results.stopped[case]
        ends.setdefault(stopped.ends_by, []).append("working" if case[0] else "plugged")
    if len(ends) == 1:
        return paragraph(f"The tank's fall ends at the {next(iter(ends))}.")
    return [line for words, cases in ends.items()
            for line in paragraph(f"The tank's fall ends at the {words} (siphon breaks {' or '.join(dict.fromkeys(cases))}).")]
