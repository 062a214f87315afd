"""The main job in one call: a described build in, verdicts and the figures behind them out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from hydro.checks import HOLDS, Row, rows_of
from hydro.checks.row import worse
from hydro.checks.sensitivity import Shift, band, given_water, judge, shifts, spread
from hydro.description.build import Build
from hydro.elements import limits
from hydro.network.model import JUNCTION
from hydro.quantities.uncertain import STATED, Rough
from hydro.scenarios.placed_build import Loop, place
from hydro.scenarios.results import COMBINATIONS, Findings, find, opening_of
from hydro.scenarios.running_line import highest_line
from hydro.steady.operating_point import Answer
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
    """What is said of a build: rows of checks, findings in the middle and at the ends of every band, the running lines.

    Bands are (low, middle, high): `flow` of all pumps that lift from a chamber in m3/s, `tank_levels` by name in m above the
    ground, seconds for a bucket of 10 L.
    """

    loop: Loop
    findings: Findings
    shifts: tuple[Shift, ...]
    rows: tuple[Row, ...]
    lines: tuple[RunningLine, ...]
    flow: tuple[float, float, float] | None
    tank_levels: Mapping[str, tuple[float, float, float]]

    @property
    def build(self) -> Build:
        """The build as described."""
        return self.loop.build

    @property
    def answer(self) -> Answer:
        """How the loop runs."""
        return self.findings.answer

    @property
    def verdict(self) -> str:
        """The worst verdict of all rows."""
        verdict = HOLDS
        for row in self.rows:
            verdict = worse(verdict, row.verdict)
        return verdict

    @property
    def wanted_line(self) -> RunningLine | None:
        """The running line in the case of a power cut that has to fit."""
        wanted = self.findings.wanted_cut()
        return next((line for line in self.lines if (line.breaks, line.holds) == wanted), None)

    @property
    def bucket(self) -> tuple[float, float, float] | None:
        """Seconds in which the pump's flow fills a bucket of 10 L: low, middle, high."""
        if self.flow is None or self.flow[0] <= 0.0:
            return None
        low, middle, high = self.flow
        return BUCKET / high, BUCKET / middle, BUCKET / low

    @property
    def assumed(self) -> tuple[Rough, ...]:
        """Every default that was used, with its source."""
        return tuple(sorted((rough for rough in self.findings.network.used.values() if rough.source != STATED),
                            key=lambda rough: rough.name))

    def row(self, key: str) -> Row:
        """Return a row by key; KeyError if there is none."""
        for row in self.rows:
            if row.key == key:
                return row
        raise KeyError(key)


def assess(build: Build) -> Assessment:
    """Return what there is to say about a build.

    Never raises for a build that fails; SolveError only where the equations could not be solved, InputError where the build
    is not one.
    """
    loop = place(build)
    middle = find(loop)
    if middle.answer.state is None or not middle.stopped:
        return Assessment(loop, middle, (), tuple(rows_of(middle)), (), None, {})
    moved = tuple(shifts(loop, middle))
    return Assessment(loop, middle, moved, tuple(judge(middle, list(moved))), _lines(middle, moved),
                      band(middle, moved, lambda found: lifted(found.state)),
                      {middle.network.waters[k].name: band(middle, moved, partial(_level, water=k))
                       for k in middle.network.tanks})


def lifted(state: State) -> float:
    """Return the flow of all pumps that draw from a water, m3/s: pumps behind them move the same water on."""
    network = state.network
    return sum(float(state.flows[k]) for k in network.pumps if network.waters[network.links[k].up].kind != JUNCTION)


def _level(findings: Findings, water: int) -> float:
    return float(findings.state.levels[water])


def _lines(middle: Findings, moved: tuple[Shift, ...]) -> tuple[RunningLine, ...]:
    """Return the running line in each case; the pessimistic one is solved for again only in the case that has to fit."""
    room, _ = middle.limit(limits.ROOM)
    bottom = _sump_bottom(middle)
    lines = []
    for case in COMBINATIONS:
        height = highest_line(middle.network, *case, room)
        safe, worst = height, ""
        if case == middle.wanted_cut() and height is not None:
            safe, worst = _safe_line(middle, moved, case, height)
        lines.append(RunningLine(*case, _over(height, bottom), _over(safe, bottom), worst))
    return tuple(lines)


def _safe_line(middle: Findings, moved: tuple[Shift, ...], case: tuple[bool, bool], height: float) -> tuple[float | None, str]:
    """Return the line that all bands together leave, at most `height`, and the input that weighs most, with its end.

    Solved for with the worst single input at that end, and once more with the room widened by what the inputs take together;
    the lower one counts. How much water was described does not move the highest line, only where the loop stands below it.
    """
    room, _ = middle.limit(limits.ROOM)
    water = given_water(middle.build)
    pressed = [shift for shift in moved if shift.findings.stopped and shift.rough is not water]
    if not pressed:
        return height, ""
    shift = min(pressed, key=lambda one: _left(one.findings))
    here = _left(middle)
    least, _, _ = spread(here, [(one.rough.name, _left(one.findings)) for one in pressed])
    # The room wanted, and whether a hole is counted on, may lie in a band as well: each end is asked with its own.
    alone = highest_line(shift.findings.network, *shift.findings.wanted_cut(), shift.findings.limit(limits.ROOM)[0])
    together = highest_line(middle.network, *case, room + here - least)
    if alone is None or together is None:
        return None, f"{shift.rough.name} at its {shift.end} end"
    safe = min(alone - _sump_bottom(shift.findings) + _sump_bottom(middle), together)
    return (safe, f"{shift.rough.name} at its {shift.end} end") if safe < height else (height, "")


def _left(findings: Findings) -> float:
    """Return the height left below the wanted room in the sump after the power cut that has to fit, m."""
    case, network = findings.stopped[findings.wanted_cut()], findings.network
    rest = dict(zip(network.chambers, case.chambers, strict=True))
    return min(opening_of(network, k) - level for k, level in rest.items()) - findings.limit(limits.ROOM)[0]


def _sump_bottom(findings: Findings) -> float:
    body = findings.network.waters[findings.network.sump_of(findings.network.pump_chamber)[0]].body
    assert body is not None
    return float(body.bottom)


def _over(height: float | None, bottom: float) -> float | None:
    return None if height is None else height - bottom
