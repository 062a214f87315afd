"""Water that stands in lines, through time: a drain's line fills and runs out, a return's lets its contents down.

    drain with air     d c/dt = q - o,  o the flow that holds c in it (`DrainLine.held`)   a reservoir that runs out by itself
    drain as a siphon  d c/dt = q - o,  o = q c/V                                          the rest of the line fills up
    return in the air  o = Q sqrt(c/V),  Q where the whole column's height meets the losses on its way down

c contents, V volume of the line when full, m3; q flow in, o flow out, m3/s. The first is exact where the flow is steady. The
others are estimates of how the last litres come: some seconds, after which every litre has arrived; no source. Each is given
for one implicit step: o(q) with its slope, 0 <= do/dq <= 1.

    >>> f"{1000 * falling(0.002, 0.002, 0.001, 1.0):.2f} L"           # 2 L in a full line, at most 1 L/s: after one step of 1 s
    '1.22 L'
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hydro.elements.stack import STACK

FILLS = 0.6
"""Exponent of the filling of a vented stack: r = (q/Q)^0.6, from Q r^(5/3)."""
HALVINGS = 12
"""Halvings for the flow from which on the losses back a line up; below what is found they surely do not."""


@dataclass(frozen=True, slots=True)
class Filling:
    """How a drain's line fills and runs out, worked out once for all steps through time.

    `pipes` are its runs: volume (m3) and Q^0.6 of the flow Q (m3/s) that fills it with air in it. Up to the flow `free` (m3/s)
    the losses back nothing up: what they hold grows faster than q, a vented filling more slowly.
    """

    drain: Any
    pipes: tuple[tuple[float, float], ...]
    volume: float
    free: float

    @staticmethod
    def of(drain: Any) -> Filling:
        """Work out how a drain's line fills."""
        pipes = tuple((float(pipe.volume), (STACK * float(pipe.bore) ** (8.0 / 3.0)) ** FILLS) for pipe in drain.line.pipes)
        made = Filling(drain, pipes, float(drain.line.volume), float("inf"))
        full = max((full for _, full in pipes), default=0.0) ** (1.0 / FILLS)
        if drain.end >= drain.inlet.crest or not made.is_backed_up(0.999 * full):
            return made
        low, high = 0.0, full
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if made.is_backed_up(middle) else (middle, high)
        return Filling(drain, pipes, made.volume, low)

    def with_air(self, q: float) -> float:
        """Return what q >= 0 (m3/s) holds in the line with air, m3; small flows rounded as `Drain.held` rounds them."""
        x = (q * q + 1e-18) ** (0.5 * FILLS)
        return float(sum(volume * min(1.0, x / full) for volume, full in self.pipes))

    def is_backed_up(self, q: float) -> bool:
        """Whether the losses of q > 0 (m3/s) hold up more than a line with air holds."""
        return float(self.drain.backed_up(q)[0]) > self.with_air(q) * (1.0 + 1e-9)

    def passing(self, held: float, q: float, dt: float) -> tuple[float, float]:
        """Return the flow (m3/s) that leaves the line and its slope, `held` (m3) standing in it a step of `dt` ago."""
        into, back = max(q, 0.0), min(q, 0.0)
        if float(self.drain.primed) > 0.5:
            share = 1.0 + dt * into / self.volume
            now = (held + dt * into) / share
            slope = now / self.volume + into / self.volume * dt * (1.0 - held / self.volume) / (share * share)
            return into * now / self.volume + back, min(1.0, slope) if q > 0.0 else 1.0
        out, slope = self._runs_out(held + dt * into, dt)
        return out + back, slope if q > 0.0 else 1.0

    def _runs_out(self, amount: float, dt: float) -> tuple[float, float]:
        """Return o of  c(o) + dt o = amount  and do/dq = dt/(c' + dt); in x = o^0.6, in which c is a straight line until full."""
        low, high = 0.0, (max(amount, 0.0) / dt) ** FILLS
        x = min(high, max(amount, 0.0) / sum(volume / full for volume, full in self.pipes))
        for _ in range(60):
            held = rise = 0.0
            for volume, full in self.pipes:
                held, rise = (held + volume * x / full, rise + volume / full) if x < full else (held + volume, rise)
            flow = dt * x ** (1.0 / FILLS)
            miss = held + flow - amount
            low, high = (low, x) if miss > 0.0 else (x, high)
            new = x - miss / (rise + flow / (FILLS * x)) if x > 0.0 else 0.0
            new = new if low <= new <= high else 0.5 * (low + high)
            if abs(new - x) <= 1e-15 * high:
                break
            x = new
        flow = x ** (1.0 / FILLS)
        if flow > self.free and self.is_backed_up(flow):
            return self._backed_up(amount, flow, dt)
        return flow, 1.0 / (1.0 + rise * FILLS * x / (flow * dt)) if flow > 0.0 else 0.0

    def _backed_up(self, amount: float, most: float, dt: float) -> tuple[float, float]:
        """Return o of  c(o) + dt o = amount, at most `most` (m3/s), and do/dq where the losses back the line up.

        They grow about as q^2: the root of that square is within some per cent, and Newton needs two or three looks from there.
        """
        square = float(self.drain.backed_up(most)[0]) / (most * most)
        low, high, q = 0.0, most, 2.0 * amount / (dt + (dt * dt + 4.0 * square * amount) ** 0.5)
        for _ in range(60):
            volume, rise = map(float, self.drain.backed_up(q))
            miss = volume + dt * q - amount
            low, high = (low, q) if miss > 0.0 else (q, high)
            new = q - miss / (rise + dt)
            new = new if low <= new <= high else 0.5 * (low + high)
            change, q = abs(new - q), new
            if change <= 1e-14 * most:
                break
        return q, dt / (rise + dt)


def falling(contents: float, full: float, most: float, dt: float) -> float:
    """Return what is left of contents (m3) after a step: c + dt Q sqrt(c/V) = contents, Q `most` (m3/s), V `full` (m3)."""
    if contents <= 0.0 or most <= 0.0:
        return contents
    half = 0.5 * dt * most / full
    root = contents / full / (half + (half * half + contents / full) ** 0.5)
    return float(full * root * root)


def falling_flow(line: Any, still: float, height: float) -> float:
    """Return the flow (m3/s) at which a column of a height (m) runs back down a line and a still pump (K as s2/m5)."""
    low, high = 0.0, 1e-7
    while still * high * high - float(line.loss(-high)[0]) < height:
        low, high = high, 2.0 * high
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if still * middle * middle - float(line.loss(-middle)[0]) < height else (low, middle)
    return low
