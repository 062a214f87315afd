"""The records of a list of parts: pipe with its cuts, pieces by number, joints, holes. SI units; nothing is worked out here."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.parts.joints import Joint
from hydro.quantities.uncertain import Uncertain

DRAIN, PUMP, RETURN, RUNS, HEADER = "drain", "pump", "return", "pipe between", "header"
"""What a line is; HEADER is a place where pipes meet."""


@dataclass(frozen=True, slots=True)
class Where:
    """A line: what it is (DRAIN, PUMP, RETURN, RUNS) and its name."""

    what: str
    name: str


@dataclass(frozen=True, slots=True)
class CutLength:
    """One piece of pipe or hose: its length (m, with its band) and its line."""

    length: Uncertain
    where: Where


@dataclass(frozen=True, slots=True)
class PipeRow:
    """Pipe or hose of one size: `words` '' where only the bore (m) is known; `waste` a share, `kerf` in m."""

    what: str
    words: str
    bore: float
    cuts: tuple[CutLength, ...]
    waste: float
    kerf: float

    @property
    def length(self) -> Uncertain:
        """All cuts together, m: their ends added up."""
        return Uncertain(*(sum(getattr(cut.length, end) for cut in self.cuts) for end in ("low", "middle", "high")))

    @property
    def to_buy(self) -> float:
        """What to buy at least, m."""
        return self.length.high * (1.0 + self.waste) + self.kerf * len(self.cuts)

    @property
    def called(self) -> str:
        """What it is called, without a bore that no catalogue knows."""
        return self.words if self.words.endswith(self.what) else f"{self.what} {self.words}".strip()


@dataclass(frozen=True, slots=True)
class Piece:
    """Things bought by number. `words` is what they fit ('' where only a bore in m is known, or nothing), `wheres` one a piece.

    `added` says that it is in no line as described, and in no loss; `note` what else there is to know.
    """

    what: str
    words: str
    bore: float | None
    wheres: tuple[Where, ...]
    note: str = ""
    added: bool = False

    @property
    def count(self) -> int:
        """How many."""
        return len(self.wheres)

    @property
    def called(self) -> str:
        """What it is called, without a bore that no catalogue knows."""
        return f"{self.what} {self.words}".strip()


@dataclass(frozen=True, slots=True)
class JointRow:
    """Joints that need the same, and the lines in which they are."""

    joint: Joint
    wheres: tuple[Where, ...]


@dataclass(frozen=True, slots=True)
class HolesToDrill:
    """Holes that are drilled and not bought: what for, bore (m, None where it is not said), how many in each, in which lines."""

    what: str
    bore: float | None
    each: int
    wheres: tuple[Where, ...]


@dataclass(frozen=True, slots=True)
class PartsList:
    """All of it. `unknown` are lines with a loss that is given by its coefficient: what it is made of nobody said."""

    pipes: tuple[PipeRow, ...]
    pieces: tuple[Piece, ...]
    joints: tuple[JointRow, ...]
    holes: tuple[HolesToDrill, ...]
    unknown: tuple[Where, ...]

    def count(self, what: str) -> int:
        """Return how many pieces of a kind there are, added ones too."""
        return sum(piece.count for piece in self.pieces if piece.what == what)


@dataclass(frozen=True, slots=True)
class Priced:
    """A row with its price in the currency of the list, None where the list has none for it."""

    words: str
    amount: float | None
