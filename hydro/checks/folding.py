"""Checks that are asked of many things alike: each by its name, and of things built several times over only the worst one.

Of a group ('12 x rack tank') the check of the member with the gravest verdict and the least margin stays, under the group's name.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from hydro.checks.check import Check, gravity
from hydro.description.build import Build


def worst_of_groups(build: Build, checks: Iterable[tuple[str, Check]]) -> list[Check]:
    """Return checks by the name of what they ask about, each as it is, of a group's members only the worst."""
    group_of = {name: group for group in build.groups for name in group.members if len(group.members) > 1}
    kept: dict[tuple[str, bool], list[tuple[str, Check]]] = {}
    for name, check in checks:
        group = group_of.get(name)
        kept.setdefault((name, False) if group is None else (group.name, True), []).append((name, check))
    found = []
    for (called, grouped), members in kept.items():
        name, worst = max(members, key=lambda pair: gravity(pair[1]))
        if grouped:
            all_of = group_of[name].members
            subject = f"{len(all_of)} x {called}" if (called, False) in kept else called
            worst = replace(worst, subject=subject, question=f"any of {len(all_of)} x {called}: {worst.question} (worst: {name})",
                            stands_for=all_of, worst=name)
        found.append(worst)
    return found
