"""What each pipe between headers or waters, and each edge of an overflow box, carries while it runs. Numbers only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hydro.checks.assessment import Assessment
from hydro.quantities.tape import Band
from hydro.report.content.levels import moved_to, spread_of
from hydro.scenarios.results import DRY, Results
from hydro.steady.state import State


@dataclass(frozen=True, slots=True)
class PipeRun:
    """A run of pipe: flow m3/s with its band (negative: against the way it was described), its highest speed m/s and where."""

    name: str
    start: str
    finish: str
    flow: Band
    speed: float
    where: str


@dataclass(frozen=True, slots=True)
class EdgeRun:
    """An edge over which a tank spills into its box: flow m3/s with its band, and the water over the edge, m."""

    name: str
    tank: str
    box: str
    flow: Band
    over: float


def pipe_runs(assessment: Assessment, state: State) -> list[PipeRun]:
    """Return what each run of pipe carries in a state."""
    network = state.network
    runs = []
    for k in network.runs:
        link = network.links[k]
        element: Any = link.element
        speed, where = element.line.fastest(state.flows[k])
        runs.append(PipeRun(link.name, network.waters[link.up].name, network.waters[link.down].name,
                            flow_band(assessment, state, k), float(speed), where))
    return runs


def edge_runs(assessment: Assessment, state: State) -> list[EdgeRun]:
    """Return what goes over the edge of each overflow box in a state."""
    network = state.network
    runs = []
    for k in network.edges:
        link = network.links[k]
        element: Any = link.element
        runs.append(EdgeRun(link.name, network.waters[link.up].name, network.waters[link.down].name,
                            flow_band(assessment, state, k), float(state.levels[link.up]) - float(element.crest)))
    return runs


def flow_band(assessment: Assessment, state: State, k: int) -> Band:
    """Return the flow of a link with its sign, low, middle and high, m3/s; nothing where it is less than a drop."""
    def flow(found: Results) -> float:
        return float(found.state.flows[k])

    low, middle, high = moved_to(spread_of(assessment, flow), float(state.flows[k]))
    return _still(low), _still(middle), _still(high)


def _still(flow: float) -> float:
    return 0.0 if abs(flow) < DRY else flow
