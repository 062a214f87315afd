"""A plain hole in the tank's wall as an inlet: a bulkhead that lies level, with nothing on its inner side.

    H = max(H_critical, H_edge)         max rounded over 0.2 mm
    short pipe, end free      critical depth in the bore (`hydro.elements.part_full`), no loss of entering
    sharp edge of the hole    q = Cd sqrt(2g) integral over the wet part of the circle of b(z) (H - z)^0.5 dz

H head over the invert in m, D the bore, b(z) = 2 (z (D - z))^0.5 the width of the opening at a height z over the invert:
level strips, each a small weir. The crest is the invert, the hole's lowest point, written as the lip. Where H passes
the crown the strips go on, all of the circle being wet, so nothing jumps; far above they are the orifice
Cd (pi/4 D^2) (2g (H - D/2))^0.5. With x = H/D the integral is x^2 pi/4 near rest and 8/15 (in D^2.5) with the level at the
crown (closed forms).

Which one governs: the pipe behind cannot carry away more than critical depth lets it, the edge cannot let in more than its
contracted stream, so whichever needs MORE head rules, and capacity is the lower flow. With Cd = 0.60 the edge would pass 9 %
more than the pipe at a trickle, as much at H = 0.98 D, and 19 % less at H = 1.5 D: critical depth rules up to about the crown,
the edge above. The band of Cd: thin plate 0.60 to 0.62; down to 0.52 by the square-edged culvert entrances of FHWA HDS-5
(K = 0.0098, M = 2, c = 0.0398, Y = 0.67, from memory), which say 0.52 to 0.57 for flows of J = 0.1 to 0.72; up to 0.80 where the
stream fills the bore again behind the edge (short tube, from memory). Capacity is to be rated with the low one.

A full line draws air as soon as the level comes down to the crown, or to the critical head of its flow where that is higher:
the 'break head' of a rim, 0.4 D, plays no part here.
Range of validity: wall and bulkhead together some two bores long or less up to the first place where air can stand; clear water
in front, no floor within D/2 below the invert; H above some 5 mm. Swirl with an air core is not counted.

    >>> from hydro.elements.side_outlet import SideOutlet
    >>> hole = SideOutlet.of(crest=0.0, bore=0.040, coefficient=0.60, orifice=0.606)
    >>> f"{1000 * hole.needed(1000 / 3.6e6)[0]:.1f} mm"
    '29.8 mm'
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Self

from hydro.elements.inlet import OpenInlet
from hydro.elements.part_full import CRITICAL, OpeningRating, critical_scale, rated_head
from hydro.elements.registry import Default, Field, Kind, Reader, register
from hydro.elements.rim import ENTRANCE, ORIFICE, STRAINER
from hydro.quantities.arrays import GRAVITY, Number, greater, lesser, smooth_max

CORNER = 2e-4
"""Width over which pipe and edge take turns, m."""

HOLE = Default("side outlet coefficient", 0.52, 0.60, 0.80, "number",
               "thin plate 0.60; 0.52 square-edged culvert (FHWA HDS-5), 0.80 short tube, both from memory; "
               "capacity is rated with 0.52", divides=True)


def strip_integral(head: float, strips: int = 24) -> tuple[float, float]:
    """Return the integral of b(z) (x - z)^0.5 over the wet part of a circle of bore 1, and its slope to the head x > 0.

    Heights z = m sin^2 t, m the wet height, at the middles of equal steps of t: exact to 1e-7 but within 1 % of the crown.
    """
    if head == 1.0:
        return 8.0 / 15.0, 2.0 / 3.0
    wet = min(head, 1.0)
    flow = slope = 0.0
    for k in range(strips):
        low = math.sin((k + 0.5) * 0.5 * math.pi / strips) ** 2.0
        width = 4.0 * wet ** 1.5 * low * ((1.0 - wet * low) * (1.0 - low)) ** 0.5
        speed = (head - wet * low) ** 0.5
        flow += width * speed
        slope += 0.5 * width / speed
    step = 0.5 * math.pi / strips
    return flow * step, slope * step


_HEADS = (0.1, 0.25, 0.45, 0.65, 0.8, 0.9, 0.95, 0.98, 1.0, 1.02, 1.05, 1.1, 1.2, 1.4, 1.8, 2.5, 3.5)
STRIPS = OpeningRating.of([(head, *strip_integral(head)) for head in _HEADS], math.pi / 4.0)
"""The strips over a round opening, below its crown and above."""


@dataclass(frozen=True, slots=True)
class SideOutlet(OpenInlet):
    """A round hole whose invert is the crest. Make it with `SideOutlet.of`; `pipe`, `edge` are flows at a share of 1, m3/s."""

    crest: Number
    rim: Number
    throat: Number
    orifice: Number
    entrance: Number
    pipe: Number
    edge: Number
    strained: bool = False

    @staticmethod
    def of(crest: Number, bore: Number, coefficient: Number, orifice: Number, open_share: Number = 1.0,
           entrance: Number = 0.5) -> SideOutlet:
        """Prepare a hole: invert above the datum and bore in m, Cd of the edge, Co of narrow places further on, K when full."""
        edge = open_share * coefficient * (2.0 * GRAVITY * bore) ** 0.5 * bore * bore
        return SideOutlet(crest, bore, bore, orifice, entrance, open_share * critical_scale(bore), edge)

    def fouled(self, open_share: Number) -> Self:
        """Return the hole with only a share of its opening left."""
        return replace(self, pipe=open_share * self.pipe, edge=open_share * self.edge)

    def weir_head(self, q: Number) -> tuple[Number, Number]:
        """Return the head (m) at which the water passes q >= 0 with its surface free, critical depth alone, and its slope."""
        return rated_head(CRITICAL, self.rim, self.pipe, q)

    def needed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the invert needed to pass q >= 0 with air behind (m) and its slope (s/m2)."""
        pipe, pipe_slope = self.weir_head(q)
        edge, edge_slope = rated_head(STRIPS, self.rim, self.edge, q)
        head, by_pipe, by_edge = smooth_max(pipe, edge, CORNER)
        return head, by_pipe * pipe_slope + by_edge * edge_slope

    def controls(self, q: float) -> str:
        """Say what rules the level at a flow: the edge of an open surface, or the hole, drowned to its crown."""
        return "edge" if self.needed(q)[0] < self.rim else "throat"

    def flow_at(self, head: Number) -> Number:
        """Return the flow at a head over the invert: the smaller of pipe and edge, m3/s."""
        share = head / self.rim
        return lesser(self.pipe * CRITICAL.share(share), self.edge * STRIPS.share(share))

    def air_head(self, q: Number, breaks_at: Number, breaks_by: Number) -> Number:
        """Return the head over the invert at which a full line draws air, m: the crown, or what the flow asks for."""
        return greater(self.rim, breaks_by * self.weir_head(q)[0])



def side_outlet(reader: Reader, entrance: Number) -> SideOutlet:
    """Make the hole that an item describes, with K of the full bore behind it."""
    strained = reader.word("strainer") in ("yes", "true")
    share = reader.default(STRAINER) if strained else 1.0
    return replace(SideOutlet.of(reader.height("lip"), reader.number("bore"), reader.default(HOLE), reader.default(ORIFICE),
                                 share, entrance), strained=strained)


FIELDS = (Field("bore", "length", required=True, low=0.005, high=0.6),
          Field("lip", "height", required=True),
          Field("strainer", "word", choices=("yes", "no")))
DEFAULTS = (HOLE, ORIFICE, STRAINER, ENTRANCE)

register(Kind("side outlet", "inlet", lambda reader: side_outlet(reader, reader.default(ENTRANCE)), FIELDS, ("bore",),
              DEFAULTS, also=("plain bulkhead",), summary="level hole in the wall; its lip is the lowest point of the bore"))
