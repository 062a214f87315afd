"""The main job in one call: a described build in, verdicts and the figures behind them out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from hydro.checks import UNSURE, Check, CheckKind, checks_of
from hydro.checks.check import verdict_at_stake
from hydro.checks.sensitivity import Shift, band, combined_band, given_water, judged_over_bands, known_roughly, shifts
from hydro.description.build import Build
from hydro.elements import limits
from hydro.network.model import JUNCTION
from hydro.quantities.uncertain import STATED, Uncertain
from hydro.scenarios.placed_build import PlacedBuild, place
from hydro.scenarios.results import COMBINATIONS, Results, opening_of, results_of
from hydro.scenarios.running_line import highest_line
from hydro.steady.operating_point import OperatingPoint
from hydro.steady.state import State

BUCKET = 0.010
"""The bucket of the flow test, m3."""


@dataclass(frozen=True, slots=True)
class RunningLine:
    """The highest running line in one case of a power cut, heights above the sump's bottom in m; None where none is low enough.

    `safe` is the line that the bands of all inputs leave, `worst` the input that weighs most in it, with its end.
    """

    breaks: bool
    holds: bool
    height: float | None
    safe: float | None
    worst: str = ""


@dataclass(frozen=True, slots=True)
class Assessment:
    """What is said of a build: checks, findings in the middle and at the ends of every band, the running lines.

    Bands are (low, middle, high): `flow` of all pumps that lift from a chamber in m3/s, `tank_levels` by name in m above the
    ground, seconds for a bucket of 10 L.
    """

    loop: PlacedBuild
    results: Results
    shifts: tuple[Shift, ...]
    checks: tuple[Check, ...]
    lines: tuple[RunningLine, ...]
    flow: tuple[float, float, float] | None
    tank_levels: Mapping[str, tuple[float, float, float]]

    @property
    def build(self) -> Build:
        """The build as described."""
        return self.loop.build

    @property
    def answer(self) -> OperatingPoint:
        """How the loop runs."""
        return self.results.answer

    @property
    def verdict(self) -> str:
        """The worst verdict where the floor or the pump is at stake; comfort is told beside it."""
        return verdict_at_stake(self.checks)

    @property
    def deciding(self) -> dict[str, list[Check]]:
        """The inputs that decide whether a check holds, each with the checks that hang on it, most of them first."""
        found: dict[str, list[Check]] = {}
        for check in self.checks:
            if check.verdict == UNSURE:
                found.setdefault(check.decided_by, []).append(check)
        return dict(sorted(found.items(), key=lambda pair: -len(pair[1])))

    @property
    def known_roughly(self) -> tuple[str, ...]:
        """What is known only roughly as a whole: a pump by its box, vessels marked 'about'; each once, in words."""
        return known_roughly(self.build)

    @property
    def wanted_line(self) -> RunningLine | None:
        """The running line in the case of a power cut that has to fit."""
        wanted = self.results.wanted_cut()
        return next((line for line in self.lines if (line.breaks, line.holds) == wanted), None)

    @property
    def bucket(self) -> tuple[float, float, float] | None:
        """Seconds in which the pump's flow fills a bucket of 10 L: low, middle, high."""
        if self.flow is None or self.flow[0] <= 0.0:
            return None
        low, middle, high = self.flow
        return BUCKET / high, BUCKET / middle, BUCKET / low

    @property
    def assumed(self) -> tuple[Uncertain, ...]:
        """Every default that was used, with its source."""
        return tuple(sorted((uncertain for uncertain in self.results.network.used.values() if uncertain.source != STATED),
                            key=lambda uncertain: uncertain.name))

    def check(self, kind: CheckKind, subject: str = "") -> Check:
        """Return the check of a kind, where there are several the one on `subject`; KeyError if there is none."""
        for check in self.of(kind):
            if check.subject == subject:
                return check
        raise KeyError(kind.key(subject))

    def of(self, *kinds: CheckKind) -> list[Check]:
        """Return the checks of some kinds, in their order."""
        return [check for check in self.checks if check.kind in kinds]


def assess(build: Build) -> Assessment:
    """Return what there is to say about a build.

    Never raises for a build that fails; SolveError only where the equations could not be solved, InputError where the build
    is not one.
    """
    loop = place(build)
    middle = results_of(loop)
    if middle.answer.state is None or not middle.stopped:
        return Assessment(loop, middle, (), tuple(checks_of(middle)), (), None, {})
    moved = tuple(shifts(loop, middle))
    return Assessment(loop, middle, moved, tuple(judged_over_bands(middle, list(moved))), _lines(middle, moved),
                      band(middle, moved, lambda found: pumped_flow(found.state)),
                      {middle.network.waters[k].name: band(middle, moved, partial(_level, water=k))
                       for k in middle.network.tanks})


def pumped_flow(state: State) -> float:
    """Return the flow of all pumps that draw from a water, m3/s: pumps behind them move the same water on."""
    network = state.network
    return sum(float(state.flows[k]) for k in network.pumps if network.waters[network.links[k].up].kind != JUNCTION)


def _level(results: Results, water: int) -> float:
    return float(results.state.levels[water])


def _lines(middle: Results, moved: tuple[Shift, ...]) -> tuple[RunningLine, ...]:
    """Return the running line in each case; the pessimistic one is solved for again only in the case that has to fit."""
    room, _ = middle.limit(limits.ROOM)
    lines = []
    for case in COMBINATIONS:
        height = highest_line(middle.network, *case, room)
        safe, worst = height, ""
        if case == middle.wanted_cut() and height is not None:
            safe, worst = _safe_line(middle, moved, case, height)
        lines.append(RunningLine(*case, line_over_bottom(height, middle), line_over_bottom(safe, middle), worst))
    return tuple(lines)


def _safe_line(middle: Results, moved: tuple[Shift, ...], case: tuple[bool, bool], height: float) -> tuple[float | None, str]:
    """Return the line that all bands together leave, at most `height`, and the input that weighs most, with its end.

    Solved for with the worst single input at that end, and once more with the room widened by what the inputs take together;
    the lower one counts. How much water was described does not move the highest line, only where the loop stands below it.
    """
    room, _ = middle.limit(limits.ROOM)
    water = given_water(middle.build)
    pressed = [shift for shift in moved if shift.results.stopped and shift.uncertain is not water]
    if not pressed:
        return height, ""
    shift = min(pressed, key=lambda one: _left(one.results))
    here = _left(middle)
    least, _, _ = combined_band(here, [(one.uncertain.name, _left(one.results)) for one in pressed])
    # The room wanted, and whether a hole is counted on, may lie in a band as well: each end is asked with its own.
    alone = highest_line(shift.results.network, *shift.results.wanted_cut(), shift.results.limit(limits.ROOM)[0])
    together = highest_line(middle.network, *case, room + here - least)
    if alone is None or together is None:
        return None, f"{shift.uncertain.name} at its {shift.end} end"
    safe = min(alone - shift.results.network.sump_bottom + middle.network.sump_bottom, together)
    return (safe, f"{shift.uncertain.name} at its {shift.end} end") if safe < height else (height, "")


def _left(results: Results) -> float:
    """Return the height left below the wanted room in the sump after the power cut that has to fit, m."""
    case, network = results.stopped[results.wanted_cut()], results.network
    rest = dict(zip(network.chambers, case.chambers, strict=True))
    return min(opening_of(network, k) - level for k, level in rest.items()) - results.limit(limits.ROOM)[0]


def line_over_bottom(height: float | None, results: Results) -> float | None:
    """Return a line as counted from the bottom of its sump, m; None for none."""
    return None if height is None else height - results.network.sump_bottom
