"""Some designs out of a record of arrays, again and again: what holds no array is found once and shared, not copied.

    taken = taker(network)
    taken(17)                        design 17 alone, its numbers as floats
    taken(np.array([3, 17]))         designs 3 and 17

The same as `hydro.quantities.arrays.take`, for a record that is taken from many times.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any, TypeVar

T = TypeVar("T")
Taken = Callable[[Any], Any]


def subset(record: T) -> Callable[[Any], T]:
    """Return what gives the record with only the chosen designs."""
    part = _part(record)
    return part if part is not None else lambda chosen: record


def _part(record: Any) -> Taken | None:
    """Return the same for one part of a record; None where no array is in it."""
    kind = type(record)
    if record is None or kind in (float, str, int, bool) or callable(record):
        return None
    if kind in (tuple, list):
        return _row(kind, list(record))
    if kind is dict:
        names = list(record)
        row = _row(list, [record[name] for name in names])
        return None if row is None else lambda chosen: dict(zip(names, row(chosen), strict=True))
    if dataclasses.is_dataclass(record):
        return _fields(record, kind)
    if not hasattr(record, "shape") or record.shape in ((), (1,)):
        return None

    def array(chosen: Any) -> Any:
        taken = record[chosen]
        return taken.item() if taken.shape == () else taken
    return array


def _row(kind: Any, entries: list[Any]) -> Taken | None:
    moving = [(n, part) for n, entry in enumerate(entries) if (part := _part(entry)) is not None]
    if not moving:
        return None

    def row(chosen: Any) -> Any:
        made = list(entries)
        for n, part in moving:
            made[n] = part(chosen)
        return kind(made)
    return row


def _fields(record: Any, kind: Any) -> Taken | None:
    values = [(field.name, getattr(record, field.name)) for field in dataclasses.fields(record)]
    parts = [(name, value, _part(value)) for name, value in values]
    if all(part is None for _, _, part in parts):
        return None

    def made_of(chosen: Any) -> Any:
        made = object.__new__(kind)
        for name, value, part in parts:
            object.__setattr__(made, name, value if part is None else part(chosen))
        return made
    return made_of
