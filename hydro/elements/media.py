"""A mat or block of foam as the wall between two chambers: water through it, and over its top when it clogs.

    through   drop/d0 = l s + (1 - l) s^2,   s = q / (q0 (1 - c) y/Y)          Darcy and Forchheimer
    over      the edge of `hydro.elements.edge` at the mat's top

q0 is the flow (m3/s) at which the clean mat, wetted to its top, shows the drop d0 (m); l is the linear share of that drop, c
the clogged share, y the wetted height on the higher side and Y the mat's height, m. A mat's known figure is about 10 mm at
4000 L/h for a coarse one (common practice, no source); it depends on thickness, age and width: measure it. Range of validity:
drops up to some ten times d0.

    >>> from hydro.elements.media import Mat
    >>> mat = Mat.of("mat", floor=0.0, top=0.30, width=0.4, flow=4000 / 3.6e6, drop=0.01, linear=0.5, clogged=0.0)
    >>> f"{3.6e6 * mat.flow(0.30, 0.29)[0]:.0f} L/h"
    '3994 L/h'
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from hydro.elements.edge import LEAK, PLATE, over_edge, passage_residual, width_of
from hydro.elements.registry import Default, Field, Kind, Reader, register
from hydro.quantities.arrays import GRAVITY, Number, smooth_max, soft_positive

TOUCH = 1e-3

FIGURE = Default("mat flow at 10 mm drop", 2000.0 / 3.6e6, 4000.0 / 3.6e6, 6000.0 / 3.6e6, "flow",
                 "coarse mat, clean; common practice, no source: measure it", divides=True)
LINEAR = Default("mat linear share", 0.2, 0.5, 0.8, "number", "from memory, no source")
CLOGGED = Default("mat clogged share", 0.0, 0.0, 0.5, "share", "clean when set up; half clogged before cleaning, no source")
GRADES = {"coarse": 1.0, "medium": 0.5, "fine": 0.25}


@dataclass(frozen=True, slots=True)
class Mat:
    """A porous wall with its top edge. `conductance` is q0 per metre of wetted height."""

    name: str
    floor: Number
    top: Number
    over: Number
    conductance: Number
    drop: Number
    linear: Number
    scale: Number

    @staticmethod
    def of(name: str, floor: Number, top: Number, width: Number, flow: Number, drop: Number, linear: Number,
           clogged: Number, edge: Number = 0.62) -> Mat:
        """Prepare a mat: heights above the datum, width and drop in m, flow in m3/s, shares 0 .. 1."""
        return Mat(name, floor, top, edge * width * (2.0 / 3.0) * (2.0 * GRAVITY) ** 0.5,
                   flow * (1.0 - clogged) / (top - floor), drop, linear, scale=drop / flow)

    @property
    def holds(self) -> float:
        """Level that it holds back when all flow has stopped, m: none, it lets water through."""
        return -math.inf

    def fouled(self, share: float) -> Mat:
        """Return the mat with only a share of its openings left."""
        return replace(self, conductance=self.conductance * share)

    def faults(self) -> dict[str, dict[str, Any]]:
        """Return the single faults: words -> changed parameters."""
        return {"clogged": {"conductance": 0.02 * self.conductance}}

    def limits(self, q: float, up: float, down: float) -> list[str]:
        """Return in words what of a state lies outside the range in which the law is known."""
        if abs(up - down) > 10.0 * float(self.drop):
            return [f"{self.name}: drop more than ten times the one it was measured at"]
        return []

    def flow(self, up: Number, down: Number) -> tuple[Number, Number, Number]:
        """Return flow (m3/s) and its slopes to both levels (m2/s)."""
        level, by_up, by_down = smooth_max(up, down, TOUCH)
        capped, below, _ = smooth_max(-level, -self.top + 0.0 * level, TOUCH)
        depth, wet = soft_positive(-capped - self.floor, TOUCH)
        d = (up - down) / self.drop
        root = (self.linear * self.linear + 4.0 * (1.0 - self.linear) * abs(d)) ** 0.5
        s = 2.0 * d / (self.linear + root)
        s_slope = 1.0 / (root * self.drop)
        by_depth = self.conductance * s * wet * below
        by_difference = self.conductance * depth * s_slope
        over, over_up, over_down = over_edge(self.over, self.top, up, down)
        return (self.conductance * depth * s + over + LEAK * (up - down),
                by_depth * by_up + by_difference + over_up + LEAK,
                by_depth * by_down - by_difference + over_down - LEAK)

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r = (flow(up, down) - q) in metres: the mat's own drop for its own flow."""
        return passage_residual(self.flow, self.scale, q, up, down)


def _mat(reader: Reader) -> Callable[..., Mat]:
    def at(across: Any, sill: Any, rim: Any) -> Mat:
        flow = (reader.number("flow") if reader.has("flow")
                else reader.default(FIGURE) * GRADES[reader.word("grade", "coarse")])
        drop = reader.number("drop") if reader.has("drop") else 0.01
        clogged = reader.number("clogged") if reader.has("clogged") else reader.default(CLOGGED)
        return Mat.of(reader.item.label, sill, reader.height("top"), width_of(reader, across), flow, drop,
                      reader.default(LINEAR), clogged, reader.default(PLATE))
    return at


register(Kind("mat", "barrier", _mat,
              (Field("grade", "word", choices=tuple(GRADES)), Field("top", "height", required=True),
               Field("width", "length", low=0.01, high=10.0), Field("flow", "flow", low=1e-6, high=1.0),
               Field("drop", "length", low=1e-4, high=1.0), Field("clogged", "share", low=0.0, high=0.98)),
              ("grade",), (FIGURE, LINEAR, CLOGGED, PLATE), summary="a porous wall with its top edge"))
