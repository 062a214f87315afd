"""What was assumed because nobody said otherwise: defaults with a band, bores from the catalogue, limits, and overrides."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.case.sections.settings import known_defaults
from hydro.checks.assessment import Assessment
from hydro.checks.line_moves import Ends
from hydro.elements import limits
from hydro.elements.return_line import RATIO
from hydro.quantities.uncertain import Uncertain
from hydro.report.content.grouping import Grouping, few
from hydro.study import Study

LIMITS = (limits.ROOM, limits.LEAST_TURNOVER, limits.MOST_TURNOVER, limits.QUIET_SPEED, limits.MOST_SPEED,
          limits.LIFT_MARGIN, limits.NEAR_CHANGE)
INTAKE = ": intake"
"""End of the names of the only inputs of a build that have a default of their own, a height each."""
PREFIX = "default: "
MOST_LINKS = 300
"""More links than this and nobody waits for what each default does to the line."""
LINE = "'Line' is how far the low and the high end of a band move the highest felt-pen line; where it is missing, hardly at all."
"""What the figures of `line_ends` mean."""


@dataclass(frozen=True, slots=True)
class Assumed:
    """A value that was used, SI, with its band, its dimension, where it comes from, and which inputs it stands for.

    `kind` is 'default', 'catalogue', 'limit' or 'override'.
    """

    name: str
    low: float
    middle: float
    high: float
    dimension: str
    source: str
    kind: str
    inputs: tuple[str, ...] = ()


def assumed(assessment: Assessment) -> list[Assumed]:
    """Return all that was assumed, defaults first; bores of one catalogue entry are one row."""
    known = known_defaults()
    defaults, bores = list[Assumed](), dict[tuple[float, float, float, str], list[str]]()
    # What a hole must be to be counted on is asked only where the owner counts on holes.
    ratio = {shift.uncertain for shift in assessment.shifts if shift.uncertain.name == RATIO.name and assessment.build.counts_on}
    for uncertain in (*assessment.assumed, *ratio):
        if uncertain.source.startswith(PREFIX):
            own = "length" if uncertain.name.endswith(INTAKE) else "number"
            dimension = known[uncertain.name].dimension if uncertain.name in known else own
            defaults.append(_of(uncertain, dimension, "default"))
        else:
            bores.setdefault((uncertain.low, uncertain.middle, uncertain.high, uncertain.source), []).append(uncertain.name)
    catalogue = [Assumed("bore", low, middle, high, "length", source, "catalogue", tuple(names))
                 for (low, middle, high, source), names in bores.items()]
    build = assessment.build
    taken = build.wishes.keys() | build.overrides.keys()
    unset = [_of(default.uncertain(), default.dimension, "limit") for default in LIMITS if default.name not in taken]
    changed = [_of(uncertain.named(name), known[name].dimension if name in known else "number", "override")
               for name, uncertain in build.overrides.items()]
    return [*defaults, *catalogue, *unset, *changed]


def _of(uncertain: Uncertain, dimension: str, kind: str) -> Assumed:
    return Assumed(
        uncertain.name, uncertain.low, uncertain.middle, uncertain.high, dimension, uncertain.source.removeprefix(PREFIX), kind
    )


def line_ends(study: Study) -> dict[str, Ends]:
    """Return how far the ends of the defaults' bands move the highest line (m), None where they leave none; nothing in a hall."""
    return study.line_moves if len(study.assessment.results.network.links) <= MOST_LINKS else {}


def bore_of(one: Assumed, grouping: Grouping) -> str:
    """Return what a bore of the catalogue is called: by the lines whose pipes have it."""
    owners = [*dict.fromkeys(name.split(":")[0] for name in one.inputs)]
    return f"bore of pipes in {', '.join(owners) if grouping.each else few(owners)}"
