"""What to measure: where one figure or a few decide a check that is unsure, they are worth more than any change.

Nothing is solved here. The ends of every input were asked when the build was assessed; a check is judged again without those of
some inputs, as if these were known to be what the file has in the middle of their bands.
"""

from __future__ import annotations

from dataclasses import dataclass

from hydro.checks import FAILS, UNSURE, Check
from hydro.checks.assessment import Assessment
from hydro.checks.sensitivity import Shift, judged
from hydro.quantities.uncertain import STATED, Uncertain

MOST = 3
"""Most figures that are worth measuring for one check: where more decide it, something is to be changed."""


@dataclass(frozen=True, slots=True)
class Measure:
    """Figures that decide an unsure check, the one that weighs most first.

    Known to be what they are in the middle of their bands, or better, they leave the check its `verdict` there, 'holds' or
    'tight'. `fails_at` is the end of each at which the check fails, 'low' or 'high', '' where that one alone does not fail it.
    """

    inputs: tuple[Uncertain, ...]
    fails_at: tuple[str, ...]
    verdict: str

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the figures."""
        return tuple(one.name for one in self.inputs)

    @property
    def stated(self) -> bool:
        """Whether all of them are the owner's own figures, and none a default."""
        return all(one.source == STATED for one in self.inputs)


def measure_for(assessment: Assessment, check: Check, middle: Check) -> Measure | None:
    """Return the figures, at most `MOST`, that have to be known for a check to be unsure no longer; None where there are none.

    `middle` is the check with every input in the middle of its band.
    """
    if check.verdict != UNSURE or middle.verdict == FAILS:
        return None
    left, known, there = list(assessment.shifts), list[Uncertain](), check
    while there.verdict == UNSURE and len(known) < MOST:
        named = next(shift.uncertain for shift in left if shift.uncertain.name == there.decided_by)
        known.append(named)
        left = [shift for shift in left if shift.uncertain.name != named.name]
        there = judged(middle, left)
    if there.verdict == UNSURE:
        return None
    return Measure(tuple(known), tuple(_failing_end(assessment.shifts, one.name, check.key) for one in known), there.verdict)


def _failing_end(shifts: tuple[Shift, ...], name: str, key: str) -> str:
    """Return the end of an input at which a check fails or cannot be asked, '' where there is none."""
    ends = [shift.end for shift in shifts if shift.uncertain.name == name
            and (key not in shift.checks or shift.checks[key].verdict == FAILS)]
    return ends[0] if len(ends) == 1 else " and ".join(ends)
