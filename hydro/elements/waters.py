"""Bodies of water: how much a tank or chamber holds at a level.

    stored(level) -> volume (m3), area of the water's surface (m2)

    box           V = A z
    taper         dV/dz = l(z) w(z) - (4 - pi) r^2, length l and width w straight in z, corners rounded by r
    bucket fill   a monotone curve through measured fills (V against z), area its slope

z is the height over the vessel's bottom. All three are pieces of cubics in z. Below the bottom and above the rim the area goes
on unchanged, so that a solution can say 'this would be over the rim'. A sloped tub taken as a box by its rim gives a quarter
too much volume: the taper and the bucket exist for it. A chamber takes its stretch of the sump's length; in a taper the two end
walls slope, plates between them stand upright. Gear and media displace their volume evenly from the bottom to their top. A box
that stands in a tank takes its plan out of the tank's surface from its floor on, over its rim too: there both are one water.

    >>> from hydro.elements.waters import Body
    >>> volume, area = Body.box("tank", bottom=0.9, area=1.6, height=0.65).stored(1.4)
    >>> f"{1000 * volume:.0f} L"
    '800 L'
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from hydro.elements.registry import KINDS, Field, Kind, Reader, register
from hydro.quantities import interpolation as curve
from hydro.quantities.arrays import Number, first, greater, lesser, piece, where
from hydro.quantities.interpolation import Row
from hydro.quantities.uncertain import Uncertain

ABOVE_ALL = 1e4
"""Height over a bottom that no water reaches, m."""
LEAST_SURFACE = 0.25
"""Least surface at the ends of a bucket table, as a share of the mean one between its last two fills (chosen here)."""


@dataclass(frozen=True, slots=True)
class Body:
    """A body of water. Row k of `rows` holds between knots k - 1 and k, both counted from `bottom`.

    `solids` are (m2, m above the bottom): what stands in it takes so much of the surface up to that height; one that begins
    higher than the bottom gives it back up to there.
    """

    name: str
    bottom: Number
    height: Number
    knots: tuple[Number, ...]
    rows: tuple[Row, ...]
    solids: tuple[tuple[Number, Number], ...] = ()

    @staticmethod
    def box(name: str, bottom: Number, area: Number, height: Number) -> Body:
        """Return a body with upright walls: area in m2, height in m."""
        return Body(name, bottom, height, (), ((0.0, 0.0, area, 0.0, 0.0),))

    def stored(self, level: Number) -> tuple[Number, Number]:
        """Return volume (m3) and surface (m2) at a level above the datum; below the bottom the volume is negative."""
        z = level - self.bottom
        if self.knots:
            volume, area = curve.evaluate(piece(self.knots, self.rows, z), z)
        else:
            area = self.rows[0][2]
            volume = area * z
        for share, reach in self.solids:
            volume = volume - share * lesser(z, reach)
            area = area - where(z < reach, share, 0.0 * share)
        return volume, area

    @property
    def rim(self) -> Number:
        """Height of the rim above the datum, m."""
        return self.bottom + self.height

    def displaced(self, volume: Number, top: Number) -> Body:
        """Return the body with `volume` (m3) of solids spread evenly from the bottom up to `top` (m above the datum)."""
        reach = top - self.bottom
        return replace(self, solids=(*self.solids, (volume / reach, reach)))

    def around(self, box: Body) -> Body:
        """Return the body without the room of another one that stands in it, of its mean plan from its floor on."""
        plan = box.stored(box.rim)[0] / box.height
        floor = greater(box.bottom - self.bottom, 0.0 * plan)
        return replace(self, solids=(*self.solids, (plan, ABOVE_ALL + 0.0 * plan), (-plan, floor)))

    def part(self, name: str, share: Number) -> Body:
        """Return a share of the body as a body of its own, the same at every height."""
        rows = tuple((x0, a * share, b * share, c * share, d * share) for x0, a, b, c, d in self.rows)
        return replace(self, name=name, rows=rows, solids=tuple((share * area, reach) for area, reach in self.solids))


@dataclass(frozen=True, slots=True)
class Plan:
    """A vessel before it is cut into chambers: its length along the flow (None if unknown), width, and how to cut it."""

    length: Number | None
    width: Number | None
    height: Number
    whole: Callable[[str, Number], Body]
    stretch: Callable[[str, Number, Number, Number], Body]


def _closed(name: str, bottom: Number, height: Number, row: Row) -> Body:
    """Close a single piece at bottom and rim with areas that go on unchanged."""
    x0, _, area, _, _ = row
    volume, rim_area = curve.evaluate(row, height)
    return Body(name, bottom, height, (0.0 * height, height),
                ((x0, 0.0, area, 0.0, 0.0), row, (height, volume, rim_area, 0.0, 0.0)))


def _inside(reader: Reader) -> Plan:
    length, width, height = (reader.number(name) for name in ("length", "width", "height"))
    return Plan(length, width, height,
                lambda name, bottom: Body.box(name, bottom, length * width, height),
                lambda name, bottom, x0, x1: Body.box(name, bottom, (x1 - x0) * width, height))


def _taper(reader: Reader) -> Plan:
    names = ("rim_length", "rim_width", "bottom_length", "bottom_width", "height")
    length, width, low_length, low_width, height = (reader.number(name) for name in names)
    radius = reader.number("corners") if reader.has("corners") else 0.0

    def cut(name: str, bottom: Number, x0: Number, x1: Number) -> Body:
        ends = (1 if first(x0) <= 0.0 else 0) + (1 if first(x1) >= first(length) else 0)
        inset = (length - low_length) / 2.0
        l0, l1 = x1 - x0 - ends * inset, ends * inset / height
        w1 = (width - low_width) / height
        corners = ends * (2.0 - math.pi / 2.0) * radius * radius
        return _closed(name, bottom, height, (0.0 * height, 0.0, l0 * low_width - corners,
                                              (l0 * w1 + l1 * low_width) / 2.0, l1 * w1 / 3.0))
    return Plan(length, width, height, lambda name, bottom: cut(name, bottom, 0.0 * length, length), cut)


def _bucket(reader: Reader) -> Plan:
    table = reader.item.values["table"]
    if not isinstance(table, tuple):
        raise TypeError("'table' is not a table")
    heights: list[Number] = [0.0]
    volumes: list[Number] = [0.0]
    for row in table:
        volume, height = row if isinstance(row, tuple) else (None, None)
        if not isinstance(volume, Uncertain) or not isinstance(height, Uncertain):
            raise TypeError("a row of 'table' is not a volume and a height")
        volumes.append(reader.context.value(volume))
        heights.append(reader.context.value(height))
    ends = curve.slopes(heights, volumes)
    # A surface cannot vanish, but the end slopes of the curve may, where the fills narrow or widen strongly.
    ends[0] = greater(ends[0], LEAST_SURFACE * volumes[1] / heights[1])
    ends[-1] = greater(ends[-1], LEAST_SURFACE * (volumes[-1] - volumes[-2]) / (heights[-1] - heights[-2]))
    rows = curve.pieces(heights, volumes, ends)
    last, area = curve.evaluate(rows[-1], heights[-1])
    closed = ((0.0, 0.0, rows[0][2], 0.0, 0.0), *rows, (heights[-1], last, area, 0.0, 0.0))
    length = reader.number("length") if reader.has("length") else None
    width = reader.number("width") if reader.has("width") else None
    # A table ends at the last bucket poured in; the wall may go on above it.
    rim = reader.number("height") if reader.has("height") else heights[-1]

    def whole(name: str, bottom: Number) -> Body:
        return Body(name, bottom, rim, tuple(heights), closed)
    return Plan(length, width, rim, whole,
                lambda name, bottom, x0, x1: whole(name, bottom).part(name, (x1 - x0) / (1.0 if length is None else length)))


def read_plan(reader: Reader) -> Plan:
    """Return the plan of a described vessel."""
    plan = KINDS[reader.item.kind].make(reader)
    assert isinstance(plan, Plan)
    return plan


def _length(name: str, required: bool = True) -> Field:
    return Field(name, "length", required=required, low=0.02, high=30.0)


register(Kind("inside", "vessel", _inside, (_length("length"), _length("width"), _length("height")),
              ("length", "width", "height"), summary="a box by its inside: length x width x height"))
register(Kind("taper", "vessel", _taper,
              (*map(_length, ("rim_length", "rim_width", "bottom_length", "bottom_width", "height")),
               Field("corners", "length", low=0.0, high=2.0)), summary="a tub that narrows downward"))
register(Kind("bucket fill", "vessel", _bucket,
              (Field("table", "table", required=True), _length("length", False), _length("width", False),
               _length("height", False)), summary="a table of measured fills"))
