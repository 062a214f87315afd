"""Whether a changed build holds what it is changed for and loses nothing: asked as an assessment asks, every band to both ends.

A build that fails the proof is mostly found out at once, because the inputs that weigh most are moved first and because verdicts
only ever grow worse. One that passes has been asked everything: its checks are those of `hydro.checks.assessment.assess`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from hydro.checks import FAILS, HOLDS, Check, CheckKind, checks_of
from hydro.checks.check import COMFORT, FLOOR, PUMP, RANK, TIGHT, UNSURE, by_key
from hydro.checks.sensitivity import Shift, combined_band, judged_over_bands, uncertain_inputs
from hydro.description.build import Build
from hydro.errors import HydroError
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import PlacedBuild, place
from hydro.scenarios.results import Results, results_of
from hydro.steady.operating_point import NO_FLOW, NONE, OperatingPoint

LOUDER = 0.1
"""What a nicety that is not in order may lose more before that is told, as a share of its value or limit."""
NOTICED, SHARE = 0.001, 0.01
"""What a margin may lose before that counts: of a length so many metres, of everything else a share of its value or limit."""


@dataclass(frozen=True, slots=True)
class Base:
    """The build as it is: its judged checks by key, and what each end of each input takes from each check's margin.

    `keeps_margins`: what is in doubt, or fails, may not lose of its margin either.
    """

    build: Build
    checks: Mapping[str, Check]
    middle: Mapping[str, Check]
    shifts: Sequence[Shift]
    results: Results
    keeps_margins: bool = False

    def verdict(self, key: str) -> str:
        """Return the verdict of a check; a check that was not asked before has to hold."""
        check = self.checks.get(key)
        return HOLDS if check is None else check.verdict

    def allowed(self, check: Check) -> str:
        """Return the verdict that a check may have after a change: that of before.

        A check that was not asked before has to hold, or to be tight where nothing ran steadily before. A drain that is added,
        blocked, leaves what stands there now: the verdict of that, with all drains open.
        """
        if check.key in self.checks:
            return self.checks[check.key].verdict
        if not self.runs:
            return TIGHT
        open_drains = [one.verdict for one in self.checks.values() if one.kind is CheckKind.CAPACITY]
        blocked = check.kind is CheckKind.BLOCKED
        return max(open_drains, key=RANK.__getitem__, default=HOLDS) if blocked else HOLDS

    @property
    def runs(self) -> bool:
        """Whether the build as it is runs steadily, so that its checks say something of it running."""
        steady = self.checks.get(CheckKind.STEADY.key())
        return steady is None or steady.verdict != FAILS

    def worse(self, check: Check) -> bool:
        """Whether a check is worse than before, so that it has to be told; where nothing ran, than if it held."""
        before = self.verdict(check.key) if check.key in self.checks or not self.runs else self.allowed(check)
        return RANK[check.verdict] > RANK[before]

    def harmed(self, checks: Mapping[str, Check], key: str = "") -> list[str]:
        """Return the keys of checks on floor and pump that are worse than they may be, where `key` is on comfort of those too.

        Noise is not moved from one drain to another: of the kind of a `key` on comfort none may lose of its margin.
        """
        nicety = self.checks[key].kind if self.about_comfort(key) else None
        return [name for name, check in checks.items() if (nicety is not None or check.kind.stake in (FLOOR, PUMP))
                and (RANK[check.verdict] > RANK[self.allowed(check)] or (
                    self.keeps_margins and (check.kind.stake != COMFORT or check.kind is nicety) and self._drawn_down(check)))]

    def less_comfort(self, check: Check) -> bool:
        """Whether a check on comfort is no longer in order, or clearly further from it than before."""
        there = self.checks.get(check.key)
        if there is None or check.kind.stake != COMFORT or check.verdict == HOLDS:
            return False
        return there.margin - check.margin > LOUDER * max(abs(there.limit), abs(there.value))

    def about_comfort(self, key: str) -> bool:
        """Whether a check is on comfort."""
        return key in self.checks and self.checks[key].kind.stake == COMFORT

    def _drawn_down(self, check: Check) -> bool:
        """Whether a check that did not hold, and does not, has lost of its margin."""
        there = self.checks.get(check.key)
        if there is None or check.verdict == HOLDS or check.verdict != there.verdict:
            return False
        share = SHARE * max((abs(value) for value in (there.value, there.limit) if math.isfinite(value)), default=0.0)
        return there.margin - check.margin > (NOTICED if check.dimension == "length" else share)

    def loss(self, key: str) -> float:
        """Return what all bands together take from what a check has left to failing, nothing where that cannot be told."""
        check = self.middle[key]
        here = check.to_failing
        moved = [(shift.uncertain.name, shift.checks[key].to_failing) for shift in self.shifts if key in shift.checks]
        told = moved and all(math.isfinite(value) for value in (here, *(left for _, left in moved)))
        return here - combined_band(here, moved)[0] if told and adds_up(check) else 0.0

    def weightiest(self, key: str) -> list[tuple[str, str]]:
        """Return inputs with their ends (name, 'low' or 'high'), those first that turn a check or take most from it."""
        here = self.middle[key].margin

        def weight(shift: Shift) -> tuple[bool, float]:
            there = shift.checks.get(key)
            return (there is None or there.verdict == FAILS, math.inf if there is None else here - there.margin)
        return [(shift.uncertain.name, shift.end) for shift in sorted(self.shifts, key=weight, reverse=True)]


@dataclass(slots=True)
class Proof:
    """What came of a proof: the judged checks by key where it went to its end, else the check that stopped it."""

    checks: dict[str, Check] = field(default_factory=dict)
    stopped_by: str = ""
    asked: int = 0

    @property
    def whole(self) -> bool:
        """Whether everything was asked."""
        return not self.stopped_by


def fed(results: Results) -> set[str]:
    """Return the tanks that returns bring water into: a remedy that leaves one of them without is none."""
    network = results.network
    return {network.waters[network.links[k].down].name for k in network.returns
            if any(float(state.flows[k]) > NO_FLOW for state in results.answer.states)}


def prove_remedy(base: Base, build: Build, key: str, wanted: str = HOLDS) -> Proof:
    """Ask a changed build whether check `key` has at least the `wanted` verdict and no floor or pump check is worse than before.

    Where `key` is one of comfort, no other check of comfort may be worse either: a nicety is not bought with another one.
    """
    proof = Proof()
    try:
        loop = place(build)
        middle = results_of(loop)
        settled = by_key(judged_over_bands(middle, []))
    except HydroError as problem:
        return Proof(stopped_by=str(problem))
    stop = next(iter(fed(base.results) - fed(middle)), "") or _spoilt(base, settled, key, wanted)
    if stop or not middle.stopped:
        return Proof(stopped_by=stop or "it does not run")
    watched = {name: check for name, check in settled.items() if _hangs_on_bands(check) and check.verdict != FAILS
               and min(RANK[base.allowed(check)], RANK[wanted] if name == key else RANK[FAILS]) < RANK[UNSURE]}
    losses: dict[str, dict[str, list[float]]] = {name: {} for name in watched}
    moved: list[Shift] = []
    for shift in _shifts(loop, middle, base.weightiest(key)):
        proof.asked += 1
        moved.append(shift)
        for name, check in watched.items():
            there = shift.checks.get(name)
            if there is None or there.verdict == FAILS or _used_up(check, losses[name], shift.uncertain.name, there.to_failing):
                proof.stopped_by = name
                return proof
    # In the order in which an assessment moves them, so that what a check says of its verdict is the same too.
    moved.sort(key=lambda shift: (shift.uncertain.name, shift.end == "high"))
    proof.checks = by_key(judged_over_bands(middle, moved))
    proof.stopped_by = _spoilt(base, proof.checks, key, wanted)
    return proof


def _spoilt(base: Base, checks: Mapping[str, Check], key: str, wanted: str) -> str:
    """Return the first check that is worse than it may be, '' where there is none."""
    if key not in checks or RANK[checks[key].verdict] > RANK[wanted]:
        return key
    return next(iter(base.harmed(checks, key)), "")


def _hangs_on_bands(check: Check) -> bool:
    """Whether the ends of inputs are asked for a check's verdict: comfort is told as it is in the middle."""
    return check.kind.stake != COMFORT


def adds_up(check: Check) -> bool:
    """Whether what several inputs take from a check together may make it unsure."""
    return _hangs_on_bands(check) and not check.soft


def _used_up(check: Check, losses: dict[str, list[float]], name: str, left: float) -> bool:
    """Note what an end of an input takes from a check; whether all so far, as squares, take more than there is to failing."""
    taken = losses.setdefault(name, [0.0])
    taken[0] = max(taken[0], check.to_failing - left)
    return adds_up(check) and check.to_failing - math.hypot(*(one[0] for one in losses.values())) < 0.0


def _shifts(loop: PlacedBuild, middle: Results, first: Sequence[tuple[str, str]]) -> Iterator[Shift]:
    """Yield what `hydro.checks.sensitivity.shifts` yields, some inputs before the others."""
    known = {(uncertain.name, end): uncertain for uncertain in uncertain_inputs(middle) for end in ("low", "high")
             if getattr(uncertain, end) != uncertain.middle}
    for place_in_order in (*(one for one in first if one in known), *(one for one in known if one not in set(first))):
        yield _moved(loop, middle, known[place_in_order], place_in_order[1])


def _moved(loop: PlacedBuild, middle: Results, uncertain: Uncertain, end: str) -> Shift:
    try:
        results = results_of(loop, {uncertain.name: end}, middle)
    except HydroError as error:
        results = Results(loop, {uncertain.name: end}, middle.network, OperatingPoint(NONE, None, (), str(error)))
    return Shift(uncertain, end, results, by_key(checks_of(results)))
