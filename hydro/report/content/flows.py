"""What each drain, return and wall does while it runs: flow, speed, how it runs and what rules it. Numbers and short words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from hydro.checks.assessment import BUCKET, Assessment
from hydro.checks.overflow import DRY
from hydro.elements.drain import BY_EDGE, BY_PIPE, QUIET_AT, SIPHON, WITH_AIR
from hydro.elements.flat_run import FlatRun
from hydro.network.paths import pipes_at
from hydro.quantities.tape import Band
from hydro.report.content.head_budget import tail
from hydro.report.content.pipe_flows import flow_band
from hydro.steady.state import State

QUIET, AIR, RUSH, FULL, FLUSHES, STANDS_DRY = (
    "quiet", "carries air", "much air", "full siphon", "flushes", "dry")
EDGE, THROAT, NARROW, FLAT, PIPE, NOTHING = "edge", "throat", "narrow pipe", "flat run", "full pipe", "-"


def limits_when_full(limits: Sequence[tuple[str, str]]) -> str:
    """Return in one sentence what is the limit of drains that are full of water: names with the edge or the pipe."""
    by = {limit: list(dict.fromkeys(name for name, own in limits if own == limit)) for limit in (BY_EDGE, BY_PIPE)}
    if not by[BY_EDGE]:
        return "Full of water each carries what its pipe takes."
    if not by[BY_PIPE]:
        return "Full of water each carries what its edge feeds, less than its pipe takes."
    return f"Full of water the edge is the limit of {', '.join(by[BY_EDGE])}, the pipe that of {', '.join(by[BY_PIPE])}."


@dataclass(frozen=True, slots=True)
class DrainRun:
    """A drain: flow m3/s with its band, speed in its full bore m/s, head over its lip m, J = V/sqrt(g D), and words."""

    name: str
    chamber: str
    flow: Band
    speed: float
    over_lip: float
    air_number: float
    mode: str
    runs: str
    ruled_by: str
    tank: str = ""


@dataclass(frozen=True, slots=True)
class ReturnRun:
    """A return: flow m3/s with its band, highest speed m/s and where, seconds for a bucket of 10 L at its mouth."""

    name: str
    flow: Band
    speed: float
    where: str
    bucket: Band | None
    tank: str = ""


@dataclass(frozen=True, slots=True)
class WallRun:
    """A wall between chambers: the levels' drop and how far the water stands over its top edge (negative: below), m."""

    name: str
    drop: float
    over_top: float | None


@dataclass(frozen=True, slots=True)
class HoleRun:
    """A siphon-break hole that leaks while the pump runs, m3/s."""

    name: str
    flow: float


def drain_runs(assessment: Assessment, state: State) -> list[DrainRun]:
    """Return how each drain runs in a state."""
    quiet, _ = assessment.results.limit(QUIET_AT)
    return [_drain(assessment, state, k, quiet) for k in state.network.drains]


def _drain(assessment: Assessment, state: State, k: int, quiet: float) -> DrainRun:
    network = state.network
    drain: Any = network.links[k].element
    flow = max(float(state.flows[k]), 0.0)
    number = float(drain.air_number(flow))
    speed = flow / (math.pi / 4.0 * float(drain.full_bore) ** 2)
    return DrainRun(network.links[k].name, network.waters[network.links[k].down].name, _downward(assessment, state, k), speed,
                    float(state.levels[network.links[k].up]) - float(drain.inlet.crest), number, drain.mode,
                    _runs(drain, flow, number, quiet), _rules(drain, flow, float(state.ends(k)[1])),
                    network.waters[network.links[k].up].name)


def _runs(drain: Any, flow: float, number: float, quiet: float) -> str:
    if drain.mode not in (WITH_AIR, SIPHON):
        return FLUSHES
    if flow < DRY:
        return STANDS_DRY
    if drain.mode == SIPHON:
        return FULL
    return QUIET if number <= quiet else AIR if number <= float(drain.sweeps_at) else RUSH


def _rules(drain: Any, flow: float, down: float) -> str:
    """Say what the tank's level at this drain hangs on."""
    if flow < DRY or drain.mode not in (WITH_AIR, SIPHON):
        return NOTHING
    pipe = float(drain.pipe_head(flow, down))
    if drain.mode == SIPHON:
        return PIPE if pipe >= float(drain.inlet.weir_head(flow)[0]) else EDGE
    if pipe >= float(drain.needed(flow)[0]):
        return PIPE
    if float(drain.needed(flow)[0]) > float(drain.inlet.needed(flow)[0]):
        ruling = max(drain.narrows, key=lambda place: float(place.needed(flow)[0]))
        return FLAT if isinstance(ruling, FlatRun) else NARROW
    controls = getattr(drain.inlet, "controls", None)
    return EDGE if controls is None else str(controls(flow))


def return_runs(assessment: Assessment, state: State) -> list[ReturnRun]:
    """Return what each return delivers in a state."""
    runs = []
    network = state.network
    meets = pipes_at(network)
    for k in network.returns:
        runs_of = [network.links[link].element.line.fastest(state.flows[link]) for link in tail(network, k, meets)]
        speed, where = max(runs_of, key=lambda run: float(run[0]))
        flow = _downward(assessment, state, k)
        bucket = (BUCKET / flow[2], BUCKET / flow[1], BUCKET / flow[0]) if flow[0] > 1e-7 else None
        runs.append(ReturnRun(return_name(assessment, k), flow, float(speed), where, bucket,
                              network.waters[network.links[k].down].name))
    return runs


def _downward(assessment: Assessment, state: State, k: int) -> Band:
    """Return the flow of a drain or return with its band, whose low end is no flow back."""
    low, middle, high = flow_band(assessment, state, k)
    return max(low, 0.0), middle, high


def return_name(assessment: Assessment, link: int) -> str:
    """Return the name its owner gave a return; where one return is all that a pump feeds, its link goes by the pump's name."""
    build, network = assessment.build, assessment.results.network
    if link not in network.pumps:
        return network.links[link].name
    pump, tank = network.links[link].name, network.waters[network.links[link].down].name
    fed = [described.name for described in build.returns if described.tank == tank and described.source in ("", pump)]
    return fed[0] if len(fed) == 1 else network.links[link].name


def wall_runs(state: State) -> list[WallRun]:
    """Return what each wall in the sump does in a state."""
    runs = []
    for k in state.network.barriers:
        up, down = map(float, state.ends(k))
        element: Any = state.network.links[k].element
        top = getattr(element, "crest", getattr(element, "top", None))
        runs.append(WallRun(state.network.links[k].name, up - down, None if top is None else up - float(top)))
    return runs


def hole_runs(state: State) -> list[HoleRun]:
    """Return the holes that let water out while the pump runs."""
    return [HoleRun(link.name, float(flow)) for link, flow in zip(state.network.links, state.flows, strict=True)
            if hasattr(link.element, "hole") and hasattr(link.element, "plugged")]
