"""Do the drains clear their air and run again when the power is back?"""

from __future__ import annotations

from functools import cached_property

from hydro.checks.check import FAILS, TIGHT, Check, CheckKind, held
from hydro.faults.levels import DROP
from hydro.faults.restart import WithoutDrains, without_drains
from hydro.scenarios.results import DRY, Results
from hydro.shutdown import Refilling, sealed_in
from hydro.steady.operating_point import DRAWS_AIR, NONE, OperatingPoint


class Restarts:
    """The restart of every drain after the power cut that has to fit."""

    def __init__(self, results: Results) -> None:
        """Take what was found."""
        self.results = results
        self.refilling = Refilling(results.network, results.stopped[results.wanted_cut()])

    def check(self, k: int) -> Check:
        """Hold the head that a drain needs over its lip to clear its air against the room for it.

        The instant that counts is when water reaches the lip again (`hydro.shutdown.refilling`). An open inlet lets air out
        upward and needs no head; a sealed drain needs the depth by which its end is drowned. Where there is no room for that,
        the other drains may carry the flow without it: tight. A drain that stands dry is asked at the flow it takes over
        from a blocked one, and is not needed for the start itself: never worse than tight.
        """
        results = self.results
        states, name = results.answer.states, results.network.links[k].name
        dry = all(float(state.flows[k]) < DRY for state in states)
        taken = [one.with_air for one in results.overflows if one.with_air is not None and k not in one.out]
        start = self.refilling.start(k, sealed_in(taken if dry else states, k))
        check = held(CheckKind.RESTART, f"restart: {name} clears its air", start.needed, start.room,
                     "head over its lip up to the next inlet or the rim", _end_of(start.depth, start.sealed), subject=name)
        if start.clears:
            return check if dry or not start.sealed or start.depth <= 0.0 else self._rises(k, check)
        if dry:
            return check.with_verdict(TIGHT, "it stands dry; its air could not leave past its drowned end if it had to run")
        if not start.stuck:
            return check.with_verdict(TIGHT, "it starts only because the sump falls while the tank rises on over its lip")
        return self._without(k, check)

    @cached_property
    def stuck(self) -> tuple[int, ...]:
        """The drains that do not start."""
        states = self.results.answer.states
        return tuple(k for k in self.results.network.drains if self.refilling.start(k, sealed_in(states, k)).stuck)

    @cached_property
    def without(self) -> WithoutDrains:
        """What comes of the drains that do not start."""
        return without_drains(self.results.network, self.refilling, self.results.answer, self.stuck)

    def _rises(self, k: int, check: Check) -> Check:
        """Return the check of a sealed drain with room to clear its air: tight where the tank does not rise so far without it."""
        answer = without_drains(self.results.network, self.refilling, self.results.answer, (*self.stuck, k)).answer
        pushed_out = all(self.refilling.pushes_out(k, state) for state in answer.states)
        return check if pushed_out else self._left_shut(k, check, answer)

    def _left_shut(self, k: int, check: Check, answer: OperatingPoint) -> Check:
        """Return the check, tight, of a drain without which nothing runs over: the pump draws air, or others take its water."""
        network, cannot = self.results.network, "its air cannot leave past its drowned end"
        if answer.kind == DRAWS_AIR:
            return check.with_verdict(TIGHT, f"{cannot}; nothing runs over, for the pump draws air before")
        takes = [network.links[n].name for n in network.leaving(network.links[k].up, network.spills)
                 if any(float(state.flows[n]) >= DRY for state in answer.states)]
        return check.with_verdict(TIGHT, f"{cannot}: it does not start by itself, {' and '.join(takes)} takes over")

    def _without(self, k: int, check: Check) -> Check:
        """Return the check of a drain that does not start: it fails unless the loop runs without it, below all openings."""
        answer, cannot = self.without.answer, "its air cannot leave past its drowned end"
        lost = self.without.lost.get(k)
        if answer.kind == NONE or (lost is not None and lost > DROP):
            return check.downgraded(f"{cannot}, and water goes over the rim", FAILS)
        if lost is not None:
            return check.with_verdict(TIGHT, "it starts only with the water near the rim, the sump having fallen")
        return self._left_shut(k, check, answer)


def _end_of(depth: float, sealed: bool) -> str:
    if depth <= 0.0:
        return "its lower end stays in the air"
    return "its lower end is drowned after a power cut" if sealed else "its lower end is drowned, and its inlet lets the air out"
