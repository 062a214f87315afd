"""What a drain asks of its inlet, whatever the inlet looks like, and of a place further down that may rule instead of it.

The answers of three kinds, over their crest (D the bore that heads are counted in, H the head, p and b the drain's limits):

| asked | rim | side outlet | turned down |
|---|---|---|---|
| `crest` | edge | invert of the hole | invert of the bulkhead |
| `air_margin`: air gets in while | H < p D | H < p D | its vent is wide enough, or the mouth is dry |
| `air_out`: air leaves upward, and a drowned end needs no head to start | yes | yes | through a vent that is wide enough |
| `air_head`: a full line draws air at | b D, its edge's head | its crown, its edge's head | the mouth |
| `stops_at`: a full line draws the tank to | crest | crest | the mouth, unless its vent is proved |
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol, Self

from hydro.quantities.arrays import Number


@dataclass(frozen=True, slots=True)
class Guard:
    """A condition for staying in a mode: `margin` is positive while it holds; else the mode passes to `next_mode`."""

    margin: float
    next_mode: str
    words: str


class Inlet(Protocol):
    """What a drain asks of its inlet."""

    @property
    def crest(self) -> Number:
        """Height of the edge above the datum, m."""

    @property
    def rim(self) -> Number:
        """Diameter that the priming and breaking heads are counted in, m."""

    @property
    def throat(self) -> Number:
        """Bore in which its orifice works, m."""

    @property
    def orifice(self) -> Number:
        """Coefficient of that orifice, and of narrow places behind it."""

    @property
    def entrance(self) -> Number:
        """K of the full line's entrance, on its first bore."""

    @property
    def strained(self) -> bool:
        """Whether it has a strainer, which can foul."""

    def needed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the crest (m) and slope for q >= 0, running with air."""

    def weir_head(self, q: Number) -> tuple[Number, Number]:
        """Return the head that the edge alone needs (m) and slope."""

    def fed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the crest (m) at which q >= 0 reaches a line that runs full, and slope."""

    def flow_at(self, head: Number) -> Number:
        """Return the flow taken at a head over the crest, running with air, m3/s."""

    def fouled(self, open_share: Number) -> Inlet:
        """Return the inlet with only a share of its openings left."""

    def air_margin(self, head: Number, q: Number, primes_at: Number) -> Number:
        """Return how far it is from being sealed at a head (m), in rim diameters: positive while air gets in from above."""

    def vent_margin(self, q: Number) -> Number:
        """Return how much more air a vent passes than q needs, as a share; minus infinity where there is none to ask for."""

    def air_out(self, q: Number) -> Number:
        """Return 1 where air from the line can leave upward past a flow q coming in, else 0."""

    def air_head(self, q: Number, breaks_at: Number, breaks_by: Number) -> Number:
        """Return the head over the crest (m), negative below it, at which a full line draws air."""

    def stops_at(self, vented_counts: bool, q: Number) -> Number:
        """Return the level (m above the datum) down to which a full line draws the tank, q being what its vent has to serve."""

    def faults(self) -> dict[str, Inlet]:
        """Return what may become of it beside being blocked: words -> the inlet then."""


class OpenInlet:
    """The answers of an inlet that nothing covers: air comes in, and out again, over its crest alone."""

    __slots__ = ()
    crest: Number
    rim: Number
    strained: bool

    def weir_head(self, q: Number) -> tuple[Number, Number]:
        """Return the head that the edge alone needs (m) and slope."""
        raise NotImplementedError

    def fouled(self, open_share: Number) -> Self:
        """Return the inlet with only a share of its openings left."""
        raise NotImplementedError

    def fed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the crest at which q >= 0 reaches a full line (m) and its slope: the edge's own."""
        return self.weir_head(q)

    def air_margin(self, head: Number, q: Number, primes_at: Number) -> Number:
        """Return how far it is from being drowned at a head (m), in rim diameters."""
        return primes_at - head / self.rim

    def vent_margin(self, q: Number) -> Number:
        """Return minus infinity: nothing but its edge lets air in."""
        return -math.inf

    def air_out(self, q: Number) -> Number:
        """Return 1: air from the line leaves over its edge."""
        return 1.0 + 0.0 * q

    def stops_at(self, vented_counts: bool, q: Number) -> Number:
        """Return the level down to which a full line draws the tank, m: the crest."""
        return self.crest

    def faults(self) -> dict[str, Self]:
        """Return what may become of its strainer."""
        return {"strainer fouled": self.fouled(0.25)} if self.strained else {}


class Place(Protocol):
    """A place further down the line that asks for a head of its own while the line runs with air."""

    def needed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the drain's crest that q >= 0 asks for (m, negative where none) and its slope."""

    def flow_at(self, head: Number) -> Number:
        """Return what it takes at a head over the drain's crest, m3/s."""
