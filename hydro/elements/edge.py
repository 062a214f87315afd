"""Plates in the sump: water over the top edge, water through a slot under it.

    over    q = (2/3) Cd sqrt(2g) b h1^1.5 [1 - (h2/h1)^1.5]^0.385           Poleni; drowned: Villemonte 1947
    under   q = Cd b a sign(D) sqrt(2g |D|),  D = max(up, a/2) - max(down, a/2)   heights over the slot's sill

h1, h2 heads over the edge on the higher and the lower side in m, b width, a gap. Villemonte's bracket falls to nothing with a
vertical tangent where the levels meet; from h2/h1 = 0.995 on it is carried on by A t + B t^3, t = 1 - h2/h1, which meets it in
value and slope and is odd: the law passes through equal levels, and on to reversed flow, without a jump. Below 1 % submergence
the bracket is 1 to three digits.

Cd of a thin plate is 0.602 + 0.083 h/p (ISO 1438, Rehbock; h > 0.03 m). Heads here are 10 to 30 mm, below every published
range, and the plate is thick: one stated band, 0.62 +- 15 %. Below 5 mm there is no law.
A tiny linear leak of 1e-7 m2/s keeps a dry plate solvable: a chamber that gets no water stands at its plate's crest, at the
level behind it where there is a slot; 10 mm pass 4 mL/h.

The edge over which a tank spills into its overflow box is the same law with its own band. It is a thin sheet (0.62) or the
thick edge of a pane, which works as a broad crest: 1.705 b h^1.5 for critical flow, derived, is Cd 0.577; 1.66 (FAO, thick
edges) is 0.562. Contraction at its ends takes 0.1 h each off the length (Francis): 1 % on half a metre, inside the band.

    >>> from hydro.elements.edge import Plate
    >>> plate = Plate.of(name="plate", crest=0.25, width=0.5, coefficient=0.62)
    >>> f"{3.6e6 * plate.flow(0.2633, 0.20)[0]:.0f} L/h"
    '5054 L/h'
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from hydro.elements.registry import Default, Field, Kind, Reader, register
from hydro.quantities.arrays import GRAVITY, Number, smooth_max, soft_positive, where

LEAK = 1e-7
SOFT = 1e-4
"""Width over which a head over an edge comes up from nothing, m."""
JOIN = 0.995
REST = 1e-5
"""Level difference over which the square root of a slot is rounded, m."""

PLATE = Default("plate weir coefficient", 0.53, 0.62, 0.71, "number",
                "thin plate 0.62 (ISO 1438, Francis 1.84 in SI); +-15 %: heads lie below the published ranges", divides=True)
SLOT = Default("slot coefficient", 0.55, 0.61, 0.70, "number", "sharp slot pi/(pi + 2) = 0.611, from memory", divides=True)
EDGE = Default("overflow edge coefficient", 0.51, 0.60, 0.69, "number",
               "between the thick edge of a pane 0.56 to 0.58 and a thin plate 0.62 (Francis); +-15 %: heads lie below the "
               "published ranges", divides=True)
NO_LAW, PUBLISHED = 5e-3, 0.02
"""Heads over an edge, m: below the first surface tension rules, above the second edges are published (Ackers)."""

_AT_JOIN = (1.0 - JOIN ** 1.5) ** 0.385
_SLOPE = 0.385 * 1.5 * JOIN ** 0.5 * (1.0 - JOIN ** 1.5) ** -0.615
_T = 1.0 - JOIN
_B = (_SLOPE * _T - _AT_JOIN) / (2.0 * _T ** 3)
_A = _AT_JOIN / _T - _B * _T * _T


def submergence(ratio: Number) -> tuple[Number, Number]:
    """Return Villemonte's factor Q/Q_free and its slope to h2/h1, for a ratio 0 .. 1 on a straight edge (n = 1.5)."""
    low = where(ratio < JOIN, ratio, JOIN + 0.0 * ratio)
    root = low ** 0.5
    bracket = 1.0 - low * root
    factor = bracket ** 0.385
    t = 1.0 - ratio
    near = ratio >= JOIN
    return (where(near, t * (_A + _B * t * t), factor),
            where(near, -(_A + 3.0 * _B * t * t), -0.5775 * root * factor / bracket))


def over_edge(strength: Number, crest: Number, up: Number, down: Number) -> tuple[Number, Number, Number]:
    """Return flow over a straight edge, m3/s, and its slopes to both levels; `strength` is (2/3) Cd sqrt(2g) b."""
    h_up, rise_up = soft_positive(up - crest, SOFT)
    h_down, rise_down = soft_positive(down - crest, SOFT)
    forward = h_up >= h_down
    high, low = where(forward, h_up, h_down), where(forward, h_down, h_up)
    ratio = low / (high + 1e-15)
    factor, slope = submergence(ratio)
    root = high ** 0.5
    sign = where(forward, 1.0 + 0.0 * high, -1.0 + 0.0 * high)
    q = sign * strength * high * root * factor
    by_high = strength * root * (1.5 * factor - slope * ratio)
    by_low = strength * root * slope
    by_up = where(forward, by_high, -by_low) * rise_up
    by_down = where(forward, by_low, -by_high) * rise_down
    return q, by_up, by_down


def through_slot(strength: Number, middle: Number, up: Number, down: Number) -> tuple[Number, Number, Number]:
    """Return flow through a drowned slot, m3/s, and its slopes; `strength` is Cd b a sqrt(2g), `middle` its centre."""
    high, by_up, _ = smooth_max(up, middle + 0.0 * up, SOFT)
    low, by_down, _ = smooth_max(down, middle + 0.0 * down, SOFT)
    d = high - low
    square = d * d + REST * REST
    root = square ** -0.25
    slope = strength * root * (1.0 - 0.5 * d * d / square)
    return strength * d * root, slope * by_up, -slope * by_down


@dataclass(frozen=True, slots=True)
class Plate:
    """What a chamber ends in: an edge on top, and a slot under it (strength 0 where there is none)."""

    name: str
    crest: Number
    over: Number
    under: Number
    middle: Number
    scale: Number

    @staticmethod
    def of(name: str, crest: Number, width: Number, coefficient: Number, gap: Number = 0.0, sill: Number = 0.0,
           slot_coefficient: Number = 0.61) -> Plate:
        """Prepare a plate: crest and sill above the datum, width and gap in m. A gap of 0 is a plate down to the floor."""
        over = coefficient * width * (2.0 / 3.0) * (2.0 * GRAVITY) ** 0.5
        return Plate(name, crest, over, slot_coefficient * width * gap * (2.0 * GRAVITY) ** 0.5, sill + 0.5 * gap,
                     scale=0.02 / (over * 0.02 ** 1.5))

    @property
    def holds(self) -> Number:
        """Level that it holds back when all flow has stopped, m: its crest, nothing (-inf) with a slot under it."""
        return where(self.under > 0.0, -math.inf + 0.0 * self.crest, self.crest)

    def flow(self, up: Number, down: Number) -> tuple[Number, Number, Number]:
        """Return flow (m3/s) from the level `up` to `down` and its slopes to both (m2/s)."""
        q, by_up, by_down = over_edge(self.over, self.crest, up, down)
        under, under_up, under_down = through_slot(self.under, self.middle, up, down)
        rest, _, drowned = smooth_max(self.crest, down, SOFT)
        slotted = self.under > 0.0
        rest, drowned = where(slotted, down, rest), where(slotted, 1.0 + 0.0 * down, drowned)
        return (q + under + LEAK * (up - rest), by_up + under_up + LEAK, by_down + under_down - LEAK * drowned)

    def faults(self) -> dict[str, dict[str, float]]:
        """Return the single faults: words -> changed parameters."""
        return {"slot blocked": {"under": 0.0}} if float(self.under) > 0.0 else {}

    def limits(self, q: float, up: float, down: float) -> list[str]:
        """Return in words what of a state lies outside the range in which the laws are known."""
        head = max(up, down) - float(self.crest)
        if q > 1e-6 and float(self.under) == 0.0 and 0.0 < head < 5e-3:
            return [f"{self.name}: less than 5 mm of water over the edge, where surface tension rules and no law holds"]
        return []

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r = (flow(up, down) - q) in metres: 20 mm for the flow that 20 mm over the edge pass."""
        return passage_residual(self.flow, self.scale, q, up, down)


@dataclass(frozen=True, slots=True)
class OverflowEdge(Plate):
    """A straight edge over which a tank spills into its overflow box: a plate without a slot, stricter about thin water."""

    @staticmethod
    def over_length(name: str, crest: Number, length: Number, coefficient: Number) -> OverflowEdge:
        """Prepare an edge: its height above the datum and its length in m."""
        plate = Plate.of(name, crest, length, coefficient)
        return OverflowEdge(name, crest, plate.over, plate.under, plate.middle, plate.scale)

    def limits(self, q: float, up: float, down: float) -> list[str]:
        """Return in words what of a state lies outside the range in which the laws are known."""
        return thin_water(self.name, q, max(up, down) - float(self.crest))


def thin_water(name: str, q: float, head: float) -> list[str]:
    """Return in words how far a head over an edge (m) lies below what is published; nothing where no water passes."""
    if abs(q) < 1e-6 or not 0.0 < head < PUBLISHED:
        return []
    if head < NO_LAW:
        return [f"{name}: less than 5 mm of water over the edge, where surface tension rules and no law holds"]
    return [f"{name}: less than 20 mm of water over the edge, below the published range of edges: its flow is known to some 15 %"]


def passage_residual(flow: Callable[[Number, Number], tuple[Number, Number, Number]], scale: Number, q: Number,
                     up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
    """Turn the law of a passage, flow(up, down), into a residual in metres."""
    value, by_up, by_down = flow(up, down)
    return scale * (value - q), -scale + 0.0 * value, scale * by_up, scale * by_down


def width_of(reader: Reader, across: Any) -> Any:
    """Return the written width of a plate, else the sump's width."""
    return reader.number("width") if reader.has("width") else across


def _plate(reader: Reader) -> Callable[..., Plate]:
    def at(across: Any, sill: Any, rim: Any) -> Plate:
        return Plate.of(reader.item.label, reader.height("top"), width_of(reader, across), reader.default(PLATE))
    return at


def _slot(reader: Reader) -> Callable[..., Plate]:
    def at(across: Any, sill: Any, rim: Any) -> Plate:
        top = reader.height("top") if reader.has("top") else rim
        return Plate.of(reader.item.label, top, width_of(reader, across), reader.default(PLATE), reader.number("gap"),
                        sill, reader.default(SLOT))
    return at


def _edge(reader: Reader) -> Callable[..., OverflowEdge]:
    def at(across: Any, sill: Any, rim: Any) -> OverflowEdge:
        return OverflowEdge.over_length(reader.item.label, reader.height("at"), reader.number("length"), reader.default(EDGE))
    return at


_WIDTH = Field("width", "length", low=0.01, high=10.0)
_TOP = Field("top", "height", required=True)
register(Kind("plate", "barrier", _plate, (_TOP, _WIDTH), ("top",), (PLATE,), also=("baffle",),
              summary="a wall the water goes over"))
register(Kind("slot", "barrier", _slot, (Field("gap", "length", required=True, low=0.001, high=1.0), _WIDTH,
                                         Field("top", "height")), ("gap",), (PLATE, SLOT),
              summary="a wall with a gap under it"))
register(Kind("edge", "edge", _edge, (Field("length", "length", required=True, low=0.01, high=10.0),
                                      Field("at", "height", required=True)), ("length",), (EDGE,), also=("overflow edge",),
              summary="a straight edge that the tank spills over into the box"))
