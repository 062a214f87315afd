"""Two changes at once, for a check that fails and that no single one mends: the second undoes the harm that the first does.

The first is one that mends the check at its least mark but harms another; the second a cheap one of a number (the line, a valve's
opening, a lip, a mouth), as far as it takes. Few are tried, the cheapest first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from hydro.case.names.renaming import numbers_in
from hydro.description.build import Build
from hydro.search.remedies.change import ELBOW, PEN, SAW, VALVE, Change, Changed, with_numbers
from hydro.search.remedies.proof import Proof
from hydro.search.remedies.search import Bench, from_mark, least_passing

FIRST = 3
"""How many first changes are tried."""
SECOND = (PEN, VALVE, ELBOW, SAW)


def pair_for(bench: Bench, changes: Sequence[Change], key: str, wanted: str) -> tuple[Change, int, Proof] | None:
    """Return two changes as one, with the least mark of the second that is proved and its proof; None where none is found."""
    firsts: list[tuple[Change, int]] = []
    for change in changes:
        mark = least_passing(lambda k, change=change: bench.margin(change, k, key, wanted) > float("-inf"),  # type: ignore[misc]
                      len(change.marks))
        if mark is not None:
            firsts.append((change, mark))
    for first, mark in firsts[:FIRST]:
        for pair in _with_each(bench.base.build, first, mark, _cheap(changes)):
            found = from_mark(bench, pair, key, wanted)
            if found is not None:
                return pair, *found
    return None


def _cheap(changes: Sequence[Change]) -> list[Change]:
    return [one for one in changes if one.kind in SECOND or one.what.endswith(": mouths up")]


def _with_each(build: Build, first: Change, mark: int, seconds: Sequence[Change]) -> Iterator[Change]:
    """Yield one change at a mark together with each of some others."""
    before, there = list(numbers_in(build)), first.at(mark)
    for second in seconds:
        alone = list(numbers_in(second.at(0).build))
        if second.what != first.what and len(alone) == len(before):
            kind = max(first, second, key=lambda one: one.cost).kind
            what = f"{first.what} ({mark + 1}) and {second.what}"
            yield Change(kind, what, second.marks, _both(build, there, second), joint=True)


def _both(build: Build, first: Changed, second: Change) -> Callable[[float], Changed]:
    before = list(numbers_in(build))

    def make(value: float) -> Changed:
        other = second.make(value)
        numbers = {new.name: new for new, old in zip(numbers_in(other.build), before, strict=True) if new != old}
        writes = None if first.writes is None or other.writes is None else (*first.writes, *other.writes)
        return Changed(with_numbers(first.build, numbers),
                       lambda system: f"{first.said(system)}; and {other.said(system)}", writes)
    return make
