"""What the table of keys says of one key, and of one section."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from hydro.elements import registry


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a section: how it is written, and what may stand behind it.

    `written` is the line that `words` prints, an example with its meaning; `several` that for files with several of something
    (tanks, boxes, sumps, pumps). A key with `several` alone is asked for in such files only. `example` stands in the complaint
    where a required key is missing (`unless` that other key is there) or where something else stands.

    What may stand behind it: a value of a `kind` (a dimension, bounded by `low` and `high` in SI units; 'height', 'word' out of
    `choices`, 'name', 'text', 'prose', 'wall', 'product', and the pairs 'fill', 'point', 'bucket test'), elements of some
    `families`, a mapping with the keys of a `section`; `listed`: a list of these, of which one alone needs no brackets.
    `may_name`: a thing may be called so, for a mapping behind this word alone is an entry of that name.
    """

    written: str = ""
    kind: str = ""
    example: str = ""
    required: bool = False
    unless: str = ""
    low: float = 0.0
    high: float = math.inf
    choices: tuple[str, ...] = ()
    families: tuple[str, ...] = ()
    section: str = ""
    listed: bool = False
    several: str = ""
    may_name: bool = False

    @property
    def only_several(self) -> bool:
        """Whether only files with several of something need it."""
        return bool(self.several) and not self.written


@dataclass(frozen=True, slots=True)
class SectionKeys:
    """The keys of a section, in the order in which `words` prints them under `title`, those for several under `several`.

    Words of the elements of `families` are keys too. Of `least_one` one must be there, of `most_one` two are a mistake.
    """

    keys: Mapping[str, Key]
    title: str = ""
    several: str = ""
    families: tuple[str, ...] = ()
    least_one: tuple[str, ...] = ()
    most_one: tuple[str, ...] = ()

    def __getitem__(self, name: str) -> Key:
        """Return a key by its name; KeyError for one that stands neither here nor in the registry."""
        kind = registry.KINDS.get(name)
        if name not in self.keys and kind is not None and kind.family in self.families:
            return Key(families=(kind.family,))
        return self.keys[name]


ANY_KEYS = SectionKeys({})
"""Of a mapping whose keys are names or numbers of the user's own."""

ENTRY = ("name", "same as")
"""Keys of every entry of a list."""
NAME = Key("any", "name")
SAME_AS = Key("NAME of another one", "name")
EXCEPT = Key(kind="except", several="of '3 x NAME': {2: {...}}; what differs at some of them", may_name=True)
ALIKE = (*ENTRY, "header", "except")
"""Keys that belong to all of '12 x NAME' together, and that 'same as' does not repeat."""
YES_NO = ("yes", "no")
