"""Rows that are asked of many things alike: each by its name, and of things built several times over only the worst one.

A key names what the row is about where there are several: 'tank room show tank'. Of a group ('12 x rack tank') the row of the
member with the gravest verdict and the least margin stays, under the group's name.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from hydro.checks.row import RANK, Check
from hydro.description.build import Build


def keyed(key: str, name: str, several: bool) -> str:
    """Return the key of a row: with the name of what it is about where there are several."""
    return f"{key} {name}" if several else key


def worst_of_groups(build: Build, key: str, rows: Iterable[tuple[str, Check]]) -> list[Check]:
    """Return rows by name, each as it is, of a group's members only the worst."""
    group_of = {name: group for group in build.groups for name in group.members if len(group.members) > 1}
    kept: dict[str, list[tuple[str, Check]]] = {}
    for name, row in rows:
        group = group_of.get(name)
        kept.setdefault(name if group is None else group.name, []).append((name, row))
    found = []
    for called, members in kept.items():
        name, worst = max(members, key=lambda pair: (RANK[pair[1].verdict], -pair[1].margin))
        if name != called:
            count = len(group_of[name].members)
            worst = replace(worst, key=f"{key} {called}", question=f"any of {count} x {called}: {worst.question} (worst: {name})")
        found.append(worst)
    return found
