"""Where each water stands, counted from its own vessel, with bands: what is read off with a tape."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from hydro import places
from hydro.assessment import Assessment
from hydro.certainty import band
from hydro.findings import Findings
from hydro.network import CHAMBER, TANK, Network
from hydro.report.tape import Band
from hydro.state import State


@dataclass(frozen=True, slots=True)
class Level:
    """A water's level in m above the ground, beside its vessel's bottom, rim and lowest opening.

    `over_bottom` and `under_rim` are heights with their bands (low, middle, high). Bands are counted within the vessel:
    a stand that is higher than the tape said lifts everything in the tank with it.
    """

    name: str
    kind: str
    height: float
    bottom: float
    rim: float
    opening: float
    over_bottom: Band
    under_rim: Band

    @property
    def under_opening(self) -> float:
        """How far below the lowest opening it stands, m."""
        return self.opening - self.height


def bottom_of(network: Network, water: int) -> float:
    """Return the height of a vessel's bottom, m above the ground."""
    body = network.waters[water].body
    assert body is not None
    return float(body.bottom)


def sump_bottom(network: Network) -> float:
    """Return the height of the sump's bottom, m above the ground."""
    return bottom_of(network, network.chambers[0])


def sump_opening(network: Network) -> float:
    """Return the height of the sump's lowest opening, m above the ground."""
    opening = network.waters[network.chambers[0]].opening
    return float("inf") if opening is None else float(opening)


def rim_of(findings: Findings, water: int) -> float:
    """Return the height of a vessel's rim, m above the ground; a cut-out part of a sump has the sump's."""
    vessel = findings.build.tank if water == findings.network.tank else findings.build.sump
    bottom = bottom_of(findings.network, water)
    return bottom + float(places.vessel_height(vessel, findings.picks))


def spread_of(assessment: Assessment, ask: Callable[[Findings], float]) -> Band:
    """Return low, middle and high of a figure of the first running state."""
    return band(assessment.findings, assessment.shifts, ask)


def levels(assessment: Assessment, state: State) -> list[Level]:
    """Return the levels of tank and chambers in a running state. Bands are those of the first state, moved to this one."""
    findings = assessment.findings
    return [_level(assessment, state, k) for k, water in enumerate(findings.network.waters)
            if water.kind in (TANK, CHAMBER)]


def _level(assessment: Assessment, state: State, k: int) -> Level:
    findings, water = assessment.findings, assessment.findings.network.waters[k]
    height, bottom, rim = float(state.levels[k]), bottom_of(findings.network, k), rim_of(findings, k)

    def over_bottom(found: Findings) -> float:
        return float(found.state.levels[k]) - bottom_of(found.network, k)

    def under_rim(found: Findings) -> float:
        return rim_of(found, k) - float(found.state.levels[k])

    return Level(water.name, water.kind, height, bottom, rim, rim if water.opening is None else float(water.opening),
                 _moved(spread_of(assessment, over_bottom), height - bottom),
                 _moved(spread_of(assessment, under_rim), rim - height))


def _moved(found: Band, middle: float) -> Band:
    low, old, high = found
    return low - old + middle, middle, high - old + middle


def stated_line(assessment: Assessment) -> float | None:
    """Return the running line that the file states, m above the sump's bottom; None where it states something else."""
    given, loop = assessment.build.water, assessment.loop
    if given.kind != "line" or given.level is None:
        return None
    return float(places.resolve(given.level, assessment.build, {}, loop.tank_water)) - sump_bottom(
        assessment.findings.network)


def running_line(assessment: Assessment) -> float | None:
    """Return the pump chamber's level as the build runs, m above the sump's bottom; None where it does not run."""
    state = assessment.answer.state
    return None if state is None else float(state.pump_level) - sump_bottom(assessment.findings.network)
