"""What the elements tell the rest of the house about themselves: their words, what may be written behind them, their defaults.

An element file ends in a call of `register`. The case reader learns from it which words there are and which values each takes;
the network calls its `make`. Nothing else has to know that the element exists.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from hydro.description.build import Height, Item
from hydro.quantities.uncertain import Sample, Uncertain

Made = Any
"""What a kind's `make` returns: parts for the family 'part', an inlet, a passage, a shape ... as its family says."""


@dataclass(frozen=True, slots=True)
class Field:
    """A value that may be written behind an element's word.

    `dimension` is one of `hydro.quantities.parsing.DIMENSIONS`, or 'height' (so much above or below a place), 'word', 'table'
    (pairs of volume and length) or 'size' (a bore, or a size of the pipe catalogue). `low` and `high` bound what is physically
    sensible, in SI; outside is a mistake in the file. `choices` are the words that a 'word' may be; of any other dimension those
    that may stand in place of the number."""

    name: str
    dimension: str
    required: bool = False
    choices: tuple[str, ...] = ()
    low: float = float("-inf")
    high: float = float("inf")
    positive: bool = True


@dataclass(frozen=True, slots=True)
class Default:
    """A value that stands when nobody gives one: its band in SI units, its dimension and its source in words.

    One that `divides` is something without which nothing flows, or nothing is lost: it cannot be zero.
    """

    name: str
    low: float
    middle: float
    high: float
    dimension: str
    source: str
    divides: bool = False

    def uncertain(self) -> Uncertain:
        """Return the default as an uncertain number that carries its source."""
        return Uncertain(self.low, self.middle, self.high, self.name, f"default: {self.source}")


@dataclass(frozen=True, slots=True)
class Kind:
    """An element as the case file and the network see it.

    `family` is 'inlet', 'part', 'barrier', 'edge', 'vessel' or 'break'. `positional` lists the fields that follow the word in its
    one-line form ('ribbed hose 38 mm 160 cm'), in order. `make(reader)` prepares the element. Names of `defaults` may be
    written behind the word too, for this one element only. A part that `comes_out` to be cleaned wants a union either side;
    one that `bends` turns the line by 90 degrees.
    """

    word: str
    family: str
    make: Callable[[Reader], Made]
    fields: tuple[Field, ...] = ()
    positional: tuple[str, ...] = ()
    defaults: tuple[Default, ...] = ()
    also: tuple[str, ...] = ()
    summary: str = ""
    comes_out: bool = False
    bends: bool = False


KINDS: dict[str, Kind] = {}
"""Word (and every other word in `also`) -> kind."""


GENERAL: dict[str, Default] = {}
"""Defaults that belong to no single word of the case file (how a drain primes, what a still pump lets through, limits)."""


def register_defaults(*defaults: Default) -> None:
    """Enter defaults that belong to no single word, so that a case file can override them."""
    GENERAL.update((default.name, default) for default in defaults)


def register(kind: Kind) -> Kind:
    """Enter a kind under all its words; a word that is taken is a programming error."""
    for word in (kind.word, *kind.also):
        if word in KINDS:
            raise ValueError(f"two elements answer to the word '{word}'")
        KINDS[word] = kind
    return kind


def load_all() -> dict[str, Kind]:
    """Import every module of `hydro.elements`, so that each has registered, and return the registry."""
    _import_all()
    return KINDS


@cache
def _import_all() -> None:
    """Import the modules once: every network asks for the registry, and looking through the folder takes milliseconds."""
    package = importlib.import_module("hydro.elements")
    for module in pkgutil.iter_modules(package.__path__):
        importlib.import_module(f"hydro.elements.{module.name}")


def family(name: str) -> dict[str, Kind]:
    """Return the kinds of one family by word."""
    return {word: kind for word, kind in load_all().items() if kind.family == name}


def all_defaults() -> dict[str, Default]:
    """Return every default by name: what the section 'defaults' of a case file may override."""
    return {default.name: default for kind in load_all().values() for default in kind.defaults} | GENERAL


@dataclass(slots=True)
class PartContext:
    """What an element may ask for while it is prepared: values, heights, defaults, viscosity; it records every number used."""

    sample: Sample
    overrides: dict[str, Uncertain]
    height_of: Callable[[Height], Any]
    viscosity: Any
    used: dict[str, Uncertain] = field(default_factory=dict)

    def value(self, uncertain: Uncertain) -> Any:
        """Return the value that the sample takes for an uncertain number, and record that it was used."""
        self.used[uncertain.name] = uncertain
        return uncertain.at(self.sample)

    def height(self, height: Height) -> Any:
        """Return a height above the datum, in metres."""
        self.used[height.offset.name] = height.offset
        return self.height_of(height)

    def default(self, default: Default) -> Any:
        """Return a default, or what the case file put in its place."""
        return self.value(self.overrides.get(default.name) or default.uncertain())


@dataclass(slots=True)
class Reader:
    """One item with the context in which it is made. `bore` is the bore of the line where the item sits, None at its start."""

    item: Item
    context: PartContext
    bore: Any = None

    def has(self, name: str) -> bool:
        """Whether the value was written."""
        return name in self.item.values

    def number(self, name: str) -> Any:
        """Return a written number in SI units; KeyError where it is absent (ask `has` first, or make the field required)."""
        value = self.item.values[name]
        if not isinstance(value, Uncertain):
            raise TypeError(f"{self.item.kind}: '{name}' is not a number")
        return self.context.value(value)

    def word(self, name: str, otherwise: str = "") -> str:
        """Return a written word, or `otherwise`."""
        return str(self.item.values.get(name, otherwise))

    def height(self, name: str) -> Any:
        """Return a written height above the datum."""
        value = self.item.values[name]
        if not isinstance(value, Height):
            raise TypeError(f"{self.item.kind}: '{name}' is not a height")
        return self.context.height(value)

    def default(self, default: Default) -> Any:
        """Return the default of this name: written behind the item, else overridden for the build, else the default itself."""
        if self.has(default.name):
            return self.number(default.name)
        return self.context.default(default)
