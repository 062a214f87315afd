"""The histories of one way to run, each worked out when it is first asked for, and what is read off them, in words.

Water over an opening, a level at rest over a limit, air in a pump, a drain that stays locked, a pump that does not start: '' for
none of it.
"""

from __future__ import annotations

import collections
from collections.abc import Callable, Iterable

from scenario_proofs import COARSE, amounts, impossible

from hydro.checks import Check
from hydro.elements.air_lock import LOCKED
from hydro.elements.spill import Spill
from hydro.scenarios.histories import DROP
from hydro.scenarios.results import DRY, opening_of
from hydro.steady.operating_point import SURGES, OperatingPoint
from hydro.steady.state import State
from hydro.transient.disturbances import HOLDING, STUCK, as_it_is, begin_again, drains_blocked, power_back, power_cut, simulate
from hydro.transient.events import going_round, watches
from hydro.transient.integrate import History, history
from hydro.transient.level_marks import DRY as DRAWS_AIR

FINE = 2e-5
"""Error of a level in one step where a first, coarse history contradicts, m."""
LEVEL = 2e-4
"""Height over an opening or a limit that is within the rounding of corners and steps, m."""
LONG = 3600.0
"""Time that is looked at, s; a cut and the power's return each."""
MOST_TURNS = 1
"""How often a drain of a loop that runs steadily may begin to siphon: as often as it settles down."""


class Histories:
    """The histories of one way to run, each worked out when it is first asked for.

    Of a loop that surges both bounds are a start where the same water makes both. Where a line was drawn, that is one of the
    lower bound; the upper one at the same line has more water than there is, and is cut off from power only: `happens` does so.
    """

    def __init__(self, state: State, tolerance: float = COARSE, fits: bool = True) -> None:
        """Take how the loop runs; `tolerance` is the error of a level in one step, m. `fits`: with the water that there is."""
        self.state, self.tolerance, self.fits = state, tolerance, fits
        self.known: dict[object, History] = {}

    @staticmethod
    def of(answer: OperatingPoint, tolerance: float = COARSE) -> list[Histories]:
        """Return the histories of every way to run."""
        lines = answer.kind == SURGES and answer.state is not None and answer.state.closing.level is not None
        return [Histories(state, tolerance, fits=state is answer.state or not lines) for state in answer.states]

    def alone(self) -> History | None:
        """Return the loop left to itself, None where it does not stand so."""
        return None if not self.fits else self._once("left alone", lambda: simulate(self.state, as_it_is(), self.tolerance, LONG))

    def blocked(self, which: tuple[int, ...]) -> History | None:
        """Return some drains blocked, None where it does not stand so."""
        names = [self.state.network.links[k].name for k in which]
        return None if not self.fits else self._once(f"{', '.join(names)} blocked",
                          lambda: simulate(self.state, drains_blocked(self.state.network, which), self.tolerance, LONG))

    def cut(self, breaks: bool, holds: bool) -> History:
        """Return the power cut in one of its cases."""
        return self._once(f"cut {breaks} {holds}", lambda: simulate(
            self.state, power_cut(breaks, HOLDING if holds else STUCK), self.tolerance, LONG))

    def back(self, breaks: bool, holds: bool) -> History:
        """Return the power's return after the cut in one of its cases."""
        def after() -> History:
            end = self.cut(breaks, holds).end
            back = power_back(self.state, end, breaks)
            return history(begin_again(self.state, end, back), watches(breaks), self.tolerance, LONG, going_round)

        return self._once(f"back after cut {breaks} {holds}", after)

    def _once(self, name: str, make: Callable[[], History]) -> History:
        if name not in self.known:
            self.known[name] = make()
        return self.known[name]



def over(seen: History | None, waters: Iterable[int]) -> str:
    """Say which of some waters goes over its opening in a history, how much and when; '' for none."""
    if seen is None:
        return ""
    network = seen.end.network
    for k, link in enumerate(network.links):
        if isinstance(link.element, Spill) and link.up in waters and seen.end.entered[k] > DROP:
            top = max(seen.moments, key=lambda moment: moment.levels[link.up])
            above = top.levels[link.up] - float(link.element.edge)
            if above > LEVEL:
                return (f"{network.waters[link.up].name} goes over: {1e3 * seen.end.entered[k]:.3g} L, {1e3 * above:.2f} mm "
                        f"at {top.time:.4g} s")
    return ""


def draws_air(seen: History | None, pump: str = "") -> str:
    """Say when a pump, one by name where there are several, draws air in a history; '' for never."""
    for moment in seen.moments if seen is not None else ():
        for flag in moment.flags:
            if flag.startswith(DRAWS_AIR) and flag.endswith(f": {pump}" if pump else ""):
                return f"{flag} at {moment.time:.4g} s"
    return ""


def rests_too_high(seen: History, check: Check, waters: tuple[int, ...]) -> str:
    """Say by how much waters stand over a check's limit at a history's end; '' where they do not."""
    above = max(seen.end.levels[k] for k in waters) - check.limit
    return f"at rest {1e3 * above:.2f} mm over the limit" if above > LEVEL else ""


def turns(seen: History | None) -> str:
    """Say which drain begins to siphon again and again; '' for none."""
    events = seen.events if seen is not None else ()
    often = collections.Counter(event.words for event in events if "begins to siphon" in event.words)
    return next((f"{words} {count} times" for words, count in often.items() if count > MOST_TURNS), "")


def stays_out(seen: History, k: int) -> str:
    """Say that a drain is still locked at the end; '' where it runs."""
    end = seen.end
    locked = getattr(end.network.links[k].element, "mode", "") == LOCKED
    under_lip = end.levels[end.network.links[k].up] <= float(end.network.links[k].element.inlet.crest)
    return "" if not locked or under_lip else "its air is still in it"


def lifts_not(seen: History, k: int) -> str:
    """Say that a pump moves nothing from first to last; '' where it lifts, and be it that it runs dry again."""
    return "" if max(moment.flows[k] for moment in seen.moments) > DRY else "it moves nothing"


def stands_over(state: State, sump: tuple[int, ...]) -> bool:
    """Whether a chamber stands over its sump's opening while running already: the room in the sump says so."""
    return max(float(state.levels[k]) for k in sump) > opening_of(state.network, sump[0])


def cannot_be(seen: History) -> list[str]:
    """Return what is wrong with the first instant of a history that has water under a bottom, lost or made."""
    begun = seen.moments[0].total
    for moment in seen.moments:
        found = [*impossible(moment), *amounts(moment, begun)]
        if found:
            return [f"after {moment.time:.3g} s {fault}" for fault in found]
    return []
