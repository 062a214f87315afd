"""The least mark of a change at which a check holds: sampled, halved, proved.

More of a change is taken to mend more, and a few marks are looked at first to find between which two it begins to. There the
middle of every band is asked, which takes some hundredths of a second. The check has to hold by as much as the bands took from it
in the build as it is: that is a guess at where it holds at their ends too, and the proof either bears it out or moves it on.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from hydro.checks import FAILS, HOLDS, Check, checks_of
from hydro.checks.check import RANK, UNSURE, by_key
from hydro.errors import HydroError
from hydro.scenarios.placed_build import PlacedBuild, place
from hydro.scenarios.results import Results, results_of
from hydro.search.remedies.change import Change
from hydro.search.remedies.proof import Base, Proof, adds_up, prove_remedy

SPREAD = 4
"""Each mark that is sampled lies so many times as far as the one before it."""
MOST_PROOFS, DOUBTFUL, STRIDE = 8, 3, 2
"""Proofs for one check and one change until it is given up: where it holds by enough in the middle of every band, and where by
too little; each looks so many times as far on as the one before."""

Checks = dict[str, Check]


@dataclass(slots=True)
class Bench:
    """Changes tried on one build, each mark worked out once. `tried` and `proved` count what that took."""

    base: Base
    found: dict[tuple[str, int], Checks | None] = field(default_factory=dict)
    proofs: dict[tuple[str, int, str, str], Proof] = field(default_factory=dict)
    tried: int = 0
    proved: int = 0

    def checks(self, change: Change, k: int) -> Checks | None:
        """Return the checks in the middle of every band at mark `k`, None where the loop does not run."""
        key = (change.what, k)
        if key not in self.found:
            self.tried += 1
            try:
                self.found[key] = by_key(checks_of(self._find(place(change.at(k).build))))
            except HydroError:
                self.found[key] = None
        return self.found[key]

    def _find(self, loop: PlacedBuild) -> Results:
        """Return the findings in the middle, found from those of the build as it is, with the same drains blocked as there.

        Which drains are wet may have changed by then; the proof asks anew.
        """
        near = self.base.results
        alike = [link.name for link in loop.network().links] == [link.name for link in near.network.links]
        return results_of(loop, None, near if alike else None)

    def proof(self, change: Change, k: int, key: str, wanted: str) -> Proof:
        """Return the proof at mark `k`; one that was carried through for another check serves this one as well."""
        asked = (change.what, k, key, wanted)
        if asked not in self.proofs:
            whole = next((proof for (what, mark, _, _), proof in self.proofs.items()
                          if what == change.what and mark == k and proof.whole), None)
            if whole is not None and key in whole.checks:
                good = RANK[whole.checks[key].verdict] <= RANK[wanted]
                self.proofs[asked] = Proof(whole.checks, "" if good else key)
            else:
                self.proved += 1
                self.proofs[asked] = prove_remedy(self.base, change.at(k).build, key, wanted)
        return self.proofs[asked]

    def margin(self, change: Change, k: int, key: str, wanted: str) -> float:
        """Return what a check has left to failing at a mark where it has the wanted verdict, minus infinity where it has not."""
        check = (self.checks(change, k) or {}).get(key)
        if check is None or RANK[check.verdict] > RANK[wanted]:
            return -math.inf
        return check.to_failing if wanted == HOLDS and adds_up(check) else math.inf

    def harmless(self, change: Change, k: int, key: str) -> bool:
        """Whether no check that counts beside `key` is worse than before in the middle of every band."""
        checks = self.checks(change, k)
        return checks is not None and not self.base.harmed(checks, key)


def least(passes: Callable[[int], bool], low: int, high: int) -> int:
    """Return the least number above `low` that passes; `high` passes, `low` does not, and whatever lies above a pass does."""
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if passes(middle) else (middle, high)
    return high


def least_passing(passes: Callable[[int], bool], count: int) -> int | None:
    """Return the least of the numbers 0 to `count` - 1 that passes, None where none of those that are sampled does."""
    before, here = -1, 0
    while True:
        if passes(here):
            return least(passes, before, here)
        if here >= count - 1:
            return None
        before, here = here, min(count - 1, (here + 1) * SPREAD - 1)


def smallest(bench: Bench, change: Change, key: str, wanted: str) -> tuple[int, Proof] | None:
    """Return the least mark of a change that is proved to mend a check, with its proof; None where there is none."""
    count = len(change.marks)
    bare = least_passing(lambda k: bench.margin(change, k, key, wanted) > -math.inf, count)
    if bare is None or not bench.harmless(change, bare, key):
        return None
    if wanted != HOLDS:
        proof = bench.proof(change, bare, key, wanted)
        return (bare, proof) if proof.whole else _onward(bench, change, key, wanted, bare, bare + 1, DOUBTFUL)
    loss = bench.base.loss(key)
    start = least_passing(lambda k: k >= bare and bench.margin(change, k, key, wanted) >= loss, count)
    if start is None:
        return _onward(bench, change, key, wanted, bare - 1, bare, DOUBTFUL)
    return _onward(bench, change, key, wanted, bare - 1, start, MOST_PROOFS)


def no_more_than(bench: Bench, change: Change, key: str, wanted: str, good: int) -> tuple[int, Proof]:
    """Return the least proved mark up to one that is proved to mend a check, with its proof."""
    bench.proof(change, good, key, wanted)
    bare = least(lambda k: bench.margin(change, k, key, wanted) > -math.inf, -1, good)
    return _back(bench, change, key, wanted, bare - 1, good)


def from_mark(bench: Bench, change: Change, key: str, wanted: str) -> tuple[int, Proof] | None:
    """Return the least proved mark of a change of which only more makes it harmless, None where there is none."""
    first = least_passing(
        lambda k: bench.margin(change, k, key, wanted) > -math.inf and bench.harmless(change, k, key), len(change.marks)
    )
    return None if first is None else _onward(bench, change, key, wanted, first - 1, first, DOUBTFUL)


def _onward(bench: Bench, change: Change, key: str, wanted: str, failed: int, start: int,
            left: int) -> tuple[int, Proof] | None:
    """Return the least proved mark above `failed`, looked for from `start` on: upward in growing strides, then halved back."""
    here, stride = min(start, len(change.marks) - 1), 1
    if here <= failed:
        return None
    good: int | None = None
    while left and good is None:
        if not bench.harmless(change, here, key):
            if here == failed + 1:
                return None
            here = failed + 1 + (here - failed - 1) // 2
            left -= 1
            continue
        left -= 1
        if bench.proof(change, here, key, wanted).whole:
            good = here
        else:
            failed = here
            if here >= len(change.marks) - 1:
                return None
            here, stride = min(len(change.marks) - 1, here + stride), STRIDE * stride
    if good is None:
        return None
    return _back(bench, change, key, wanted, failed, good)


def _back(bench: Bench, change: Change, key: str, wanted: str, failed: int, good: int) -> tuple[int, Proof]:
    """Return the least proved mark between one that failed and one that is proved: the one below first, then by halves."""
    trial = good - 1
    while good - failed > 1:
        if bench.harmless(change, trial, key) and bench.proof(change, trial, key, wanted).whole:
            good = trial
        else:
            failed = trial
        trial = (good + failed) // 2
    return good, bench.proof(change, good, key, wanted)


def wanted_of(check: Check) -> tuple[str, ...]:
    """Return the verdicts that a check may be mended to, the best one first."""
    return (HOLDS, UNSURE) if check.verdict == FAILS else (HOLDS,)
