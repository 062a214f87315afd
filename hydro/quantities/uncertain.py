"""A number as a builder knows it: low, middle, high, with a name and where it came from.

Exact is low = middle = high. Every stated value and every default of the library is a `Uncertain`. `Sample` choose one end of
some of them by name; everything not picked stands in its middle. A scenario, a pessimistic end and a column of ten thousand
designs are all the same thing: a dictionary of picks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

Sample = Mapping[str, Any]
"""Name of a rough number -> 'low', 'high', or the value itself (SI float, or an array with one entry a design)."""

STATED = "stated"


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value in SI units with the band it may lie in.

    `name` says which input it is ('drain left: lip'), `source` who said so: `STATED` for the case file, else the source of
    a default, in words.
    """

    low: float
    middle: float
    high: float
    name: str = ""
    source: str = STATED

    @staticmethod
    def exact(value: float, name: str = "", source: str = STATED) -> Uncertain:
        """Return a number without a band."""
        return Uncertain(value, value, value, name, source)

    @property
    def is_exact(self) -> bool:
        """Whether low and high are the same."""
        return self.low == self.high

    def named(self, name: str) -> Uncertain:
        """Return the same number under another name."""
        return replace(self, name=name)

    def widened(self, by: float) -> Uncertain:
        """Return the number with its band widened by `by` to both sides, in its own unit."""
        return replace(self, low=self.low - by, high=self.high + by)

    def negative(self) -> Uncertain:
        """Return the number with its sign turned; low stays the smaller one."""
        return replace(self, low=-self.high, middle=-self.middle, high=-self.low)

    def at(self, sample: Sample) -> Any:
        """Return the value that `sample` asks for: the middle, an end, or the value given there."""
        if not self.name or self.name not in sample:
            return self.middle
        pick = sample[self.name]
        if pick == "low" if isinstance(pick, str) else False:
            return self.low
        if pick == "high" if isinstance(pick, str) else False:
            return self.high
        return pick
