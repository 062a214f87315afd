"""The states in which a build is drawn: where every water stands running, at rest, started again, with a drain blocked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from hydro.checks import CheckKind
from hydro.checks.assessment import Assessment
from hydro.checks.check import RANK
from hydro.network.model import BOX, CHAMBER, TANK, Network
from hydro.report.content.grouping import Grouped, Grouping
from hydro.report.content.levels import rim_of
from hydro.scenarios.results import OverflowCase, opening_of

RUNNING, STOPPED, RESTARTED, BLOCKED, BUILT = "running", "power off", "power back", "a drain blocked", "as built"
MOST = 6
"""Tanks that are drawn one by one; of more, one of each kind is."""
OVER = 1e-6
"""A level this far over an opening runs over it, m."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Where waters stand in a state: levels by place (m above the ground), none for a build without a running state.

    `lowest` is the other end of a swing, where there is one; `over` are the waters that go over an opening; `blocked` the links
    of drains that are blocked.
    """

    name: str
    levels: Mapping[int, float]
    lowest: Mapping[int, float] = field(default_factory=dict)
    over: frozenset[int] = frozenset()
    blocked: frozenset[int] = frozenset()


def standing(assessment: Assessment) -> list[Standing]:
    """Return the states there are to draw, the running one first."""
    if assessment.answer.state is None:
        return [Standing(BUILT, {})]
    found = [running_standing(assessment)]
    if assessment.results.stopped:
        rest = stopped(assessment)
        found += [rest, Standing(RESTARTED, rest.levels, over=rest.over)]
    worst = worst_blocked(assessment)
    if worst is not None and worst.with_air is not None:
        levels = {k: float(worst.with_air.levels[k]) for k in _waters(assessment.results.network)}
        found.append(_seen(assessment, BLOCKED, levels, blocked=frozenset(worst.out)))
    return found


def _waters(network: Network) -> list[int]:
    return [k for k, water in enumerate(network.waters) if water.kind in (TANK, BOX, CHAMBER)]


def running_standing(assessment: Assessment) -> Standing:
    """Return where waters stand while it runs: the highest of all ways it may run, and the lowest."""
    states = assessment.answer.states
    ends = {k: [float(state.levels[k]) for state in states] for k in _waters(assessment.results.network)}
    highest, lowest = ({k: pick(levels) for k, levels in ends.items()} for pick in (max, min))
    return _seen(assessment, RUNNING, highest, lowest)


def stopped(assessment: Assessment) -> Standing:
    """Return where waters stand after the power cut that has to fit."""
    results = assessment.results
    case = results.stopped[results.wanted_cut()]
    levels = {**case.levels, **dict(zip(results.network.chambers, case.chambers, strict=True))}
    over = frozenset(k for sump in results.network.sumps if case.spare_of(sump) < 0.0 for k in sump)
    return _seen(assessment, STOPPED, {k: float(level) for k, level in levels.items()}, over=over)


def worst_blocked(assessment: Assessment) -> OverflowCase | None:
    """Return the single blocked drain with the gravest verdict and the least margin; None where none was worked out."""
    singles = [one for one in assessment.results.overflows if len(one.out) == 1 and one.with_air is not None]
    checks = {check.subject: check for check in assessment.of(CheckKind.BLOCKED)}
    network = assessment.results.network

    def rank(one: OverflowCase) -> tuple[int, float]:
        check = checks.get(network.links[one.out[0]].name)
        water = one.water
        room = 0.0 if water is None else opening_of(network, water) - one.level
        return (0 if check is None else RANK[check.verdict], -room)

    return max(singles, key=rank, default=None)


def _seen(assessment: Assessment, name: str, levels: Mapping[int, float], lowest: Mapping[int, float] | None = None,
          over: frozenset[int] = frozenset(), blocked: frozenset[int] = frozenset()) -> Standing:
    """Return levels as they can be seen: water that would stand over a rim stands at it and goes over."""
    results = assessment.results
    above = {k for k, level in levels.items() if level > opening_of(results.network, k) + OVER}
    seen = {k: min(level, rim_of(results, k)) for k, level in levels.items()}
    return Standing(name, seen, lowest or {}, over | above, blocked)


@dataclass(frozen=True, slots=True)
class Shown:
    """What is drawn of a build: tanks, boxes and sumps (by the places of their waters), and for whom each tank stands."""

    tanks: tuple[int, ...]
    boxes: tuple[int, ...]
    sumps: tuple[tuple[int, ...], ...]
    stands_for: Mapping[int, Grouped[int]]


def shown_waters_of(assessment: Assessment, state: Standing) -> Shown:
    """Return what is drawn in a state: of more than a few tanks one of each kind, the one nearest to its opening."""
    network = assessment.results.network

    def room(k: int) -> float:
        return opening_of(network, k) - state.levels.get(k, 0.0)

    def kept(kind: str, places: tuple[int, ...]) -> list[tuple[int, Grouped[int]]]:
        pairs = [(network.waters[k].name, k) for k in places]
        if len(places) <= MOST:
            return [(k, Grouped(name, ((name, k),))) for name, k in pairs]
        return [(grouped.least(room)[1], grouped) for grouped in Grouping.by(assessment.build).of(kind, pairs)]

    tanks = kept("tanks", network.tanks)
    chosen = {k for k, _ in tanks}
    names = {network.waters[k].name: k for k in network.uppers}
    boxes = tuple(names[box.name] for box in assessment.build.boxes if names[box.tank] in chosen)
    tops = {sump[0]: sump for sump in network.sumps}
    sumps = kept("sumps", tuple(tops)) if len(tops) > MOST else [(k, Grouped("", (("", k),))) for k in tops]
    return Shown(tuple(k for k, _ in tanks), boxes, tuple(tops[k] for k, _ in sumps),
                 {k: grouped for k, grouped in (*tanks, *sumps) if not grouped.alone})
