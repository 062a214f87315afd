"""A vented vertical pipe: what it carries with an air core at a filling r (Wyly and Eaton; EN 12056-3:2000, 6.1.1, Table 8).

    Q = 2.5e-4 kb^(-1/6) D^(8/3) r^(5/3)       L/s and mm, kb = 0.25 mm, r 0.20 .. 0.33

Read in a transcription. The table starts at 50 mm: smaller drains are an extrapolation. The filling also gives the water held in
a vented line.

    >>> f"{1000 * stack_flow(0.100, 0.33):.1f} L/s"
    '10.7 L/s'
"""

from __future__ import annotations

from hydro.quantities.arrays import Number

STACK = 2.5e-4 * 0.25 ** -0.167 * 1e-3 * 1000.0 ** (8.0 / 3.0)
"""EN 12056-3 in SI: Q = STACK D^(8/3) r^(5/3), m3/s and m."""
STACK_FILLING = 0.33


def stack_flow(bore: Number, filling: Number) -> Number:
    """Return Q of a vented vertical pipe (m3/s), bore in m, filling 0.20 .. 0.33."""
    return STACK * bore ** (8.0 / 3.0) * filling ** (5.0 / 3.0)
