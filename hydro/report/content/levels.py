"""Where each water stands, counted from its own vessel, with bands: what is read off with a tape."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from hydro.checks.assessment import Assessment
from hydro.checks.sensitivity import band
from hydro.description import heights as places
from hydro.description.build import Vessel
from hydro.network.model import BOX, CHAMBER, TANK, Network
from hydro.quantities.tape import Band
from hydro.scenarios.results import Results
from hydro.steady.state import State


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


def vessel_of(results: Results, water: int) -> Vessel:
    """Return the vessel in which a water stands: a tank, a box, or the sump that a chamber belongs to."""
    network, build = results.network, results.build
    if network.waters[water].kind == CHAMBER:
        return build.sumps[network.sumps.index(network.sump_of(water))].vessel
    name = network.waters[water].name
    return next(vessel for vessel in build.vessels if vessel.name == name)


def rim_of(results: Results, water: int) -> float:
    """Return the height of a vessel's rim, m above the ground; a cut-out part of a sump has the sump's."""
    return _rim(results, water, vessel_of(results, water))


def _rim(results: Results, water: int, vessel: Vessel) -> float:
    return bottom_of(results.network, water) + float(places.vessel_height(vessel, results.sample))


def brim_of(results: Results, water: int) -> str:
    """Return what water goes over first in a vessel."""
    return "rim" if vessel_of(results, water).lowest_opening is None else "lowest opening"


def spread_of(assessment: Assessment, ask: Callable[[Results], float]) -> Band:
    """Return low, middle and high of a figure of the first running state."""
    return band(assessment.results, assessment.shifts, ask)


def levels(assessment: Assessment, state: State) -> list[Level]:
    """Return the levels of tanks, boxes and chambers in a running state.

    Bands are those of the first state, moved to this one.
    """
    results = assessment.results
    return [_level(assessment, state, k) for k, water in enumerate(results.network.waters)
            if water.kind in (TANK, BOX, CHAMBER)]


def _level(assessment: Assessment, state: State, k: int) -> Level:
    results, water = assessment.results, assessment.results.network.waters[k]
    vessel = vessel_of(results, k)
    height, bottom, rim = float(state.levels[k]), bottom_of(results.network, k), _rim(results, k, vessel)

    def over_bottom(found: Results) -> float:
        return float(found.state.levels[k]) - bottom_of(found.network, k)

    def under_rim(found: Results) -> float:
        return _rim(found, k, vessel) - float(found.state.levels[k])

    return Level(water.name, water.kind, height, bottom, rim, rim if water.opening is None else float(water.opening),
                 moved_to(spread_of(assessment, over_bottom), height - bottom),
                 moved_to(spread_of(assessment, under_rim), rim - height))


def moved_to(found: Band, middle: float) -> Band:
    """Return a band moved to another middle."""
    low, old, high = found
    return low - old + middle, middle, high - old + middle


def stated_line(assessment: Assessment) -> float | None:
    """Return the running line that the file states, m above the sump's bottom; None where it states something else."""
    given, loop = assessment.build.water, assessment.loop
    if given.kind != "line" or given.level is None:
        return None
    return float(places.resolve(given.level, assessment.build, {}, loop.tank_water)) - assessment.results.network.sump_bottom


def running_line(assessment: Assessment) -> float | None:
    """Return the pump chamber's level as the build runs, m above the sump's bottom; None where it does not run."""
    state = assessment.answer.state
    return None if state is None else float(state.pump_level) - assessment.results.network.sump_bottom
