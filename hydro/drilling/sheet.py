"""The drilling sheet of a build: panel by panel the holes, their clearances, the freedom of their heights, what is not given."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from hydro.checks import FAILS, Check
from hydro.checks.assessment import Assessment
from hydro.checks.check import AT_MOST
from hydro.description.build import Wall
from hydro.drilling.band import Band, band_of
from hydro.drilling.lips import lip_of
from hydro.drilling.measures import exact, length
from hydro.drilling.panels import DrilledHole, Panel, holes_of
from hydro.drilling.rules import checks_of_panel, pair
from hydro.quantities.uncertain import Uncertain

MOST_LINKS = 30
"""Builds of more pipes and passages than this are not asked for the freedom of heights: one question is an assessment there."""
Freedoms = Mapping[tuple[str, str], Band | None]
"""How much freedom the heights of holes have, by the number of their lip and the side of their panel."""
TOUGHENED = "toughened glass cannot be drilled: it bursts into crumbs"


@dataclass(frozen=True, slots=True)
class PanelSheet:
    """A panel with its holes (refused ones among them), the rows of its rules and the freedom of each hole by its name.

    `also` names the vessels that have a panel with just the same holes.
    """

    panel: Panel
    holes: tuple[DrilledHole, ...]
    checks: tuple[Check, ...]
    bands: dict[str, Band] = field(default_factory=dict)
    also: tuple[str, ...] = ()

    @property
    def given(self) -> tuple[DrilledHole, ...]:
        """The holes that may be drilled as described: placed, of a stated diameter, refused by nothing."""
        return tuple(hole for hole in self.holes if hole.placed and hole.diameter is not None and not hole.refused)

    @property
    def name(self) -> str:
        """What the panel is called: 'tank, back'."""
        return f"{self.panel.vessel}, {self.panel.side}"


@dataclass(frozen=True, slots=True)
class DrillingSheet:
    """Every panel with holes. `failing` are the questions of checks that the build as described does not pass.

    `unasked` says that the freedom of the heights was not asked for, because the build is too large for that.
    """

    panels: tuple[PanelSheet, ...]
    failing: tuple[str, ...]
    system: str
    unasked: bool = False

    @property
    def given(self) -> tuple[DrilledHole, ...]:
        """The holes that are given, of all panels."""
        return tuple(hole for one in self.panels for hole in one.given)

    @property
    def refusals(self) -> tuple[str, ...]:
        """A sentence for each hole that is not given: 'no hole is given for left: ...'."""
        return tuple(sentence for one in self.panels for hole in one.holes for sentence in not_given(hole))


def not_given(hole: DrilledHole) -> tuple[str, ...]:
    """Return why a hole is not given, one sentence at most: what forbids it, else what is missing."""
    if hole.refused:
        return (f"no hole is given for {hole.name}: {'; '.join(hole.refused)}",)
    if hole.missing:
        return (f"no hole is given for {hole.name} yet: it is not stated {'; nor '.join(hole.missing)}",)
    return ()


def guessed(hole: DrilledHole, system: str) -> str:
    """Return the usual holes for the bulkhead that a line describes, each with its standing; '' where there are none."""
    return "; ".join(f"{guess.words} {_from_to(guess.hole.low, guess.hole.high, system)} ({guess.standing}; {guess.advice})"
                     for guess in hole.guesses)


def _from_to(low: float, high: float, system: str) -> str:
    return exact(low, system) if high - low < 1e-4 else f"{exact(low, system)} to {exact(high, system)}"


def sheet_of(assessment: Assessment, system: str = "", bands: bool = True, freedoms: Freedoms | None = None,
             ) -> DrillingSheet | None:
    """Return the sheet of a build, None where no hole is described. `bands` tells the freedom of heights.

    `system` is the build's own unless given. `freedoms` is what `freedoms_of` has found already; to find it takes long. Never
    raises for a hole that cannot be: the sheet says so.
    """
    system = system or assessment.build.units
    holes = holes_of(assessment.loop, system)
    panels: dict[tuple[str, str], list[DrilledHole]] = {}
    for hole in holes:
        panels.setdefault((hole.panel.vessel, hole.panel.side), []).append(hole)
    if not panels:
        return None
    large = len(assessment.results.network.links) > MOST_LINKS
    if not bands:
        freedoms = {}
    elif freedoms is None:
        freedoms = freedoms_of(assessment)
    alike: dict[object, list[list[DrilledHole]]] = {}
    for mine in panels.values():
        alike.setdefault(_looks(mine), []).append(mine)
    made = tuple(replace(_panel(assessment, mine[0].panel, mine, system, freedoms),
                         also=tuple(others[0].panel.vessel for others in more)) for mine, *more in alike.values())
    failing = tuple(check.question for check in assessment.checks if check.verdict == FAILS)
    return DrillingSheet(made, failing, system, bands and large)


def _looks(holes: Iterable[DrilledHole]) -> tuple[DrilledHole, ...]:
    """Return what tells a panel's holes from those of another one: all but names, and how high the vessel stands."""
    return tuple(replace(hole, name="", lip=None, guesses=(), panel=replace(hole.panel, vessel="", rim=0.0,
                                                                            wall=_bare(hole.panel.wall)),
                         x=_tidy(hole.x), up=_tidy(hole.up)) for hole in holes)


def _bare(wall: Wall | None) -> Wall | None:
    thick = None if wall is None or wall.thickness is None else Uncertain.exact(wall.thickness.middle)
    return None if wall is None else replace(wall, thickness=thick)


def _tidy(value: float | None) -> float | None:
    return None if value is None else round(value, 7)


def _panel(assessment: Assessment, panel: Panel, holes: Iterable[DrilledHole], system: str,
           freedoms: Freedoms) -> PanelSheet:
    mine = [_allowed(hole, system) for hole in holes]
    checks = checks_of_panel(panel, [hole for hole in mine if not hole.refused], assessment.build.tape, system)
    for check in checks:
        if check.verdict == FAILS:
            mine = [hole.downgraded(_broken(check, system)) if check.subject in _subjects(hole, mine) else hole for hole in mine]
    made = {}
    for hole in mine:
        band = freedoms.get(_key(assessment, hole)) if not hole.refused else None
        if band is not None and hole.lip is not None:
            made[hole.name] = band.moved(hole.lip - band.lip)
    return PanelSheet(panel, tuple(mine), tuple(checks), made)


def _broken(check: Check, system: str) -> str:
    """Return the words for a rule that is broken."""
    return f"{check.question} is {length(check.value, system)}, {rule_asks(check, system)} is asked ({check.origin})"


def rule_asks(check: Check, system: str) -> str:
    """Return what a rule asks for: 'at least 45 mm (1 3/4 in)'."""
    most = check.sense == AT_MOST
    return f"at {'most' if most else 'least'} {length(check.limit, system, -1 if most else 1)}"


def _subjects(hole: DrilledHole, holes: Iterable[DrilledHole]) -> set[str]:
    """Return the subjects of checks that concern a hole."""
    return {hole.name, *(pair(hole, other) for other in holes), *(pair(other, hole) for other in holes)}


def _allowed(hole: DrilledHole, system: str) -> DrilledHole:
    """Return a hole, refused where its pane is toughened or it does not lie on its panel."""
    panel = hole.panel
    if panel.wall is not None and panel.wall.toughened == "yes":
        hole = hole.downgraded(TOUGHENED)
    outside = [f"its centre lies {length(place, system)} from the {edge} edge, on a panel of {length(size, system)}"
               for place, size, edge in ((hole.x, panel.width, "left"),
                                         (hole.up, panel.height, "front" if panel.level else "lower"))
               if place is not None and size > 0.0 and not 0.0 < place < size]
    for reason in outside:
        hole = hole.downgraded(reason)
    return hole


def freedoms_of(assessment: Assessment) -> Freedoms:
    """Return the freedom of every hole that is not refused; nothing for a build that is too large to be asked.

    Twins, which share a lip's number, are asked once: the freedom stands under that number and the side of the panel.
    """
    sheet = sheet_of(assessment, bands=False)
    found: dict[tuple[str, str], Band | None] = {}
    if sheet is None or len(assessment.results.network.links) > MOST_LINKS:
        return found
    for hole in (hole for one in sheet.panels for hole in one.holes if not hole.refused):
        key = _key(assessment, hole)
        if key not in found:
            found[key] = band_of(assessment, hole)
    return found


def _key(assessment: Assessment, hole: DrilledHole) -> tuple[str, str]:
    """Return what the freedom of a hole is kept under."""
    lip = lip_of(assessment.build, hole.name)
    return (lip.offset.name if lip is not None else hole.name, hole.panel.side)
