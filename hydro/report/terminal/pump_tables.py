"""The pumps, each on its curve and in its company, and where their head goes on the way to the return that is worst off."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.quantities.formatting import convert, show
from hydro.report.content.flows import return_name
from hydro.report.content.grouping import Grouped
from hydro.report.content.head_budget import Passed, Way, way_of, ways_to
from hydro.report.content.pump_points import PumpRun, pump_runs
from hydro.report.content.tank_flows import worst_off
from hydro.report.content.view import View, which
from hydro.report.terminal.layout import heading, noted, paragraph, table
from hydro.steady.state import State

SMALL = 1e-3
"""Parts that lose less head than this are shown together, m."""


def pump_table(view: View, state: State) -> list[str]:
    """Return what each pump gives, how far out on its curve, and what it stands beside or in a row with."""
    runs = pump_runs(view.assessment, state)
    rows = [["pump", f"flow, {view.unit('flow')}", "likely", f"head, {view.unit('length')}",
             f"with no flow, {view.unit('length')}", "of last point", "stands"]]
    notes = []
    for grouped in view.grouping.of("pumps", [(run.name, run) for run in runs]):
        rows.append([grouped.called, *view.bands(grouped, lambda run: run.flow, "flow"),
                     grouped.between(lambda run: run.head, lambda one: head_text(one, view.system)),
                     grouped.between(lambda run: run.shutoff, lambda one: head_text(one, view.system)),
                     grouped.between(_share, lambda one: f"{one:.0%}"), _company(grouped)])
        notes.append(which(grouped, lambda run: run.flow[1], rows[-1][1]))
    if any(run.flow[1] < 0.0 for run in runs):
        notes.append("A flow below zero runs back into the sump through a pump that stands still")
    return ["", *table(rows, words=(0, 6)), *noted(notes)]


def _share(run: PumpRun) -> float:
    return max(run.flow[1], 0.0) / run.last if run.last > 0.0 else 0.0


def _company(grouped: Grouped[PumpRun]) -> str:
    words = dict.fromkeys(run.company for run in grouped.all)
    if len(words) == 1:
        return next(iter(words))
    return "side by side" if all(word.startswith("beside") for word in words) else "not all alike"


def head_section(view: View, state: State) -> list[str]:
    """Return where the head goes, part by part: on the way to each return of a single tank, else to the one worst off."""
    ways, single = ways_to(state), view.assessment.build.one
    found = [way_of(state, links) for links in ways.values()]
    where = ""
    if not single or not found:
        worst = worst_off(view.assessment, state)
        if worst is None:
            return []
        found = [worst[0]]
        why = f", in {view.called(worst[1])}: the tank of {len(view.network.tanks)} with the least turnover" \
            if len(view.network.tanks) > 1 else ", the one with the least flow"
        where = f"On the way to {return_name(view.assessment, found[0].link)}{why}. "
    gives = " and ".join(f"{view.pump(pump)} gives {show(head, 'length', view.system)}" for pump, head in found[0].heads)
    lines = [*heading("Where the head goes"), *paragraph(f"{where}{gives[:1].upper()}{gives[1:]}.")]
    if len(view.assessment.answer.states) > 1:
        lines += paragraph("(In the first of the ways to run listed above.)")
    common = [link for link in found[0].links if all(link in way.links for way in found)] if len(found) > 1 else []
    rows = [["part", f"head, {view.unit('length')}", "share"],
            *(_row(view, found[0], *part) for part in _on_the_way(view, common))]
    for way in found:
        rows += _way_rows(view, way, common, "" if len(found) == 1 else "- ")
    return [*lines, "", *table(rows)]


def _row(view: View, way: Way, words: str, head: float) -> list[str]:
    return [words, head_text(head, view.system), f"{round(head / way.head, 3) + 0.0:.1%}" if way.head > 0.0 else "-"]


def _way_rows(view: View, way: Way, common: Sequence[Passed], indent: str) -> list[list[str]]:
    """Return the rows of the way to one return; of several each begins with what all have in common, as one."""
    tank = view.network.waters[view.network.links[way.link].down].name
    shared = sum(head for _, parts in common for _, head in parts)
    parts = [*([("all parts before, as above", shared)] if common else []),
             (f"lift: from the water in {way.start} to {'the mouth, in the air' if way.free else view.called(tank)}", way.lift),
             *_on_the_way(view, [link for link in way.links if link not in common])]
    if abs(way.left) > 5e-4:
        parts.append(("not used: a pump draws air, or its curve droops" if way.left > 0.0 else
                      "missing: the mouth stands higher than the head reaches", way.left))
    parts.append(("in all, what the pumps give" if len(way.heads) > 1 else "in all, what the pump gives", way.head))
    return [*([[f"to {return_name(view.assessment, way.link)}:", "", ""]] if indent else []),
            *(_row(view, way, f"{indent}{words}", head) for words, head in parts)]


def _on_the_way(view: View, links: Sequence[Passed]) -> list[tuple[str, float]]:
    """Return the parts passed, pipes between headers summed up link by link and told as one where there are many."""
    runs = {view.network.links[k].name for k in view.network.runs}
    passed = [(name, sum(head for _, head in parts)) for name, parts in links if name in runs]
    found: list[tuple[str, float]] = []
    for name, parts in links:
        if name not in runs:
            found += by_size(parts)
        elif passed:
            found += [(grouped.called if grouped.alone else f"{grouped.called}: {grouped.members[0][0]} .. "
                                                            f"{grouped.members[-1][0]}",
                       sum(grouped.all)) for grouped in view.grouping.of("pipes", passed)]
            passed = []
    return found


def head_text(head: float, system: str) -> str:
    """Return a head without its unit: whole millimetres, or tenths of an inch."""
    number = convert(head, "length", system)
    return f"{round(number) + 0:.0f}" if system == "metric" else f"{round(number, 1) + 0.0:.1f}"


def by_size(parts: tuple[tuple[str, float], ...]) -> list[tuple[str, float]]:
    """Return the parts, those too small to matter as one."""
    large = [part for part in parts if abs(part[1]) >= SMALL]
    small = [part for part in parts if 0.0 < abs(part[1]) < SMALL]
    return [*large, (f"{len(small)} small parts", sum(head for _, head in small))] if len(small) > 1 else large + small
