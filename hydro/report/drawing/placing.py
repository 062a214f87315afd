"""Label boxes in a column: each as near to what it names as it can be, none over another, always in the order of the heights.

    least sum of (place - wanted)^2    with    place[k+1] - place[k] >= half of both boxes + gap

With the boxes' own room taken off, that is a regression on numbers that do not fall, solved by pooling neighbours that would.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise


def placed(wanted: Sequence[float], heights: Sequence[float], low: float, high: float, gap: float) -> list[float]:
    """Return the centres of boxes, in the order given, for wanted centres; all between `low` and `high` (mm).

    Boxes keep the order of their wanted centres, equal ones the order given. ValueError where they need more room.

    >>> placed([10.0, 11.0, 40.0], [4.0, 4.0, 4.0], 0.0, 50.0, 1.0)
    [8.0, 13.0, 40.0]
    """
    if not wanted:
        return []
    order = sorted(range(len(wanted)), key=lambda k: (wanted[k], k))
    sizes = [heights[k] for k in order]
    before = [0.0]
    for one, other in pairwise(sizes):
        before.append(before[-1] + (one + other) / 2.0 + gap)
    least, most = low + sizes[0] / 2.0, high - sizes[-1] / 2.0 - before[-1]
    if most < least - 1e-9:
        raise ValueError(f"labels need {least - most:.1f} mm more than the {high - low:.1f} mm there are")
    pools: list[tuple[float, int]] = []
    for k, offset in zip(order, before, strict=True):
        total, count = wanted[k] - offset, 1
        while pools and pools[-1][0] / pools[-1][1] > total / count:
            total, count = total + pools[-1][0], count + pools[-1][1]
            pools.pop()
        pools.append((total, count))
    free = [min(max(total / count, least), most) for total, count in pools for _ in range(count)]
    centres = [0.0] * len(wanted)
    for k, place, offset in zip(order, free, before, strict=True):
        centres[k] = place + offset
    return centres


def room_for(heights: Sequence[float], gap: float) -> float:
    """Return the room that boxes need one below the other, mm."""
    return sum(heights) + gap * max(len(heights) - 1, 0)
