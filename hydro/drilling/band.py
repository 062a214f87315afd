"""How much freedom the height of a hole has: first of the lip, then of the hole.

A lip is good where the whole assessment, asked with the lip there and the tape's tolerance to both sides, has no check on floor
or pump worse than for the build as it is described (`hydro.drilling.lips`); comfort forbids no hole. From the described lip
outward the first lips that are not good bound
an interval [L, H]. A guess walks outward; where it turns the whole question is asked. That tells what the bands cost each check
there, which makes the next guess better, until a lip was asked in whole and is good and the next one, `FINE` on, is not. Both
ends are looked for together.

The hole: for an elbow those heights from which some setting has its whole lip in [L, H] (`hydro.drilling.elbow`), for an inlet
that cannot be turned [L, H] itself, moved to the hole's centre. Both are cut to what the panel's edges leave (`rules`).
One drain moves at a time; those that are described once for several move together.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace

from hydro.checks.assessment import Assessment
from hydro.drilling.lips import Lips, lip_of
from hydro.drilling.panels import DrilledHole
from hydro.drilling.rules import edge_limit

FINE = 0.25e-3
"""How near to the true end an end is found, m."""
STEP = 4e-3
"""Length of the steps in which the guess walks outward, m."""
GUESSES, FIRST = 3, 4
"""Turns in which the guess says where to ask, and the first stride thereafter, in `FINE`."""
REACH = 0.12
"""How far from the described lip others are looked at, m."""
NEAR_EDGE = "the edge of the panel"


@dataclass(frozen=True, slots=True)
class IntervalEnd:
    """An end of an interval, m above the ground. `row` says what is worse beyond it; '' if nothing was met."""

    height: float
    row: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """Lips from `low` to `high` are good; so is the hole's centre from `least` to `most` (m above the ground).

    `least` and `most` name what bounds them: a check, or an edge of the panel. None where no hole serves. `lip` is the lip as
    described, m above the ground.
    """

    low: IntervalEnd
    high: IntervalEnd
    least: IntervalEnd | None
    most: IntervalEnd | None
    lip: float

    def moved(self, by: float) -> Band:
        """Return the same freedom so much higher (m): that of a twin in another tank."""
        def up(end: IntervalEnd) -> IntervalEnd:
            return replace(end, height=end.height + by)
        return Band(up(self.low), up(self.high), None if self.least is None else up(self.least),
                    None if self.most is None else up(self.most), self.lip + by)


def _reach(lips: Lips, sign: float, good: int, bad: int) -> int:
    """Return the last step in a row, from a good one on and short of a bad one, at which the guess is that it is good too."""
    stride = int(STEP / FINE)
    for steps in [*range((good // stride + 1) * stride, bad, stride), bad - 1]:
        if steps > good and lips.guess(sign * steps * FINE):
            bad = steps
            break
        good = max(good, steps)
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (good, middle) if lips.guess(sign * middle * FINE) else (middle, bad)
    return good


def _end(lips: Lips, sign: float, count: int) -> Generator[list[float], None, tuple[int, int]]:
    """Yield the lips to be asked in whole next until an end is known; return the last good and the first bad one, in `FINE`."""
    good, bad, turn, last = 0, count + 1, 0, 0
    while bad - good > 1:
        before, last = last, _reach(lips, sign, good, bad)
        if turn >= GUESSES:
            steps = [(good + bad) // 2 if bad <= count else min(good + FIRST * 2 ** (turn - GUESSES), count)]
        else:
            # Far from the lip that was asked before, or from the described one, the guess is not sure enough to ask both sides.
            steps = [step for step in ((last, last + 1) if abs(last - before) <= FIRST else (last,)) if good < step < bad]
            steps = steps or [good + 1]
        yield [sign * step * FINE for step in steps]
        for step in steps:
            if lips.prove(sign * step * FINE):
                bad = step
                break
            # A guess that sees no further than the last good lip and is wrong about the next is of no more use.
            turn = GUESSES if step == last + 1 and last == good else turn
            good = step
        turn += 1
    return good, bad


def ends_of(lips: Lips, up: float, down: float) -> tuple[tuple[float, str], tuple[float, str]]:
    """Return how far (m) the good lips reach upward and downward, at most so far, each with what is worse beyond it."""
    sides = [(1.0, int(up / FINE)), (-1.0, int(down / FINE))]
    found: dict[float, tuple[int, int]] = {}
    searches = {sign: _end(lips, sign, count) for sign, count in sides}
    while searches:
        # Both sides are asked at once, which takes little longer than one.
        wanted: list[float] = []
        for sign, search in [*searches.items()]:
            try:
                wanted += next(search)
            except StopIteration as done:
                found[sign] = done.value
                del searches[sign]
        lips.ask(wanted)
    above, below = ((good * FINE, lips.question(sign * bad * FINE) if bad <= count else "")
                    for (sign, count), (good, bad) in ((side, found[side[0]]) for side in sides))
    return above, below


def band_of(assessment: Assessment, hole: DrilledHole) -> Band | None:
    """Return the freedom of a hole; None for one without a lip to set, or where the build as described does not run."""
    lip = lip_of(assessment.build, hole.name)
    fixed = hole.elbow is None and hole.over is None
    if lip is None or not lip.offset.name or hole.lip is None or not assessment.shifts or fixed:
        return None
    lips = Lips.of(assessment, lip)
    top, foot = hole.panel.rim - 2e-3, hole.panel.rim - hole.panel.height
    (up, above), (down, below) = ends_of(lips, max(0.0, min(REACH, top - hole.lip)), max(0.0, min(REACH, hole.lip - foot)))
    low, high = IntervalEnd(hole.lip - down, below), IntervalEnd(hole.lip + up, above)
    return freedom(hole, low, high)


def freedom(hole: DrilledHole, low: IntervalEnd, high: IntervalEnd) -> Band:
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
        # One that is described nearer to an edge than the stricter rule asks is tight; so may its neighbours.
        near = hole.up is not None and min(hole.up, hole.panel.height - hole.up) - 0.5 * hole.widest < kept
        room = (lax if near else kept) + 0.5 * hole.widest
        top, foot = hole.panel.rim - room, hole.panel.rim - hole.panel.height + room
        least = least if least.height >= foot else IntervalEnd(foot, NEAR_EDGE)
        most = most if most.height <= top else IntervalEnd(top, NEAR_EDGE)
    lip = low.height if hole.lip is None else hole.lip
    return Band(low, high, least, most, lip) if least.height <= most.height else Band(low, high, None, None, lip)

