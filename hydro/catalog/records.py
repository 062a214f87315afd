"""The records of the catalogue: sizes of pipe and hose, bulkheads, families. SI units; nothing here is read or looked up."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.quantities.uncertain import Uncertain

THICKER_WALL = 0.5e-3
"""A real wall may be this much thicker than the minimum of its standard, in metres (1 in sch 40: 3.38 to 3.89)."""


@dataclass(frozen=True, slots=True)
class PipeSize:
    """A pipe: outside diameter and minimum wall in metres; `standing` is 'read', 'from memory', or who else says so.

    `family` is its name in the table of families, `series` the pipes of one standard and wall class in it ('PN10', 'sch 40'),
    `thicker` how much thicker than the minimum a real wall may be, in metres.
    """

    words: str
    outside: float
    wall: float
    standard: str
    standing: str
    family: str = ""
    series: str = ""
    thicker: float = THICKER_WALL

    @property
    def bore(self) -> float:
        """Bore with the minimum wall, in metres: the widest that the standard allows."""
        return self.outside - 2 * self.wall

    @property
    def source(self) -> str:
        """The standard with its standing, as it is printed."""
        return f"{self.standard} ({self.standing})"

    @property
    def across(self) -> str:
        """The dimension that has to fit, in words."""
        return f"{1000 * self.outside:.3g} mm outside"

    def bore_rough(self) -> Uncertain:
        """Return the bore as a band, in metres: thickest usual wall to minimum wall; the middle is half way."""
        low = self.bore - 2 * self.thicker
        return Uncertain(low, (low + self.bore) / 2, self.bore, f"{self.words}: bore", self.source)


@dataclass(frozen=True, slots=True)
class BoreSize:
    """A size known by its inside alone: a hose, or a size of an owner's catalogue. `least` and `bore` in metres."""

    words: str
    bore: float
    least: float
    standard: str
    standing: str
    family: str = ""
    series: str = ""

    @property
    def source(self) -> str:
        """The standard with its standing, as it is printed."""
        return f"{self.standard} ({self.standing})"

    @property
    def across(self) -> str:
        """The dimension that has to fit, in words."""
        return f"{1000 * self.bore:.3g} mm inside"

    def bore_rough(self) -> Uncertain:
        """Return the bore as a band, in metres; exact where one number is known."""
        return Uncertain(self.least, (self.least + self.bore) / 2, self.bore, f"{self.words}: bore", self.source)


@dataclass(frozen=True, slots=True)
class Bulkhead:
    """A bulkhead of a nominal size: bore of its throat, hole to drill, room across its flange and nut, all in metres.

    `joint` is what goes into it: 'metric solvent', 'inch solvent', 'BSP thread', 'NPT thread'. Every figure is a first guess for
    a drawing; `advice` says what to do before anything is drilled.
    """

    words: str
    nominal: str
    joint: str
    family: str
    least: float
    bore: float
    hole: Uncertain
    room: float
    standing: str
    advice: str

    @property
    def source(self) -> str:
        """Where the figures come from, with the advice: to be printed with each of them."""
        return f"bulkhead, {self.standing}; {self.advice}"

    @property
    def across(self) -> str:
        """The dimension that has to fit, in words."""
        return f"bulkhead {self.nominal}"

    def bore_rough(self) -> Uncertain:
        """Return the bore of the throat as a band, in metres."""
        return Uncertain(self.least, (self.least + self.bore) / 2, self.bore, f"{self.words}: bore", self.source)


Size = PipeSize | BoreSize
Joined = PipeSize | BoreSize | Bulkhead
"""Whatever has a family and may be joined to something else."""


@dataclass(frozen=True, slots=True)
class Family:
    """Sizes that go together in their ordinary fittings.

    `unit` is 'metric' or 'inch', `measured` what they share: 'outside', 'inside' or 'thread'; `pressure` is False for waste pipe,
    which belongs in gravity drains alone; `adaptor` is the fitting that joins them to another family.
    """

    name: str
    unit: str
    measured: str
    pressure: bool
    adaptor: str
    standing: str
