"""A siphon tube: a line over a rim between two waters, both ends under water, that runs full for as long as no air gets in.

    r = max(min(full, fed), back) - SHUT (1 - primed) q
    full = U - D - loss(q)          U = max(up, start), D = max(down, finish), all rounded over 0.2 mm
    fed  = U - start - H(q),   back = finish - D - H(q)          H: weir round a mouth, q = (2/3) C sqrt(2g) pi d H^1.5

`start` and `finish` are the heights of its two mouths (their highest points: there air gets in), m; `primed` is 1 full of
water, 0 with air in its crown: then nothing passes. It works both ways: the water runs to the lower level. The end that
feeds it must have H(q) of water over its mouth; a tube that would carry more than comes draws its water down to there and
gulps air. For H the rim's law with its coefficient ('rim weir coefficient') and the line's own bore stand in (no source for
mouths that face down): it only says where the water stands then, and the guards say that it does not last.

It loses its prime when either end is uncovered: below the higher of the two mouths (`stops_at`). As long as both levels stay
above that, also with the pump at rest, it runs again by itself; once air is in, only a hand or a suction pump fills it.

Air comes along with the water and collects at the crown unless it is carried on. J = V/sqrt(g D) at the crown:

| J | | standing |
|---|---|---|
| below 0.3 | a vertical line vents itself: air stays behind, the crown fills | read; Simpson 1968 gives 0.31, from memory |
| 0.345 | a long bubble keeps its place against the flow (Dumitrescu) | from memory |
| 0.45 .. 1.2 | clears sloping lines: 0.56 sqrt(sin) + 0.45 .. 0.61 (Escarameia) | form read, constants from memory |
| 0.83 .. 1.08 | the same: 0.825 + 0.25 sqrt(sin) (Sanks) | read |
| above 1 | swept through a vertical line; Simpson has 2 | read; from memory |

They disagree: 'air clearing number', band 0.3 to 1.2. Below the middle it is warned; how fast air collects nobody can say.
A mouth less than 1.5 bores under water may draw air in a whirl (USBR Water Measurement Manual, small siphons, as quoted).
Inertia and the filling of an empty tube are not modelled.

    >>> from hydro.elements.line import Line
    >>> from hydro.elements.fittings import LocalLoss
    >>> from hydro.elements.siphon_tube import SiphonTube
    >>> tube = SiphonTube("tube", Line.of([LocalLoss.of(2.6, 0.0284)]), start=1.30, finish=1.35)
    >>> tube.stops_at, tube.residual(1e-3, 1.50, 1.20)[1] < 0.0
    (1.35, True)
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from hydro.elements.drain import QUIET_AT, Guard
from hydro.elements.fittings import SHUT
from hydro.elements.high_point import HighPoint
from hydro.elements.line import Line, line_faults
from hydro.elements.registry import Default, register_defaults
from hydro.elements.rim import CORNER, WEIR, edge_head, edge_resistance
from hydro.quantities.arrays import GRAVITY, Number, greater, lesser, smooth_max

FULL, AIR = "full of water", "air in the crown"
STILL = 1e-6
"""Flow that carries no air to the crown, m3/s."""
COVERED = 1.5
"""Depth over a mouth, in bores, from which on it draws no air in a whirl."""

CLEARS = Default("air clearing number", 0.3, 1.0, 1.2, "number",
                 "J above which air does not stay at a crown; published limits 0.3 to 1.2 disagree")
PROJECTING = Default("projecting entrance loss", 0.5, 0.78, 1.0, "number",
                     "pipe that ends free in the water: 0.78 (Crane TP-410 A-29), flush 0.5, thin wall 1.0 (Rennels)")
register_defaults(CLEARS, PROJECTING)


@dataclass(frozen=True, slots=True)
class SiphonTube:
    """A line over a rim between two waters. `primed` (1 or 0) is data; `highest` its crown, None where no height is given."""

    name: str
    line: Line
    start: Number
    finish: Number
    highest: HighPoint | None = None
    primed: Number = 1.0
    clears_at: Number = CLEARS.middle
    weir: Number = WEIR.middle
    quiet_at: Number = QUIET_AT.middle

    def feeding_head(self, q: Number) -> tuple[Number, Number]:
        """Return the head over its mouth (m, with the sign of q) from which an end is fed, and its slope (s/m2)."""
        return edge_head(edge_resistance(self.weir, self.line.bore), q)

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r, m, and its slopes; nothing passes without prime."""
        lost, rise = self.line.loss(q)
        upper, wet_up, _ = smooth_max(up, self.start, CORNER)
        lower, wet_down, _ = smooth_max(down, self.finish, CORNER)
        head, steep = self.feeding_head(q)
        most, by_full, by_fed = smooth_max(lower + lost - upper, self.start + head - upper, CORNER)
        r, by_most, by_back = smooth_max(-most, self.finish - lower - head, CORNER)
        bar = (1.0 - self.primed) * SHUT
        r_q = -by_most * (by_full * rise + by_fed * steep) - by_back * steep
        return r - bar * q, r_q - bar, by_most * wet_up, -wet_down * (by_most * by_full + by_back)

    @property
    def stops_at(self) -> Number:
        """Level below which it draws air at one of its ends and stops, m: the higher mouth."""
        return greater(self.start, self.finish)

    @property
    def volume(self) -> Number:
        """The water in it when full, m3."""
        return self.line.volume

    def cover(self, up: Number, down: Number) -> Number:
        """Return how far the lower of two levels stands over the higher mouth, m: less than nothing, and it has lost its prime.

        With the levels of the stopped loop it says whether the tube runs again by itself after a power cut.
        """
        return lesser(up, down) - self.stops_at

    @property
    def bore(self) -> Number:
        """The bore in which air must be carried along, m: the crown's, else the line's last."""
        return self.line.bore if self.highest is None else self.highest.bore

    def air_number(self, q: Number) -> Number:
        """Return J = V/sqrt(g D) at the crown, without a sign."""
        bore = self.bore
        return abs(q) / (math.pi / 4.0 * bore * bore * (GRAVITY * bore) ** 0.5)

    @property
    def mode(self) -> str:
        """The mode the tube is in."""
        return FULL if float(self.primed) > 0.5 else AIR

    def modes(self) -> tuple[str, ...]:
        """Return the modes it may settle in."""
        return (FULL, AIR)

    def in_mode(self, mode: str) -> SiphonTube:
        """Return the tube in a mode."""
        return replace(self, primed=1.0 if mode == FULL else 0.0)

    def guards(self, q: float, up: float, down: float) -> list[Guard]:
        """Return what keeps the tube full, with the margin in m; with air in its crown it stays so, and there is none."""
        if float(self.primed) < 0.5:
            return []
        guards = [Guard(float(self.cover(up, down)), AIR, "an end comes out of the water and lets air in"),
                  Guard(self.fed(q, up, down), AIR, "it would carry more than comes: the end that feeds it draws air")]
        if self.highest is not None:
            margin = self.suction_left(q, up)
            guards.append(Guard(margin, AIR, "the suction at its highest point parts the column"))
        return guards

    def fed(self, q: float, up: float, down: float) -> float:
        """Return how far the level that the full line needs stands over the one at which the feeding end draws air, m."""
        first, last, mouth_at = (down, self.finish, self.start) if q >= 0.0 else (up, self.start, self.finish)
        return float(greater(first, last) + abs(self.line.loss(q)[0]) - mouth_at - abs(self.feeding_head(q)[0]))

    def suction_left(self, q: float, up: float) -> float:
        """Return the height left before the column parts at its highest point, m; ValueError without one."""
        if self.highest is None:
            raise ValueError(f"{self.name}: no highest point is given")
        return float(self.highest.from_above(q, up)[0] + self.highest.greatest)

    def faults(self) -> dict[str, dict[str, Any]]:
        """Return the single faults: words -> changed parameters; a pipe that lies under water has no crown for air."""
        return {"blocked" if self.highest is None else AIR: {"primed": 0.0}, **line_faults(self.line)}

    def budget(self, q: Number, up: Number, down: Number) -> list[tuple[str, Number]]:
        """Return where the head goes, part by part: (label, m)."""
        return [(part.label, part.loss(q)[0]) for part in self.line.parts]

    def limits(self, q: float, up: float, down: float) -> list[str]:
        """Return in words what of a state lies outside the range in which it is sure to go on running."""
        if float(self.primed) < 0.5:
            return []
        return [*self._air(q), *self._ends(q, up, down), *(self.highest.notes(float(self.highest.from_above(q, up)[0]))
                                                        if self.highest is not None else ())]

    def _air(self, q: float) -> list[str]:
        number = float(self.air_number(q))
        if abs(q) < STILL:
            return []
        if number < float(self.quiet_at):
            return [f"{self.name}: the water is so slow that air collects at its highest point until it stops"]
        if number < float(self.clears_at):
            return [f"{self.name}: the water may be too slow to carry air over its highest point; published limits disagree"]
        return []

    def _ends(self, q: float, up: float, down: float) -> list[str]:
        depth = float(self.cover(up, down))
        if depth < 0.0:
            return [f"{self.name}: an end stands out of the water and lets air in: it stops"]
        if self.fed(q, up, down) < 0.0:
            return [f"{self.name}: it would carry more than comes, draws its water down and gulps air: it stops"]
        if depth < COVERED * float(self.bore):
            return [f"{self.name}: an end less than 1.5 bores under water may draw air in a whirl"]
        return []
