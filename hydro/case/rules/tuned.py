"""Valves that are tuned on the running build: in a drain, once in a water, with a higher inlet there that can trickle.

Works on middles, as the other rules do; a lip that hangs on a running level compares with nothing and is let through.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from hydro.case.rules.misplaced import SLACK
from hydro.description.build import Build, Drain, Height, Item
from hydro.elements.fittings import TUNED

if TYPE_CHECKING:
    from hydro.case.rules.geometry import Judge


def tuned_in(line: tuple[Item, ...]) -> list[Item]:
    """Return the valves of a line that are tuned."""
    return [item for item in line if item.values.get("open") == TUNED]


def judge_tuned(judge: Judge) -> None:
    """Complain of every valve that cannot be tuned where it stands."""
    build = judge.build
    for drain in build.drains:
        if tuned_in(drain.line) and judge.fresh("tuned", drain.line, drain.inlet):
            _drain(judge, drain)
    for line, height in (*((way.line, way.end) for way in build.returns), *((pump.line, pump.intake) for pump in build.pumps),
                         *((run.line, run.start_at) for run in build.runs)):
        for item in tuned_in(line):
            judge.complain_of(item, "" if height is None else height.offset.name, f"'{item.kind} {TUNED}' outside a drain",
                              "how far it is open: only a drain is tuned, to leave a trickle for the next higher inlet")


def _drain(judge: Judge, drain: Drain) -> None:
    first, *more = tuned_in(drain.line)
    key = drain.end.offset.name
    if "K" in first.values:
        judge.complain_of(first, key, f"'{TUNED}' and a K beside each other", "one of the two")
    if more:
        judge.complain_of(more[0], key, f"a second valve that is '{TUNED}' in one line", "one valve that is tuned")
    beside = [other for other in judge.build.drains if other.tank == drain.tank and other.name != drain.name]
    also = next((other for other in beside if tuned_in(other.line)), None)
    if also is not None and _before(judge.build, also, drain):
        judge.complain_of(first, key, f"'{TUNED}', and that of '{also.name}' in the same water too",
                          "one of them by how far it is open")
    mine = _lip(judge, drain)
    higher = [other for other in beside if not _lip(judge, other) <= mine + SLACK]
    if not math.isnan(mine) and not higher:
        judge.complain_of(first, key, f"no inlet in {drain.tank} stands higher: there is none to leave a trickle for",
                          "a second drain there with its lip higher up, or how far the valve is open")


def _before(build: Build, one: Drain, other: Drain) -> bool:
    names = [drain.name for drain in build.drains]
    return names.index(one.name) < names.index(other.name)


def _lip(judge: Judge, drain: Drain) -> float:
    lip = drain.inlet.values.get("lip")
    return judge.level(lip) if isinstance(lip, Height) else math.nan
