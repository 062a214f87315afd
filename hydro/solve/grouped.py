"""Laws grouped by kind: the records of many links (or waters) of one shape joined into one record of arrays, asked in one call.

A law is a bound method of a frozen record, so what differs between two links of one kind are the numbers of their records.
`group` joins the records of each kind and asks the law once for all of them. What the law never reads (names, parts kept for
a report) is never looked at, and does not keep two links apart: the joined record fetches a field from its members when it is
first asked for it. Where the members differ in shape there (one pipe, two pipes; open here, a table there), the kind falls into
smaller groups, each joined anew. A number that all members share stays a float, and a record that all share stays itself.

    >>> from hydro.elements.spill import Spill
    >>> (some,) = group([Spill(f"edge {k}", 1.0 + 0.01 * (k % 2)).flow for k in range(40)], 1)
    >>> import numpy as np
    >>> (1000.0 * some.ask(np.full(40, 1.02))[0][:2]).round(2).tolist()
    [2.59, 0.92]

Kinds of fewer than `FEW` members are not worth an array: they are asked one by one, in floats.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Hashable, Sequence
from functools import cache, partial
from operator import attrgetter
from types import MemberDescriptorType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FEW = 24
"""Members from which on one call with arrays is quicker than a call each with floats; measured by tests/bench/large.py."""

Law = Callable[..., tuple[Any, ...]]


class DifferError(Exception):
    """Members of one kind differ in shape; `keys` has one entry a member, equal where they agree."""

    def __init__(self, keys: Sequence[Hashable]) -> None:
        super().__init__("members of one kind differ in shape")
        self.keys = keys


class BatchError(Exception):
    """A number of a record is an array already, or something that is no number: its law cannot be grouped."""


@dataclasses.dataclass(frozen=True, slots=True)
class LawGroup:
    """Some of the laws given, by their places. `joined` answers for all of them at once; where None, `members` are asked each."""

    places: NDArray[np.intp]
    joined: Law | None
    members: tuple[Law, ...]

    def ask(self, *arguments: Array) -> Any:
        """Return what the laws answer, entry k of each array for member k; arguments are arrays of that length.

        An answer that is the same for every member may come as one float.
        """
        if self.joined is not None:
            return self.joined(*arguments)
        import numpy as np

        answers = [law(*values) for law, *values in zip(self.members, *(values.tolist() for values in arguments), strict=True)]
        return np.array(answers, dtype=float).T


def group(laws: Sequence[Law | None], arguments: int, few: int = FEW) -> list[LawGroup]:
    """Return the laws in groups, with those that are asked one by one in the last; places of None are left out.

    `arguments` is how many numbers each law takes. BatchError where a record holds arrays of designs.
    """
    import numpy as np

    kinds: dict[Any, list[int]] = {}
    for k, law in enumerate(laws):
        if law is not None:
            kinds.setdefault((type(getattr(law, "__self__", None)), getattr(law, "__func__", None)), []).append(k)
    waiting = [places for (owner, _), places in kinds.items() if dataclasses.is_dataclass(owner)]
    alone = [k for (owner, _), places in kinds.items() if not dataclasses.is_dataclass(owner) for k in places]
    groups: list[LawGroup] = []
    zeros = [0.0] * arguments
    while waiting:
        places = waiting.pop(0)
        if len(places) < few:
            alone += places
            continue
        members: Any = [laws[k] for k in places]
        try:
            joined = partial(members[0].__func__, joined_values([law.__self__ for law in members]))
            joined(*(np.zeros(len(places)) for _ in zeros))  # makes the joined record read all that the law ever reads
        except DifferError as differ:
            parts: dict[Hashable, list[int]] = {}
            for k, key in zip(places, differ.keys, strict=True):
                parts.setdefault(key, []).append(k)
            waiting += parts.values()
            continue
        groups.append(LawGroup(np.array(places), joined, ()))
    members = tuple(laws[k] for k in alone)
    for law in members:
        if not all(isinstance(value, (int, float)) for value in law(*zeros)):
            raise BatchError("a law does not answer in floats")
    return [*groups, LawGroup(np.array(alone), None, members)] if alone else groups


def joined_values(values: Sequence[Any]) -> Any:
    """Return one value for one of each member: an array of numbers, a float or a record that all share, a record that joins.

    DifferError where their shapes differ, BatchError where one is an array.
    """
    import numpy as np

    first = values[0]
    kinds = set(map(type, values))
    if kinds <= {float, int}:
        numbers = np.array(values, dtype=float)
        return numbers if (numbers != numbers[0]).any() else float(first)
    if len(set(map(id, values))) == 1:
        return first
    if len(kinds) > 1:
        raise DifferError(list(map(type, values)))
    if isinstance(first, (tuple, list)):
        lengths = list(map(len, values))
        if len(set(lengths)) > 1:
            raise DifferError(lengths)
        return type(first)(map(joined_values, zip(*values, strict=True)))
    if dataclasses.is_dataclass(first):
        kind = _joining(type(first))  # type: ignore[arg-type]
        if kind is None:
            raise DifferError(list(map(id, values)))
        made: Any = object.__new__(kind)
        object.__setattr__(made, "_members", values)
        return made
    if isinstance(first, (bool, str)) or callable(first):
        if len(set(values)) > 1:
            raise DifferError(values)
        return first
    raise BatchError(f"cannot join {type(first).__name__}")


@cache
def _joining(kind: type) -> type | None:
    """Return the kind of record that joins the fields of its members when a law first reads them.

    A field that nobody has set is what makes Python call __getattr__; that takes records with slots: None for others.
    """
    names = frozenset(field.name for field in dataclasses.fields(kind))
    if not all(isinstance(getattr(kind, name, None), MemberDescriptorType) for name in names):
        return None

    def fetch(self: Any, name: str) -> Any:
        if name not in names:
            raise AttributeError(name)
        value = joined_values(list(map(attrgetter(name), self._members)))
        object.__setattr__(self, name, value)
        return value
    return type(f"Joined{kind.__name__}", (kind,), {"__slots__": ("_members",), "__getattr__": fetch})
