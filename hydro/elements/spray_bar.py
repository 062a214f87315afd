"""A spray bar: a pipe with a row of holes that ends closed, at the end of a return.

    each hole    q = Cd a sqrt(2 g E)               E head in the bar beyond the hole, over the mouth or the tank's level
    over a hole  E falls back by regain (V^2 - W^2)/(2 g)      V speed before the hole, W beyond it
    to the next  f (s/D) V^2/(2 g)                  s = length / holes, by `hydro.elements.pipe`
    whole bar    h = c q |q|                        from the total head where the bar begins to E = 0 outside

The march runs from the closed end, where nothing flows on, towards the feed. Going with the flow the water slows down hole by
hole and its head rises (regain); friction works the other way. In a short bar the last hole gives the most, in a long one the
first. The rule of the trade, all holes together no more than the bar's own area, is common practice, no source; here the
spread is computed: with as much area the first hole of a short bar gives some 0.9 of the last, with twice as much 0.5 to 0.9.

Friction is taken at 1 m/s where the bar begins; at other speeds its f differs. Between 0.25 and 3 m/s that moves the head by less
than 3.5 % and the spread by less than 3 points for bars of up to 45 bores with holes of up to the bar's area, by less than 10 %
and 12 points for bars of up to 100 bores (measured in tests/elements/test_spray_bar.py); the holes' coefficient matters more.
D bore and length in m, a area of one hole in m2, speeds in m/s. Sources: the jet is Torricelli's; the regain, 0.4 to 1 of what
momentum allows, is from memory (manifold measurements of the 1950s and 1970s). Range of validity: sharp or drilled holes all
alike, evenly spread, the last at the closed end, a level bar full of water; a jet that points up has to be paid for by the
mouth's height. Where the regain would let the first holes draw in, they are taken as giving nothing.

    >>> from hydro.elements.spray_bar import SprayBar
    >>> holes = {"holes": 24, "hole": 0.004, "coefficient": 0.62, "regain": 0.7}
    >>> bar = SprayBar.of(bore=0.0204, length=0.6, roughness=1.5e-6, viscosity=1e-6, **holes)
    >>> f"{bar.loss(2000 / 3.6e6)[0]:.2f} m, first hole {bar.first_to_last:.0%} of the last"
    '0.56 m, first hole 94% of the last'
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydro.elements.fittings import LocalLoss
from hydro.elements.pipe import ROUGHNESS, Pipe
from hydro.elements.registry import Default, Field, Kind, Reader, register
from hydro.quantities.arrays import GRAVITY, Number, any_of, each, greater, lesser, where

COEFFICIENT = Default("spray hole coefficient", 0.55, 0.62, 0.80, "number",
                      "sharp hole 0.62; through a wall as thick as the hole up to 0.8; from memory", divides=True)
REGAIN = Default("spray bar regain", 0.4, 0.7, 1.0, "number",
                 "share of the velocity head that comes back as head past each hole, manifold measurements, from memory")
NOMINAL = 1.0
"""Speed at the beginning of the bar at which its friction is taken, m/s."""
ROUNDS = 3
"""Marches until the nominal flow is met: all but friction goes with its square, so that each leaves little of the error."""


@dataclass(frozen=True, slots=True)
class SprayBar(LocalLoss):
    """A spray bar as a loss on the velocity head of its bore, with the spread of its jets at the nominal flow.

    `first_to_last` is the flow of the first hole by that of the last, `weakest` the least by the largest of all holes, `open` the
    area of all holes by the bar's own, `volume` the water in it (m3). `is_end` says that nothing is lost behind it.
    """

    first_to_last: Number
    weakest: Number
    open: Number
    volume: Number
    is_end: bool = True

    @staticmethod
    def of(bore: Number, length: Number, holes: Number, hole: Number, coefficient: Number, regain: Number,  # type: ignore[override]
           roughness: Number, viscosity: Number, label: str = "spray bar") -> SprayBar:
        """Prepare a bar: lengths in m, `holes` a count (rounded to whole ones, at least 1), viscosity (kinematic) in m2/s."""
        count = each(_whole, holes)
        area, opening = math.pi / 4.0 * bore * bore, math.pi / 4.0 * hole * hole
        jet = coefficient * opening * (2.0 * GRAVITY) ** 0.5
        piece = Pipe.of(bore, length / count, roughness, viscosity)
        nominal = NOMINAL * area
        last = (nominal / (count * jet)) ** 2.0
        for _ in range(ROUNDS):
            flow, head, first, least, most, end = _marched(piece, area, jet, regain, count, last)
            last = last * (nominal / flow) ** 2.0
        quadratic = head / (flow * flow)
        return SprayBar(label, quadratic * 2.0 * GRAVITY * area * area, bore, quadratic, first / end, least / most,
                        count * opening / area, area * length)


def _whole(count: float) -> float:
    return float(max(1, round(count)))


def _marched(piece: Pipe, area: Number, jet: Number, regain: Number, count: Number, last: Number) -> tuple[Number, ...]:
    """Return flow and total head at the beginning of a bar, and its first, least, largest and last jet, from the head `last`."""
    per_square = regain / (2.0 * GRAVITY * area * area)
    head = last
    end = first = least = most = jet * last ** 0.5
    flow: Number = 0.0 * end
    done = 0.0
    while any_of(done < count):
        here = done < count
        first = where(here, jet * greater(head, 0.0 * head) ** 0.5, first)
        least, most = lesser(least, first), greater(most, first)
        through = flow + first
        before = head - per_square * (through * through - flow * flow) + piece.loss(through)[0]
        head, flow = where(here, before, head), where(here, through, flow)
        done += 1.0
    return flow, head + flow * flow / (2.0 * GRAVITY * area * area), first, least, most, end


def _bar(reader: Reader) -> list[SprayBar]:
    return [SprayBar.of(reader.number("size"), reader.number("length"), reader.number("holes"), reader.number("hole"),
                        reader.default(COEFFICIENT), reader.default(REGAIN), reader.default(ROUGHNESS),
                        reader.context.viscosity, reader.item.label)]


register(Kind("spray bar", "part", _bar,
              (Field("size", "size", required=True, low=0.003, high=0.5),
               Field("length", "length", required=True, low=0.01, high=20.0),
               Field("holes", "number", required=True, low=1.0, high=500.0),
               Field("hole", "length", required=True, low=0.0005, high=0.05)),
              ("size", "length", "holes", "hole"), (COEFFICIENT, REGAIN, ROUGHNESS),
              summary="closed pipe with a row of holes, the end of a return: size, length, number of holes and bore of each"))
