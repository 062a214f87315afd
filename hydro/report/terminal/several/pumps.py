"""The pumps, each on its curve and in its company, and where their head goes on the way to the return that is worst off."""

from __future__ import annotations

from hydro.quantities.formatting import show
from hydro.report.content.flows import return_name
from hydro.report.content.grouping import Fold
from hydro.report.content.pump_paths import Way, way_of, ways_to
from hydro.report.content.pump_points import PumpRun, pump_runs
from hydro.report.content.tank_flows import tank_runs
from hydro.report.content.view import View, called, which
from hydro.report.terminal.layout import heading, paragraph, table
from hydro.report.terminal.running import by_size, head_text
from hydro.report.terminal.several.tables import told
from hydro.steady.state import State


def pump_table(view: View, state: State) -> list[str]:
    """Return what each pump gives, how far out on its curve, and what it stands beside or in a row with."""
    runs = pump_runs(view.assessment, state)
    rows = [["pump", f"flow, {view.unit('flow')}", "likely", f"head, {view.unit('length')}",
             f"with no flow, {view.unit('length')}", "of last point", "stands"]]
    notes = []
    for fold in view.folding.of("pumps", [(run.name, run) for run in runs]):
        rows.append([fold.called, *view.bands(fold, lambda run: run.flow, "flow"),
                     fold.between(lambda run: run.head, lambda one: head_text(one, view.system)),
                     fold.between(lambda run: run.shutoff, lambda one: head_text(one, view.system)),
                     fold.between(_share, lambda one: f"{one:.0%}"), _company(fold)])
        notes.append(which(fold, lambda run: run.flow[1], rows[-1][1]))
    if any(run.flow[1] < 0.0 for run in runs):
        notes.append("A flow below zero runs back into the sump through a pump that stands still")
    return ["", *table(rows, words=(0, 6)), *told(notes)]


def _share(run: PumpRun) -> float:
    return max(run.flow[1], 0.0) / run.last if run.last > 0.0 else 0.0


def _company(fold: Fold[PumpRun]) -> str:
    words = dict.fromkeys(run.company for run in fold.all)
    if len(words) == 1:
        return next(iter(words))
    return "side by side" if all(word.startswith("beside") for word in words) else "not all alike"


def worst_off(view: View, state: State) -> tuple[Way, str] | None:
    """Return the way to the return that is worst off, and its tank: the least flow into the tank with the least turnover.

    None where no pump brings water to any return.
    """
    ways, network = ways_to(state), state.network
    tanks = sorted(tank_runs(view.assessment, state), key=lambda run: run.turnover)
    for tank in tanks:
        ends = [k for k in ways if network.links[k].down == tank.place]
        if ends:
            least = min(ends, key=lambda k: float(state.flows[k]))
            return way_of(state, ways[least]), tank.name
    return None


def head_table(view: View, state: State) -> list[str]:
    """Return where the head goes on the way to the return that is worst off, part by part."""
    found = worst_off(view, state)
    if found is None:
        return []
    way, tank = found
    name = return_name(view.assessment, way.link)
    pumps = " and ".join(f"{pump} gives {show(head, 'length', view.system)}" for pump, head in way.heads)
    many = f", in {called(tank)}: the tank of {len(view.network.tanks)} with the least turnover" \
        if len(view.network.tanks) > 1 else ", the one with the least flow"
    lines = [*heading("Where the head goes"),
             *paragraph(f"On the way to {name}{many}. {pumps}.")]
    rows = [["part", f"head, {view.unit('length')}", "share"]]

    def row(words: str, head: float) -> list[str]:
        return [words, head_text(head, view.system), f"{round(head / way.head, 3) + 0.0:.1%}" if way.head > 0.0 else "-"]

    rows.append(row(f"lift: from the water in {way.start} to {'the mouth, in the air' if way.free else called(tank)}", way.lift))
    rows += [row(words, head) for words, head in _on_the_way(view, way)]
    if abs(way.left) > 5e-4:
        rows.append(row("not used: a pump draws air, or its curve droops" if way.left > 0.0 else
                        "missing: the mouth stands higher than the head reaches", way.left))
    return [*lines, "", *table([*rows, row("in all, what the pumps give" if len(way.heads) > 1 else "in all, what it gives",
                                            way.head)])]


def _on_the_way(view: View, way: Way) -> list[tuple[str, float]]:
    """Return the parts passed, pipes between headers summed up link by link and told as one where there are many."""
    runs = {view.network.links[k].name for k in view.network.runs}
    passed = [(name, sum(head for _, head in parts)) for name, parts in way.links if name in runs]
    found: list[tuple[str, float]] = []
    for name, parts in way.links:
        if name not in runs:
            found += by_size(parts)
        elif passed:
            found += [(fold.called if fold.alone else f"{fold.called}: {fold.members[0][0]} .. {fold.members[-1][0]}",
                       sum(fold.all)) for fold in view.folding.of("pipes", passed)]
            passed = []
    return found
