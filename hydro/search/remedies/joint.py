"""The same done to several things at once: to all drains of a tank, and to everything that was described once for several.

Two drains of a tank changed together often mend what each alone leaves over. Members of a group ('12 x rack tank') change alike
and only alike: nobody turns the elbow of the seventh rack.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from hydro.case.names.renaming import numbers_in
from hydro.description.build import Build, Group
from hydro.quantities.uncertain import Uncertain
from hydro.search.remedies.change import Change, Changed, with_numbers

ALIKE = ("lip up", "lip down", "end up", "wider")


def joint_changes(build: Build, changes: Sequence[Change]) -> Iterator[Change]:
    """Yield the changes that things allow alone, those of a group's members as one, those of all drains of a tank together."""
    grouped = {name: group for group in build.groups for name in group.members if len(group.members) > 1}
    alone: dict[str, Change] = {}
    members: dict[tuple[str, str], list[Change]] = {}
    for change in (one for one in changes if one.marks):
        name, _, what = change.what.partition(": ")
        if name in grouped:
            members.setdefault((grouped[name].name, what), []).append(change)
        else:
            alone[change.what] = change
    yield from alone.values()
    groups = {group.name: group for group in build.groups}
    for (name, what), mine in members.items():
        together = _together(build, mine, f"{name}: {what}", False, _each(groups[name], mine))
        if together is not None:
            yield together
    for tank in (*build.tanks, *(box.vessel for box in build.boxes)):
        names = [drain.name for drain in build.drains if drain.tank == tank.name]
        for what in ALIKE:
            mine = [alone[f"{name}: {what}"] for name in names if f"{name}: {what}" in alone]
            together = _together(build, mine, f"all drains of {tank.name}: {what}", True, _listed) if len(mine) > 1 else None
            if together is not None:
                yield together


def _listed(each: Sequence[Changed], system: str) -> str:
    return "; ".join(one.said(system) for one in each)


def _each(group: Group, changes: Sequence[Change]) -> Callable[[Sequence[Changed], str], str]:
    """Return the words for a change of all members of a group: those for the first, and how many there are."""
    several = f" (the same at each of {len(group.members)} x {group.name}"
    others = ", by as much where they differ)" if len(changes) > 1 else ")"
    return lambda each, system: each[0].said(system) + several + others


def _together(build: Build, changes: Sequence[Change], what: str, joint: bool,
              said: Callable[[Sequence[Changed], str], str]) -> Change | None:
    """Return several changes of numbers as one whose marks are counted: the first of each, the second of each, and so on.

    None where they put in something that was not there, which is no change of a number.
    """
    before = list(numbers_in(build))
    most = min(len(change.marks) for change in changes)
    if len(changes) > 1 and sum(1 for _ in numbers_in(changes[0].at(0).build)) != len(before):
        return None

    def make(position: float) -> Changed:
        each = [change.at(int(position) - 1) for change in changes]
        if len(each) == 1:
            return Changed(each[0].build, lambda system: said(each, system), each[0].writes)
        numbers: dict[str, Uncertain] = {}
        for one in each:
            numbers.update((new.name, new) for new, old in zip(numbers_in(one.build), before, strict=True) if new != old)
        writes = [write for one in each for write in one.writes or ()]
        return Changed(with_numbers(build, numbers), lambda system: said(each, system),
                       tuple(writes) if all(one.writes for one in each) else None)
    kind = max(changes, key=lambda change: change.cost).kind
    return Change(kind, what, tuple(float(k) for k in range(1, most + 1)), make, joint)
