"""What is being told: a study of a build, the units to show it in, and how alike things are grouped."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from hydro.checks import Check, CheckKind
from hydro.checks.assessment import Assessment
from hydro.checks.check import gravity
from hydro.network.model import Network
from hydro.quantities.formatting import unit_name
from hydro.quantities.tape import Band
from hydro.report.content.grouping import TO, Grouped, Grouping
from hydro.report.content.levels import vessel_of
from hydro.report.content.sentences import Figure, banded, without_unit
from hydro.scenarios.results import Results
from hydro.study import Study

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class View:
    """A study on its way to a terminal. `grouping` says which things are told as one."""

    study: Study
    system: str
    grouping: Grouping

    @staticmethod
    def of(found: Study | Assessment, system: str, each: bool = False) -> View:
        """Return a view of a study, or of an assessment; `each` leaves nothing folded."""
        return View(Study.of(found), system, Grouping.by(found.build, each or found.build.one))

    @property
    def assessment(self) -> Assessment:
        """The assessment."""
        return self.study.assessment

    @property
    def results(self) -> Results:
        """The findings in the middle of every band."""
        return self.assessment.results

    @property
    def network(self) -> Network:
        """The network in the middle of every band."""
        return self.assessment.results.network

    @property
    def pumps(self) -> str:
        """What the pumps are called in a sentence."""
        return "pump" if len(self.network.pumps) == 1 else "pumps"

    def sump(self, sump: tuple[int, ...]) -> str:
        """Return what a sump is called in a sentence."""
        return "the sump" if len(self.network.sumps) == 1 else vessel_of(self.results, sump[0]).name

    def bottom(self, sump: tuple[int, ...]) -> str:
        """Return what the bottom of a sump is called: "the sump's bottom", or by the sump's name."""
        return "the sump's bottom" if len(self.network.sumps) == 1 else f"the bottom of {self.sump(sump)}"

    def chamber(self, water: int) -> str:
        """Return a chamber with its sump: "'pump' of the sump"; a sump that is one chamber by itself."""
        name, sump = self.network.waters[water].name, self.network.sump_of(water)
        return self.sump(sump) if name == vessel_of(self.results, sump[0]).name else f"'{name}' of {self.sump(sump)}"

    def called(self, name: str) -> str:
        """Return what a tank, a box or several alike are called in a sentence: 'the tank' where there is one tank only."""
        tanks = self.network.tanks
        return "the tank" if name == "tank" or (len(tanks) == 1 and name == self.network.waters[tanks[0]].name) else name

    def pump(self, name: str) -> str:
        """Return what a pump is called in a sentence."""
        return "the pump" if self.pumps == "pump" else name

    def water(self, water: int) -> str:
        """Return what a tank or box is called in a sentence."""
        return self.called(self.network.waters[water].name)

    def unit(self, dimension: str) -> str:
        """Return the unit of a column."""
        return unit_name(dimension, self.system)

    def worst(self, kind: CheckKind) -> Check | None:
        """Return the check of that kind with the gravest verdict and the least margin."""
        return max(self.assessment.of(kind), key=gravity, default=None)

    def bands(self, grouped: Grouped[T], ask: Callable[[T], Band], dimension: str) -> tuple[str, str]:
        """Return the figures of things alike and all its bands together, without units: ('310 .. 345', '300 to 360')."""
        return without_unit(self.figure(grouped, ask, dimension), self.system)

    def figure(self, grouped: Grouped[T], ask: Callable[[T], Band], dimension: str) -> Figure:
        """Return the figure of one thing with its band, or the least and the most of several with the band of all."""
        if grouped.alone:
            return banded(ask(grouped.all[0]), dimension)
        bands = [ask(member) for member in grouped.all]
        least, most = (ask(pick(lambda one: ask(one)[1])[1]) for pick in (grouped.least, grouped.most))
        reach = min(band[0] for band in bands), least[1], max(band[2] for band in bands)
        certain = all(band[0] == band[2] for band in bands)
        return replace(banded(least, dimension), most=banded(most, dimension), reach=None if certain else reach)


def which(grouped: Grouped[T], ask: Callable[[T], float], shown: str) -> str:
    """Return where the lowest and the highest of things alike are: '12 x rack: lowest at rack 12, highest at rack 1'.

    Nothing where one figure is shown for all of them.
    """
    if TO not in shown:
        return ""
    return f"{grouped.called}: lowest at {grouped.least(ask)[0]}, highest at {grouped.most(ask)[0]}"
