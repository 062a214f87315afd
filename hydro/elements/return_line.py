"""The end of a return in the tank: nozzle, mouth, and the siphon-break hole.

nozzle        its own bore: the narrowing before it is entered by the line, the velocity head of the nozzle's bore is lost
mouth         running, the jet's centre counts; siphoning back, air comes in at the mouth's LOWEST point
hole          q = Cd a sqrt(2g D), D = head in the pipe at the hole - max(tank, hole); water goes out, never in

The head in the pipe at the hole is the static one: the line up to the hole pays for the velocity head, the line beyond it gets
it back. While the level in the pipe at the hole is below the hole, air is drawn in (said, not solved). After the pump has
stopped the hole lets in air once the tank has fallen to its lowest point; the air flow it admits is some 21 (d/D)^2 times the
water flow of the pipe (d hole, D pipe; from memory). It counts as working from d >= 0.3 D on ('siphon break ratio', from
memory); a smaller one may run on as froth, and verdicts then take it as plugged. Common 3 mm holes are far below that.

    >>> from hydro.elements.return_line import BreakHole
    >>> hole = BreakHole.of("hole", height=1.484, hole=0.008, coefficient=0.6)
    >>> f"{3.6e6 * (0.3 / hole.quadratic) ** 0.5:.0f} L/h"
    '263 L/h'
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydro.elements.fittings import SHUT, LocalLoss, squared
from hydro.elements.line import mouth
from hydro.elements.registry import Default, Field, Kind, Reader, register
from hydro.quantities.arrays import GRAVITY, Number, where

NOZZLE = Default("nozzle loss", 0.02, 0.05, 0.5, "number", "K of a shaped nozzle on its own bore, from memory, no source")
HOLE = Default("siphon break coefficient", 0.55, 0.61, 0.80, "number", "sharp hole 0.61; through a thick wall up to 0.8",
               divides=True)
RATIO = Default("siphon break ratio", 0.2, 0.24, 0.3, "number",
                "hole bore to pipe bore from which it breaks the siphon: 6 mm (1/4 in) in a 25 mm (1 in) pipe does; common "
                "practice, no source")


@dataclass(frozen=True, slots=True)
class BreakHole:
    """A siphon-break hole. `height` is its centre, m; from a junction in the line into the tank."""

    name: str
    height: Number
    hole: Number
    quadratic: Number
    plugged: Number = 0.0

    @staticmethod
    def of(name: str, height: Number, hole: Number, coefficient: Number) -> BreakHole:
        """Prepare a hole: height of its centre above the datum and its bore in m."""
        area = math.pi / 4.0 * hole * hole
        return BreakHole(name, height, hole, 1.0 / (2.0 * GRAVITY * (coefficient * area) ** 2.0))

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r = up - max(down, height) - c q |q|, with reversed flow shut off, and its slopes."""
        level, drowned = mouth(down, self.height)
        lost, rise = squared(self.quadratic, q)
        back = where(q < 0.0, q, 0.0 * q)
        bar = self.plugged * SHUT
        return (up - level - lost - SHUT * back - bar * q, -rise - where(q < 0.0, SHUT + 0.0 * q, 0.0 * q) - bar,
                1.0 + 0.0 * q, -drowned)

    def faults(self) -> dict[str, dict[str, float]]:
        """Return the single faults: words -> changed parameters."""
        return {"siphon break: plugged": {"plugged": 1.0}}


@dataclass(frozen=True, slots=True)
class Break:
    """A siphon break as described: height of its centre, its bore (None: not given), m, and the coefficient of its jet."""

    height: Number
    hole: Number | None
    coefficient: Number

    @property
    def stop(self) -> Number:
        """Level at which it lets air in: the hole's lowest point, or the height given where the bore is not."""
        return self.height if self.hole is None else self.height - self.hole / 2.0


def _break(reader: Reader) -> Break:
    return Break(reader.height("at"), reader.number("hole") if reader.has("hole") else None, reader.default(HOLE))


def _nozzle(reader: Reader) -> list[LocalLoss]:
    return [LocalLoss.of(reader.default(NOZZLE), reader.number("size"), reader.item.label)]


register(Kind("nozzle", "part", _nozzle, (Field("size", "size", required=True, low=0.003, high=0.3),), ("size",), (NOZZLE,),
              summary="end of a return with a bore of its own"))
register(Kind("siphon break", "break", _break, (Field("at", "height", required=True),
                                                Field("hole", "length", low=0.0005, high=0.05)), ("hole",), (HOLE, RATIO),
              summary="a hole that lets air into a return when the pump stops"))
