"""What size each part of a line is bought in, and what a joint between two parts needs: a reducer, an adaptor, a look in hand.

A line says its size where a pipe begins; elbows and valves go with the pipe before them, at the line's start with the one to
come. A bulkhead is known by its bore alone and passes no size on: the pipe that goes into it does. A fitting given by its bore
belongs to the pipe beside it where that bore lies in the band of the pipe's own; else nobody knows what fits it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from hydro.catalog import Size, adaptor, hoses, size_of
from hydro.description.build import Item
from hydro.elements.registry import KINDS
from hydro.quantities.uncertain import Uncertain

HOSES = ("hose", "ribbed hose")
BARS = "spray bar"
BULKHEAD = "bulkhead"
AS_WRITTEN = ("coupling", "adaptor")
NEAR = 2e-4
"""Bores this near to each other are one, m: no tape tells them apart."""
ADAPTOR, REDUCER, IN_HAND = "adaptor", "reducer", "to be matched in hand"


@dataclass(frozen=True, slots=True)
class BoughtPart:
    """A part of a line: its kind's word, what it is bought for (`size`, None where only a bore is known), and that bore."""

    item: Item
    kind: str
    size: Size | None
    bore: Uncertain | None

    @property
    def words(self) -> str:
        """The size in the words of its catalogue, '' where only a bore is known."""
        return "" if self.size is None else self.size.words

    @property
    def key(self) -> str:
        """What tells one size from another: its words, else its bore to a hundredth of a millimetre."""
        return self.words or ("" if self.bore is None else f"bore {self.bore.middle * 1e3:.2f}")


@dataclass(frozen=True, slots=True)
class Joint:
    """What a joint needs: `kind` is ADAPTOR, REDUCER or IN_HAND; `between` the two sides, `words` what to do."""

    kind: str
    between: tuple[str, str]
    words: str


def named_bore(item: Item) -> Uncertain | None:
    """Return the bore that an item names, None where it names none."""
    value = item.values.get("size")
    return value if isinstance(value, Uncertain) else None


def size_in(item: Item) -> Size | None:
    """Return the size of a catalogue that an item is written in; a hose is known by its bore."""
    bore = named_bore(item)
    if bore is None:
        return None
    if KINDS[item.kind].word in HOSES:
        nearest = min(hoses().values(), key=lambda hose: abs(hose.bore - bore.middle))
        return nearest if abs(nearest.bore - bore.middle) <= NEAR else None
    return size_of(bore)


def sized(items: Sequence[Item], before: BoughtPart | None = None) -> tuple[BoughtPart, ...]:
    """Return the parts of a line with what each is bought for; `before` is the part that the line continues.

    Marks of siphon breaks are left out; a loss by its coefficient is a part like others.
    """
    parts = [_own(item) for item in items if KINDS[item.kind].family == "part"]
    anchors = [part for part in parts if _anchors(part)]
    found: list[BoughtPart] = []
    last = before if before is not None else None
    for place, part in enumerate(parts):
        if part.kind == BULKHEAD:
            found.append(part)
            continue
        ahead = next((one for one in parts[place + 1:] if _anchors(one)), None)
        if part.bore is None:
            like = last or ahead or next(iter(anchors), None) or next((one for one in parts if one.bore is not None), None)
            part = part if like is None else BoughtPart(part.item, part.kind, like.size, like.bore)
        elif part.size is None:
            like = next((one for one in (last, ahead) if one is not None and _same(one, part.bore)), None)
            part = part if like is None else BoughtPart(part.item, part.kind, like.size, part.bore)
        found.append(part)
        last = part
    return tuple(found)


def _own(item: Item) -> BoughtPart:
    word = item.kind if item.kind in AS_WRITTEN else KINDS[item.kind].word
    return BoughtPart(item, word, size_in(item), named_bore(item))


def _anchors(part: BoughtPart) -> bool:
    """Whether a part says what its neighbours are bought for."""
    return part.bore is not None and part.kind != BULKHEAD


def _same(known: BoughtPart, bore: Uncertain) -> bool:
    if known.size is None or known.bore is None:
        return False
    band = known.size.bore_rough()
    return min(band.low, known.bore.low) - NEAR <= bore.middle <= max(band.high, known.bore.high) + NEAR


def meeting(one: BoughtPart, other: BoughtPart) -> Joint | None:
    """Return what a joint between two parts needs beyond ordinary fittings of one size, None for nothing."""
    between = one.key, other.key
    if one.key == other.key or not all(between):
        return None
    if one.size is None or other.size is None:
        return Joint(IN_HAND, between, "known by its bore alone: match the joint with both parts in hand")
    words = adaptor(one.size, other.size)
    if words is not None:
        return Joint(ADAPTOR, between, words)
    outsides = [getattr(size, "outside", size.bore) for size in (one.size, other.size)]
    return None if abs(outsides[0] - outsides[1]) <= NEAR else Joint(REDUCER, between, "a reducer of the same standard")


def joints(parts: Sequence[BoughtPart]) -> list[Joint]:
    """Return what the joints along a line need, bulkheads and losses by a coefficient left out."""
    solid = [part for part in parts if part.kind not in (BULKHEAD, "K")]
    return [joint for one, other in pairwise(solid) if (joint := meeting(one, other)) is not None]
