"""A build with all that is worked out about it. Reports take a study and solve nothing.

    study = study_of(build)         or Study.of(assessment)
    study.faults                    worked out here
    study.faults                    known: the same record again

What one report asked for is there for the next one: text, page and JSON of one study solve each thing once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from hydro.checks.assessment import Assessment, assess
from hydro.checks.line_moves import Ends, line_moves
from hydro.description.build import Build
from hydro.errors import SolveError
from hydro.faults.table import FaultTable, fault_table
from hydro.scenarios.results import blocked_line
from hydro.transient.disturbances import HOLDING

if TYPE_CHECKING:
    from hydro.drilling.sheet import DrillingSheet, Freedoms
    from hydro.parts.records import PartsList
    from hydro.study.courses import Courses
    from hydro.study.rating import Rating
    from hydro.study.system_curve import Points

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Study:
    """What there is to know of a build. Each member is worked out when it is first asked for, and kept with the study.

    A study is one thing, equal to itself alone. Nothing that it hands out may be changed.
    """

    assessment: Assessment

    @staticmethod
    def of(found: Study | Assessment) -> Study:
        """Return the study of an assessment; a study is handed back as it is, with all that it knows already."""
        return found if isinstance(found, Study) else Study(found)

    def _once(self, what: str, case: object, make: Callable[[], T]) -> T:
        """Return what is kept for a case of something, made where it is not there yet."""
        kept = self.__dict__.setdefault(f"_{what}", {})
        if case not in kept:
            kept[case] = make()
        made: T = kept[case]
        return made

    @property
    def build(self) -> Build:
        """The build as described."""
        return self.assessment.build

    @cached_property
    def faults(self) -> FaultTable | None:
        """Every single fault, read off states at rest; None where the loop does not run."""
        if self.assessment.answer.state is None:
            return None
        try:
            return fault_table(self.assessment.loop, through_time=None)
        except SolveError:
            return None

    @cached_property
    def blocked_line(self) -> float | None:
        """The highest level of the pump chamber (m above the ground) with no flood while every drain is blocked; None: none."""
        return blocked_line(self.assessment.results)

    @cached_property
    def line_moves(self) -> dict[str, Ends]:
        """By how much each default moves the running line at the ends of its band, m; those that do not are left out."""
        return line_moves(self.assessment)

    def courses(self, breaks: bool = True, valves: str = HOLDING) -> Courses:
        """Return a power cut and the power's return second by second, siphon breaks working or not, check valves in a state."""
        from hydro.study.courses import courses_of

        return self._once("courses", (breaks, valves), lambda: courses_of(self.assessment.answer, breaks, valves))

    @cached_property
    def hole_freedoms(self) -> Freedoms:
        """How much freedom the height of each drilled hole has, by its lip and panel."""
        from hydro.drilling.sheet import freedoms_of

        return freedoms_of(self.assessment)

    def drilling_sheet(self, system: str = "", bands: bool = True) -> DrillingSheet | None:
        """Return the drilling sheet in a system of units, None where no hole is described; `bands` tells the holes' freedom."""
        from hydro.drilling.sheet import sheet_of

        return self._once("sheets", (system, bands), lambda: sheet_of(
            self.assessment, system, bands, self.hole_freedoms if bands else None))

    @cached_property
    def parts(self) -> PartsList:
        """Every part to buy, cut and drill."""
        from hydro.parts.parts_list import parts_list

        return parts_list(self.build)

    def rating(self, drain: int) -> Rating:
        """Return what a drain (its link) takes at which level, in the first way the loop runs; SolveError where it does not."""
        from hydro.study.rating import rating_of

        return self._once("ratings", drain, lambda: rating_of(self.assessment.results.state, drain))

    def system_curve(self, pump: int) -> Points:
        """Return what the loop asks of a pump (its link), (m3/s, m), in the first way it runs; SolveError where it does not."""
        from hydro.study.system_curve import asked_of_pump

        return self._once("system_curves", pump, lambda: asked_of_pump(self.assessment.results.state, pump))


def study_of(build: Build) -> Study:
    """Return the study of a build. SolveError and InputError as `hydro.checks.assessment.assess`."""
    return Study(assess(build))
