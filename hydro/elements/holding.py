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

from typing import Any

from hydro.elements.stack import STACK

FILLS = 0.6
"""Exponent of the filling of a vented stack: r = (q/Q)^0.6, from Q r^(5/3)."""


def passing(drain: Any, held: float, q: float, dt: float) -> tuple[float, float]:
    """Return the flow (m3/s) that leaves a drain's line and its slope, `held` (m3) standing in it a step of `dt` ago."""
    into, back = max(q, 0.0), min(q, 0.0)
    if float(drain.primed) > 0.5:
        volume = float(drain.line.volume)
        share = 1.0 + dt * into / volume
        now = (held + dt * into) / share
        slope = now / volume + into / volume * dt * (1.0 - held / volume) / (share * share)
        return into * now / volume + back, min(1.0, slope) if q > 0.0 else 1.0
    out, slope = _runs_out(drain, held + dt * into, dt)
    return out + back, slope if q > 0.0 else 1.0


def _runs_out(drain: Any, amount: float, dt: float) -> tuple[float, float]:
    """Return o of  c(o) + dt o = amount  and do/dq = dt/(c' + dt); in x = o^0.6, in which c is a straight line until full."""
    pipes = [(float(pipe.volume), (STACK * float(pipe.bore) ** (8.0 / 3.0)) ** FILLS) for pipe in drain.line.pipes]
    low, high = 0.0, (max(amount, 0.0) / dt) ** FILLS
    x = high
    for _ in range(60):
        held = sum(volume * min(1.0, x / full) for volume, full in pipes)
        rise = sum(volume / full for volume, full in pipes if x < full)
        flow = dt * x ** (1.0 / FILLS)
        miss = held + flow - amount
        low, high = (low, x) if miss > 0.0 else (x, high)
        new = x - miss / (rise + flow / (FILLS * x)) if x > 0.0 else 0.0
        new = new if low <= new <= high else 0.5 * (low + high)
        if abs(new - x) <= 1e-15 * high:
            break
        x = new
    flow = x ** (1.0 / FILLS)
    share = 1.0 / (1.0 + rise * FILLS * x / (flow * dt)) if flow > 0.0 else 0.0
    return _backed_up(drain, amount, flow, dt) or (flow, share)


def _backed_up(drain: Any, amount: float, most: float, dt: float) -> tuple[float, float] | None:
    """Return o of  c(o) + dt o = amount  and do/dq where the losses back the line up, None where at `most` they do not.

    They grow about as q^2: the root of that square is within some per cent, and Newton needs two or three looks from there.
    """
    if most <= 0.0:
        return None
    rounded = (most * most + 1e-18) ** 0.5                  # as `Drain.held` rounds small flows: that is no backing up
    held = sum(float(pipe.volume) * min(1.0, (rounded / (STACK * float(pipe.bore) ** (8.0 / 3.0))) ** FILLS)
               for pipe in drain.line.pipes)
    backed = float(drain.backed_up(most)[0])
    if drain.end >= drain.inlet.crest or backed <= held * (1.0 + 1e-9):
        return None
    low, high = 0.0, most
    q = 2.0 * amount / (dt + (dt * dt + 4.0 * backed * amount / (most * most)) ** 0.5)
    for _ in range(60):
        volume, rise = map(float, drain.backed_up(q))
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
