"""Where something that rises passes: by halving, for one number or for arrays of designs.

    >>> low, high = halved(1.0, 2.0, lambda x: x * x < 2.0)
    >>> low <= 2.0 ** 0.5 <= high, high - low < 1e-15
    (True, True)
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hydro.quantities.arrays import Number, where


def halved(low: Number, high: Number, below: Callable[[Number], Any], rounds: int = 60,
           close: float = 0.0) -> tuple[Number, Number]:
    """Return the ends of an interval after it was halved so many times, or till it is no wider than `close`.

    `below` says whether a place lies below what is looked for: the lower end does, or is the first `low`.
    """
    for _ in range(rounds):
        if close and high - low <= close:
            break
        middle = 0.5 * (low + high)
        under = below(middle)
        low, high = where(under, middle, low), where(under, high, middle)
    return low, high
