"""What a power cut and the power's return do second by second, worked out once for all sections that show it."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.checks.assessment import Assessment
from hydro.errors import SolveError
from hydro.steady.operating_point import NONE
from hydro.steady.state import State
from hydro.transient.disturbances import power_cut, simulate, simulate_restart
from hydro.transient.integrate import TOLERANCE, History

MOST_FOR_RETURN, MOST_FOR_CUT = 40, 120
"""Links up to which the power's return, and the cut, are worked out here: a page must not keep anybody waiting."""


@dataclass(frozen=True, slots=True)
class Courses:
    """A power cut, and the return of the power after it; None with `why` where they are not worked out."""

    cut: History | None
    back: History | None
    why: str = ""


_last: list[tuple[State, Courses]] = []


def courses(assessment: Assessment) -> Courses:
    """Return the cut and the return of the first way to run, siphon breaks working and check valves holding."""
    state = assessment.answer.state
    if state is None or assessment.answer.kind == NONE:
        return Courses(None, None, "the loop does not run")
    if not _last or _last[0][0] is not state:
        _last[:] = [(state, _worked_out(state))]
    return _last[0][1]


def _worked_out(state: State) -> Courses:
    size, cut = len(state.network.links), None
    if size > MOST_FOR_CUT:
        return Courses(None, None, "too many pipes for a page; 'sumpwright happens' works it out")
    try:
        if size > MOST_FOR_RETURN:
            cut = simulate(state, power_cut(), 10.0 * TOLERANCE, whole_tail=False)
            return Courses(cut, None, "the power's return is left out with so many pipes; 'sumpwright happens' works it out")
        return Courses(*simulate_restart(state))
    except SolveError as error:
        return Courses(cut, None, f"not worked out: {error}")


def settled(history: History, waters: tuple[int, ...], near: float = 2e-3) -> float:
    """Return the time from which on some waters stay within `near` (m) of their last level, s."""
    end = history.end.levels
    return next((before.time for before in reversed(history.moments)
                 if any(abs(before.levels[k] - end[k]) > near for k in waters)), 0.0)
