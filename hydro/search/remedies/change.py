"""One thing that may be done to a build, by so much: its marks from the least to the most, the build it makes, its words.

A change is asked for by the number of its mark. Marks are what a hand can set: a tape's millimetres or sixteenths of an inch,
five per cent of a valve's travel, sizes that are sold. So nothing has to be rounded after it was found, and 'one mark less' is
a question that can be asked.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from hydro.case.names.renaming import Rewriting as Exchange
from hydro.case.names.renaming import rewritten
from hydro.description.build import Build, Height
from hydro.quantities.uncertain import Uncertain

PEN, VALVE, ELBOW, SAW, HOLE, PIPE, DRAIN, PUMP, TUB = ("pen", "valve", "elbow", "saw", "hole", "pipe", "drain", "pump",
                                                          "tub")
KINDS = (PEN, VALVE, ELBOW, SAW, HOLE, PIPE, DRAIN, PUMP, TUB)
"""In the order of what they cost to do: a line drawn elsewhere, a valve or the pump's speed, an elbow turned, a pipe cut shorter
or a longer one put on, a hole drilled or a mouth moved, wider pipe, one drain more, another pump, a larger sump or other walls
in it."""
INCH, SIXTEENTH, MILLIMETRE = 0.0254, 0.0254 / 16.0, 1e-3


@dataclass(frozen=True, slots=True)
class Write:
    """A value to be written in a case file: its owner's words ('drain left'), the keys that lead to it, old text -> new text.

    `absent` is written where nothing stands there, not even in what it is the same as; '' where that cannot be. Without keys a
    whole entry called `absent` is put in front of its owner's: alike, but for a place in the glass and the lip, which is new.
    """

    owner: str
    path: tuple[str | int, ...]
    new: Callable[[str], str]
    absent: str = ""


@dataclass(frozen=True, slots=True)
class Changed:
    """A build with one change in it, the words for it in a system of units, and what to write in its file (None: by hand)."""

    build: Build
    said: Callable[[str], str]
    writes: tuple[Write, ...] | None


@dataclass(frozen=True, slots=True)
class Change:
    """A kind of change of one thing. `marks` in SI units or shares, from the smallest step away from what is there.

    `joint`: of several things alike at once, by as much each.
    """

    kind: str
    what: str
    marks: tuple[float, ...]
    make: Callable[[float], Changed]
    joint: bool = False

    @property
    def cost(self) -> int:
        """Place in the order of what changes cost to do."""
        return KINDS.index(self.kind)

    def at(self, k: int) -> Changed:
        """Return the build changed to mark `k`, counted from 0."""
        return self.make(self.marks[k])


def with_numbers(build: Build, numbers: Mapping[str, Uncertain]) -> Build:
    """Return a build with other numbers under some names; twins share a name and change together."""
    return rewritten(build, Exchange(number=lambda uncertain: numbers.get(uncertain.name, uncertain)))


def tape_step(system: str) -> float:
    """Return the distance between two marks of a tape, m."""
    return MILLIMETRE if system == "metric" else SIXTEENTH


def tape_marks(value: float, up: bool, reach: float, system: str, coarse: int = 1) -> tuple[float, ...]:
    """Return the tape's marks beyond a value, from the nearest on, as far as `reach` from it, in m.

    `coarse` takes every so many marks only.
    """
    one = tape_step(system) * coarse
    first = math.floor(value / one + 1e-6) + 1 if up else math.ceil(value / one - 1e-6) - 1
    count = max(0, math.floor(reach / one + 1e-6))
    return tuple((first + k if up else first - k) * one for k in range(count))


def tape_text(value: float, system: str) -> str:
    """Return a length as it is written in a case file, the way a tape shows it: '84 mm', '3-5/16 in'."""
    if system == "metric":
        return f"{round(value / MILLIMETRE, 1):g} mm"
    count = round(value / SIXTEENTH)
    whole, rest = divmod(count, 16)
    if not rest:
        return f"{whole} in"
    shared = math.gcd(rest, 16)
    fraction = f"{rest // shared}/{16 // shared}"
    return f"{whole}-{fraction} in" if whole else f"{fraction} in"


def height_text(offset: float, system: str, place: str) -> str:
    """Return a height as it is written: '84 mm below tank rim', 'at ground'."""
    if abs(offset) < 1e-9:
        return f"at {place}"
    return f"{tape_text(abs(offset), system)} {'above' if offset > 0.0 else 'below'} {place}"


def moved_height(height: Height, offset: float, tape: float) -> Uncertain:
    """Return the offset of a height drawn anew: as good as the owner's tape, whatever it was before."""
    band = tape if abs(offset) >= 1e-9 else 0.0
    return Uncertain(offset - band, offset, offset + band, height.offset.name)


def rewritten_height(offset: float, system: str) -> Callable[[str], str]:
    """Return what puts another offset in the text of a height and leaves its place in the words in which it stands there."""
    def new(old: str) -> str:
        match = re.fullmatch(r"(?:.*\s)?(?:above|below|at)\s+(?P<place>(?:the\s+)?\S.*)", old)
        return height_text(offset, system, match["place"] if match else old)
    return new


def path_of(name: str) -> tuple[str, str]:
    """Return the owner and the last key in the name of a number ('drain left: lip')."""
    owner, _, key = name.rpartition(": ")
    return owner, key


def by_and_to(height: Height, offset: float, system: str, joined: str = "to") -> str:
    """Return in words by how much a height moves and where it then is: 'by 6 mm, to 84 mm below the tank rim'."""
    by = _nearest(abs(offset - height.offset.middle), system)
    there = math.copysign(_nearest(abs(offset), system), offset)
    return f"by {tape_text(by, system)}, {joined} {height_text(there, system, f'the {height.place}')}"


def _nearest(value: float, system: str) -> float:
    one = tape_step(system)
    return max(1.0, round(value / one)) * one if value > 0.0 else 0.0


def with_tape(build: Build, height: Height, offset: float) -> dict[str, Uncertain]:
    """Return the one number by its name that moves a height to another offset."""
    return {height.offset.name: moved_height(height, offset, build.tape)}


def at_offset(height: Height, offset: float, tape: float) -> Height:
    """Return a height with another offset."""
    return replace(height, offset=moved_height(height, offset, tape))
