"""Which back end solves a system: floats and arrays of designs densely, large systems of floats sparsely.

Both give one answer (to 1e-9 in tests/solve/test_sparse.py). scipy is imported when the first large system comes along.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from hydro.quantities.arrays import Number, is_scalar
from hydro.solve import newton, relaxing
from hydro.solve.newton import Solution
from hydro.solve.system import System

if TYPE_CHECKING:
    from hydro.solve.sparse import Prepared

MANY = 40
"""Unknown heads above which the sparse back end is chosen.

On a header with tanks it is quicker from 38 on, counting the grouping of the laws from 54 on (tests/bench/large.py); scipy, which
takes a tenth of a second to import, stays out of small loops.
"""

_latest: list[tuple[System, Prepared | None]] = []
"""The last large system with what was prepared for it: its other starts, and its next step through time, do with the same."""


def solve(system: System, heads: Sequence[Number], flows: Sequence[Number], most: int = 60, put_back: bool = True) -> Solution:
    """Return the solution from a start; `solved` says where it has converged (never raises where there is none).

    `put_back` is for a start with flows that run (see `System.evaluate`); from a start at rest it is better without.
    Above `MANY` unknown heads not for two threads at once.
    """
    if len(system.stored) > MANY:
        ready = prepared(system, heads, flows)
        if ready is not None:
            from hydro.solve import sparse

            return sparse.solve_sparse(ready, heads, flows, most, put_back)
    return newton.solve_dense(system, heads, flows, most, put_back)


def relax(system: System, heads: Sequence[Number], flows: Sequence[Number], rounds: int = 80,
          ) -> tuple[list[Number], list[Number]]:
    """Return heads and flows nearer to a solution; see `hydro.solve.relaxing`."""
    if len(system.stored) > MANY:
        ready = prepared(system, heads, flows)
        if ready is not None:
            from hydro.solve import sparse

            return sparse.relax_sparse(ready, heads, flows, rounds)
    return relaxing.relax_dense(system, heads, flows, rounds)


def prepared(system: System, heads: Sequence[Number], flows: Sequence[Number]) -> Prepared | None:
    """Return what the sparse back end needs of a system; None where there are few unknown heads or arrays of designs."""
    if len(system.stored) - len(system.fixed) <= MANY:
        return None
    given = (system.total, 0.0 if system.level is None else system.level, *system.fixed.values())
    if not all(all(map(is_scalar, numbers)) for numbers in (given, heads, flows)):
        return None
    if not _latest or not _alike(_latest[0][0], system):
        from hydro.solve import grouped, sparse

        try:
            _latest[:] = [(system, sparse.prepare(system))]
        except grouped.BatchError:
            _latest[:] = [(system, None)]
    ready = _latest[0][1]
    return ready if ready is None or ready.system is system else replace(ready, system=system)


def _alike(one: System, other: System) -> bool:
    """Whether two systems have the very same laws in the same places, so that what was prepared for one does for the other."""
    return one is other or (
        one.links == other.links and one.stored == other.stored and one.held == other.held and one.closing == other.closing
        and (one.level is None) == (other.level is None) and one.fixed.keys() == other.fixed.keys())
