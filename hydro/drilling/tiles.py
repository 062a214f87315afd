"""What of a panel goes on a 1:1 template, and how it is cut into sheets of paper. Millimetres throughout.

Places on a panel: u from its left edge, v downward from its upper edge (a bottom: from its back edge). Each hole gets a window
with a margin round it; it reaches as far as the edge that heights are measured from, where that is near, else a line at a round
distance stands for it. Windows that meet become one. A window is cut into tiles that overlap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hydro.drilling.panels import DrilledHole, Panel

MARGIN, BEYOND, NEAR = 20.0, 8.0, 250.0
"""Room round a hole; room beyond an edge; how near an edge has to be to be drawn."""
ROUND = {"metric": 50.0, "inch": 50.8}
"""Lines that stand for an edge lie at multiples of this from it, so that they lie on a mark of the owner's tape."""
OVERLAP = 15.0


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle on a panel: left, top, right, bottom."""

    left: float
    top: float
    right: float
    bottom: float

    def joined(self, other: Rectangle) -> Rectangle:
        """Return the rectangle round both."""
        return Rectangle(min(self.left, other.left), min(self.top, other.top), max(self.right, other.right),
                   max(self.bottom, other.bottom))

    def meets(self, other: Rectangle) -> bool:
        """Whether the two share an area."""
        return (self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom)


@dataclass(frozen=True, slots=True)
class Window:
    """A part of a panel with its holes; `across` is the u of the upright reference line, `along` the v of the level one."""

    panel: Panel
    holes: tuple[DrilledHole, ...]
    box: Rectangle
    across: float
    along: float


@dataclass(frozen=True, slots=True)
class Tile:
    """A sheet of paper's share of a window; `column` and `row` from 0, of `columns` and `rows`."""

    window: Window
    box: Rectangle
    column: int
    row: int
    columns: int
    rows: int


def centre(hole: DrilledHole) -> tuple[float, float, float]:
    """Return u, v and the diameter of a hole, mm."""
    x, up, wide = hole.spot()
    return 1e3 * x, 1e3 * (hole.panel.height - up), 1e3 * wide


def windows(panel: Panel, holes: Sequence[DrilledHole], system: str = "metric") -> list[Window]:
    """Return the windows of a panel, from left to right."""
    step = ROUND["metric" if system == "metric" else "inch"]
    groups: list[tuple[tuple[DrilledHole, ...], Rectangle]] = [((hole,), _box(panel, hole, step)) for hole in holes]
    while True:
        pair = next(((k, other) for k in range(len(groups)) for other in range(k)
                     if groups[k][1].meets(groups[other][1])), None)
        if pair is None:
            break
        (more, box), (first, wider) = groups.pop(pair[0]), groups[pair[1]]
        groups[pair[1]] = ((*first, *more), wider.joined(box))
    return [Window(panel, mine, box, _across(mine, step), _along(panel, mine, step)) for mine, box in
            sorted(groups, key=lambda group: (group[1].left, group[1].top))]


def _across(holes: Sequence[DrilledHole], step: float) -> float:
    """Return the u of the upright reference line: the left edge, or a line at a round distance from it."""
    nearest = min(u - 0.5 * wide - MARGIN for u, _, wide in map(centre, holes))
    return 0.0 if nearest < NEAR else math.floor(nearest / step) * step


def _along(panel: Panel, holes: Sequence[DrilledHole], step: float) -> float:
    """Return the v of the level reference line: the upper edge (a bottom's front edge), or a line at a round distance from it."""
    if panel.level:
        high = 1e3 * panel.height
        nearest = min(high - v - 0.5 * wide - MARGIN for _, v, wide in map(centre, holes))
        return high if nearest < NEAR else high - math.floor(nearest / step) * step
    nearest = min(v - 0.5 * wide - MARGIN for _, v, wide in map(centre, holes))
    return 0.0 if nearest < NEAR else math.floor(nearest / step) * step


def _box(panel: Panel, hole: DrilledHole, step: float) -> Rectangle:
    u, v, wide = centre(hole)
    room = 0.5 * wide + MARGIN
    across, along = _across((hole,), step), _along(panel, (hole,), step)
    box = Rectangle(u - room, v - room, u + room, v + room)
    return box.joined(Rectangle(across - BEYOND, along - BEYOND, across + BEYOND, along + BEYOND))


def tiles(window: Window, wide: float, high: float) -> list[Tile]:
    """Return the tiles of a window for an area of paper, row by row; neighbours share `OVERLAP`."""
    box = window.box
    columns, rows = _count(box.right - box.left, wide), _count(box.bottom - box.top, high)
    made = []
    for row in range(rows):
        for column in range(columns):
            left, top = box.left + column * (wide - OVERLAP), box.top + row * (high - OVERLAP)
            made.append(Tile(window, Rectangle(left, top, left + wide, top + high), column, row, columns, rows))
    return made


def _count(length: float, room: float) -> int:
    return max(1, math.ceil((length - OVERLAP - 1e-9) / (room - OVERLAP)))
