"""Things described once and built several times over, told once: '12 x rack tank: ...; but 7: bottom 1.5 m above ground'."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence

from hydro.description.build import Build

_PHRASES = re.compile(r"[,;] ")


def grouped_lines(build: Build, things: Sequence[tuple[str, str]]) -> list[str]:
    """Return the lines for some things, each a name and what is said of it; members of a group are said together."""
    said = dict(things)
    group_of = {member: group for group in build.groups if all(member in said for member in group.members)
                for member in group.members}
    plain = _plainly(build)
    lines: list[str] = []
    told: set[str] = set()
    for name, text in things:
        group = group_of.get(name)
        if group is None:
            lines.append(f"{name}: {text}")
        elif group.name not in told:
            told.add(group.name)
            lines.append(_together(group.name, {member: plain(said[member]) for member in group.members}))
    return lines


def _plainly(build: Build) -> Callable[[str], str]:
    """Return what puts descriptions in place of their members: 'rack tank' for 'rack tank 7', the row for 'row 7'."""
    known = {tank.name for tank in build.tanks}
    called = {member: group.name for group in build.groups if set(group.members) <= known for member in group.members}
    runs = {run.name: run for run in build.runs}
    for group in build.groups:
        for run in (runs[member] for member in group.members if member in runs):
            called |= {end: group.name for end in (run.start, run.finish) if end.startswith(f"{group.name} ")}
    if not called:
        return lambda text: text
    names = "|".join(re.escape(name) for name in sorted(set(called.values()), key=len, reverse=True))
    twin = re.compile(rf"\b(?:{names}) [0-9]+(?![0-9])")
    return lambda text: twin.sub(lambda match: called.get(match[0], match[0]), text)


def _together(name: str, said: dict[str, str]) -> str:
    """Return the line for one description: what most of its members are, and how the others differ."""
    (usual, _), *_ = Counter(said.values()).most_common(1)
    others: dict[str, list[str]] = {}
    for member, text in said.items():
        if text != usual:
            others.setdefault(_different(text, usual), []).append(_which(member, name))
    but = "".join(f"; but {', '.join(members)}: {words}" for words, members in others.items())
    return f"{len(said)} x {name}: {usual}{but}"


def _different(text: str, usual: str) -> str:
    """Return the phrases of a text that the usual one does not have."""
    known, own = _PHRASES.split(usual), _PHRASES.split(text)
    new = [phrase for phrase in own if phrase not in known]
    gone = [f"without '{phrase}'" for phrase in known if phrase not in own]
    return ", ".join(new or gone or [text])


def _which(member: str, name: str) -> str:
    """Return what tells a member from its description: '7' of 'rack tank 7 overflow' under 'rack tank overflow'."""
    start = _alike(member, name)
    end = _alike(member[start:][::-1], name[start:][::-1])
    return member[start:len(member) - end].strip() or member


def _alike(one: str, other: str) -> int:
    """Return how many letters two texts share at their beginning."""
    return next((k for k, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
