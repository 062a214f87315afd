"""Named figures of an assessment: SI values with their dimension, and the same as pint quantities for users of the library.

    >>> from hydro import assess, figures, loads
    >>> from hydro.report.content.named import EXAMPLE
    >>> found = figures(assess(loads(EXAMPLE)))
    >>> f"{found['pump flow'].to('L/h').magnitude:.2g} L/h"
    '4.4e+03 L/h'

Heights of 'highest running line' and of the sump's levels count from the sump's bottom, the tank's from the tank's bottom.
Names that hold a name out of the file: 'flow of NAME', 'speed in NAME', 'level in NAME', 'tank with NAME blocked'. Where there
are several tanks, sumps or pumps every figure carries a name: 'flow into NAME', 'head of NAME', 'NAME with DRAIN blocked'.
A valve that is tuned has 'K of NAME: VALVE' and 'opening of NAME: VALVE'.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from hydro.checks import CheckKind
from hydro.checks.assessment import Assessment
from hydro.network.model import TANK
from hydro.report.content.flows import DrainRun, ReturnRun, drain_runs, return_runs
from hydro.report.content.head_budget import lift_to, pump_head_of
from hydro.report.content.levels import bottom_of, levels, stated_line
from hydro.report.content.loads import pressures, weights
from hydro.report.content.named_several import case_words, of_several
from hydro.report.content.tuned import tuned_figures
from hydro.scenarios.results import COMBINATIONS
from hydro.study import Study

if TYPE_CHECKING:
    from pint import Quantity

Figure = tuple[float, str]
"""A value in SI units and its dimension."""

EXAMPLE = """
title: A trough over a crate
tank: {inside: 120 x 50 x 50 cm, bottom: 90 cm above ground}
sump:
  inside: 80 x 40 x 40 cm
  bottom: at ground
  chambers: [{name: pump, line: 20 cm above sump bottom}]
drains: [{name: drain, inlet: {standpipe: 60 mm, lip: 8 cm below tank rim}, line: [pipe 63 PN10 1 m],
          into: {chamber: pump, end: 30 cm above sump bottom}}]
pump: {curve: [0 L/h = 3 m, 3000 L/h = 2.2 m, 6000 L/h = 0 m]}
returns: [{line: [hose 32 mm 1.5 m], end: 10 cm below tank rim}]
"""
"""A small invented build, for the examples."""


def named(assessment: Assessment) -> dict[str, Figure]:
    """Return the figures by name; what does not exist (a line that is nowhere low enough) is left out."""
    found: dict[str, Figure | None] = {}
    if assessment.build.one:
        if assessment.answer.state is not None:
            found.update(_running(assessment))
        found.update(_stopped(assessment))
        found.update(_blocked(assessment))
    else:
        found.update(of_several(assessment))
    if assessment.answer.state is not None:
        found.update(tuned_figures(assessment))
    found.update(weights(assessment))
    found.update(pressures(assessment))
    return {name: figure for name, figure in found.items() if figure is not None and math.isfinite(figure[0])}


def _running(assessment: Assessment) -> dict[str, Figure | None]:
    state, network = assessment.results.state, assessment.results.network
    found: dict[str, Figure | None] = {
        "pump flow": (float(state.pump_flow), "flow"), "pump head": (pump_head_of(state, network.pump), "length"),
        "lift": (min(lift_to(state, k, network.pump_chamber) for k in network.returns), "length")}
    for name, band, dimension in (("pump flow", assessment.flow, "flow"), ("bucket of 10 L", assessment.bucket, "time")):
        for end, value in zip(("low", "middle", "high"), band or (), strict=False):
            found[f"{name}, {end}"] = (value, dimension)
    for level in levels(assessment, state):
        name = "tank level" if level.kind == TANK else f"level in {level.name}"
        found[name] = (level.height - level.bottom, "length")
        found[f"{name}, low"], found[f"{name}, high"] = (level.over_bottom[0], "length"), (level.over_bottom[2], "length")
        found[f"{name}, below its opening"] = (level.under_opening, "length")
    lines: list[DrainRun | ReturnRun] = [*drain_runs(assessment, state), *return_runs(assessment, state)]
    for run in lines:
        found[f"flow of {run.name}"], found[f"speed in {run.name}"] = (run.flow[1], "flow"), (run.speed, "speed")
    tank: Any = network.waters[network.tank].body
    found["water in the tank"] = (float(tank.stored(state.tank_level)[0]), "volume")
    found["all the water"] = (float(state.total), "volume")
    for kind, name in ((CheckKind.TURNOVER, "turnover of the tank"), (CheckKind.TURNOVER_OF_ALL, "turnover of all the water")):
        for check in assessment.of(kind):
            found[name] = (check.value, "turnover")
    return found


def _stopped(assessment: Assessment) -> dict[str, Figure | None]:
    results = assessment.results
    found: dict[str, Figure | None] = {}
    for case in COMBINATIONS:
        stopped = results.stopped.get(case)
        if stopped is not None:
            words = case_words(*case)
            found[f"comes down, {words}"] = (stopped.comes_down, "volume")
            found[f"room left, {words}"] = (stopped.spare, "volume")
            found[f"sump level, {words}"] = (stopped.sump_level - results.network.sump_bottom, "length")
    wanted = assessment.wanted_line
    if wanted is not None:
        found["highest running line"] = None if wanted.safe is None else (wanted.safe, "length")
        found["highest running line, middle"] = None if wanted.height is None else (wanted.height, "length")
    for line in assessment.lines:
        found[f"highest running line, {case_words(line.breaks, line.holds)}"] = (
            None if line.height is None else (line.height, "length"))
    stated = stated_line(assessment)
    found["running line as stated"] = None if stated is None else (stated, "length")
    return found


def _blocked(assessment: Assessment) -> dict[str, Figure | None]:
    network = assessment.results.network
    bottom = bottom_of(network, network.tank)
    found: dict[str, Figure | None] = {}
    for overflow in assessment.results.overflows:
        names = ", ".join(network.links[k].name for k in overflow.out)
        found[f"tank with {names} blocked" if names else "tank with the pump at its best"] = (overflow.level - bottom, "length")
    everything = assessment.results.all_blocked
    if everything is not None:
        found["all drains blocked, comes up"] = (everything.all, "volume")
        found["all drains blocked, room in the tank"] = (everything.room, "volume")
    return found


def figures(found: Study | Assessment) -> dict[str, Quantity[Any]]:
    """Return the named figures of a study, or of an assessment by itself, as quantities of pint's application registry."""
    from hydro.quantities.parsing import quantity

    return {name: quantity(value, dimension) for name, (value, dimension) in named(Study.of(found).assessment).items()}
