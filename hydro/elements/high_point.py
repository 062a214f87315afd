"""The highest point of a line that runs full: the pressure there, from either end.

    from above   p = up - z - V^2/(2g) - losses before
    from below   p = down - z - V^2/(2g) + losses behind        the exit's loss is one of them

p is the gauge pressure as a height of water, m (negative: suction); z the height of the line's highest point, V the speed in
its bore there, `up` and `down` the levels that the line works between (a free mouth: its height). Bernoulli twice; both give
one figure where the flow is the one that the levels drive. The losses are those of the line's parts, each counted to the side it
lies on; a run that goes over the top is cut by its length. Losses turn their sign with the flow, so the law holds both ways.

| suction, m | what happens | source |
|---|---|---|
| 1.0 (0.5 to 2) | soft hose may flatten | from memory, no source; depends on wall and age |
| 7 (6 to 8) | air comes out of solution and the column parts | practical limit of siphons near sea level, from memory |
| (101325 Pa - vapour pressure)/(rho g) | the water boils: no siphon, whatever the pipe | ISO 2533 |

Every 100 m above the sea take some 0.12 m off the last two (from memory). Range of validity: full bore, no air.

    >>> from hydro.elements.high_point import HighPoint
    >>> from hydro.elements.line import Line
    >>> from hydro.elements.fittings import LocalLoss
    >>> line = Line.of([LocalLoss.of(0.78, 0.0284), LocalLoss.of(1.0, 0.0284)])
    >>> top = HighPoint.along("over the rim", 1.60, line, 0.5)
    >>> f"{top.from_above(5000 / 3.6e6, 1.50)[0]:.2f} m"
    '-0.54 m'
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydro.elements.line import Line, Part
from hydro.elements.pipe import Pipe
from hydro.elements.registry import Default, register_defaults
from hydro.quantities.arrays import GRAVITY, Number, where

SOFTENS = Default("soft hose suction", 0.5, 1.0, 2.0, "length", "suction at which soft hose may flatten; from memory, no source")
GREATEST = Default("greatest suction", 6.0, 7.0, 8.0, "length",
                   "suction at which air comes out and the column parts; practical limit of siphons, from memory")
register_defaults(SOFTENS, GREATEST)


@dataclass(frozen=True, slots=True)
class HighPoint:
    """A line's highest point. `before` holds the share of each part's loss that lies before it, 0 to 1.

    `height` is the axis of the bore there above the datum, m; `square` is V^2/(2g) for 1 m3/s. `softens` and `greatest` are
    the suctions (m, positive) from which on it is warned of.
    """

    name: str
    height: Number
    bore: Number
    parts: tuple[Part, ...]
    before: tuple[Number, ...]
    square: Number
    softens: Number = SOFTENS.middle
    greatest: Number = GREATEST.middle

    @staticmethod
    def of(name: str, height: Number, bore: Number, parts: tuple[Part, ...], before: tuple[Number, ...]) -> HighPoint:
        """Prepare a highest point on a bore in m."""
        area = math.pi / 4.0 * bore * bore
        return HighPoint(name, height, bore, parts, before, 1.0 / (2.0 * GRAVITY * area * area))

    @staticmethod
    def between(name: str, height: Number, before: Line, behind: Line) -> HighPoint:
        """Prepare the point where one line passes into the next: a mark in the line, read as two."""
        shares = (*(1.0 for _ in before.parts), *(0.0 for _ in behind.parts))
        return HighPoint.of(name, height, before.bore, (*before.parts, *behind.parts), shares)

    @staticmethod
    def along(name: str, height: Number, line: Line, share: Number) -> HighPoint:
        """Prepare the point at a share (0 to 1) of a line's straight length.

        Fittings at that very place count before it, which is the side of more suction; a fitting that ends the line is its exit
        and counts behind.
        """
        runs = [part.length for part in line.parts if isinstance(part, Pipe)]
        point, start, bore = share * sum(runs, 0.0), 0.0 * share, line.first_bore
        shares: list[Number] = []
        for part in line.parts:
            before = start <= point
            if isinstance(part, Pipe):
                covered = (point - start) / (part.length + 1e-12)
                shares.append(where(before, where(covered < 1.0, covered, 1.0 + 0.0 * covered), 0.0 * covered))
                start, bore = start + part.length, where(before, part.bore, bore)
            elif part is line.parts[-1]:
                shares.append(0.0 * share)
            else:
                shares.append(where(before, 1.0 + 0.0 * point, 0.0 * point))
        return HighPoint.of(name, height, bore, line.parts, tuple(shares))

    def speed(self, q: Number) -> Number:
        """Return the speed in the bore there, m/s."""
        return (2.0 * GRAVITY * self.square) ** 0.5 * q

    def from_above(self, q: Number, up: Number) -> tuple[Number, Number, Number]:
        """Return the gauge pressure (m of water) and its slopes to the flow (s/m2) and to the level `up`."""
        head, slope = up - self.height - self.square * q * q, -2.0 * self.square * q
        for part, share in zip(self.parts, self.before, strict=True):
            lost, rise = part.loss(q)
            head, slope = head - share * lost, slope - share * rise
        return head, slope, 1.0 + 0.0 * head

    def from_below(self, q: Number, down: Number) -> tuple[Number, Number, Number]:
        """Return the gauge pressure (m of water) and its slopes to the flow (s/m2) and to the level `down`."""
        head, slope = down - self.height - self.square * q * q, -2.0 * self.square * q
        for part, share in zip(self.parts, self.before, strict=True):
            lost, rise = part.loss(q)
            head, slope = head + (1.0 - share) * lost, slope + (1.0 - share) * rise
        return head, slope, 1.0 + 0.0 * head

    def notes(self, pressure: float) -> list[str]:
        """Return in words what a gauge pressure there (m) means; nothing where it does no harm."""
        suction = -pressure
        if suction > float(self.greatest):
            return [f"{self.name}: {suction:.1f} m of suction at the highest point: air comes out and the column parts"]
        if suction > float(self.softens):
            return [f"{self.name}: {suction:.1f} m of suction at the highest point: soft hose may flatten"]
        return []
