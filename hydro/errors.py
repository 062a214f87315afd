"""The exceptions of the library.

    HydroError
      InputError       what somebody wrote cannot be used; a list of complaints, each with file, line and key
      SolveError       the equations were sound but no solution was reached

A check that fails is data, never an exception.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Complaint:
    """One thing that is wrong with an input, in the words of the person who has to mend it.

    `line` is counted from 1, 0 where a whole file is meant; `nearest` is the closest valid word, empty if none is near.
    """

    file: str
    line: int
    key: str
    found: str
    expected: str
    nearest: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        key = f" {self.key}:" if self.key else ""
        nearest = f"; did you mean '{self.nearest}'?" if self.nearest else ""
        return f"{place}:{key} {self.found}; expected {self.expected}{nearest}"


class HydroError(Exception):
    """Whatever this library raises on purpose."""


class InputError(HydroError):
    """Input that cannot be used; `complaints` holds every independent mistake that was found."""

    def __init__(self, complaints: Iterable[Complaint]) -> None:
        self.complaints = tuple(complaints)
        super().__init__("\n".join(map(str, self.complaints)))


class SolveError(HydroError):
    """No solution was reached. Says the scenario, the iterations, what is left over, and the link that fits worst."""

    def __init__(self, scenario: str, iterations: int, residual: float, worst: str, advice: str) -> None:
        self.scenario, self.iterations, self.residual, self.worst, self.advice = (
            scenario, iterations, residual, worst, advice)
        super().__init__(f"no solution for '{scenario}' after {iterations} iterations: "
                         f"{residual:.3g} left over, worst at '{worst}'; {advice}")
