"""Loops on one unthrottled drain, with the flows at which it changes the way it runs."""

from __future__ import annotations

import math

from builds import CURVE, drain, loop, pump

G = 9.80665
ORIFICE = 0.606
L_H = 1.0 / 3.6e6
BORE, LIP = 0.0362, 1.470
SWEEPS = math.pi / 4.0 * BORE ** 2 * math.sqrt(G * BORE)
"""Flow at J = V/sqrt(g D) = 1, above which air is swept out, m3/s: 2210 L/h."""
PRIMES = BORE / (2.0 * ORIFICE ** 2)
"""Head at which the throat passes that flow, q = Co A sqrt(2 g H): 1.36 D, more than the 1.0 D that drowns the rim."""


def driven(share, **changes):
    """Return the usual pump with its flows scaled."""
    return pump(curve=[(share * flow, head) for flow, head in CURVE], **changes)


def single(share, **changes):
    """Return a loop with one drain of 36.2 mm without any throttle, and a pump scaled to a share of the usual flow."""
    return loop(drains=[drain(bore=BORE, lip=LIP)], driven_by=driven(share), **changes)
