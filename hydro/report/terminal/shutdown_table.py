"""The pumps stopped, by volumes: what comes down in each of the four cases, where sumps and tanks end, the line in each."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.network.model import BOX
from hydro.quantities.formatting import convert
from hydro.quantities.tape import ceiling_mark, floor_mark, mark, tape_below
from hydro.report.content.cut_answers import LINES, counted_on, has_breaks, has_valves
from hydro.report.content.grouping import Grouped
from hydro.report.content.levels import bottom_of
from hydro.report.content.line_answers import SAME
from hydro.report.content.view import View
from hydro.report.terminal.layout import heading, paragraph, table
from hydro.scenarios.results import COMBINATIONS, opening_of
from hydro.shutdown import Shutdown

WIDEST = 14
"""Columns of a cell from which on four of them leave no room for the words beside them."""


def shutdown_section(view: View) -> list[str]:
    """Return the section on the stopped pumps; nothing where there is no running state to stop from."""
    results = view.results
    if not results.stopped:
        return []
    lines = [*heading(f"{view.pumps.capitalize()} stopped: what comes down, and the highest running line"), "",
             *table(_rows(view)),
             *paragraph(f"What has to fit is the power cut{counted_on(view.network, results.wanted_cut())}. '-' stands where the "
                        "water would be over the opening, or where no line is low enough.")]
    lines += _fall(view)
    wanted = view.assessment.wanted_line
    if wanted is not None and wanted.height is not None and (wanted.safe is None or wanted.height - wanted.safe > SAME):
        pressed = "there is none" if wanted.safe is None else f"it is {tape_below(wanted.safe, view.system)}"
        lines += paragraph("Lines are for every figure in its middle; for the case that has to fit and with "
                           f"all bands together (most of it for {wanted.worst}), {pressed}.")
    if not has_valves(view.network):
        lines += paragraph("There is no check valve: 'holding' and 'stuck' are the same.")
    if not has_breaks(view.network):
        lines += paragraph("There is no siphon break: 'working' and 'plugged' are the same.")
    return lines


def _rows(view: View) -> list[list[str]]:
    results = view.results
    cases = [results.stopped[case] for case in COMBINATIONS]
    litres, height = view.unit("volume"), view.unit("length")

    def volumes(words: str, values: Sequence[float]) -> list[str]:
        return [f"{words}, {litres}", *(volume(value, view.system) for value in values)]

    lines = {(line.breaks, line.holds): line.height for line in view.assessment.lines}
    drawn = [lines.get(case) for case in COMBINATIONS]
    rows = [["siphon breaks", *("working" if case.breaks else "plugged" for case in cases)],
            ["check valves", *("holding" if case.holds else "stuck" for case in cases)],
            ["has to fit", *("yes" if case == results.wanted_cut() else "" for case in COMBINATIONS)]]
    rows += [volumes(f"from {words}", values) for words, values in _items(view, cases)]
    rows.append(volumes("in all", [case.comes_down for case in cases]))
    if any(case.floor > 0.0 for case in cases):
        rows.append(volumes("over the rims of tanks", [case.floor for case in cases]))
    for sump in view.network.sumps:
        rows += _sump(view, sump, cases, height, litres)
    rows += _tanks(view, cases, height)
    where = "" if view.assessment.build.one else f" in {view.network.waters[view.network.pump_chamber].name}"
    return [*rows, [f"highest running line{where}, {height}",
                    *("-" if line is None else mark(floor_mark(line, view.system), view.system) for line in drawn)]]


def _items(view: View, cases: Sequence[Shutdown]) -> list[tuple[str, list[float]]]:
    """Return what comes down in each case by where from, vessels alike together, m3."""
    names = list(dict.fromkeys(name for case in cases for name in case.items))
    vessels = [(name, [case.items.get(name, 0.0) for case in cases]) for name in names if name not in LINES]
    told = [(grouped.called, [sum(column) for column in zip(*grouped.all, strict=True)])
            for grouped in view.grouping.of("tanks and boxes", vessels)]
    told = [(view.called(name), values) for name, values in told]
    return told + [(LINES[name], [case.items.get(name, 0.0) for case in cases]) for name in names if name in LINES]


def _sump(view: View, sump: tuple[int, ...], cases: Sequence[Shutdown], height: str, litres: str) -> list[list[str]]:
    """Return where a sump ends and the room left in it."""
    who, bottom, opening = view.sump(sump), bottom_of(view.network, sump[0]), opening_of(view.network, sump[0])
    spares = [case.spare_of(sump) for case in cases]
    ends = ["-" if spare < 0.0 else mark(ceiling_mark(case.sump_level_of(sump) - bottom, view.system), view.system)
            for case, spare in zip(cases, spares, strict=True)]
    below = ["-" if spare < 0.0 else mark(floor_mark(opening - case.sump_level_of(sump), view.system), view.system)
             for case, spare in zip(cases, spares, strict=True)]
    return [[f"room left in {who}, {litres}", *(volume(spare, view.system) for spare in spares)],
            [f"{who.removeprefix('the ')} ends above its bottom, {height}", *ends],
            [f"below its lowest opening, {height}", *below]]


def _tanks(view: View, cases: Sequence[Shutdown], height: str) -> list[list[str]]:
    """Return where tanks and boxes end, those alike from the lowest to the highest."""
    network = view.network
    pairs = [(network.waters[k].name, [case.levels[k] - bottom_of(network, k) for case in cases]) for k in network.uppers]
    boxes = {network.waters[k].name for k in network.uppers if network.waters[k].kind == BOX}
    grouped_all = [*view.grouping.of("tanks", [pair for pair in pairs if pair[0] not in boxes]),
                   *view.grouping.of("boxes", [pair for pair in pairs if pair[0] in boxes])]
    return [row for grouped in grouped_all for row in _ends(view, grouped, len(cases), height)]


def _ends(view: View, grouped: Grouped[list[float]], count: int, height: str) -> list[list[str]]:
    """Return the row of tanks alike, or one for the lowest and one for the highest where both do not fit into a cell."""
    words = f"{view.called(grouped.called).removeprefix('the ')} end{'s' if grouped.alone else ''} above bottom"
    cells = [grouped.between(lambda levels, n=n: levels[n], lambda one: mark(one, view.system))  # type: ignore[misc]
             for n in range(count)]
    if max(map(len, cells)) <= WIDEST:
        return [[f"{words}, {height}", *cells]]
    ends = [grouped.ends(lambda levels, n=n: levels[n]) for n in range(count)]  # type: ignore[misc]
    return [[f"{words}, {which}, {height}", *(mark(end[place], view.system) for end in ends)]
            for place, which in enumerate(("lowest", "highest"))]


def _fall(view: View) -> list[str]:
    """Return what ends the fall of each tank and box, with the siphon breaks working and plugged where that differs."""
    texts: dict[str, list[str]] = {}
    for case in COMBINATIONS:
        texts.setdefault(_fall_in(view, view.results.stopped[case]), []).append("working" if case[0] else "plugged")
    return [line for text, cases in texts.items() if text for line in paragraph(f"The fall ends: {text}" + (
        "." if len(texts) == 1 else f" (siphon breaks {' or '.join(dict.fromkeys(cases))})."))]


def _fall_in(view: View, case: Shutdown) -> str:
    """Return what ends each fall in a case of a power cut, those alike by one of them."""
    pairs = [(view.network.waters[k].name, case.ended[k]) for k in view.network.uppers if case.ended.get(k)]
    texts = []
    for grouped in view.grouping.of("tanks and boxes", pairs):
        name, words = grouped.members[0]
        texts.append(f"{view.called(name)} at the {words}" + (
            "" if grouped.alone else f", and so each of {grouped.called}" if _alike(grouped.all)
            else f"; of {grouped.called} not all by the same"))
    return "; ".join(texts)


def _alike(words: Sequence[str]) -> bool:
    """Whether falls end at the same kind of thing: mouths, lips or siphon breaks."""
    return len({text.split(" of ")[0] for text in words}) == 1


def volume(value: float, system: str) -> str:
    """Return a volume without its unit, to a tenth while it is small."""
    number = convert(value, "volume", system)
    return f"{number:.0f}" if abs(number) >= 99.5 else f"{number:.1f}"
