"""The tables of the running state, things built several times over as 'lowest .. highest': levels, drains, returns."""

from __future__ import annotations

from collections import Counter

from hydro.network.model import CHAMBER
from hydro.quantities.formatting import convert, show
from hydro.quantities.tape import Band, mark, seconds, tape_band
from hydro.report.content.buckets import BUCKETS
from hydro.report.content.flows import DrainRun, ReturnRun, drain_runs, hole_runs, limits_when_full, return_runs
from hydro.report.content.grouping import Fold, span
from hydro.report.content.levels import Level, levels
from hydro.report.content.tuned import tuned_told
from hydro.report.content.view import View, which
from hydro.report.terminal.layout import paragraph, table
from hydro.steady.state import State

STILL = 1e-4
"""A speed below this is no flow, m/s."""


def level_table(view: View, state: State) -> list[str]:
    """Return where each water stands, over its bottom and below its rim and opening."""
    found = levels(view.assessment, state)
    unit = view.unit("length")
    opened = any(abs(level.opening - level.rim) > 1e-6 for level in found)
    head = ["water", f"above its bottom, {unit}", "likely", f"below its rim, {unit}", "likely"]
    rows = [head + ([f"below its opening, {unit}"] if opened else [])]
    notes = []
    for fold in _waters(view, found):
        over, under = _heights(view, fold, False), _heights(view, fold, True)
        opening = [fold.between(lambda level: level.under_opening, lambda one: mark(one, view.system))] if opened else []
        rows.append([fold.called, *over, *under, *opening])
        notes.append(which(fold, lambda level: level.height - level.bottom, rows[-1][1]))
    return ["", *table(rows), *told(notes)]


def _waters(view: View, found: list[Level]) -> list[Fold[Level]]:
    """Return the waters as they are told: tanks, boxes and chambers each among their own kind."""
    kinds = {level.kind: "chambers" if level.kind == CHAMBER else "boxes" if level.kind == "box" else "tanks" for level in found}
    return [fold for kind, words in kinds.items()
            for fold in view.folding.of(words, [(level.name, level) for level in found if level.kind == kind])]


def _heights(view: View, fold: Fold[Level], under: bool) -> tuple[str, str]:
    """Return the heights of a fold, over the bottom or under the rim, and all their bands together."""
    def ask(level: Level) -> Band:
        return level.under_rim if under else level.over_bottom

    if fold.alone:
        return tape_band(ask(fold.all[0]), view.system)
    bands = [ask(level) for level in fold.all]
    low, high = min(band[0] for band in bands), max(band[2] for band in bands)
    likely = tape_band((low, bands[0][1], high), view.system)[1] if any(band[0] < band[2] for band in bands) else ""
    return fold.between(lambda level: ask(level)[1], lambda one: mark(one, view.system)), likely


def drain_table(view: View, state: State) -> list[str]:
    """Return what each drain carries and how it runs; of many alike how many run which way."""
    system = view.system
    rows = [["drain", f"flow, {view.unit('flow')}", "likely", f"over its lip, {view.unit('length')}", "J", "runs"]]
    notes = []
    for fold in view.folding.of("drains", [(run.name, run) for run in drain_runs(view.assessment, state)]):
        rows.append([fold.called, *view.bands(fold, lambda run: run.flow, "flow"),
                     fold.between(lambda run: run.over_lip, lambda one: mark(one, system) if one > 0.0 else "-"),
                     fold.between(lambda run: run.air_number, lambda one: f"{one:.2f}"), counted(fold)])
        notes.append(which(fold, lambda run: run.flow[1], rows[-1][1]))
    return ["", *table(rows, words=(0, 5)), *told(notes),
            *paragraph("J is the speed in the pipe over sqrt(g D), D its bore: up to 0.3 a drain vents itself quietly, up to 1 "
                       "it carries air along."), *paragraph(_ratings(view, state)),
            *(line for text in tuned_told(view.assessment) for line in paragraph(text))]


def counted(fold: Fold[DrainRun]) -> str:
    """Return how the drains of a fold run: 'quiet', or '10 quiet, 2 carries air'."""
    count = Counter(run.runs for run in fold.all)
    return next(iter(count)) if len(count) == 1 else ", ".join(f"{number} {words}" for words, number in count.most_common())


def _ratings(view: View, state: State) -> str:
    """Return what drains can carry: with air before they prime, and full of water, as their inlets feed them when they prime."""
    pairs, limits = [], {}
    for k in state.network.drains:
        drain = state.network.links[k].element
        full, limits[drain.name] = drain.siphon_rating(float(state.ends(k)[1]))
        pairs.append((drain.name, (float(drain.vented_rating()), full)))
    texts, limited = [], []
    for fold in view.folding.of("drains", pairs):
        limited += [(fold.called, limits[name]) for name, _ in fold.members]
        vented, full_of = ((show(end, "flow", view.system, digits=2) for end in fold.ends(lambda pair, n=n: pair[n]))  # type: ignore[misc]
                           for n in (0, 1))
        texts.append(f"{fold.called} {_both(view, *vented)} with air, {_both(view, *full_of)} full of water")
    return f"They can carry: {'; '.join(texts)}. Between the two an open drain flushes. {limits_when_full(limited)}"


def _both(view: View, low: str, high: str) -> str:
    unit = view.unit("flow")
    return f"{span(low.removesuffix(f' {unit}'), high.removesuffix(f' {unit}'))} {unit}"


def return_table(view: View, state: State) -> list[str]:
    """Return what each return delivers, how fast, and how long a bucket takes at its mouth."""
    name, size = BUCKETS[view.system]
    rows = [["return", f"flow, {view.unit('flow')}", "likely", f"speed, {view.unit('speed')}", f"{name} take", "fastest in"]]
    notes = []
    for fold in view.folding.of("returns", [(run.name, run) for run in return_runs(view.assessment, state)]):
        fastest = fold.most(lambda run: run.speed)[1]
        rows.append([fold.called, *view.bands(fold, lambda run: run.flow, "flow"),
                     fold.between(lambda run: run.speed if run.speed > STILL else 0.0,
                                  lambda one: f"{convert(one, 'speed', view.system):.2g}"),
                     _bucket(view, fold, size), fastest.where])
        notes.append(which(fold, lambda run: run.flow[1], rows[-1][1]))
    lines = ["", *table(rows, words=(0, 5)), *told(notes)]
    for hole in view.folding.of("siphon breaks", [(hole.name, hole) for hole in hole_runs(state)]):
        low, high = (show(max(end, 0.0), "flow", view.system, digits=2) for end in hole.ends(lambda run: run.flow))
        lines += paragraph(f"{hole.called}: its hole lets out {_both(view, low, high)} while running.")
    return lines


def _bucket(view: View, fold: Fold[ReturnRun], size: float) -> str:
    """Return the time for a bucket; of many alike from the quickest at its best to the slowest at its worst."""
    bands = [run.bucket for run in fold.all if run.bucket is not None]
    if not bands:
        return "-"
    low, middle, high = min(band[0] for band in bands), bands[0][1], max(band[2] for band in bands)
    return seconds((size * low, size * middle, size * high), view.system) + ("" if len(bands) == len(fold.all) else " or none")


def told(notes: list[str]) -> list[str]:
    """Return the notes under a table, those that say something."""
    return [line for note in notes if note for line in paragraph(f"{note}.", 2, 2)]
