"""An elbow on a bulkhead, turned down, or with a pipe below it (a dropper): its mouth is under water.

    H = H_hole(q) + K V^2/(2g)        V on the mouth's opening

Water enters at the mouth, rises to the invert of the bulkhead and falls over it: the invert is the crest, written as the
lip, and H (m) counts from it. H_hole is the law of a side outlet (`hydro.elements.side_outlet`), K the sum of entrance, turn
and leg; the leg is filled at all times, with 0.03 for every bore of its length.

Air above the invert comes in through the vent alone. As long as the vent passes what the flow carries off, the tank stands over
the crest. Without one, or with too small or a plugged one, the flow sweeps the air out as soon as J reaches the sweep number,
however little the head: the line runs full, and draws the tank down to the MOUTH before it gets air.
A vent has to have a bore of 3.5 mm for 600 L/h (its area grows with the flow; from memory, band 3 .. 5 mm). Verdicts count on a
vent only if it is too wide to plug ('open vent': 20 mm, as the open top of a tee; common practice, no source); the answer
with the vent working is given beside it, as for the siphon break of a return.

Range of validity: that of the side outlet; no law for flows between J = 0.3 and 1 without a vent, where air is carried off
in part and the level hunts between the two: it is then reported as running with air, and what stops is counted from the mouth.

    >>> from hydro.elements.down_turned import DownTurned
    >>> from hydro.elements.side_outlet import SideOutlet
    >>> hole = SideOutlet.of(crest=0.50, bore=0.040, coefficient=0.60, orifice=0.606)
    >>> elbow = DownTurned.below(hole, mouth=0.42, opening=0.040, loss=1.2, vent=0.006)
    >>> f"{1000 * elbow.needed(1000 / 3.6e6)[0]:.1f} mm"
    '32.8 mm'
    >>> float(elbow.stops_at(True, 1000 / 3.6e6)), float(elbow.stops_at(False, 1000 / 3.6e6))
    (0.5, 0.42)
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import Self

from hydro.elements.fittings import FITTINGS, crane_ft
from hydro.elements.registry import Default, Field, Kind, Reader, register
from hydro.elements.rim import ENTRANCE
from hydro.elements.side_outlet import DEFAULTS, FIELDS, SideOutlet, side_outlet
from hydro.quantities.arrays import GRAVITY, Number, greater, lesser, where
from hydro.quantities.bisection import halved

VENTED_FLOW = 600.0 / 3.6e6
"""Flow that a vent of the bore `VENT` serves, m3/s."""
STILL = 1e-9
"""Flow below which a vent has nothing to do, m3/s."""
MOUTH_SLOPE = 1e-3
"""Rise of the head at the mouth with the flow, s/m2 (1.4 um at 5000 L/h): keeps the slope of a law from vanishing."""
LEG = 0.03
"""K of the leg for every bore of its length: friction of a short wet run, from memory."""

VENT = Default("vent bore for 600 L/h", 0.0030, 0.0035, 0.0050, "length", "area grows with the flow; from memory, no source")
OPEN_VENT = Default("open vent", 0.015, 0.020, 0.025, "length",
                    "bore from which a vent is not taken to plug; common practice, no source")


@dataclass(frozen=True, slots=True, kw_only=True)
class DownTurned(SideOutlet):
    """A hole with a mouth below it (m above the datum) and a vent (bore in m, 0 without). Make it with `DownTurned.below`."""

    mouth: Number
    quadratic: Number
    vent: Number = 0.0
    serving: Number = VENT.middle
    sure: Number = OPEN_VENT.middle

    @staticmethod
    def below(hole: SideOutlet, mouth: Number, opening: Number, loss: Number, vent: Number = 0.0,
              serving: Number = VENT.middle, sure: Number = OPEN_VENT.middle) -> DownTurned:
        """Prepare an inlet: K = `loss` on the `opening` (m) at the mouth; a mouth above the invert raises the crest to itself."""
        area = math.pi / 4.0 * opening * opening
        own = {field.name: getattr(hole, field.name) for field in fields(hole)}
        return DownTurned(**{**own, "crest": greater(hole.crest, mouth)}, mouth=mouth,
                          quadratic=loss / (2.0 * GRAVITY * area * area), vent=vent, serving=serving, sure=sure)

    def fouled(self, open_share: Number) -> Self:
        """Return the inlet with only a share of its openings left."""
        return replace(SideOutlet.fouled(self, open_share), quadratic=self.quadratic * open_share ** -2.0)

    def needed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the crest needed to pass q >= 0 with air above the invert (m) and its slope (s/m2)."""
        head, slope = SideOutlet.needed(self, q)
        return head + self.quadratic * q * q, slope + 2.0 * self.quadratic * q

    def flow_at(self, head: Number) -> Number:
        """Return the flow at a head over the crest, m3/s: by halving, to a millionth of what the hole alone would take."""
        return halved(0.0 * head, SideOutlet.flow_at(self, head), lambda q: self.needed(q)[0] < head, 20)[0]

    def fed(self, q: Number) -> tuple[Number, Number]:
        """Return the head at which q >= 0 reaches a full line (m, below 0), the mouth just wet, and its slope."""
        return self.mouth - self.crest + MOUTH_SLOPE * q, MOUTH_SLOPE + 0.0 * q

    def air_margin(self, head: Number, q: Number, primes_at: Number) -> Number:
        """Return how surely air gets in at a head (m): by the vent (share of what it has to pass), or at a dry mouth (bores)."""
        return greater((self.mouth - self.crest - head) / self.rim, self.vent_margin(q))

    def vent_margin(self, q: Number) -> Number:
        """Return how much more air the vent passes than q needs, as a share; -1 without a vent."""
        return self.vented(q) - 1.0

    def vented(self, q: Number) -> Number:
        """Return the vent's area over the one that q needs."""
        ratio = self.vent / self.serving
        return ratio * ratio * VENTED_FLOW / greater(q, STILL + 0.0 * q)

    def air_out(self, q: Number) -> Number:
        """Return 1 where the vent lets out the air that q displaces, else 0: the mouth is under water."""
        serves = self.vented(q) >= 1.0
        return where(serves, 1.0 + 0.0 * self.vent, 0.0 * self.vent)

    def air_head(self, q: Number, breaks_at: Number, breaks_by: Number) -> Number:
        """Return the head at which a full line draws air, m (below 0): the mouth comes out of the water."""
        return self.mouth - self.crest

    def stops_at(self, vented_counts: bool, q: Number) -> Number:
        """Return the level down to which a full line draws the tank, m: the crest if the vent serves q and is counted on.

        Where `vented_counts` is false only a vent that is too wide to plug counts.
        """
        serves = self.vented(q) >= 1.0
        counts = serves if vented_counts else serves & (self.vent >= self.sure)
        return where(counts, self.crest, lesser(self.mouth, self.crest))

    def faults(self) -> dict[str, Self]:
        """Return what may become of strainer and vent; a vent too wide to plug stays open."""
        plugs = 0.0 < float(self.vent) < float(self.sure)
        return {**SideOutlet.faults(self), **({"vent plugged": replace(self, vent=0.0 * self.vent)} if plugs else {})}


def _down_turned(reader: Reader) -> DownTurned:
    turn = 30.0 * crane_ft(reader.number("bore")) * reader.default(FITTINGS)
    lip, mouth = reader.height("lip"), reader.height("mouth")
    opening = reader.number("opening") if reader.has("opening") else reader.number("bore")
    leg = lip - mouth
    loss = reader.default(ENTRANCE) + turn + LEG * greater(leg, 0.0 * leg) / opening
    hole = side_outlet(reader, loss)
    vent = reader.number("vent") if reader.has("vent") else 0.0 * lip
    return DownTurned.below(hole, mouth, opening, loss, vent, reader.default(VENT), reader.default(OPEN_VENT))


register(Kind("elbow down", "inlet", _down_turned,
              (*FIELDS, Field("mouth", "height", required=True), Field("opening", "length", low=0.005, high=0.6),
               Field("vent", "length", low=0.0005, high=0.3)), ("bore",),
              (*DEFAULTS, FITTINGS, VENT, OPEN_VENT), also=("down-turned elbow", "dropper"),
              summary="elbow on a bulkhead, turned down; its lip is the bulkhead's lowest point, 'vent' its air hole"))
