"""Rows of the test sheet with everything in order: leaks, filling, valves, buckets, the ruler on lips and at rims."""

from __future__ import annotations

from collections.abc import Iterator

from hydro.checks.assessment import Assessment
from hydro.description.build import Build
from hydro.elements.fittings import TUNED
from hydro.elements.registry import KINDS
from hydro.quantities.uncertain import Uncertain
from hydro.report.content.flows import drain_runs, return_runs
from hydro.report.content.grouping import Grouped, Grouping, few
from hydro.report.content.levels import levels, spread_of
from hydro.report.content.sentences import DOWN, NEAREST, UP
from hydro.report.html.figures import both
from hydro.report.html.trial_steps import Trial, any_one_of, bucket_with_band, spanned
from hydro.scenarios.results import DRY, Results
from hydro.steady.state import State


def running_steps(assessment: Assessment, state: State, system: str) -> Iterator[Trial]:
    """Yield the rows with the pump off for the leaks, then running."""
    network, build = state.network, assessment.build
    yield Trial("Leak test: pump off, fill every tank to just below its lowest lip and the sump to its line. Wipe all joints, "
               "lay dry paper under them, wait 24 h.", "dry paper; no fall but what evaporates",
               "a bowl of water beside it shows how much that is")
    line = float(state.pump_level) - network.sump_bottom
    wanted = assessment.wanted_line
    never = "" if wanted is None or wanted.safe is None else f"never above {both(wanted.safe, 'length', system, -1)}"
    where = network.waters[network.pump_chamber].name
    yield Trial(f"Run the pump and fill until the water in '{where}' stands at its line, up from the sump's bottom.",
               f"{both(line, 'length', system)}; {both(float(state.total), 'volume', system)} of water in all", never or "-")
    yield from _valves(build)
    yield from _buckets(assessment, state, system)
    yield from _lips(assessment, state, system)
    for grouped in Grouping.by(build).of("waters", [(level.name, level) for level in levels(assessment, state)]):
        upper = grouped.all[0].kind != "chamber"
        bands = Grouped(grouped.called, tuple((name, one.under_rim if upper else one.over_bottom) for name,
                                              one in grouped.members))
        what = "down from the rim" if upper else "up from the bottom of the sump"
        yield Trial(f"Ruler: {any_one_of(grouped)}, {what}.", *spanned(bands, system, DOWN if upper else UP))


def _valves(build: Build) -> Iterator[Trial]:
    """Yield a row for the valves that are not fully open, those of one kind and setting together."""
    named = [*((one.name, one.line) for one in build.drains), *((one.name, one.line) for one in build.pumps),
             *((one.name, one.line) for one in build.returns), *((one.name, one.line) for one in build.runs)]
    found: dict[tuple[str, str], list[str]] = {}
    for name, line in named:
        for item in line:
            opened = item.values.get("open")
            if isinstance(opened, Uncertain) and opened.middle < 1.0:
                found.setdefault((KINDS[item.kind].word, f"{opened.middle:.0%} open"), []).append(name)
            elif opened == TUNED:
                found.setdefault((KINDS[item.kind].word, "until the next higher inlet trickles"), []).append(name)
    for (word, told), names in found.items():
        yield Trial(f"Set the {word} of {few(Grouping.by(build).names('lines', names))}, then trim until the levels below "
                   f"are met. Mark where it stands.", told)


def _buckets(assessment: Assessment, state: State, system: str) -> Iterator[Trial]:
    grouped_all = Grouping.by(assessment.build).of("returns", [(run.name, run) for run in return_runs(assessment, state)])
    for grouped in grouped_all:
        bands = [run.bucket for run in grouped.all if run.bucket is not None]
        if not bands:
            continue
        middle = sorted(band[1] for band in bands)[len(bands) // 2]
        band = min(one[0] for one in bands), middle, max(one[2] for one in bands)
        yield Trial(f"Bucket and watch at the mouth of {any_one_of(grouped)}, three times. Swing a mouth under water just "
                   f"clear of it.",
                   *bucket_with_band(band, system))


def _lips(assessment: Assessment, state: State, system: str) -> Iterator[Trial]:
    """Yield a row for the ruler on each wet drain's lip."""
    network, pairs = state.network, []
    for run in drain_runs(assessment, state):
        k = network.place(run.name)
        if float(state.flows[k]) < DRY or run.over_lip <= 0.0:
            continue

        def over(found: Results, k: int = k) -> float:
            link = found.network.links[k]
            return float(found.state.levels[link.up]) - float(link.element.inlet.crest)

        low, middle, high = spread_of(assessment, over)
        pairs.append((run.name, (low - middle + run.over_lip, run.over_lip, high - middle + run.over_lip)))
    for grouped in Grouping.by(assessment.build).of("drains", pairs):
        yield Trial(f"Ruler on the lip of {any_one_of(grouped)}: depth of the water over it, a hand's breadth away.",
                   *spanned(grouped, system, NEAREST))
