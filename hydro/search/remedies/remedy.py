"""What is found: a remedy, a check with its remedies, all of them; and the steps in which it is told as it is found."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from hydro.checks import HOLDS, Check
from hydro.checks.assessment import Assessment
from hydro.description.build import Build
from hydro.search.remedies.measures import Measure
from hydro.search.remedies.writing import Edit, WholeLine

ANOTHER_TANK = 0.05
"""Water that stands so much lower changes what the tank is, m: nobody wants that for a remedy while there is another."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that was proved: `mark` is the number of its mark, `verdict` what the check asked about then gets.

    `mends` are the keys of all checks that hold by it and did not, `betters` those that fail no longer but are in doubt, `costs`
    those that are worse: of comfort, or tight where nothing ran before. `edits` put it into the case file and `lines` are the
    lines that they come to, whole; none where there is no file, or where it has to be written by hand. `said(units)` tells what
    to do, `build` is what then stands there. `lower` is how much lower the water of tanks then stands, by name (m), `bared` the
    returns whose mouths it then leaves in the air.
    """

    kind: str
    what: str
    mark: int
    value: float
    verdict: str
    mends: tuple[str, ...]
    betters: tuple[str, ...]
    costs: tuple[str, ...]
    build: Build
    said: Callable[[str], str]
    edits: tuple[Edit, ...] = ()
    lines: tuple[WholeLine, ...] = ()
    lower: Mapping[str, float] = field(default_factory=dict)
    bared: tuple[str, ...] = ()

    @property
    def late(self) -> bool:
        """Whether it stands behind the others: it only brings a check into doubt, or makes another tank of the tank."""
        return self.verdict != HOLDS or max(self.lower.values(), default=0.0) > ANOTHER_TANK


@dataclass(frozen=True, slots=True)
class RemedySet:
    """A check that does not hold, with its remedies in the order of what they cost; none: no single change does it.

    `measure` are the figures that decide it where it is unsure, None where it is not, or too many of them do.
    """

    check: Check
    remedies: tuple[Remedy, ...]
    measure: Measure | None = None


@dataclass(frozen=True, slots=True)
class RemedyReport:
    """What was found. `complete` is False where it was stopped before every check was asked; `asked` checks do not hold.

    `tried` marks were tried in the middle of every band, `proved` proofs were begun; `cheapest` says that each check was given
    its cheapest remedy only.
    """

    assessment: Assessment
    rows: tuple[RemedySet, ...]
    asked: int
    complete: bool
    tried: int
    proved: int
    cheapest: bool = False

    @property
    def build(self) -> Build:
        """The build as described."""
        return self.assessment.build


@dataclass(frozen=True, slots=True)
class Step:
    """What is told as it is found: the build's verdicts with no check, a check that is begun with no remedy, a remedy.

    `first`: it was looked for before all others, and may be found once more among those of its check.
    """

    assessment: Assessment
    row: RemedySet | None = None
    remedy: Remedy | None = None
    first: bool = False


Progress = Callable[[int, int, str], None]
Heard = Callable[[Step], None]
