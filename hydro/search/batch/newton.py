"""Newton for many designs at once: the steps of `hydro.solve.newton`, asked only of the designs that still need them.

A single loop's solver asks every law again while a step is halved; here the laws are asked again for the designs whose step was
too long, and designs that have converged leave. Each design takes the same steps as it would alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from hydro.network.model import Closing, Network
from hydro.quantities.arrays import Number, peak
from hydro.search.batch.subset import subset
from hydro.solve.newton import (
    ENOUGH,
    LONGEST_STEP,
    SMALL_FLOW,
    SMALL_HEAD,
    SMALL_MERIT,
    flows_at_heads,
    matrix_columns,
    newton_step,
)
from hydro.solve.system import System

HALVINGS = 10
LEAVE = 0.1
"""Designs leave when they are this share of those still at work: to leave costs about as much as to ask a law."""
NOTHING = 1e-18
"""A squared misfit that needs no shorter step."""


@dataclass(slots=True)
class _Stage:
    """The designs still at work: their places among all, and what takes designs from there; levels, flows, laws and misfits."""

    taken: Callable[[Any], tuple[Network, Closing]]
    places: Any
    system: System
    h: list[Any]
    q: list[Any]
    laws: list[tuple[Any, ...]]
    rows: list[Any]
    merit: Any

    def only(self, chosen: Any) -> _Stage:
        """Return the stage with some of its designs."""
        laws = [tuple(_taken(x, chosen) for x in law) for law in self.laws]
        return _Stage(self.taken, self.places[chosen], self.system_of(chosen), [x[chosen] for x in self.h],
                      [x[chosen] for x in self.q], laws, [_taken(x, chosen) for x in self.rows], self.merit[chosen])

    def system_of(self, chosen: Any) -> System:
        """Return the equations of some of its designs."""
        network, closing = self.taken(self.places[chosen])
        return network.system(closing)

    def tried(self, chosen: Any, h: list[Any], q: list[Any], put_back: bool) -> _Stage:
        """Return some of its designs at other levels and flows."""
        system = self.system_of(chosen)
        laws, rows, merit = system.evaluate(h, q, put_back)
        return _Stage(self.taken, self.places[chosen], system, h, q, laws, rows, merit)


def _taken(x: Number, chosen: Any) -> Number:
    return x[chosen] if getattr(x, "shape", ()) else x


def solve_all(network: Network, closing: Closing, levels: Sequence[Number], flows: Sequence[Number], count: int,
              most: int) -> tuple[Any, Any, Any]:
    """Return levels, flows (one row a water or link, one column a design) and where they are solved, from one start.

    `closing` and the network's numbers are floats or arrays with `count` entries; most steps as for a single loop.
    """
    import numpy as np

    def full(x: Number) -> Any:
        return np.array(np.broadcast_to(np.asarray(x, dtype=float), (count,)))
    found = np.full((len(levels), count), np.nan), np.full((len(flows), count), np.nan)
    solved = np.zeros(count, dtype=bool)
    system = network.system(closing)
    order = system.order()
    ends = matrix_columns(system, order)
    vessels = [k for k in order if system.stored[k] is not None] or list(range(len(levels)))
    h, q = [full(x) for x in levels], [full(x) for x in flows]
    laws, rows, merit = system.evaluate(h, q, True)
    at = _Stage(subset((network, closing)), np.arange(count), system, h, q, laws, rows, full(merit))
    for number in range(most + 1):
        dh, dq = newton_step(at.system, order, ends, at.laws, at.rows, at.h, at.q)
        done = _done(at, dh, dq)
        if done.mean() >= LEAVE or done.all() or (number == most and done.any()):
            for found_of, values, changes in ((found[0], at.h, dh), (found[1], at.q, dq)):
                for k, (value, change) in enumerate(zip(values, changes, strict=True)):
                    found_of[k, at.places[done]] = (value + change)[done]
            solved[at.places[done]] = True
            left = np.flatnonzero(~done)
            at = at.only(left)
            dh, dq = ([_taken(x, left) for x in changes] for changes in (dh, dq))
        if number == most or not len(at.places):
            break
        at = _moved(at, dh, dq, peak([dh[k] for k in vessels]))
    return found[0], found[1], solved


def _done(at: _Stage, dh: Sequence[Number], dq: Sequence[Number]) -> Any:
    """Return which designs have converged: a last small step is left to take, across rest for none of their flows."""
    done = (peak(dh) < SMALL_HEAD) & (peak(dq) < SMALL_FLOW) & (at.merit < SMALL_MERIT)
    if done.any():
        for flow, change in zip(at.q, dq, strict=True):
            done = done & (flow * (flow + change) >= 0.0)
    return done


def _moved(at: _Stage, dh: Sequence[Number], dq: Sequence[Number], longest: Any) -> _Stage:
    """Return the designs one step on, each step capped and halved until its misfit falls."""
    import numpy as np

    share = np.where(longest > LONGEST_STEP, LONGEST_STEP / (longest + 1e-30), 1.0)
    h = [a + share * b for a, b in zip(at.h, dh, strict=True)]
    q = [a + share * b for a, b in zip(at.q, dq, strict=True)]
    laws, rows, merit = at.system.evaluate(h, q, True)
    made = _Stage(at.taken, at.places, at.system, h, q, laws, rows, merit)
    worse = np.flatnonzero((merit > (1.0 - ENOUGH * share) * at.merit) & (merit > NOTHING))
    for _ in range(HALVINGS - 1):
        if not len(worse):
            return made
        share[worse] *= 0.5
        part = at.tried(worse, [a[worse] + share[worse] * b[worse] for a, b in zip(at.h, dh, strict=True)],
                        [a[worse] + share[worse] * b[worse] for a, b in zip(at.q, dq, strict=True)], True)
        _put(made, part, worse)
        still = (part.merit > (1.0 - ENOUGH * share[worse]) * at.merit[worse]) & (part.merit > NOTHING)
        worse = worse[still]
    if len(worse):
        heads = [x[worse] for x in made.h]
        nodal = flows_at_heads(at.system_of(worse), heads, [x[worse] for x in made.q])
        _put(made, at.tried(worse, heads, nodal, False), worse)
    return made


def _put(made: _Stage, part: _Stage, places: Any) -> None:
    """Put what was found for some designs in its place among all of them."""
    import numpy as np

    count = len(made.h[0])

    def put(whole: Number, some: Number) -> Any:
        # A copy: what a law returns may be one of its element's own arrays.
        full = np.array(np.broadcast_to(np.asarray(whole, dtype=float), (count,)))
        full[places] = some
        return full
    made.h = [put(a, b) for a, b in zip(made.h, part.h, strict=True)]
    made.q = [put(a, b) for a, b in zip(made.q, part.q, strict=True)]
    made.laws = [tuple(put(a, b) for a, b in zip(whole, some, strict=True))
                 for whole, some in zip(made.laws, part.laws, strict=True)]
    made.rows = [put(a, b) for a, b in zip(made.rows, part.rows, strict=True)]
    made.merit = put(made.merit, part.merit)
