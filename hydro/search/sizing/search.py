"""Which designs are looked at, and what becomes of each: every one of them while they are few, else a sample and what lies near.

Up to `WHOLE` designs the full grid is worked out. Beyond, a sample that fills the space evenly (Halton's sequence, the same every
time), then the neighbours of the best found so far, one step of one open value away, until none is new or the number is spent.
Designs of one topology are worked out together as arrays (`hydro.search.batch`) where that is possible, else one by one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice, product
from typing import Any

from hydro.checks import FAILS, HOLDS, IN_DOUBT, Check, CheckKind, checks_of
from hydro.checks.check import COMFORT
from hydro.errors import HydroError
from hydro.scenarios.placed_build import PlacedBuild, place
from hydro.scenarios.results import Results, results_of
from hydro.search.batch.evaluate import designs_of
from hydro.search.batch.solve import fits_in
from hydro.search.sizing.figures import FIGURES, DesignScale, Weighed
from hydro.search.sizing.goals import Goals, goal_checks
from hydro.search.sizing.openings import Choice
from hydro.search.sizing.shapes import Shapes, Topology
from hydro.search.sizing.weighing import Costs, front, tidy

WHOLE = 4000
"""Most designs that are all worked out."""
ALONE = 400
"""Most designs worked out where they cannot be as arrays."""
TOGETHER = 1000
"""Designs in one batch: between two batches progress is shown and Ctrl-C is heard at once."""
NOT_RUN = "it runs"
PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71)

Told = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Judged:
    """A design in the middle of every band: `missed` are the checks that rule it out, `doubts` how many are in doubt, `loud` how
    many on comfort fail.

    `weighed` is None for one that is ruled out; `ran` says whether it has a steady way to run.
    """

    topology: int
    choice: Choice
    missed: tuple[str, ...]
    doubts: int
    weighed: Weighed | None
    ran: bool = False
    loud: int = 0


@dataclass(slots=True)
class Searched:
    """Everything looked at, in order. `grid` designs there are; `whole` says that all were to be looked at."""

    grid: int
    whole: bool
    asked: int
    judged: list[Judged] = field(default_factory=list)
    complete: bool = True
    alone: bool = False

    @property
    def good(self) -> list[Judged]:
        """The designs that pass."""
        return [one for one in self.judged if one.weighed is not None]

    @property
    def calmest(self) -> list[Judged]:
        """The passing designs of which the fewest checks on comfort fail: none does as long as one is calm."""
        least = min((one.loud for one in self.good), default=0)
        return [one for one in self.good if one.loud == least]

    @property
    def names(self) -> tuple[str, ...]:
        """The figures that every passing design has."""
        good = self.good
        return tuple(name for name in FIGURES if good and all(one.weighed and name in one.weighed.values for one in good))

    def costs(self, good: Sequence[Judged]) -> list[Costs]:
        """Return the figures of passing designs so that less is better."""
        names = self.names
        return [tidy(one.weighed.costs(names)) for one in good if one.weighed is not None]

    def front(self) -> list[Judged]:
        """Return the calmest passing designs that none beats in everything, of equal ones one."""
        good = self.calmest
        return [good[k] for k in front(self.costs(good), [one.doubts for one in good])]

    def reasons(self) -> list[tuple[str, int, int]]:
        """Return the checks that rule designs out: how many each, and how many it alone does, the most frequent first."""
        count, alone = Counter[str](), Counter[str]()
        for one in self.judged:
            count.update(one.missed)
            if len(one.missed) == 1:
                alone.update(one.missed)
        return sorted(((words, n, alone[words]) for words, n in count.items()), key=lambda entry: (-entry[1], entry[0]))


def judge_checks(goals: Goals, checks: Iterable[Check]) -> tuple[tuple[str, ...], int]:
    """Return the checks that rule a design out, and how many are in doubt.

    Comfort rules nothing out but where it is asked for: it puts designs in their order, and counts as a doubt, however loud.
    """
    missed: dict[str, None] = {}
    doubts = 0
    for check in checks:
        if check.kind is CheckKind.STEADY and check.verdict == FAILS:
            return (check.question,), 0  # of one that does not run there is nothing else to say
        if check.verdict == FAILS and rules_out(goals, check):
            missed[check.question] = None
        elif check.verdict != HOLDS and goals.asks(check):
            missed[f"{check.question} (asked to hold, is in doubt)"] = None
        doubts += check.verdict in IN_DOUBT or (check.verdict == FAILS and not rules_out(goals, check))
    return tuple(missed), doubts


def rules_out(goals: Goals, check: Check) -> bool:
    """Whether a check that fails rules a design out: on floor and pump each does, on comfort what the goals ask."""
    return check.kind.stake != COMFORT or goals.asks(check)


def judge_design(results: Results, goals: Goals, scale: DesignScale, topology: Topology, number: int, choice: Choice) -> Judged:
    """Return what becomes of a design."""
    checks = [*checks_of(results), *goal_checks(goals, results)]
    missed, doubts = judge_checks(goals, checks)
    if not missed and not results.stopped:
        missed = (NOT_RUN,)
    loud = sum(check.verdict == FAILS and check.kind.stake == COMFORT for check in checks)
    weighed = None if missed else scale.weigh(results, topology.numbers(choice), [check for check in checks if goals.asks(check)])
    return Judged(number, choice, missed, doubts, weighed, bool(results.stopped), loud)


class Search:
    """Works designs out, batch by batch, and keeps them in the order in which they were looked at."""

    def __init__(self, shapes: Shapes, goals: Goals, scale: DesignScale, told: Told | None) -> None:
        self.shapes, self.goals, self.scale, self.told = shapes, goals, scale, told
        self.loops: dict[int, PlacedBuild | HydroError] = {}
        self.seen: set[tuple[int, Choice]] = set()
        self.found = Searched(shapes.count, shapes.count <= WHOLE, min(shapes.count, WHOLE))

    def loop(self, number: int) -> PlacedBuild:
        """Return a topology's loop, heights fixed, once."""
        if number not in self.loops:
            try:
                self.loops[number] = place(self.goals.wished(self.shapes.topologies[number].build))
            except HydroError as problem:
                self.loops[number] = problem
        found = self.loops[number]
        if isinstance(found, HydroError):
            raise found
        return found

    def ask_less(self) -> None:
        """Find out whether some topology has to be worked out one design at a time, and then look at fewer."""
        for number, topology in enumerate(self.shapes.topologies):
            sample = topology.sample([topology.base] * 2)
            if sample and not self._fit(number, sample):
                self.found.alone, self.found.asked = True, min(self.found.asked, ALONE)
                self.found.whole = self.found.grid <= ALONE
                return

    def _fit(self, number: int, sample: dict[str, Any]) -> bool:
        """Whether the designs of a topology can be worked out as arrays."""
        try:
            loop = self.loop(number)
            return loop.tank_water is None and fits_in(loop.network(sample))
        except HydroError:
            return True  # said of each design when it is asked

    def look_at(self, number: int, choices: Iterable[Choice]) -> None:
        """Judge designs of one topology, those that were not looked at before, as long as the number lasts."""
        left = self.found.asked - len(self.found.judged)
        new = [one for one in dict.fromkeys(choices) if (number, one) not in self.seen][:max(left, 0)]
        for start in range(0, len(new), TOGETHER):
            for one in self._batch(number, new[start:start + TOGETHER]):
                self.found.judged.append(one)
                self.seen.add((number, one.choice))
                if self.told is not None:
                    self.told(len(self.found.judged), self.found.asked)

    def _batch(self, number: int, choices: Sequence[Choice]) -> Iterator[Judged]:
        topology = self.shapes.topologies[number]
        made, sample = None, topology.sample(choices)
        try:
            loop = self.loop(number)
            if loop.tank_water is None and sample:
                made = designs_of(loop, sample, len(choices))
        except (HydroError, ValueError, TypeError):
            made = None  # what arrays cannot do, or what one of them upsets, is worked out one by one
        for n, choice in enumerate(choices):
            try:
                found = made.results(n) if made is not None else self._alone(number, choice)
                yield judge_design(found, self.goals, self.scale, topology, number, choice)
            except HydroError as problem:
                yield Judged(number, choice, (_short(problem),), 0, None)

    def _alone(self, number: int, choice: Choice) -> Results:
        """Return what is found of one design by itself."""
        return results_of(place(self.goals.wished(self.shapes.topologies[number].built(choice))))


def _short(problem: HydroError) -> str:
    text = str(problem).splitlines()[0]
    return "the file can be read with it" if "expected" in text else "the equations are solved"


def search(shapes: Shapes, goals: Goals, scale: DesignScale, told: Told | None = None) -> Searched:
    """Look at all designs, or at a sample and what lies near the best; Ctrl-C ends it with what was found by then."""
    at_work = Search(shapes, goals, scale, told)
    try:
        at_work.ask_less()
        if at_work.found.whole:
            for number, topology in enumerate(shapes.topologies):
                at_work.look_at(number, product(*topology.counts))
        else:
            _sample(at_work)
    except KeyboardInterrupt:
        at_work.found.complete = False
    return at_work.found


def _sample(at_work: Search) -> None:
    """Fill half of the number with an even sample, the rest with neighbours of the best."""
    topologies, found = at_work.shapes.topologies, at_work.found
    share = max(1, found.asked // (2 * len(topologies)))
    for number, topology in enumerate(topologies):
        at_work.look_at(number, islice(halton(topology.counts), share))
    while len(found.judged) < found.asked:
        before = len(found.judged)
        for one in _nearest(found):
            at_work.look_at(one.topology, neighbours(one.choice, topologies[one.topology].counts))
        if len(found.judged) == before:
            return


def _nearest(found: Searched) -> list[Judged]:
    """Return the designs to look around: those that none beats, else those that miss least."""
    if found.good:
        return found.front()
    return sorted(found.judged, key=lambda one: (len(one.missed), one.doubts))[:20]


def halton(counts: Sequence[tuple[int, ...]]) -> Iterator[Choice]:
    """Yield choices spread evenly over all that there are, the same ones every time; each as often as it comes up.

    J. H. Halton's sequence of 1960: the digits of n in the base of a prime, one prime for each open value, behind the point.
    """
    for n in range(1, 50 * WHOLE):
        yield tuple(places[int(_inverse(n, PRIMES[k % len(PRIMES)]) * len(places))] for k, places in enumerate(counts))


def _inverse(n: int, base: int) -> float:
    value, share = 0.0, 1.0
    while n:
        n, digit = divmod(n, base)
        share /= base
        value += digit * share
    return value


def neighbours(choice: Choice, counts: Sequence[tuple[int, ...]]) -> Iterator[Choice]:
    """Yield the choices one step of one open value away."""
    for n, places in enumerate(counts):
        at = places.index(choice[n])
        for other in (at - 1, at + 1):
            if 0 <= other < len(places):
                yield (*choice[:n], places[other], *choice[n + 1:])
