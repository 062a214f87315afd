"""The rim of an up-turned elbow or of a standpipe: water falls in over its edge all round.

    H = max(H_weir, H_orifice)          max rounded over 0.2 mm
    weir round the rim     q = (2/3) Cw sqrt(2g) (pi D) H^1.5
    orifice in the throat  q = Co (pi/4 d^2) sqrt(2g H)

H head over the rim in m, D the rim's diameter, d the throat's bore, q in m3/s. An empty elbow's rim is the pipe's OUTSIDE
diameter (its socket), a plain pipe's its bore; both are inputs, and d is counted as no more than D.
The throat lies at the rim. A bulkhead that the line begins with lies lower: what stands in the upright pipe over it is head
that it has (`bulkhead_depth`, `hydro.elements.narrowing`). Then d is D unless it is given. The depth is a standpipe's `length`,
or counted from the height of its `bulkhead`; without either the bulkhead of a standpipe is taken to sit at the bottom of its
tank, that of an elbow one elbow height under the lip.
EN 12056-3:2000, Table 7 (circular outlets, flat sole; read in a transcription) gives kO D h^1.5/7500 and
kO D^2 h^0.5/15000 in L/s and mm: Cw = 0.4545, Co = 0.606, which cross at h = D/2.
Capacity is rated with that Cw; for where the level stands the band reaches to the thin plate's 0.62. Swirl without an
anti-vortex fin lowers Co (Illinois State Water Survey R.I. 65, abstract read), to 0.35 .. 0.40 (from memory); `fin: yes` says
there is one. A strainer halves both (the standard's
kO = 0.5) unless its own figure is given. Range of validity: side clearance of 5 % of D; H above some 5 mm, below it surface
tension rules.

    >>> from hydro.elements.rim import Rim
    >>> rim = Rim.of(crest=0.0, rim=0.050, throat=0.050, weir=0.4545, orifice=0.606)
    >>> f"{1000 * rim.needed(3000 / 3.6e6)[0]:.1f} mm"
    '25.1 mm'
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Self

from hydro.elements.fittings import FITTINGS, crane_ft
from hydro.elements.inlet import OpenInlet
from hydro.elements.registry import KINDS, Default, Field, Kind, Reader, register
from hydro.quantities.arrays import GRAVITY, Number, greater, lesser, smooth_max

CORNER = 2e-4
"""Width over which the stages of a drain pass into each other, m."""
REST = 1e-6
"""Flow over which q^(2/3) is rounded, m3/s."""

WEIR = Default("rim weir coefficient", 0.4545, 0.53, 0.62, "number",
               "EN 12056-3:2000 Table 7 (0.4545) to thin plate (0.62); capacity is rated with 0.4545", divides=True)
ORIFICE = Default("rim orifice coefficient", 0.40, 0.606, 0.62, "number",
                  "EN 12056-3:2000 Table 7 (0.606); that a whirl lowers it, Illinois State Water Survey R.I. 65 (abstract read); "
                  "how far, 0.40, from memory, no source", divides=True)
FINNED = Default("rim orifice coefficient with fin", 0.58, 0.606, 0.62, "number",
                 "EN 12056-3:2000 Table 7 (0.606); a fin across the rim stops the swirl", divides=True)
STRAINER = Default("strainer factor", 0.5, 0.5, 1.0, "number", "EN 12056-3:2000 Table 7, kO = 0.5 with strainer", divides=True)
SEAT = Default("standpipe's bulkhead over the bottom", 0.0, 0.0, 0.05, "length",
               "the bulkhead of a standpipe sits at the bottom of its tank or box; common practice, no source")
ELBOW_HEIGHT = Default("elbow height", 0.8, 1.0, 1.5, "number",
                       "bulkhead under the lip of an up-turned elbow, in rim diameters; common practice, no source")
ENTRANCE = Default("inlet entrance loss", 0.4, 0.5, 0.8, "number", "sharp flush 0.5, projecting 0.78 (Crane TP-410 A-29)")


def edge_resistance(weir: Number, rim: Number, open_share: Number = 1.0) -> Number:
    """Return R of H = R q^(2/3) for a round edge of a diameter (m) with a discharge coefficient."""
    return (open_share * weir * (2.0 / 3.0) * (2.0 * GRAVITY) ** 0.5 * math.pi * rim) ** (-2.0 / 3.0)


def edge_head(resistance: Number, q: Number) -> tuple[Number, Number]:
    """Return the head that a round edge needs to pass q (m, with the sign of q) and its slope (s/m2), rounded at rest."""
    square = q * q + REST * REST
    root = square ** (-1.0 / 6.0)
    return resistance * q * root, resistance * root * (1.0 - q * q / (3.0 * square))


@dataclass(frozen=True, slots=True)
class Rim(OpenInlet):
    """A round rim whose edge is the crest. Make it with `Rim.of`; `open_share` is 1 clean, less when fouled."""

    crest: Number
    rim: Number
    throat: Number
    weir: Number
    orifice: Number
    entrance: Number
    weir_resistance: Number
    orifice_resistance: Number
    strained: bool = False

    @staticmethod
    def of(crest: Number, rim: Number, throat: Number, weir: Number, orifice: Number, open_share: Number = 1.0,
           entrance: Number = 0.5) -> Rim:
        """Prepare a rim: crest above the datum, diameters in m, discharge coefficients, K of the full throat behind it."""
        orifice_flow = open_share * orifice * math.pi / 4.0 * throat * throat * (2.0 * GRAVITY) ** 0.5
        return Rim(crest, rim, throat, weir, orifice, entrance, edge_resistance(weir, rim, open_share), orifice_flow ** -2.0)

    def fouled(self, open_share: Number) -> Self:
        """Return the rim with only a share of its openings left."""
        return replace(self, weir_resistance=self.weir_resistance * open_share ** (-2.0 / 3.0),
                       orifice_resistance=self.orifice_resistance * open_share ** -2.0)

    def weir_head(self, q: Number) -> tuple[Number, Number]:
        """Return the head that the edge needs to pass q >= 0 (m) and its slope."""
        return edge_head(self.weir_resistance, q)

    def needed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the crest needed to pass q >= 0 (m) and its slope (s/m2)."""
        weir, weir_slope = self.weir_head(q)
        head, by_weir, by_orifice = smooth_max(weir, self.orifice_resistance * q * q, CORNER)
        return head, by_weir * weir_slope + by_orifice * 2.0 * self.orifice_resistance * q

    def controls(self, q: float) -> str:
        """Say what rules the level at a flow: the edge or the throat."""
        return "edge" if self.weir_head(q)[0] >= self.orifice_resistance * q * q else "throat"

    def flow_at(self, head: Number) -> Number:
        """Return the flow the rim passes at a head over its crest: the smaller of weir and orifice, m3/s."""
        weir = (head / self.weir_resistance) ** 1.5
        orifice = (head / self.orifice_resistance) ** 0.5
        return lesser(weir, orifice)

    def air_head(self, q: Number, breaks_at: Number, breaks_by: Number) -> Number:
        """Return the head at which a full line draws air over the edge, m."""
        return greater(breaks_at * self.rim, breaks_by * self.weir_head(q)[0])



def _rim(reader: Reader, turned: bool) -> Rim:
    rim = reader.number("rim")
    throat = reader.number("throat") if reader.has("throat") else (reader.bore if reader.bore is not None else rim)
    # The rim is a hole too: where it is the narrower of the two, the throat behind it never fills.
    throat = lesser(rim, throat)
    strained = reader.word("strainer") in ("yes", "true")
    share = reader.default(STRAINER) if strained else 1.0
    entrance = reader.default(ENTRANCE)
    if turned:
        entrance = entrance + 30.0 * crane_ft(throat) * reader.default(FITTINGS)
    orifice = reader.default(FINNED if reader.word("fin") == "yes" else ORIFICE)
    made = Rim.of(reader.height("lip"), rim, throat, reader.default(WEIR), orifice, share, entrance)
    return replace(made, strained=strained)


def bulkhead_depth(reader: Reader, bottom: Number, through_side: bool = False) -> Number:
    """Return how far the bulkhead of a standpipe or up-turned elbow lies under its lip, m.

    `bottom` is its vessel's, m above the datum; a standpipe `through_side` stands on an elbow.
    """
    if reader.has("length"):
        return reader.number("length")
    lip = reader.height("lip")
    if reader.has("bulkhead"):
        return greater(lip - reader.height("bulkhead"), 0.0 * lip)
    if through_side or KINDS[reader.item.kind].word == "elbow up":
        return reader.default(ELBOW_HEIGHT) * reader.number("rim")
    return greater(lip - bottom - reader.default(SEAT), 0.0 * lip)


_FIELDS = (Field("rim", "length", required=True, low=0.005, high=0.6),
           Field("lip", "height", required=True),
           Field("throat", "length", low=0.003, high=0.6),
           Field("strainer", "word", choices=("yes", "no")),
           Field("fin", "word", choices=("yes", "no")),
           Field("bulkhead", "height"))
_DEFAULTS = (WEIR, ORIFICE, FINNED, STRAINER, ENTRANCE)

register(Kind("standpipe", "inlet", lambda reader: _rim(reader, False),
              (*_FIELDS, Field("length", "length", low=0.01, high=3.0)), ("rim",), (*_DEFAULTS, SEAT, ELBOW_HEIGHT),
              summary="upright pipe, open at its top"))
register(Kind("elbow up", "inlet", lambda reader: _rim(reader, True), (*_FIELDS, Field("turns", "height range")),
              ("rim",), (*_DEFAULTS, FITTINGS, ELBOW_HEIGHT),
              also=("up-turned elbow",), summary="elbow on a bulkhead, turned up; its rim is the lip"))
