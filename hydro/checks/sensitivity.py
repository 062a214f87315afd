"""From rough inputs to verdicts: one uncertain input at a time is moved to each of its ends, and every check asked again.

A check that holds in the middle and fails at some end of some input is 'unsure', and says which input. All inputs at their
worst ends at once would be a build that nobody has; a single one is what a wrong tape or a wrong table does. Where no single
input fails a check, the losses of margin of all of them, added as squares, still must leave it some.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from hydro.checks import FAILS, UNSURE, Check, checks_of
from hydro.checks.check import COMFORT, by_key
from hydro.description.build import Build
from hydro.elements import limits
from hydro.elements.limits import limit_of
from hydro.elements.return_line import RATIO
from hydro.errors import HydroError
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import PlacedBuild
from hydro.scenarios.results import Results, results_of
from hydro.steady.operating_point import NONE, OperatingPoint


@dataclass(frozen=True, slots=True)
class Shift:
    """What one end of one input does: the findings there and their checks by key."""

    uncertain: Uncertain
    end: str
    results: Results
    checks: dict[str, Check]

    @property
    def words(self) -> str:
        """The input and its end."""
        return f"'{self.uncertain.name}' at its {self.end} end"


def given_water(build: Build) -> Uncertain:
    """Return the number that says how much water there is: the total, or the offset of the level."""
    given = build.water.total if build.water.level is None else build.water.level.offset
    assert given is not None
    return given


def uncertain_inputs(results: Results) -> list[Uncertain]:
    """Return the inputs and defaults with a band that the findings rest on, by name."""
    build = results.build
    asked = {uncertain.name: uncertain for uncertain in (given_water(build), *build.wishes.values())}
    asked.update((default.name, build.overrides[default.name]) for default in limits.ALL if default.name in build.overrides)
    if any(results.element(k).end.ratio is not None for k in results.network.returns):
        ratio = limit_of(build, RATIO)
        asked[ratio.name] = ratio
    return sorted(
        (uncertain for uncertain in {**asked, **results.network.used}.values() if not uncertain.is_exact and uncertain.name),
        key=lambda uncertain: uncertain.name)


def shifts(loop: PlacedBuild, middle: Results) -> Iterator[Shift]:
    """Yield the findings with one input at a time at its low and at its high end.

    Where the equations are not solved at an end, the findings there say that it does not run.
    """
    for uncertain in uncertain_inputs(middle):
        for end in ("low", "high"):
            if getattr(uncertain, end) == uncertain.middle:
                continue
            try:
                results = results_of(loop, {uncertain.name: end}, middle)
            except HydroError as error:
                results = Results(loop, {uncertain.name: end}, middle.network, OperatingPoint(NONE, None, (), str(error)))
            yield Shift(uncertain, end, results, by_key(checks_of(results)))


def judged_over_bands(middle: Results, moved: list[Shift]) -> list[Check]:
    """Return the checks of the middle, each 'unsure' where it does not fail there and does at some end of some input.

    An end at which nothing can be said, because the loop does not run there, counts as one at which the check fails. Comfort is
    told as it is in the middle.
    """
    return [judged(check, moved) for check in checks_of(middle)]


def judged(check: Check, moved: Sequence[Shift]) -> Check:
    """Return a check of the middle as the ends of all inputs leave it, with the input that decides it."""
    if check.verdict == FAILS or check.kind.stake == COMFORT:
        return check
    key = check.key
    silent = next((shift for shift in moved if key not in shift.checks), None)
    if silent is not None:
        return _unsure(check, f"does not run with {silent.words}", silent)
    failing = [shift for shift in moved if shift.checks[key].verdict == FAILS]
    if failing:
        worst = min(failing, key=lambda shift: shift.checks[key].margin)
        return _unsure(check, f"fails with {worst.words}", worst)
    margins = [(shift.uncertain.name, shift.checks[key].to_failing) for shift in moved]
    if check.soft or combined_band(check.to_failing, margins)[0] >= 0.0:
        return check
    most = min(moved, key=lambda shift: shift.checks[key].to_failing)
    return _unsure(check, f"no single figure fails it, several near their bad ends together do; most of it {most.words}", most)


def _unsure(check: Check, reason: str, shift: Shift) -> Check:
    return replace(check.downgraded(reason, UNSURE), decided_by=shift.uncertain.name)


def known_roughly(build: Build) -> tuple[str, ...]:
    """Return what is known of a build only roughly as a whole, a pump by its box and boxes marked 'about', each in words."""
    labelled = [pump.name for pump in build.pumps if not pump.curve and not pump.tests and not pump.off]
    pumps = [f"{'the pump' if len(build.pumps) == 1 else name} is known by the label on its box only" for name in labelled]
    return (*pumps, *(f"the {vessel.name} is measured as a box, 'about'" for vessel in build.vessels if vessel.approximate))


def band(middle: Results, moved: Sequence[Shift], ask: Callable[[Results], float]) -> tuple[float, float, float]:
    """Return low, middle and high of a figure: the deviations of single inputs, squared and added, to each side.

    Inputs are taken as independent of each other; findings in which the figure does not exist are passed over.
    """
    return combined_band(ask(middle), [(shift.uncertain.name, ask(shift.results)) for shift in moved
                                if shift.results.answer.state is not None])


def combined_band(value: float, moved: Sequence[tuple[str, float]]) -> tuple[float, float, float]:
    """Return low, middle and high of a figure from its values with single inputs moved: (input's name, value).

    Of the two ends of an input the worse one counts to each side; the sides add up as squares.
    """
    down: dict[str, float] = {}
    up: dict[str, float] = {}
    for name, there in moved:
        down[name] = min(down.get(name, 0.0), there - value)
        up[name] = max(up.get(name, 0.0), there - value)
    return value - math.hypot(*down.values()), value, value + math.hypot(*up.values())
