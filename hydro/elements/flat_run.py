"""A run of a drain flatter than 45 degrees: the head that it asks for at its start while the drain takes in air.

    H = E_c(q) + max(min(h_part - S L, 0.3 D), h_full - S L, 0) - z

E_c    critical energy head of its bore D: what lets the water out of a free end (`hydro.elements.part_full`), m
h_part friction over its length L at a depth of 0.7 D: Darcy and Colebrook on the hydraulic diameter 4 Rh
h_full friction when it runs full
S L    its own fall, S the slope (fall over length, 0 where it lies level); z how far its start lies under the crest, m

At 70 % depth the section is 0.587 D^2 and 4 Rh is 1.185 D; the flow whose h_part is S L is the capacity of EN 12056-3:2000,
annex C (`flow_at_70_percent`; Table C.1 read in a transcription: k_b 1.0 mm, nu 1.31e-6 m2/s). Up to it the run asks for no
more than critical depth; beyond, the water backs up until the run is full, at 0.3 D more; then it is a pipe. A level run backs
up from the first drop on. Continuous and rising, with corners where the run begins to back up, fills, and runs full.

A simple form: it falls short by what a long run of a slope under some 0.5 % needs to reach 70 % depth over critical depth, at
most 0.2 D (derived here); the roughness of 1 mm, joints and slime, is on the safe side for clean plastic.
Range of validity: a free end, no sag, slope 0 to 100 %.

    >>> from hydro.elements.flat_run import flow_at_70_percent
    >>> f"{1000 * flow_at_70_percent(bore=0.096, slope=0.01, roughness=1e-3, viscosity=1.31e-6):.2f} L/s"
    '4.19 L/s'
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydro.elements.line import Line
from hydro.elements.narrowing import falls
from hydro.elements.part_full import critical_flow, critical_head
from hydro.elements.pipe import PER_LOG10, Pipe
from hydro.elements.registry import Default, PartContext, register_defaults
from hydro.quantities.arrays import GRAVITY, Number, each, where
from hydro.quantities.bisection import halved

DEPTH = 0.7
"""Depth at which the standard rates it, in bores."""
_ANGLE = math.acos(1.0 - 2.0 * DEPTH)
SECTION = (2.0 * _ANGLE - math.sin(2.0 * _ANGLE)) / 8.0
"""Section of the water at that depth, in D^2."""
HYDRAULIC = 4.0 * SECTION / _ANGLE
"""Hydraulic diameter 4 Rh at that depth, in D."""
_AS_PIPE = math.pi / 4.0 * HYDRAULIC * HYDRAULIC / SECTION
"""Flow of a pipe of the hydraulic diameter at the speed that the run has, as a share of the run's flow."""

ROUGHNESS = Default("flat run roughness", 0.06e-3, 1.0e-3, 1.5e-3, "length",
                    "EN 12056-3:2000 annex C (1.0 mm); 0.06 mm new plastic, 1.5 mm slimed, from memory")
register_defaults(ROUGHNESS)


def flow_at_70_percent(bore: Number, slope: Number, roughness: Number, viscosity: Number) -> Number:
    """Return the flow at 70 % depth (m3/s) of a run of a bore in m at a slope > 0; roughness in m, viscosity in m2/s."""
    return each(_capacity, bore, slope, roughness, viscosity)


def _capacity(bore: float, slope: float, roughness: float, viscosity: float) -> float:
    size = HYDRAULIC * bore
    friction = math.sqrt(2.0 * GRAVITY * size * slope)
    inner = roughness / (3.7 * size) + 2.51 * viscosity / (size * friction)
    return -PER_LOG10 * friction * math.log(inner) * SECTION * bore * bore


@dataclass(frozen=True, slots=True)
class FlatRun:
    """A flat run as a place that asks for a head. Make it with `FlatRun.of`."""

    bore: Number
    fall: Number
    drop: Number
    part: Pipe
    full: Pipe

    @staticmethod
    def of(bore: Number, length: Number, slope: Number, drop: Number, roughness: Number, viscosity: Number) -> FlatRun:
        """Prepare a run: bore, length, depth of its start under the crest and roughness in m, viscosity in m2/s."""
        return FlatRun(bore, slope * length, drop, Pipe.of(HYDRAULIC * bore, length, roughness, viscosity),
                       Pipe.of(bore, length, roughness, viscosity))

    def needed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the drain's crest that q >= 0 asks for (m, negative where none) and its slope (s/m2)."""
        head, slope = critical_head(self.bore, q)
        backed, rise = self.part.loss(_AS_PIPE * q)
        backed, rise = backed - self.fall, _AS_PIPE * rise
        room = (1.0 - DEPTH) * self.bore
        backed, rise = where(backed < room, backed, room + 0.0 * backed), where(backed < room, rise, 0.0 * rise)
        lost, full_rise = self.full.loss(q)
        fuller = lost - self.fall > backed
        backed, rise = where(fuller, lost - self.fall, backed), where(fuller, full_rise, rise)
        backs = backed > 0.0
        return head + where(backs, backed, 0.0 * backed) - self.drop, slope + where(backs, rise, 0.0 * rise)

    def flow_at(self, head: Number) -> Number:
        """Return what it takes at a head over the drain's crest (m), m3/s: by halving, to a millionth of its critical flow."""
        return halved(0.0 * head, critical_flow(self.bore, head + self.drop), lambda q: self.needed(q)[0] < head, 20)[0]


def flat_runs(line: Line, fall: Number, context: PartContext, level_until: str = "", depth: Number = 0.0) -> tuple[FlatRun, ...]:
    """Return the runs of a line whose slope is given, from the inlet on; `fall`, `depth` as in `hydro.elements.narrowing`."""
    runs: list[FlatRun] = []
    passed = depth + 0.0 * fall
    for part, own in zip(line.parts, falls(line, fall - depth, level_until), strict=True):
        if isinstance(part, Pipe) and part.slope is not None:
            roughness = context.default(ROUGHNESS)
            runs.append(FlatRun.of(part.bore, part.length, part.slope, passed, roughness, context.viscosity))
        passed = passed + own
    return tuple(runs)
