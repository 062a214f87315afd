"""Records made again with other names in them: places, labels, names of numbers. What stays the same is shared, not copied."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any, TypeVar, cast

from hydro.description.build import Height, Item
from hydro.quantities.uncertain import Uncertain

T = TypeVar("T")


@dataclasses.dataclass(frozen=True, slots=True)
class Rewriting:
    """How to rewrite the heights, the labels and the numbers of a record; None leaves them as they are."""

    height: Callable[[Height], Height] | None = None
    label: Callable[[str], str] | None = None
    number: Callable[[Uncertain], Uncertain] | None = None


def rewritten(thing: T, change: Rewriting) -> T:
    """Return a record, or a tuple of records, with every height, label and number in it rewritten."""
    made: Any = thing
    if isinstance(thing, Uncertain):
        made = change.number(thing) if change.number else thing
    elif isinstance(thing, Height):
        offset = rewritten(thing.offset, change)
        made = thing if offset is thing.offset else dataclasses.replace(thing, offset=offset)
        made = change.height(made) if change.height else made
    elif isinstance(thing, Item):
        values = {name: rewritten(value, change) for name, value in thing.values.items()}
        label = change.label(thing.label) if change.label and thing.label else thing.label
        if label != thing.label or any(values[name] is not value for name, value in thing.values.items()):
            made = Item(thing.kind, values, thing.text, label)
    elif isinstance(thing, tuple):
        members = tuple(rewritten(member, change) for member in thing)
        made = thing if all(new is old for new, old in zip(members, thing, strict=True)) else members
    elif dataclasses.is_dataclass(thing):
        fields: dict[str, Any] = {}
        for name in _names(cast(Any, type(thing))):
            before = getattr(thing, name)
            after = before if isinstance(before, str) else rewritten(before, change)
            if after is not before:
                fields[name] = after
        made = dataclasses.replace(made, **fields) if fields else thing
    return cast(T, made)


@cache
def _names(kind: Any) -> tuple[str, ...]:
    return tuple(field.name for field in dataclasses.fields(kind))


def numbers_in(thing: Any) -> Iterator[Uncertain]:
    """Yield every uncertain number in a record, a tuple or an item."""
    yield from parts_in(thing, Uncertain)


def parts_in(thing: Any, kind: type[T]) -> Iterator[T]:
    """Yield everything of a kind, such as heights, in a record, a tuple or an item."""
    if isinstance(thing, kind):
        yield thing
    elif isinstance(thing, tuple):
        for member in thing:
            yield from parts_in(member, kind)
    elif isinstance(thing, Item):
        yield from parts_in(tuple(thing.values.values()), kind)
    elif dataclasses.is_dataclass(thing):
        for name in _names(cast(Any, type(thing))):
            yield from parts_in(getattr(thing, name), kind)
