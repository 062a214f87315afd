"""Remedies of a build: for each check that does not hold, what to measure, and the smallest change of each kind that makes it
hold and harms nothing.

    found = find_remedies(load("floods.yaml"), text)      text: what stands in the file, so that remedies can be written into it

For each check the kinds are tried in the order of what they cost to do, and of each kind the change that needs the least of its
marks. A remedy is proved by asking the changed build everything that the build as it is was asked: no check on floor or pump may
be worse than before, and none that is in doubt or fails may lose of its margin. Where none of a kind can be proved, it has none.
A check that fails and that nothing makes hold may still be brought to 'unsure' or 'tight', and says so. Comfort forbids nothing
there; it is mended last, and by small things only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from hydro.checks import FAILS, HOLDS, Check, CheckKind, checks_of
from hydro.checks.assessment import assess
from hydro.checks.check import COMFORT, RANK, by_key
from hydro.description.build import Build
from hydro.scenarios.placed_build import PlacedBuild
from hydro.scenarios.placed_build import place as place_build
from hydro.scenarios.results import Results, results_of
from hydro.search.remedies.change import DRAIN, KINDS, PIPE, PUMP, TUB, Change
from hydro.search.remedies.drains import drain_changes
from hydro.search.remedies.heights import height_changes, level
from hydro.search.remedies.holes import mouth_changes
from hydro.search.remedies.joint import joint_changes
from hydro.search.remedies.lines import line_changes
from hydro.search.remedies.measures import measure_for
from hydro.search.remedies.pairs import pair_for
from hydro.search.remedies.proof import Base, Proof
from hydro.search.remedies.pumps import pump_changes
from hydro.search.remedies.remedy import Heard, Progress, Remedy, RemedyReport, RemedySet, Step
from hydro.search.remedies.search import Bench, least_passing, no_more_than, smallest, wanted_of
from hydro.search.remedies.tubs import tub_changes
from hydro.search.remedies.writing import Edit, edits_for, whole_lines
from hydro.steady.operating_point import NONE

MANY = 12
"""Links of a build from which on each check is given its cheapest remedy only: every trial of it takes long."""

TOLD_LOWER = 0.010
"""A tank's water that stands so much lower after a change is told, m."""
FIRST_CHECKS, FIRST_TRIES = 3, 2
"""A first remedy is looked for before all others: for so many checks, the gravest first, among so many changes of a sort."""
_SUMP = ("elbow off", "mouths up", "water: down", "break drilled")
NEAR = {CheckKind.POWER_CUT: _SUMP, CheckKind.CUT_OVER_RIMS: _SUMP, CheckKind.SUMP_ROOM: _SUMP, CheckKind.INTAKE: ("water: up",),
        CheckKind.SUCTION: ("water: up",), CheckKind.SPEED: ("less", "wider"), CheckKind.ALL_BLOCKED: (),
        CheckKind.BACK_FLOW: ("held back",)}
"""What a check is most often mended by, as the ends of what changes do; of all others a lip and one drain more."""
OTHERS = ("lip down", "one drain more", "smaller")


@dataclass(slots=True)
class _Finding:
    bench: Bench
    changes: list[Change]
    text: str | None
    made: dict[tuple[str, int], tuple[Edit, ...]] = field(default_factory=dict)


def changes_of(loop: PlacedBuild) -> list[Change]:
    """Return every change that this build allows, the cheapest to do first."""
    found = [*height_changes(loop), *mouth_changes(loop), *line_changes(loop.build), *drain_changes(loop),
             *pump_changes(loop.build), *tub_changes(loop.build)]
    return sorted((change for change in joint_changes(loop.build, found) if change.marks), key=lambda change: change.cost)


def find_remedies(build: Build, text: str | None = None, progress: Progress | None = None, keys: Sequence[str] | None = None,
                  heard: Heard | None = None) -> RemedyReport:
    """Return the remedies of a build; `progress` is called for each check that is begun with its number, their count and its key.

    `text` is that of its case file, `keys` the checks to ask only; without them all that do not hold. `heard` is told each step
    at once. SolveError and InputError as `assess`. A build that does not run has no remedies: what else would hold could not be
    said. Ctrl-C ends the search and keeps what was found.
    """
    assessment = assess(build)
    hear = heard or (lambda step: None)
    hear(Step(assessment))
    bad = [check for check in assessment.checks if check.verdict != HOLDS and (keys is None or check.key in keys)]
    bad.sort(key=lambda check: (check.kind.stake == COMFORT, -RANK[check.verdict]))
    answer = assessment.answer
    # A pump that stands in the air moves nothing, and can be helped; without a state nothing can be said.
    if not bad or answer.state is None or answer.kind == NONE or (answer.runs and not assessment.results.stopped):
        return RemedyReport(assessment, tuple(RemedySet(check, ()) for check in bad), len(bad), True, 0, 0)
    middle = by_key(checks_of(assessment.results))
    base = Base(build, by_key(assessment.checks), middle, assessment.shifts, assessment.results, keeps_margins=True)
    work = _Finding(Bench(base), changes_of(assessment.loop), text)
    few = len(assessment.results.network.links) > 2 * MANY
    found: list[RemedySet] = []
    complete = True
    try:
        first = None if few else _first(work, bad)
        if first is not None:
            hear(Step(assessment, RemedySet(first[0], ()), first[1], first=True))
        for number, check in enumerate(bad, 1):
            if progress is not None:
                progress(number, len(bad), check.key)
            row = RemedySet(check, (), measure_for(assessment, check, middle[check.key]))
            hear(Step(assessment, row))
            for remedy in _remedies(work, check, few):
                row = replace(row, remedies=(*row.remedies, remedy))
                hear(Step(assessment, row, remedy))
            found.append(row)
        found = [replace(one, remedies=_shared(work, one, found)) for one in found] if not few else found
    except KeyboardInterrupt:
        complete = False
    return RemedyReport(assessment, tuple(found), len(bad), complete, work.bench.tried, work.bench.proved, few)


def _first(work: _Finding, bad: Sequence[Check]) -> tuple[Check, Remedy] | None:
    """Return a remedy that is found soon, with its check: by what mends most often what is amiss with the gravest ones.

    Nothing in doubt is mended while something fails.
    """
    for check in (check for check in bad[:FIRST_CHECKS] if check.verdict == bad[0].verdict):
        ends = NEAR.get(check.kind, OTHERS)
        near = [[change for change in work.changes if change.what.endswith(end) and serves(change, check) and not change.joint]
                for end in ends]
        for change in (change for alike in near for change in sorted(alike, key=partial(_far, check))[:FIRST_TRIES]):
            found = smallest(work.bench, change, check.key, HOLDS)
            if found is not None:
                return check, _remedy(work, change, found[0], found[1], check)
    return None


def _far(check: Check, change: Change) -> bool:
    """Whether a change is not one of the tank or pump that a check asks about."""
    return not change.what.startswith(f"{check.subject}: ")


def serves(change: Change, check: Check) -> bool:
    """Whether a change is not too large for a check: comfort is worth no new sump, no drilled tank and no row of new pipes.

    A new pump is worth the turnover that was asked for, wider pipe a calmer return.
    """
    if check.kind.stake != COMFORT:
        return True
    if change.joint or change.kind in (TUB, DRAIN):
        return False
    if change.kind == PUMP:
        return check.kind in (CheckKind.TURNOVER, CheckKind.TURNOVER_OF_ALL, CheckKind.GOAL_FLOW)
    return change.kind != PIPE or check.kind is CheckKind.SPEED


def _remedies(work: _Finding, check: Check, few: bool) -> Iterator[Remedy]:
    """Yield the remedies of one check: of each kind the smallest that makes it hold, or fail no longer where none does.

    Where the same done to several things at once mends more checks, that is listed as well. Those that leave it in doubt, or the
    tank with much less water, come last.
    """
    any_found = False
    late = list[Remedy]()
    for kind in KINDS:
        mine = [change for change in work.changes if change.kind == kind and serves(change, check)]
        alone, jointly = (_best(work, [one for one in mine if one.joint is joint], check) for joint in (False, True))
        if jointly is not None and alone is not None and not _does_more(work, jointly, alone):
            jointly = None
        found = [remedy for remedy in (alone, jointly) if remedy is not None]
        any_found = any_found or bool(found)
        yield from (remedy for remedy in found if not remedy.late)
        late += [remedy for remedy in found if remedy.late]
        if few and any_found:
            break
    yield from late
    if not any_found and not few and check.verdict == FAILS:
        yield from _pair(work, check)


def _pair(work: _Finding, check: Check) -> tuple[Remedy, ...]:
    """Return two changes at once as the remedy of a check that fails and that no single one mends."""
    for wanted in wanted_of(check):
        found = pair_for(work.bench, [one for one in work.changes if serves(one, check)], check.key, wanted)
        if found is not None:
            return (_remedy(work, *found, check),)
    return ()


def _shared(work: _Finding, here: RemedySet, found: list[RemedySet]) -> tuple[Remedy, ...]:
    """Return a check's remedies, and, of kinds it has none of, those found for other checks that mend it, made smaller.

    Comfort that is mended along with something else needs none of its own.
    """
    check, remedies = here.check, list(here.remedies)
    if check.kind.stake == COMFORT:
        return here.remedies
    known = {change.what: change for change in work.changes}
    for kind in KINDS:
        others = [remedy for one in found for remedy in one.remedies
                  if remedy.kind == kind and check.key in remedy.mends and remedy.what in known]
        if not others or any(remedy.kind == kind and remedy.verdict == HOLDS for remedy in remedies):
            continue
        least_of = min(others, key=lambda remedy: (remedy.mark, remedy.what))
        change = known[least_of.what]
        mark, proof = no_more_than(work.bench, change, check.key, HOLDS, least_of.mark)
        remedies = [*(remedy for remedy in remedies if remedy.kind != kind), _remedy(work, change, mark, proof, check)]
    return tuple(sorted(remedies, key=lambda remedy: (remedy.late, KINDS.index(remedy.kind))))


def _does_more(work: _Finding, one: Remedy, other: Remedy) -> bool:
    """Whether a remedy gives a better verdict, or mends more checks on floor and pump."""
    def weight(remedy: Remedy) -> tuple[int, int]:
        return RANK[remedy.verdict], -sum(not work.bench.base.about_comfort(key) for key in remedy.mends)
    return weight(one) < weight(other)


def _best(work: _Finding, changes: list[Change], check: Check) -> Remedy | None:
    """Return the smallest remedy out of some changes for the best verdict that any of them reaches."""
    found = (_of_kind(work, changes, check, wanted) for wanted in wanted_of(check))
    return next((remedy for remedy in found if remedy is not None), None)


def _of_kind(work: _Finding, changes: list[Change], check: Check, wanted: str) -> Remedy | None:
    """Return the remedy out of some changes that needs the least of its marks, None where none of them does it."""
    bench = work.bench
    reach: list[tuple[int, int]] = []
    for number, change in enumerate(changes):
        first = least_passing(lambda k, change=change: bench.margin(change, k, check.key, wanted) > float("-inf"),  # type: ignore[misc]
                       len(change.marks))
        if first is not None and bench.harmless(change, first, check.key):
            reach.append((first, number))
    for _, number in sorted(reach):
        found = smallest(bench, changes[number], check.key, wanted)
        if found is not None:
            return _remedy(work, changes[number], found[0], found[1], check)
    return None


def _remedy(work: _Finding, change: Change, mark: int, proof: Proof, check: Check) -> Remedy:
    base, made = work.bench.base, change.at(mark)
    better = [key for key, there in proof.checks.items() if RANK[there.verdict] < RANK[base.verdict(key)]]
    mends = tuple(key for key in better if proof.checks[key].verdict == HOLDS)
    worse = tuple(key for key, there in proof.checks.items() if base.worse(there) or base.less_comfort(there))
    place = (change.what, mark)
    if place not in work.made:
        work.made[place] = () if work.text is None else edits_for(work.text, base.build.file, made.writes, made.build)
    edits = work.made[place]
    return Remedy(change.kind, change.what, mark, change.marks[mark], proof.checks[check.key].verdict, mends,
                  tuple(key for key in better if key not in mends), worse, made.build, made.said, edits,
                  whole_lines(work.text, edits) if work.text is not None else (), *water_after(base.results, made.build))


def water_after(before: Results, made: Build) -> tuple[dict[str, float], tuple[str, ...]]:
    """Return how much lower each tank's water stands in a changed build (m), and which mouths of returns it leaves in the air."""
    after = results_of(place_build(made))

    def stands(results: Results, tank: str) -> float:
        water = results.network.water(tank)
        return min(float(state.levels[water]) for state in results.answer.states)

    lower = {tank.name: stands(before, tank.name) - stands(after, tank.name) for tank in made.tanks}
    bared = [one.name for one in made.returns if "water" not in one.end.place and lower[one.tank] > 0.0
             and stands(before, one.tank) > level(after.loop, one.end) > stands(after, one.tank)]
    return {tank: by for tank, by in lower.items() if by >= TOLD_LOWER}, tuple(bared)


def failing(found: RemedyReport) -> bool:
    """Whether some check of the build as it is fails."""
    return found.assessment.verdict == FAILS

