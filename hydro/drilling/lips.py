"""Whether a lip that stands higher or lower is good: no check on floor or pump is worse there than as described.

Two questions. A guess takes the middle of every band and from each check's margin what the bands took from it where that is
known: some milliseconds. The whole question moves every input to both of its ends, as `hydro.checks.sensitivity` does, the tape's
tolerance of the lip among them; all ends of several lips are worked out at once as arrays (`hydro.search.batch`, which holds
itself to `hydro.scenarios.results.results_of`). Asked one by one, with `results_of`, is what arrays do not answer alike: an end
at which the loop does not run steadily or other drains are out than in the middle, an input that is set while overflows are
judged (`at_its_best`), and everything of a build that is not of the kind for arrays."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from hydro.case.names.renaming import Rewriting, rewritten
from hydro.checks import FAILS, UNSURE, Check, checks_of
from hydro.checks.assessment import Assessment
from hydro.checks.check import RANK, by_key
from hydro.checks.sensitivity import Shift, judged_over_bands, uncertain_inputs
from hydro.description.build import Build, Height
from hydro.errors import HydroError
from hydro.quantities.arrays import stack
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import PlacedBuild, at_its_best, place
from hydro.scenarios.results import Results, emergency_outs, results_of
from hydro.search.batch.evaluate import Designs, designs_of
from hydro.search.remedies.proof import Base, adds_up, prove_remedy
from hydro.steady.operating_point import DRAWS_AIR, NONE, STEADY, OperatingPoint

Checks = dict[str, Check]


def lip_of(build: Build, name: str) -> Height | None:
    """Return the lip of a drain as described."""
    lip = next((drain.inlet.values.get("lip") for drain in build.drains if drain.name == name), None)
    return lip if isinstance(lip, Height) else None


def with_lip(build: Build, lip: Height, higher: float) -> Build:
    """Return a build with a lip so much higher (m), as good as the owner's tape; drains that share its number move along."""
    middle = lip.offset.middle + higher
    there = Uncertain(middle - build.tape, middle, middle + build.tape, lip.offset.name)
    return rewritten(build, Rewriting(number=lambda uncertain: there if uncertain.name == there.name else uncertain))


@dataclass(frozen=True, slots=True)
class Told:
    """What came of the whole question: the first check that is worse ('' if none), what all bands take from each margin."""

    worse: str
    losses: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Trial:
    """A lip so much higher (m) to be asked in whole, with its findings in the middle and its inputs at their ends.

    `best` are the values that some inputs have while overflows are judged.
    """

    higher: float
    loop: PlacedBuild
    middle: Results
    ends: tuple[tuple[Uncertain, str], ...]
    best: Mapping[str, Any]


@dataclass(slots=True)
class Lips:
    """Asks whether a lip so much higher than described is good; remembers what it was told. `asked` counts lips asked in whole.

    `arrays` is whether the build is of the kind that is asked as arrays. `middles` are the checks in the middle of every band and
    `found` what they were read off, `told` the answers to the whole question, all by how much higher the lip stands; `turned` has
    for a check that counts something an input's end that alone made it worse at some lip.
    """

    assessment: Assessment
    lip: Height
    base: Base
    arrays: bool = True
    asked: int = 0
    middles: dict[float, Checks | None] = field(default_factory=dict)
    found: dict[float, Results] = field(default_factory=dict)
    told: dict[float, Told] = field(default_factory=dict)
    turned: dict[str, tuple[str, str]] = field(default_factory=dict)

    @staticmethod
    def of(assessment: Assessment, lip: Height) -> Lips:
        """Prepare the questions about one lip."""
        middle = by_key(checks_of(assessment.results))
        base = Base(assessment.build, by_key(assessment.checks), middle, assessment.shifts, assessment.results)
        known = Told("", {key: base.loss(key) for key in middle})
        outs = [(), *((k,) for k in assessment.results.network.drains)]
        # Of drains that are built several times over only some are asked: then the arrays would ask too many.
        alike = [one.out for one in assessment.results.overflows] == outs
        return Lips(assessment, lip, base, alike, found={0.0: assessment.results}, told={0.0: known})

    def guess(self, higher: float) -> str:
        """Return the key of the first check that is likely worse, '' where none is."""
        checks = self._checks(higher)
        if checks is None:
            return "steady"
        worse = self.base.harmed(checks)
        return worse[0] if worse else next((key for key, check in checks.items() if key in self.base.middle
                                            and RANK[self.base.verdict(key)] < RANK[UNSURE] and self._lost(check, higher)), "")

    def _lost(self, check: Check, higher: float) -> bool:
        """Whether a check that does not fail in the middle is likely to be unsure with all bands moved."""
        if check.key not in self.turned or higher not in self.found:
            return adds_up(check) and math.isfinite(check.margin) and check.to_failing < self._loss(check.key, higher)
        middle = self.found[higher]
        name, end = self.turned[check.key]
        try:
            checks = checks_of(results_of(middle.loop, {name: end}, middle))
        except HydroError:
            return True
        return next((there.verdict for there in checks if there.key == check.key), FAILS) == FAILS

    def _checks(self, higher: float) -> Checks | None:
        """Return the checks in the middle of every band, None where nothing was found."""
        if higher not in self.middles:
            try:
                near = min(self.found, key=lambda one: abs(one - higher))
                found = results_of(place(with_lip(self.assessment.build, self.lip, higher)), None, self.found[near])
                self.middles[higher] = by_key(checks_of(found))
                if found.answer.state is not None:
                    self.found[higher] = found
            except HydroError:
                self.middles[higher] = None
        return self.middles[higher]

    def _loss(self, key: str, higher: float) -> float:
        """Return what the bands are likely to take from a check: along lines between the lips where it is known, level beyond."""
        known = sorted((abs(at), told.losses[key]) for at, told in self.told.items()
                       if key in told.losses and at * higher >= 0.0)
        if not known:
            return 0.0
        far = abs(higher)
        (first, here), (second, there) = max((one for one in known if one[0] <= far), default=known[0]), \
            min((one for one in known if one[0] >= far), default=known[-1])
        return here if second <= first else here + (there - here) * (far - first) / (second - first)

    def prove(self, higher: float) -> str:
        """Return the key of a check that is worse, '' where everything was asked and none is."""
        self.ask([higher])
        return self.told[higher].worse

    def question(self, higher: float) -> str:
        """Return the words of the check that is worse at a lip that was asked."""
        key = self.told[higher].worse
        return self.base.checks[key].question if key in self.base.checks else key

    def ask(self, many: Sequence[float]) -> None:
        """Ask the whole question of several lips (m higher) at once."""
        new = [higher for higher in many if higher not in self.told]
        self.asked += len(new)
        if self.arrays:
            trials = [trial for higher in new if (trial := self._trial(higher)) is not None]
            if trials:
                self._ask_arrays(trials)
        for higher in new:
            if higher not in self.told:
                self.told[higher] = self._ask_alone(higher)

    def _ask_alone(self, higher: float) -> Told:
        key = self.guess(higher) or next((told.worse for told in self.told.values() if told.worse in self.base.checks), "")
        key = key if key in self.base.checks else next(key for key in self.base.checks if not self.base.about_comfort(key))
        return Told(
            prove_remedy(self.base, with_lip(self.assessment.build, self.lip, higher), key, self.base.verdict(key)).stopped_by
        )

    def _trial(self, higher: float) -> _Trial | None:
        """Prepare a lip; None where it is told at once, because a check is worse in the middle already or nothing runs."""
        try:
            loop = place(with_lip(self.assessment.build, self.lip, higher))
            middle = results_of(loop)
            checks = by_key(judged_over_bands(middle, []))
        except HydroError as problem:
            self.told[higher] = Told(str(problem))
            return None
        worse = next(iter(self.base.harmed(checks)), "") or ("" if middle.stopped else "it does not run")
        if worse:
            self.told[higher] = Told(worse)
            return None
        ends = tuple((uncertain, end) for uncertain in uncertain_inputs(middle) for end in ("low", "high")
                     if getattr(uncertain, end) != uncertain.middle)
        return _Trial(higher, loop, middle, ends, at_its_best(loop.build, {}))

    def _ask_arrays(self, trials: Sequence[_Trial]) -> None:
        # Heights counted from the water follow a lip that is picked otherwise than one that stands elsewhere in the file.
        alone = any(trial.loop.tank_water is not None for trial in trials)
        for group in [[trial] for trial in trials] if alone else [trials]:
            try:
                designs = self._designs(group)
            except HydroError:
                designs = None
            if designs is None:
                self.arrays = False
                return
            design = 0
            for trial in group:
                shifts = [_shift(trial, uncertain, end, designs, design + k) for k, (uncertain, end) in enumerate(trial.ends)]
                self.told[trial.higher] = self._judged(trial, shifts)
                design += len(shifts)

    def _designs(self, trials: Sequence[_Trial]) -> Designs | None:
        """Return all ends of some lips at once, each lip and each end a design; None where the build is not of the kind."""
        values = []
        for trial in trials:
            middles = {uncertain.name: uncertain.middle for uncertain, _ in trial.ends}
            middles[self.lip.offset.name] = self.lip.offset.middle + trial.higher
            values += [{**middles, uncertain.name: getattr(uncertain, end)} for uncertain, end in trial.ends]
        names = {name: middle for one in values for name, middle in one.items()}
        sample = {name: stack([one.get(name, middle) for one in values]) for name, middle in names.items()}
        return designs_of(trials[0].loop, sample, len(values))

    def _judged(self, trial: _Trial, shifts: list[Shift]) -> Told:
        checks = by_key(judged_over_bands(trial.middle, shifts))
        there = Base(trial.loop.build, checks, by_key(checks_of(trial.middle)), shifts, trial.middle)
        worse = next(iter(self.base.harmed(checks)), "")
        # A count has the margin of the described lip until it jumps: what all inputs take from it tells nothing.
        counts = worse in self.base.middle and there.middle[worse].margin == self.base.middle[worse].margin
        end = next((shift for shift in shifts if worse in shift.checks and shift.checks[worse].verdict == FAILS), None)
        if counts and end is not None:
            self.turned[worse] = end.uncertain.name, end.end
        return Told(worse, {key: there.loss(key) for key in there.middle})


def _shift(trial: _Trial, uncertain: Uncertain, end: str, designs: Designs, design: int) -> Shift:
    """Return what an end of an input does, off the arrays where they answer what would be asked alone."""
    found: Results | None = None
    if trial.best.get(uncertain.name, end) == end:
        found = _alike(designs.results(design), trial, {uncertain.name: end})
    if found is None:
        try:
            found = results_of(trial.loop, {uncertain.name: end}, trial.middle)
        except HydroError as error:
            found = Results(trial.loop, {uncertain.name: end}, trial.middle.network, OperatingPoint(NONE, None, (), str(error)))
    return Shift(uncertain, end, found, by_key(checks_of(found)))


def _alike(found: Results, trial: _Trial, sample: dict[str, Any]) -> Results | None:
    """Return findings off the arrays as those of a lip, None where asked alone they might be others."""
    runs = found.answer.kind in (STEADY, DRAWS_AIR) and all(one.with_air is not None for one in found.overflows)
    if not runs or [one.out for one in found.emergencies] != emergency_outs(trial.loop.build, found.answer, trial.middle):
        return None
    return replace(found, loop=trial.loop, sample=sample)
