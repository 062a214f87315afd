"""Remedies of a build: for each check that does not hold, the smallest change of each kind that makes it hold and harms nothing.

    found = mend(load("floods.yaml"), text)          text: what stands in the file, so that remedies can be written into it

For each check the kinds are tried in the order of what they cost to do, and of each kind the change that needs the least of its
marks. A remedy is proved by asking the changed build everything that the build as it is was asked; where none of a kind can be
proved, it has none. A check that fails and that nothing makes hold may still be brought to 'unsure' or 'tight', and says so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from hydro.checks import FAILS, HOLDS, Check, checks_of
from hydro.checks.assessment import Assessment, assess
from hydro.checks.check import RANK, by_key
from hydro.description.build import Build
from hydro.scenarios.placed_build import PlacedBuild
from hydro.search.remedies.change import KINDS, Change
from hydro.search.remedies.heights import height_changes
from hydro.search.remedies.holes import mouth_changes
from hydro.search.remedies.joint import joint_changes
from hydro.search.remedies.lines import line_changes
from hydro.search.remedies.pairs import pair_for
from hydro.search.remedies.proof import Base, Proof
from hydro.search.remedies.pumps import pump_changes
from hydro.search.remedies.search import Bench, least_passing, no_more_than, smallest, wanted_of
from hydro.search.remedies.tubs import tub_changes
from hydro.search.remedies.writing import Edit, edits_for
from hydro.steady.operating_point import NONE

MANY = 12
"""Links of a build from which on each check is given its cheapest remedy only: every trial of it takes long."""

Progress = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that was proved: `mark` is the number of its mark, `verdict` what the check asked about then gets.

    `mends` are the keys of all checks that hold by it and did not, `betters` those that fail no longer but are in doubt,
    `costs` those that held while nothing ran steadily and now are tight: none where it ran before. `edits` put it into the
    case file; none where there is no file, or where it has to be written by hand. `said(units)` tells what to do, `build` is what
    then stands there.
    """

    kind: str
    what: str
    mark: int
    value: float
    verdict: str
    mends: tuple[str, ...]
    betters: tuple[str, ...]
    costs: tuple[str, ...]
    build: Build
    said: Callable[[str], str]
    edits: tuple[Edit, ...] = ()


@dataclass(frozen=True, slots=True)
class RemedySet:
    """A check that does not hold, with its remedies in the order of what they cost; none: no single change does it."""

    check: Check
    remedies: tuple[Remedy, ...]


@dataclass(frozen=True, slots=True)
class RemedyReport:
    """What was found. `complete` is False where it was stopped before every check was asked; `asked` checks do not hold.

    `tried` marks were tried in the middle of every band, `proved` proofs were begun; `cheapest` says that each check was given
    its cheapest remedy only.
    """

    assessment: Assessment
    rows: tuple[RemedySet, ...]
    asked: int
    complete: bool
    tried: int
    proved: int
    cheapest: bool = False

    @property
    def build(self) -> Build:
        """The build as described."""
        return self.assessment.build


@dataclass(slots=True)
class _Finding:
    bench: Bench
    changes: list[Change]
    text: str | None
    made: dict[tuple[str, int], tuple[Edit, ...]] = field(default_factory=dict)


def changes_of(loop: PlacedBuild) -> list[Change]:
    """Return every change that this build allows, the cheapest to do first."""
    found = [*height_changes(loop), *mouth_changes(loop), *line_changes(loop.build), *pump_changes(loop.build),
             *tub_changes(loop.build)]
    return sorted((change for change in joint_changes(loop.build, found) if change.marks), key=lambda change: change.cost)


def find_remedies(
    build: Build, text: str | None = None, progress: Progress | None = None, keys: Sequence[str] | None = None
) -> RemedyReport:
    """Return the remedies of a build; `progress` is called for each check that is begun with its number, their count and its key.

    `text` is that of its case file, `keys` the checks to ask only; without them all that do not hold.
    SolveError and InputError as `assess`. A build that does not run has no remedies: what else would hold could not be said.
    Ctrl-C ends the search and keeps what was found.
    """
    assessment = assess(build)
    bad = [check for check in assessment.checks if check.verdict != HOLDS and (keys is None or check.key in keys)]
    bad.sort(key=lambda check: -RANK[check.verdict])
    answer = assessment.answer
    # A pump that stands in the air moves nothing, and can be helped; without a state nothing can be said.
    if not bad or answer.state is None or answer.kind == NONE or (answer.runs and not assessment.results.stopped):
        return RemedyReport(assessment, tuple(RemedySet(check, ()) for check in bad), len(bad), True, 0, 0)
    base = Base(build, by_key(assessment.checks), by_key(checks_of(assessment.results)), assessment.shifts,
                assessment.results)
    work = _Finding(Bench(base), changes_of(assessment.loop), text)
    few = len(assessment.results.network.links) > 2 * MANY
    found: list[RemedySet] = []
    complete = True
    try:
        for number, check in enumerate(bad, 1):
            if progress is not None:
                progress(number, len(bad), check.key)
            found.append(RemedySet(check, _remedies(work, check, few)))
        found = [RemedySet(one.check, _shared(work, one, found)) for one in found] if not few else found
    except KeyboardInterrupt:
        complete = False
    return RemedyReport(assessment, tuple(found), len(bad), complete, work.bench.tried, work.bench.proved, few)


def _remedies(work: _Finding, check: Check, few: bool) -> tuple[Remedy, ...]:
    """Return the remedies of one check, of each kind the smallest that makes it hold, or fail no longer where none does.

    Where the same done to several things at once mends more checks, that is listed as well.
    """
    found: list[Remedy] = []
    for kind in KINDS:
        alone, jointly = (_best(work, [one for one in work.changes if one.kind == kind and one.joint is joint], check)
                          for joint in (False, True))
        found += [alone] if alone is not None else []
        if jointly is not None and (alone is None or _does_more(jointly, alone)):
            found.append(jointly)
        if few and found:
            break
    if not found and not few and check.verdict == FAILS:
        return _pair(work, check)
    return tuple(found)


def _pair(work: _Finding, check: Check) -> tuple[Remedy, ...]:
    """Return two changes at once as the remedy of a check that fails and that no single one mends."""
    for wanted in wanted_of(check):
        found = pair_for(work.bench, work.changes, check.key, wanted)
        if found is not None:
            return (_remedy(work, *found, check),)
    return ()


def _shared(work: _Finding, here: RemedySet, found: list[RemedySet]) -> tuple[Remedy, ...]:
    """Return a check's remedies, and, of kinds it has none of, those found for other checks that mend it, made smaller."""
    check, remedies = here.check, list(here.remedies)
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
    return tuple(sorted(remedies, key=lambda remedy: KINDS.index(remedy.kind)))


def _does_more(one: Remedy, other: Remedy) -> bool:
    return (RANK[one.verdict], -len(one.mends)) < (RANK[other.verdict], -len(other.mends))


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
        if first is not None and bench.harmless(change, first):
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
    worse = tuple(key for key, there in proof.checks.items() if RANK[there.verdict] > RANK[base.verdict(key)])
    place = (change.what, mark)
    if place not in work.made:
        work.made[place] = () if work.text is None else edits_for(work.text, base.build.file, made.writes, made.build)
    return Remedy(change.kind, change.what, mark, change.marks[mark], proof.checks[check.key].verdict, mends,
                  tuple(key for key in better if key not in mends), worse, made.build, made.said, work.made[place])


def failing(found: RemedyReport) -> bool:
    """Whether some check of the build as it is fails."""
    return found.assessment.verdict == FAILS

