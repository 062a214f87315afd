"""The scale of heights: 1 : n with a round n, and where on the paper a height stands.

    y = ground - 1000 height / n        y downward in mm of paper, height in m
"""

from __future__ import annotations

from dataclasses import dataclass

ROUND = (1.0, 2.0, 2.5, 5.0, 7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0, 150.0, 200.0, 250.0, 500.0, 1000.0)
"""Scales a ruler can be read at."""


@dataclass(frozen=True, slots=True)
class Scale:
    """One to `ratio`; `ground` is where height 0 stands on the paper, mm from its top."""

    ratio: float
    ground: float

    def y(self, height: float) -> float:
        """Return where a height (m) stands, mm from the top."""
        return self.ground - 1e3 * height / self.ratio


def ratio_for(height: float, room: float) -> float:
    """Return the largest round scale at which a height (m) fits into some room (mm of paper).

    >>> ratio_for(1.5, 150.0), ratio_for(1.6, 150.0)
    (10.0, 12.5)
    """
    least = 1e3 * height / room
    return next((ratio for ratio in ROUND if ratio >= least - 1e-9), least)
