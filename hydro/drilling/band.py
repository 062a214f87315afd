"""How much freedom the height of a hole has: first of the lip, then of the hole.

A lip is good where the whole assessment, asked with the lip there and the tape's tolerance to both sides, has no row worse than
for the build as it is described. From the described lip outward the first lips that are not good bound an interval [L, H].
Every input goes to both of its ends there (`hydro.remedies.proof`), so the ends are found in two steps: a walk that takes what
the bands cost each row from the assessment as it stands, then proofs, which settle the ends to `FINE`.

The hole: for an elbow those heights from which some setting has its whole lip in [L, H] (`hydro.drilling.elbow`), for an inlet
that cannot be turned [L, H] itself, moved to the hole's centre. Both are cut to what the panel's edges leave (`rules`).
One drain moves at a time; those that are described once for several move together.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from hydro.assessment import Assessment
from hydro.build import Build, Height
from hydro.case.moved import Change, moved
from hydro.checks import HOLDS, Row, rows_of
from hydro.drilling.panels import Hole
from hydro.drilling.rules import edge_limit
from hydro.errors import HydroError
from hydro.findings import Findings, find
from hydro.remedies.proof import Base, prove
from hydro.rough import Rough
from hydro.scenarios import place

FINE = 0.25e-3
"""How near to the true end an end is found, m."""
STEP, FIRST = 4e-3, 4
"""Length of the steps of the walk, m, and of the first step of the proofs, in `FINE`."""
REACH = 0.12
"""How far from the described lip others are looked at, m."""
NEAR_EDGE = "the edge of the panel"


@dataclass(frozen=True, slots=True)
class End:
    """An end of an interval, m above the ground. `row` says what is worse beyond it; '' if nothing was met."""

    height: float
    row: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """Lips from `low` to `high` are good; so is the hole's centre from `least` to `most` (m above the ground).

    `least` and `most` name what bounds them: a check, or an edge of the panel. None where no hole serves. `lip` is the lip as
    described, m above the ground.
    """

    low: End
    high: End
    least: End | None
    most: End | None
    lip: float

    def moved(self, by: float) -> Band:
        """Return the same freedom so much higher (m): that of a twin in another tank."""
        def up(end: End) -> End:
            return replace(end, height=end.height + by)
        return Band(up(self.low), up(self.high), None if self.least is None else up(self.least),
                    None if self.most is None else up(self.most), self.lip + by)


def lip_of(build: Build, name: str) -> Height | None:
    """Return the lip of a drain as described."""
    lip = next((drain.inlet.values.get("lip") for drain in build.drains if drain.name == name), None)
    return lip if isinstance(lip, Height) else None


def with_lip(build: Build, lip: Height, higher: float) -> Build:
    """Return a build with a lip so much higher (m), as good as the owner's tape; drains that share its number move along."""
    middle = lip.offset.middle + higher
    there = Rough(middle - build.tape, middle, middle + build.tape, lip.offset.name)
    return moved(build, Change(number=lambda rough: there if rough.name == there.name else rough))


@dataclass(slots=True)
class Lips:
    """Asks whether a lip so much higher than described is good; remembers what it was told."""

    assessment: Assessment
    lip: Height
    base: Base
    middle: dict[str, Row]
    near: Findings
    proofs: int = 0
    guessed: dict[float, str] = field(default_factory=dict)
    proven: dict[float, str] = field(default_factory=dict)

    @staticmethod
    def of(assessment: Assessment, lip: Height) -> Lips:
        """Prepare the questions about one lip."""
        middle = {row.key: row for row in rows_of(assessment.findings)}
        base = Base(assessment.build, {row.key: row for row in assessment.rows}, middle, assessment.shifts, assessment.findings)
        return Lips(assessment, lip, base, middle, assessment.findings)

    def guess(self, higher: float) -> str:
        """Return the key of the first row that is likely worse, '' where none is: bands cost it what they cost it now."""
        if higher not in self.guessed:
            self.guessed[higher] = self._guess(higher)
        return self.guessed[higher]

    def _guess(self, higher: float) -> str:
        try:
            rows = rows_of(find(place(with_lip(self.assessment.build, self.lip, higher)), None, self.near))
        except HydroError:
            return "steady"
        worse = self.base.harmed({row.key: row for row in rows})
        if worse:
            return worse[0]
        return next((row.key for row in rows if row.key in self.middle and self.base.verdict(row.key) == HOLDS
                     and math.isfinite(row.margin) and row.margin < self.base.loss(row.key)), "")

    def prove(self, higher: float) -> str:
        """Return the key of a row that is worse, '' where everything was asked and none is."""
        if higher not in self.proven:
            self.proofs += 1
            key = self.guess(higher) or next((key for key in self.guessed.values() if key in self.base.rows), "")
            key = key if key in self.base.rows else next(iter(self.base.rows))
            proof = prove(self.base, with_lip(self.assessment.build, self.lip, higher), key, self.base.verdict(key))
            self.proven[higher] = proof.stopped_by
        return self.proven[higher]

    def end(self, up: bool, most: float) -> tuple[float, str]:
        """Return how far (m) the good lips reach upward or downward, at most `most`, and what is worse beyond."""
        sign = 1.0 if up else -1.0
        count = int(most / FINE)

        def ask(question: Callable[[float], str]) -> Callable[[int], str]:
            return lambda steps: question(sign * steps * FINE)
        stride = int(STEP / FINE)
        good, bad = 0, count + 1
        for steps in [*range(stride, count, stride), count]:
            if ask(self.guess)(steps):
                bad = steps
                break
            good = steps
        good, bad = _bisected(ask(self.guess), good, bad)
        good, bad = _settled(ask(self.prove), good, count)
        return good * FINE, self.question(ask(self.prove)(bad)) if bad <= count else ""

    def question(self, key: str) -> str:
        """Return the words of a row."""
        row = self.base.rows.get(key)
        return row.question if row is not None else key


def _bisected(ask: Callable[[int], str], good: int, bad: int) -> tuple[int, int]:
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (good, middle) if ask(middle) else (middle, bad)
    return good, bad


def _settled(ask: Callable[[int], str], start: int, count: int) -> tuple[int, int]:
    """Return neighbouring steps of which the first is good and the second is not, near `start`; 0 is good by its making."""
    stride = FIRST
    if start == 0 or not ask(start):
        good, bad = start, min(start + stride, count + 1)
        while bad <= count and not ask(bad):
            stride *= 2
            good, bad = bad, min(bad + stride, count + 1)
        return _bisected(ask, good, bad)
    good, bad = max(start - stride, 0), start
    while good > 0 and ask(good):
        stride *= 2
        good, bad = max(good - stride, 0), good
    return _bisected(ask, good, bad)


def band_of(assessment: Assessment, hole: Hole) -> Band | None:
    """Return the freedom of a hole; None for one without a lip to set, or where the build as described does not run."""
    lip = lip_of(assessment.build, hole.name)
    fixed = hole.elbow is None and hole.over is None
    if lip is None or not lip.offset.name or hole.lip is None or not assessment.shifts or fixed:
        return None
    lips = Lips.of(assessment, lip)
    top, foot = hole.panel.rim - 2e-3, hole.panel.rim - hole.panel.height
    up, above = lips.end(True, max(0.0, min(REACH, top - hole.lip)))
    down, below = lips.end(False, max(0.0, min(REACH, hole.lip - foot)))
    low, high = End(hole.lip - down, below), End(hole.lip + up, above)
    return freedom(hole, low, high)


def freedom(hole: Hole, low: End, high: End) -> Band:
    """Return the freedom of a hole whose lip may stand between two heights; ValueError where it has neither elbow nor lip."""
    if hole.elbow is None:
        if hole.over is None:
            raise ValueError(f"the hole for {hole.name} does not follow from a lip")
        least, most = replace(low, height=low.height + hole.over), replace(high, height=high.height + hole.over)
    else:
        ends = hole.elbow.centres(low.height, high.height)
        assert ends is not None
        least, most = replace(low, height=ends[0]), replace(high, height=ends[1])
    if hole.widest is not None:
        lax, kept = edge_limit(hole.panel, hole.widest)
        # One that is described nearer to an edge than the stricter rule asks holds only just; so may its neighbours.
        near = hole.up is not None and min(hole.up, hole.panel.height - hole.up) - 0.5 * hole.widest < kept
        room = (lax if near else kept) + 0.5 * hole.widest
        top, foot = hole.panel.rim - room, hole.panel.rim - hole.panel.height + room
        least = least if least.height >= foot else End(foot, NEAR_EDGE)
        most = most if most.height <= top else End(top, NEAR_EDGE)
    lip = low.height if hole.lip is None else hole.lip
    return Band(low, high, least, most, lip) if least.height <= most.height else Band(low, high, None, None, lip)

