"""The weight of the water and its pressure at the bottom, vessel by vessel: for those who judge glass, stand and floor."""

from __future__ import annotations

from typing import Any

from hydro.checks.assessment import Assessment
from hydro.elements.limits import water_density
from hydro.quantities.arrays import GRAVITY
from hydro.report.content.grouping import Grouping
from hydro.report.content.levels import bottom_of, rim_of, vessel_of

Figures = dict[str, tuple[float, str]]
"""Values in SI units with their dimension, by words."""


def weights(assessment: Assessment, grouping: Grouping | None = None) -> Figures:
    """Return the weight of the water: each vessel as it runs, and full to the rim, kg.

    Of vessels that are told as one the heaviest stands for all; without `grouping` each is told by itself.
    """
    results, state = assessment.results, assessment.answer.state
    network, density = results.network, water_density(assessment.build)
    running, full = list[tuple[str, float]](), list[tuple[str, float]]()
    for name, places in _vessels(assessment):
        bodies: list[Any] = [network.waters[k].body for k in places]
        if state is not None:
            running.append((name, density * sum(float(body.stored(state.levels[k])[0])
                                                for body, k in zip(bodies, places, strict=True))))
        full.append((name, density * sum(float(body.stored(rim_of(results, k))[0])
                                         for body, k in zip(bodies, places, strict=True))))
    grouped_all = _most(assessment, grouping, running, "heaviest"), _most(assessment, grouping, full, "heaviest")
    figures: Figures = {}
    for name in grouped_all[1]:
        if name in grouped_all[0]:
            figures[f"water in {name}, running"] = (grouped_all[0][name], "mass")
        figures[f"water in {name}, full to its rim"] = (grouped_all[1][name], "mass")
    return figures


def _vessels(assessment: Assessment) -> list[tuple[str, tuple[int, ...]]]:
    """Return what each vessel is called in a sentence, and its waters."""
    network = assessment.results.network
    if assessment.build.one:
        return [("the tank", (network.tank,)), ("the sump", network.chambers)]
    return [*((network.waters[k].name, (k,)) for k in network.uppers),
            *((vessel_of(assessment.results, sump[0]).name, sump) for sump in network.sumps)]


def _most(assessment: Assessment, grouping: Grouping | None, pairs: list[tuple[str, float]], what: str) -> dict[str, float]:
    """Return values by name, of those told as one the largest."""
    if grouping is None or assessment.build.one:
        return dict(pairs)
    return {grouped.called if grouped.alone else f"the {what} of {grouped.called}": max(grouped.all)
            for grouped in grouping.of("vessels", pairs)}


def pressures(assessment: Assessment, grouping: Grouping | None = None) -> Figures:
    """Return the water's pressure at each tank's bottom and at its lowest hole that is described, full to the rim, Pa."""
    results = assessment.results
    network, weight = results.network, water_density(assessment.build) * GRAVITY
    one = assessment.build.one
    deep, holes = list[tuple[str, float]](), list[tuple[str, float]]()
    lowest: dict[int, list[float]] = {}
    for k in network.drains:
        lowest.setdefault(network.links[k].up, []).append(float(results.element(k).inlet.crest))
    for k in network.returns:
        if results.element(k).end is not None:
            lowest.setdefault(network.links[k].down, []).append(float(results.element(k).end.lowest))
    for tank in network.tanks:
        name, rim = network.waters[tank].name, rim_of(results, tank)
        deep.append((name, weight * (rim - bottom_of(network, tank))))
        if tank in lowest:
            holes.append((name, weight * max(rim - min(lowest[tank]), 0.0)))
    figures: Figures = {}
    for name, value in _most(assessment, grouping, deep, "deepest").items():
        where = "the tank's bottom" if one else f"the bottom of {name}"
        figures[f"water pressure at {where}, full to its rim"] = (value, "pressure")
    for name, value in _most(assessment, grouping, holes, "deepest").items():
        figures["water pressure at the lowest lip or mouth described" + ("" if one else f" in {name}")] = (value, "pressure")
    return figures
