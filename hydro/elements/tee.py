"""Tees and wyes whose losses follow from how the flow splits, renewed from outside between solves.

    h_leg = K_leg V_c^2 / (2 g)     V_c speed in the leg that carries all of the flow; K may be negative
    x = share of the branch, b = branch bore / through bore, a = angle in degrees

| way | K | |
|---|---|---|
| diverging, branch | G (1 + H (x/b^2)^2 - J (x/b^2) cos a) | H 0.3, J 0 for a >= 60, b > 2/3; else H 1, J 2 |
| diverging, run | M x^2 | M 0.4 for b^2 <= 0.4, else 2 (2x - 1) up to x = 0.5 and 0.3 (2x - 1) above |
| converging, branch | C (1 + (x/b^2)^2 - 2 (1 - x)^2 - F (x/b)^2) | C 1 for b^2 <= 0.35, else 0.9 (1 - x), 0.55 above x = 0.4 |
| converging, run | 1.55 x - x^2 at 90; 1 - (1 - x)^2 - F (x/b)^2 below 75 | F 1.74, 1.41, 1, 0 at 30, 45, 60, 90 |
| out of the branch, both ways | 1 + (V/V_c)^2 for the leg of speed V | Idelchik gives 0.3 to 1.5 on the square: 1 chosen |
| into the branch, from both | 1 + r^2 + 3 r^2 (y^2 - y) | Idelchik (Levin); r = branch / through area, y share of the leg |

G: at 90 it is 1, with 0.3 x^2 more where b^2 > 2/3; below 75 it is 1 - 0.6 x (0.6 above x = 0.6) where b^2 > 0.35, else
1.1 - 0.7 x (0.85 above x = 0.4). Source: Crane TP-410 (2009) with its errata, as fluids holds them (tests compare); the last
two rows from memory. Crane's jumps in x are bridged over 0.02 to both sides, so that renewing cannot hop to and fro on them.
Range of validity: one through bore, straight pipe of some ten bores to each side, b from 0.3 to 1, angles 30 to 90.
Band: 'fitting losses' multiplies positive K; a gain (negative K) is never enlarged.

The leg with the largest flow is the one that carries all, whichever it is. The head at the junction is the total head in the leg
called `combined`; run and branch carry the losses, on their own flow: split q |q|, with split = K/(2 g A_c^2) (q_c/q)^2. A leg
with less than 5 % of the flow has the coefficient of 5 %, which else would have no bounds: its loss fades with its flow where
Crane has it jump. A gain larger than the line's own losses in q |q| is cut (`LineLink`): then a little less flows than it
should. `hydro.elements.tee_rounds` solves and renews by turns.

    >>> from hydro.elements.tee import converging, diverging
    >>> run, branch = converging(0.25, 1.0, 90.0)
    >>> f"{run:.3f} {branch:.3f}"
    '0.325 -0.042'
    >>> f"{diverging(0.0, 1.0, 90.0)[1]:.2f}, all of it into the branch {diverging(1.0, 1.0, 90.0)[1]:.2f}"
    '1.00, all of it into the branch 1.69'
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from hydro.elements.line import held_up
from hydro.quantities.arrays import GRAVITY, Number, each, greater, lesser, smooth_step, where

BRIDGE = 0.02
"""Share of the flow to each side of a jump of Crane's formulas over which it is bridged."""
LEAST = 0.05
"""Smallest share of the flow that a leg's coefficient is counted on."""
STILL = 1e-6
"""Flow below which a tee is at rest and its legs lose nothing in it, m3/s."""


@dataclass(frozen=True, slots=True)
class Tee:
    """A tee or wye: places of its three links, the bore of its through way and of its side (m), and the branch's angle (degrees).

    `combined` and `run` lie in one line; positive flow comes in by the combined link and leaves by the others, or as `toward`
    says: 1 where a link's positive flow runs into the tee, -1 where it runs out. `factor` multiplies positive K.
    """

    name: str
    combined: int
    run: int
    branch: int
    bore: Number
    side: Number
    angle: Number = 90.0
    factor: Number = 1.0
    toward: tuple[float, float, float] = (1.0, -1.0, -1.0)

    def splits(self, flows: Sequence[Number]) -> tuple[Number, Number]:
        """Return the coefficients of run and branch (s2/m5, on their own q |q|) at the flows of all links (m3/s)."""
        combined, run, branch = (sign * flows[place] for sign, place in
                                 zip(self.toward, (self.combined, self.run, self.branch), strict=True))
        a, b, c = abs(combined), abs(run), abs(branch)
        out_of_side, out_of_run = (c > a) & (c > b), (b > a) & (b >= c)
        most = greater(greater(a, b), c)
        whole = greater(most, STILL + 0.0 * most)
        parting = where(out_of_side, branch, where(out_of_run, run, combined)) > 0.0
        n, r, s = a / whole, b / whole, c / whole
        # Crane stops at 90 degrees: a wye taken against its slant is counted as a plain tee.
        straight, aside = self._through(parting, s, where(out_of_run, 90.0 + 0.0 * self.angle, self.angle))
        first, second = (self._sideways(parting, leg) for leg in (n, r))
        own = where(out_of_side, first, where(out_of_run, straight, 0.0 * straight))
        of_run = where(out_of_side, second - own, straight)
        of_branch = where(out_of_side, first, aside - own)
        area = math.pi / 4.0 * where(out_of_side, self.side, self.bore) ** 2.0
        head = where(most > STILL, 1.0, 0.0) / (2.0 * GRAVITY * area * area)
        least_r, least_s = greater(r, LEAST + 0.0 * r), greater(s, LEAST + 0.0 * s)
        return of_run * head / (least_r * least_r), of_branch * head / (least_s * least_s)

    def _through(self, parting: Any, share: Number, angle: Number) -> tuple[Number, Number]:
        """Return K of the straight leg and of the branch where all of the flow is in a leg of the through way."""
        apart = diverging(share, self.side / self.bore, angle)
        together = converging(share, self.side / self.bore, angle)
        straight, aside = (where(parting, k, other) for k, other in zip(apart, together, strict=True))
        return self._banded(straight), self._banded(aside)

    def _sideways(self, parting: Any, share: Number) -> Number:
        """Return K of a leg with a share of the flow where all of it is in the branch."""
        areas = (self.side / self.bore) ** 2.0
        speed = share * areas
        return self._banded(where(parting, 1.0 + speed * speed, 1.0 + areas * areas * (1.0 + 3.0 * share * (share - 1.0))))

    def _banded(self, k: Number) -> Number:
        return k * where(k > 0.0, self.factor, 1.0)


def diverging(share: Number, ratio: Number, angle: Number) -> tuple[Number, Number]:
    """Return K of run and branch where a flow parts: share into the branch, bore ratio, angle in degrees (Crane 2009)."""
    square = ratio * ratio
    slanted = (angle < 60.0) | (ratio <= 2.0 / 3.0)
    h, j = where(slanted, 1.0, 0.3), where(slanted, 2.0, 0.0)
    narrow = _bridged(share, 0.4, 1.1 - 0.7 * share, 0.85)
    wide = _bridged(share, 0.6, 1.0 - 0.6 * share, 0.6)
    upright = 1.0 + where(square <= 2.0 / 3.0, 0.0, 0.3) * share * share
    g = where(angle < 75.0, where(square <= 0.35, narrow, wide), upright)
    speed = share / square
    branch = g * (1.0 + h * speed * speed - j * speed * each(_cosine, angle))
    half = 2.0 * share - 1.0
    m = where(square <= 0.4, 0.4 + 0.0 * half, where(share <= 0.5, 2.0, 0.3) * half)
    return m * share * share, branch


def converging(share: Number, ratio: Number, angle: Number) -> tuple[Number, Number]:
    """Return K of run and branch where flows meet: share out of the branch, bore ratio, angle in degrees (Crane 2009)."""
    square = ratio * ratio
    rest = (1.0 - share) * (1.0 - share)
    speed = share / square
    regained = _turning(angle) / square * share * share
    c = where(square <= 0.35, 1.0 + 0.0 * share, _bridged(share, 0.4, 0.9 * (1.0 - share), 0.55))
    branch = c * (1.0 + speed * speed - 2.0 * rest - regained)
    slanted = 1.0 - rest - greater(_turning(angle), 1.0 + 0.0 * angle) / square * share * share
    return where(angle < 75.0, slanted, 1.55 * share - share * share), branch


def _cosine(angle: float) -> float:
    return math.cos(math.radians(angle))


def _turning(angle: Number) -> Number:
    """Return Crane's F: straight lines between 30, 45, 60 and 90 degrees."""
    angle = greater(lesser(angle, 90.0 + 0.0 * angle), 30.0 + 0.0 * angle)
    steep = where(angle < 45.0, 1.74 - 0.022 * (angle - 30.0), 1.41 - 0.41 / 15.0 * (angle - 45.0))
    return where(angle < 60.0, steep, 1.0 - (angle - 60.0) / 30.0)


def _bridged(x: Number, at: float, below: Number, above: Number) -> Number:
    """Return `below` left of `at` and `above` right of it, bridged smoothly between."""
    share, _ = smooth_step((x - at + BRIDGE) / (2.0 * BRIDGE))
    return below + share * (above - below)


def renewed(tees: Sequence[Tee], flows: Sequence[Number], elements: Sequence[Any]) -> dict[int, dict[str, Number]]:
    """Return what the flows make of the tees' legs: place of a link -> {'split': coefficient}, for `Network.changed`.

    `elements` are those of all links, in order; a leg's gain is cut to what its line can bear. A link that is a leg of two tees
    carries both. AttributeError where a run or branch is no `LineLink`.
    """
    total: dict[int, Number] = {}
    for tee in tees:
        for place, split in zip((tee.run, tee.branch), tee.splits(flows), strict=True):
            total[place] = total.get(place, 0.0) + split
    return {place: {"split": held_up(split, elements[place].line)} for place, split in total.items()}
