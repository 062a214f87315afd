"""Where vessels stand across the paper. Widths mean nothing: columns of one width, vessels that overlap in height side by side.

A vessel takes the first column in which nothing stands at its height, and then all free columns to its right. A box stands
inside its tank, at the left.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from hydro.report.drawing.scene import DrawnVessel, Scene

GAP = 4.0
"""Between two columns, mm."""
BOX_SHARE = 0.26
"""Width of a box as a share of its tank's."""


@dataclass(frozen=True, slots=True)
class Span:
    """From where to where across the paper, mm."""

    left: float
    right: float

    def at(self, share: float) -> float:
        """Return a place by its share of the width."""
        return self.left + share * (self.right - self.left)

    def part(self, shares: tuple[float, ...], number: int) -> Span:
        """Return the span of one of several parts side by side."""
        return Span(self.at(sum(shares[:number])), self.at(sum(shares[:number + 1])))


def spans(scene: Scene, room: Span) -> Mapping[str, Span]:
    """Return where each vessel stands across the paper."""
    standing = [vessel for vessel in scene.vessels if not vessel.inside]
    columns: list[list[DrawnVessel]] = []
    first: dict[str, int] = {}
    for vessel in standing:
        free = next((n for n, column in enumerate(columns) if not _meets(vessel, column)), len(columns))
        if free == len(columns):
            columns.append([])
        columns[free].append(vessel)
        first[vessel.key] = free
    width = (room.right - room.left - GAP * (len(columns) - 1)) / max(len(columns), 1)
    found: dict[str, Span] = {}
    for vessel in standing:
        last = first[vessel.key]
        while last + 1 < len(columns) and not _meets(vessel, columns[last + 1]):
            last += 1
            columns[last].append(vessel)
        found[vessel.key] = Span(room.left + first[vessel.key] * (width + GAP), room.left + last * (width + GAP) + width)
    for tank in standing:
        boxes = [vessel for vessel in scene.vessels if vessel.inside == tank.key]
        share = min(BOX_SHARE, 0.6 / max(len(boxes), 1))
        for number, box in enumerate(boxes):
            outer = found[tank.key]
            found[box.key] = Span(outer.at(share * number), outer.at(share * (number + 0.94)))
    return found


def _meets(vessel: DrawnVessel, column: list[DrawnVessel]) -> bool:
    return any(vessel.bottom < other.rim - 1e-9 and other.bottom < vessel.rim - 1e-9 for other in column)
