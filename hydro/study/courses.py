"""What a power cut and the power's return do second by second."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.errors import SolveError
from hydro.steady.operating_point import NONE, OperatingPoint
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


def courses_of(answer: OperatingPoint, breaks: bool, valves: str) -> Courses:
    """Return the cut and the return of the first way to run, siphon breaks working or not, check valves in a state."""
    state = answer.state
    if state is None or answer.kind == NONE:
        return Courses(None, None, "the loop does not run")
    return _worked_out(state, breaks, valves)


def _worked_out(state: State, breaks: bool, valves: str) -> Courses:
    size, cut = len(state.network.links), None
    if size > MOST_FOR_CUT:
        return Courses(None, None, "too many pipes for a page; 'sumpwright happens' works it out")
    try:
        if size > MOST_FOR_RETURN:
            cut = simulate(state, power_cut(breaks, valves), 10.0 * TOLERANCE, whole_tail=False)
            return Courses(cut, None, "the power's return is left out with so many pipes; 'sumpwright happens' works it out")
        return Courses(*simulate_restart(state, breaks, valves))
    except SolveError as error:
        return Courses(cut, None, f"not worked out: {error}")
