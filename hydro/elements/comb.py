"""A toothed overflow edge: the tank spills through the gaps between its teeth, and over their tops where nothing closes them.

    gaps   q = (2/3) Cd b sqrt(2g) [H^1.5 - (H - h)^1.5]        the second term from H = h on: a slot of fixed height
    tops   q = (2/3) Ce l sqrt(2g) (H - h)^1.5                  open at the top; nothing under a lid

H head over the crest at the teeth's foot, h their height, b all clear openings together, l the whole length, m. The first
line is a weir until the tops drown and a large rectangular orifice beyond (strips of the height, integrated), without a
jump. Each term is the edge of `hydro.elements.edge`: drowned from the box it has Villemonte's factor and passes through equal
levels. Once the box stands over the tops a slot feels the difference D of the levels alone; against Cd b h sqrt(2 g D) that
gives -8 % at D = 2 h, +5 % at h/10, +13 % at h/20 (less than 2 mm of level on 40 mm teeth).

Cd: a notch in a wide wall 0.587 (Kindsvater and Carter, from memory; 0.589 by a library at h 0.2 m, b 1 m), slits 0.562 at high
Reynolds numbers (Aydin, Ger and Hincal 2002, from memory), a slot jet 0.611. Gaps of 6 to 10 mm at heads of 10 to 20 mm
lie outside all of them: 0.58 +- 15 %. Francis' 0.1 H a contraction holds for openings wider than 3 H: it would take a third off
such a gap, and is not used. Snails, weed and fish close gaps: `open` is the share of them left. Below 5 mm there is no law.

Without a word of what is on top, the teeth count as closed: that carries less. A comb described by its length has as many gaps
as fit, l gap/(gap + tooth); count them where you can ('gaps').

    >>> from hydro.elements.comb import Comb
    >>> comb = Comb.of("comb", crest=0.0, clear=0.36, height=0.04, coefficient=0.58)
    >>> f"{3.6e6 * comb.flow(0.020, -0.1)[0]:.0f} L/h"
    '6277 L/h'
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from hydro.elements.edge import EDGE, LEAK, SOFT, over_edge, passage_residual, thin_water
from hydro.elements.registry import Default, Field, Kind, Reader, register
from hydro.errors import Complaint, InputError
from hydro.quantities.arrays import GRAVITY, Number, lesser, smooth_max, soft_positive

GAP = Default("comb coefficient", 0.49, 0.58, 0.67, "number",
              "notches 0.587 (Kindsvater and Carter), slits 0.562 (Aydin), both from memory; +-15 %: gaps and heads lie below "
              "the published ranges", divides=True)
OPEN = Default("comb open share", 0.8, 1.0, 1.0, "share", "clean when set up; a fifth grown over before cleaning, no source",
               divides=True)


@dataclass(frozen=True, slots=True)
class Comb:
    """Teeth on a crest. Make it with `Comb.of`; strengths are (2/3) Cd sqrt(2g) times a length, `open` the share of gaps left."""

    name: str
    crest: Number
    tops: Number
    gaps: Number
    beyond: Number
    scale: Number
    open: Number = 1.0

    @staticmethod
    def of(name: str, crest: Number, clear: Number, height: Number, coefficient: Number, length: Number = 0.0,
           edge: Number = 0.60, open_share: Number = 1.0) -> Comb:
        """Prepare a comb: crest above the datum, all clear openings together and the teeth's height in m.

        `length` is the whole edge where the teeth are open at the top, 0 under a lid; `edge` its coefficient.
        """
        strength = (2.0 / 3.0) * (2.0 * GRAVITY) ** 0.5
        gaps = strength * coefficient * clear
        return Comb(name, crest, crest + height, gaps, strength * edge * length, 0.02 / (gaps * 0.02 ** 1.5), open_share)

    @property
    def holds(self) -> Number:
        """Level that it holds back when all flow has stopped, m: the crest."""
        return self.crest

    def fouled(self, share: float) -> Comb:
        """Return the comb with only a share of its openings left."""
        return replace(self, open=self.open * share)

    def slots(self, up: Number, down: Number) -> tuple[Number, Number, Number]:
        """Return the flow through clean gaps (m3/s) and its slopes to both levels (m2/s)."""
        # Both levels are lowered until the lower one is at the tops: deeper, a slot feels their difference alone.
        lower, by_first, by_second = smooth_max(-up, -down, SOFT)
        deep, rise = soft_positive(-lower - self.tops, SOFT)
        foot, foot_up, foot_down = over_edge(self.gaps, self.crest, up - deep, down - deep)
        top, top_up, top_down = over_edge(self.gaps, self.tops, up - deep, down - deep)
        by_up, by_down = foot_up - top_up, foot_down - top_down
        sunk_up, sunk_down = rise * by_first, rise * by_second
        return foot - top, (1.0 - sunk_up) * by_up - sunk_up * by_down, (1.0 - sunk_down) * by_down - sunk_down * by_up

    def flow(self, up: Number, down: Number) -> tuple[Number, Number, Number]:
        """Return flow (m3/s) from the level `up` to `down` and its slopes to both (m2/s)."""
        q, by_up, by_down = self.slots(up, down)
        over, over_up, over_down = over_edge(self.beyond, self.tops, up, down)
        rest, _, drowned = smooth_max(self.crest, down, SOFT)
        return (self.open * q + over + LEAK * (up - rest), self.open * by_up + over_up + LEAK,
                self.open * by_down + over_down - LEAK * drowned)

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r = (flow(up, down) - q) in metres: 20 mm for the flow that 20 mm over the clean crest pass."""
        return passage_residual(self.flow, self.scale, q, up, down)

    def faults(self) -> dict[str, dict[str, Any]]:
        """Return the single faults: words -> changed parameters."""
        return {"comb half blocked": {"open": 0.5 * self.open}, "comb blocked": {"open": 0.0 * self.open}}

    def limits(self, q: float, up: float, down: float) -> list[str]:
        """Return in words what of a state lies outside the range in which the laws are known."""
        return thin_water(self.name, q, max(up, down) - float(self.crest))


def _lengths(reader: Reader, across: Any) -> tuple[Any, Any]:
    """Return the clear openings together and the whole length, m."""
    gap, tooth = reader.number("gap"), reader.number("tooth")
    if reader.has("gaps"):
        count = reader.number("gaps")
        length = reader.number("length") if reader.has("length") else count * (gap + tooth)
        return lesser(count * gap, length), length
    length = reader.number("length") if reader.has("length") else across
    if length is None:
        raise InputError([Complaint("", 0, reader.item.label, "its length is not known",
                                    "'length: 60 cm', or 'gaps: 40', the number of its openings")])
    return length * gap / (gap + tooth), length


def _comb(reader: Reader) -> Callable[..., Comb]:
    def at(across: Any, sill: Any, rim: Any) -> Comb:
        clear, length = _lengths(reader, across)
        edge, crest = reader.default(EDGE), reader.height("at")
        share = reader.number("open") if reader.has("open") else reader.default(OPEN)
        tops = length if reader.word("top", "closed") == "open" else 0.0
        return Comb.of(reader.item.label, crest, clear, reader.number("height"), reader.default(GAP), tops, edge, share)
    return at


register(Kind("comb", "edge", _comb,
              (Field("length", "length", low=0.02, high=10.0), Field("gap", "length", required=True, low=0.001, high=0.1),
               Field("tooth", "length", required=True, low=0.0005, high=0.1),
               Field("height", "length", required=True, low=0.005, high=0.3), Field("at", "height", required=True),
               Field("gaps", "number", low=1.0, high=5000.0), Field("top", "word", choices=("closed", "open")),
               Field("open", "share", low=0.01, high=1.0)),
              ("length", "gap", "tooth", "height"), (GAP, OPEN, EDGE), also=("toothed edge",),
              summary="a toothed edge, '60 cm gap 8 mm tooth 5 mm height 40 mm'; 'at' is the crest at the teeth's foot, 'gaps' "
                      "the number of openings where they are counted"))
