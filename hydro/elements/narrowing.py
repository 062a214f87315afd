"""A narrower pipe below a drain's inlet: while the line runs with air, it takes water in as an orifice.

    H = q^2 / (2 g (Co a)^2) - z          a = pi/4 d^2

H head over the crest (m) that a place of bore d (m) asks for, z how far it lies under the crest, Co the orifice coefficient of
the inlet. A bulkhead lies as deep as the standpipe or the elbow on it reaches down. Above the narrow place the wider pipe fills
up and vents upward; below it water falls with air. A wide inlet on a narrow pipe carries with air what the narrow pipe takes,
however low the whole fall would pull as a siphon. The fall from the line's beginning to its end, less what runs of a given
slope take of it, is spread evenly over the other runs of the line; a bulkhead through a wall and the pipe up to the first bend
have none.
Source: the orifice of `hydro.elements.rim`, moved down the line (derived here). Range of validity: narrowings some bores apart.

    >>> from hydro.elements.narrowing import Narrow
    >>> narrow = Narrow.of(bore=0.028, drop=0.05, orifice=0.606)
    >>> f"{1000 * narrow.needed(2700 / 3.6e6)[0]:.0f} mm"
    '156 mm'
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydro.elements.line import Line
from hydro.elements.pipe import Pipe
from hydro.quantities.arrays import GRAVITY, Number, greater, same, where


@dataclass(frozen=True, slots=True)
class Narrow:
    """A narrow place: head over the crest needed is quadratic q^2 - drop, m."""

    quadratic: Number
    drop: Number

    @staticmethod
    def of(bore: Number, drop: Number, orifice: Number) -> Narrow:
        """Prepare a narrow place: bore and depth under the crest in m."""
        return Narrow(1.0 / (2.0 * GRAVITY * (orifice * math.pi / 4.0 * bore * bore) ** 2.0), drop)

    def needed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the crest that a flow q >= 0 asks for (m, negative where none) and its slope (s/m2)."""
        return self.quadratic * q * q - self.drop, 2.0 * self.quadratic * q

    def flow_at(self, head: Number) -> Number:
        """Return what it takes in at a head over the crest (m), m3/s."""
        return (greater(head + self.drop, 0.0 * head) / self.quadratic) ** 0.5


def falls(line: Line, fall: Number, level_until: str = "") -> list[Number]:
    """Return how much of the fall (m) each part of a line takes, from the inlet on.

    A run of a given slope takes its own; the rest of `fall`, if any, is spread evenly over the other runs, but for those before
    the part labelled `level_until`.
    """
    start = next((k for k, part in enumerate(line.parts) if part.label == level_until), 0)
    own = [part.slope * part.length if isinstance(part, Pipe) and part.slope is not None else 0.0 * fall for part in line.parts]
    lengths = [part.length if k >= start and isinstance(part, Pipe) and part.slope is None else 0.0 * fall
               for k, part in enumerate(line.parts)]
    rest, falling = fall - sum(own, 0.0 * fall), sum(lengths, 0.0 * fall)
    slope = greater(rest, 0.0 * rest) / where(falling > 0.0, falling, 1.0 + 0.0 * falling)
    return [given + slope * length for given, length in zip(own, lengths, strict=True)]


def narrow_places(line: Line, throat: Number, fall: Number, orifice: Number, level_until: str = "",
                  depth: Number = 0.0) -> tuple[Narrow, ...]:
    """Return the places at which a line takes on another bore than the inlet's throat had, from the inlet on.

    `fall` is the height of the crest over the line's end, m, `depth` how far the line's beginning lies under the crest; the runs
    before the part labelled `level_until` have no fall.
    """
    places: list[Narrow] = []
    bore, passed = throat, depth + 0.0 * fall
    for part, own in zip(line.parts, falls(line, fall - depth, level_until), strict=True):
        here = getattr(part, "bore", bore)
        if not same(here, bore):
            places.append(Narrow.of(here, passed, orifice))
            bore = here
        passed = passed + own
    return tuple(places)
