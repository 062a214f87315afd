"""Things built several times over, told as one: '12 x rack tank', its lowest .. its highest, with the names of both.

    for grouped in Grouping.by(build).of("runs", [(run.name, run) for run in runs]):
        low, high = grouped.ends(lambda run: run.flow)

What was described once for several ('12 x rack tank') is grouped by its own name; what stands by itself keeps its row, unless
there are more than `MANY` of a kind, which are then grouped under the kind's word ('199 runs').
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from hydro.description.build import Build, Group

MANY = 6
"""More things of a kind than this, each described by itself, are told as one."""
FEW = 4
"""Names that are listed one by one before the rest is counted."""
TO = " .. "

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Grouped(Generic[T]):
    """What is told in one row: what it is called, and its members, each with its name."""

    called: str
    members: tuple[tuple[str, T], ...]

    @property
    def alone(self) -> bool:
        """Whether it is one thing."""
        return len(self.members) == 1

    @property
    def all(self) -> list[T]:
        """The members without their names."""
        return [member for _, member in self.members]

    @property
    def whole(self) -> str:
        """What it is called in a sentence: 'each of 12 x rack tank', or the name of the one thing."""
        return self.called if self.alone else f"each of {self.called}"

    def least(self, ask: Callable[[T], float]) -> tuple[str, T]:
        """Return the member with the least of something, the first of several, with its name."""
        return min(self.members, key=lambda pair: ask(pair[1]))

    def most(self, ask: Callable[[T], float]) -> tuple[str, T]:
        """Return the member with the most of something, the first of several, with its name."""
        return max(self.members, key=lambda pair: ask(pair[1]))

    def ends(self, ask: Callable[[T], float]) -> tuple[float, float]:
        """Return the least and the most of something."""
        values = [ask(member) for member in self.all]
        return min(values), max(values)

    def between(self, ask: Callable[[T], float], shown: Callable[[float], str]) -> str:
        """Return 'lowest .. highest' as shown; one figure where both are shown alike."""
        low, high = self.ends(ask)
        return span(shown(low), shown(high))


def span(low: str, high: str) -> str:
    """Return 'low .. high', one text where both are the same.

    >>> span("310", "345"), span("310", "310")
    ('310 .. 345', '310')
    """
    return low if low == high else f"{low}{TO}{high}"


def few(names: Sequence[str], most: int = FEW) -> str:
    """Return names in a row, the first few of many.

    >>> few(["a", "b", "c", "d", "e", "f"])
    'a, b, c, d and 2 more'
    """
    if len(names) <= most + 1:
        return ", ".join(names)
    return f"{', '.join(names[:most])} and {len(names) - most} more"


@dataclass(frozen=True, slots=True)
class Grouping:
    """How a build's things are grouped. `group_of` gives the group of each name; `each` says that nothing is grouped."""

    group_of: Mapping[str, Group] = field(default_factory=dict)
    groups: Mapping[str, int] = field(default_factory=dict)
    each: bool = False

    @staticmethod
    def by(build: Build, each: bool = False) -> Grouping:
        """Return how a build's things are grouped."""
        groups = [group for group in build.groups if len(group.members) > 1]
        return Grouping({name: group for group in groups for name in group.members},
                        {group.name: len(group.members) for group in groups}, each)

    def of(self, kind: str, pairs: Iterable[tuple[str, T]]) -> list[Grouped[T]]:
        """Return things of one kind in their order, those told as one together; `kind` is their word, in the plural."""
        pairs = list(pairs)
        if self.each:
            return [Grouped(name, ((name, thing),)) for name, thing in pairs]
        crowd = sum(name not in self.group_of for name, _ in pairs) > MANY
        kept: dict[tuple[str, bool], list[tuple[str, T]]] = {}
        for name, thing in pairs:
            group = self.group_of.get(name)
            key = (group.name, True) if group is not None else (kind, True) if crowd else (name, False)
            kept.setdefault(key, []).append((name, thing))
        return [Grouped(self._called(name, kind, members) if several else name, tuple(members))
                for (name, several), members in kept.items()]

    def _called(self, name: str, kind: str, members: Sequence[tuple[str, T]]) -> str:
        if len(members) == 1:
            return members[0][0]
        return f"{len(members)} x {name}" if members[0][0] in self.group_of else f"{len(members)} {kind}"

    def called(self, name: str) -> str:
        """Return what a name or the name of a group is called: 'any of 12 x rack tank'."""
        count = 0 if name in self.group_of else self.groups.get(name, 0)
        return f"any of {count} x {name}" if count else name

    def names(self, kind: str, names: Iterable[str]) -> list[str]:
        """Return names, those told as one by what that is called."""
        return [grouped.called for grouped in self.of(kind, [(name, name) for name in names])]

    def reason(self, text: str) -> str:
        """Return a text whose list of names ('a, b, c: it flushes') is folded."""
        head, colon, rest = text.partition(": ")
        names = head.split(", ")
        if not colon or len(names) < 2 or self.each:
            return text
        return f"{few(self.names('drains', names))}: {rest}"

    def notes(self, notes: Sequence[str]) -> list[str]:
        """Return notes like 'NAME: what is the matter' with the names together that have the same note behind them.

        What begins with words in quotes names no thing and stays as it is.
        """
        if self.each:
            return list(notes)
        found: dict[str, list[str]] = {}
        for note in notes:
            name, colon, rest = note.partition(": ") if not note.startswith("'") else (note, "", "")
            found.setdefault(rest if colon else note, []).append(name if colon else "")
        return [f"{few(self.names('things', names))}: {rest}" if any(names) else rest for rest, names in found.items()]
