"""What was assumed because nobody said otherwise: defaults with a band, bores from the catalogue, limits, and overrides."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.case.sections.settings import known_defaults
from hydro.checks.assessment import Assessment
from hydro.elements import limits
from hydro.quantities.uncertain import Rough

LIMITS = (limits.ROOM, limits.LEAST_TURNOVER, limits.MOST_TURNOVER, limits.QUIET_SPEED, limits.MOST_SPEED,
          limits.LIFT_MARGIN, limits.NEAR_CHANGE)
INTAKE = ": intake"
"""End of the names of the only inputs of a build that have a default of their own, a height each."""
PREFIX = "default: "


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
    for rough in assessment.assumed:
        if rough.source.startswith(PREFIX):
            own = "length" if rough.name.endswith(INTAKE) else "number"
            dimension = known[rough.name].dimension if rough.name in known else own
            defaults.append(_of(rough, dimension, "default"))
        else:
            bores.setdefault((rough.low, rough.middle, rough.high, rough.source), []).append(rough.name)
    catalogue = [Assumed("bore", low, middle, high, "length", source, "catalogue", tuple(names))
                 for (low, middle, high, source), names in bores.items()]
    build = assessment.build
    taken = build.wishes.keys() | build.overrides.keys()
    unset = [_of(default.rough(), default.dimension, "limit") for default in LIMITS if default.name not in taken]
    changed = [_of(rough.named(name), known[name].dimension if name in known else "number", "override")
               for name, rough in build.overrides.items()]
    return [*defaults, *catalogue, *unset, *changed]


def _of(rough: Rough, dimension: str, kind: str) -> Assumed:
    return Assumed(rough.name, rough.low, rough.middle, rough.high, dimension, rough.source.removeprefix(PREFIX), kind)
