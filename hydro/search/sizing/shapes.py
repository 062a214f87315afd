"""Which numbers of a build an open value drives: found by reading the text with each candidate and comparing the builds.

Where nothing but numbers differs, designs are of one topology, and a design is a choice of values by name: `Drives.picks`. Where
anything else does ('2 x standpipe' or '3 x standpipe', another curve, another part), each candidate is a topology of its own.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from hydro.case import loads
from hydro.case.names.renaming import Rewriting, rewritten
from hydro.description.build import Build, Item
from hydro.errors import Complaint, InputError
from hydro.quantities.arrays import stack
from hydro.quantities.uncertain import Uncertain
from hydro.search.sizing.openings import Choice, Openings

Told = Callable[[int, int], None]


def shape_of(build: Build) -> tuple[Any, dict[str, Uncertain]]:
    """Return a build with its named numbers taken out, and these by name; a name that stands for two values stays in."""
    numbers: dict[str, Uncertain] = {}
    twice: set[str] = set()
    plain = dataclasses.replace(build, title="", file="", notes=(), units="metric")  # what computes nothing
    for uncertain in _numbers(plain):
        if numbers.setdefault(uncertain.name, uncertain) != uncertain:
            twice.add(uncertain.name)
    for name in twice:
        del numbers[name]
    return _without(plain, numbers), numbers


def _numbers(thing: Any) -> Iterator[Uncertain]:
    if isinstance(thing, Uncertain):
        if thing.name:
            yield thing
    elif isinstance(thing, Mapping):
        for value in thing.values():
            yield from _numbers(value)
    elif isinstance(thing, (tuple, list)):
        for value in thing:
            yield from _numbers(value)
    elif dataclasses.is_dataclass(thing):
        for field in dataclasses.fields(thing):
            yield from _numbers(getattr(thing, field.name))


def _without(thing: Any, numbers: Mapping[str, Uncertain]) -> Any:
    """Return what is left of a record without its named numbers, as nested tuples."""
    if isinstance(thing, Uncertain):
        return thing.name if thing.name in numbers else (thing.name, thing.low, thing.middle, thing.high)
    if isinstance(thing, Item):
        return (thing.kind, thing.label, _without(thing.values, numbers))
    if isinstance(thing, Mapping):
        return tuple((key, _without(value, numbers)) for key, value in thing.items())
    if isinstance(thing, (tuple, list)):
        return tuple(_without(value, numbers) for value in thing)
    if dataclasses.is_dataclass(thing):
        return tuple(_without(getattr(thing, field.name), numbers) for field in dataclasses.fields(thing))
    return thing


@dataclass(frozen=True, slots=True)
class Topology:
    """Designs that differ in numbers alone. `fixed` are the candidates that make it, by the place of their open value.

    `drives` gives for each other open value and each of its candidates the numbers it sets, by name; `build` is the design
    `base`.
    """

    build: Build
    base: Choice
    fixed: Mapping[int, int]
    drives: Mapping[int, Mapping[int, Mapping[str, Uncertain]]]

    @property
    def counts(self) -> list[tuple[int, ...]]:
        """The candidates of each open value, in order."""
        return [(self.fixed[n],) if n in self.fixed else tuple(sorted(self.drives[n])) for n in range(len(self.base))]

    def numbers(self, choice: Choice) -> dict[str, Uncertain]:
        """Return the numbers that a choice sets, by name."""
        found: dict[str, Uncertain] = {}
        for n, k in enumerate(choice):
            if n not in self.fixed:
                found.update(self.drives[n][k])
        return found

    def built(self, choice: Choice) -> Build:
        """Return the build of a choice, as if its filled-in text had been read."""
        numbers = self.numbers(choice)

        def number(uncertain: Uncertain) -> Uncertain:
            return numbers.get(uncertain.name, uncertain)
        wishes, overrides = ({name: number(uncertain) for name, uncertain in kept.items()}
                             for kept in (self.build.wishes, self.build.overrides))
        made = rewritten(dataclasses.replace(self.build, wishes={}, overrides={}), Rewriting(number=number))
        return dataclasses.replace(made, wishes=wishes, overrides=overrides)

    def sample(self, choices: Sequence[Choice]) -> dict[str, Any]:
        """Return the picks of many choices: an array with an entry a design for every number that is driven."""
        rows = [self.numbers(choice) for choice in choices]
        return {name: stack([row[name].middle for row in rows]) for name in (rows[0] if rows else ())}


@dataclass(frozen=True, slots=True)
class Shapes:
    """All topologies, and the candidates left out because the reader does not take them: (open value, candidate) -> why."""

    openings: Openings
    topologies: tuple[Topology, ...]
    refused: Mapping[tuple[int, int], str]
    labels: tuple[str, ...]

    @property
    def count(self) -> int:
        """How many designs there are."""
        total = 0
        for topology in self.topologies:
            number = 1
            for places in topology.counts:
                number *= len(places)
            total += number
        return total


def read_shapes(openings: Openings, told: Told | None = None) -> Shapes:
    """Read each candidate once for every topology; `InputError` with what the reader says of a candidate that was written out."""
    reader = _Reader(openings, told)
    base = reader.base()
    whole, _ = shape_of(reader.build(base))
    shaping = []
    for n in range(len(openings.values)):
        builds = reader.around(base, n)
        if any(shape_of(build)[0] != whole for build in builds.values()):
            shaping.append(n)
    topologies = []
    for made in itertools.product(*(sorted(reader.around(base, n)) for n in shaping)):
        fixed = dict(zip(shaping, made, strict=True))
        topology = _topology(reader, tuple(fixed.get(n, k) for n, k in enumerate(base)), fixed)
        if topology is not None:
            topologies.append(topology)
    if not topologies:
        raise InputError(reader.complaints)
    refused = {pair: str(why) for pair, why in reader.refused.items()}
    return Shapes(openings, tuple(topologies), refused, _labels(openings, topologies[0]))


def _topology(reader: _Reader, base: Choice, fixed: dict[int, int]) -> Topology | None:
    """Return one topology; None where its base cannot be read."""
    try:
        build = reader.build(base)
    except InputError:
        return None
    drives: dict[int, dict[int, dict[str, Uncertain]]] = {}
    for n in range(len(base)):
        if n in fixed:
            continue
        numbers = {k: shape_of(one)[1] for k, one in reader.around(base, n).items()}
        names = [name for name in next(iter(numbers.values())) if len({one[name] for one in numbers.values()}) > 1]
        drives[n] = {k: {name: one[name] for name in names} for k, one in numbers.items()}
    return Topology(build, base, fixed, drives)


class _Reader:
    """Reads filled texts, each once, and keeps what the reader says of those that it does not take."""

    def __init__(self, openings: Openings, told: Told | None) -> None:
        self.openings, self.told = openings, told
        self.known: dict[Choice, Build | InputError] = {}
        self.refused: dict[tuple[int, int], Complaint] = {}
        self.complaints: tuple[Complaint, ...] = ()

    def build(self, choice: Choice) -> Build:
        if choice not in self.known:
            if self.told is not None:
                self.told(len(self.known), sum(len(one.candidates) for one in self.openings.values))
            try:
                self.known[choice] = loads(self.openings.filled(choice), self.openings.file)
            except InputError as problem:
                self.known[choice] = problem
        found = self.known[choice]
        if isinstance(found, InputError):
            raise found
        return found

    def base(self) -> Choice:
        """Return a choice that can be read: the middle candidates, else the first, else the last."""
        counts = [len(one.candidates) for one in self.openings.values]
        tried = [tuple(count // 2 for count in counts), (0,) * len(counts), tuple(count - 1 for count in counts)]
        problems = []
        for choice in tried:
            try:
                self.build(choice)
                return choice
            except InputError as problem:
                problems.append(problem)
        raise problems[0]

    def around(self, base: Choice, n: int) -> dict[int, Build]:
        """Return the builds with each candidate of one open value, the others as in the base."""
        found: dict[int, Build] = {}
        one = self.openings.values[n]
        for k in range(len(one.candidates)):
            try:
                found[k] = self.build((*base[:n], k, *base[n + 1:]))
            except InputError as problem:
                if one.listed:
                    raise
                self.refused[n, k] = problem.complaints[0]
        return found


def _labels(openings: Openings, topology: Topology) -> tuple[str, ...]:
    """Return what each open value is called: its name, or the first number that it drives, or what stands around it."""
    labels = []
    for n, one in enumerate(openings.values):
        names = list(next(iter(topology.drives[n].values()), {})) if n in topology.drives else []
        driven = f"{names[0]} (and {len(names) - 1} alike)" if len(names) > 1 else "".join(names)
        place = one.places[0]
        around = " ".join(f"{place.before} {place.tail}".split()) or place.key
        labels.append(one.name or driven or around)
    return tuple(label if labels.count(label) == 1 else f"{label}, line {one.line}, {n + 1}"
                 for n, (label, one) in enumerate(zip(labels, openings.values, strict=True)))
