"""Arithmetic that is written once and works on one float and on an array of ten thousand designs.

The only module that knows a float from an array. Elements write plain arithmetic plus these names. Two rules keep that safe:
guard the argument, not the result (`where` evaluates both of its branches), and never raise a number that may be negative to
a fractional power (a float would silently turn complex). numpy is imported only when an array comes along, so that a single
loop is solved without it.
"""

from __future__ import annotations

import dataclasses
import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import Any

Number = Any
"""A float, or an array with one entry a design."""

GRAVITY = 9.80665
"""Standard acceleration of gravity, m/s2 (3rd CGPM 1901; ISO 80000-3)."""


def is_scalar(x: Number) -> bool:
    """Whether x is one plain number rather than an array."""
    return type(x) is float or isinstance(x, (int, bool))


def same(a: Number, b: Number) -> bool:
    """Whether two numbers are surely one: the very same object, or equal floats. Arrays are not compared."""
    return a is b or (type(a) is float and type(b) is float and a == b)


def log(x: Number) -> Number:
    """Natural logarithm; x must be positive."""
    if type(x) is float:
        return math.log(x)
    import numpy as np

    return np.log(x)


def where(condition: Any, yes: Number, no: Number) -> Number:
    """Return `yes` where the condition holds, else `no`; both have been evaluated, so both must be finite."""
    if type(condition) is bool:
        return yes if condition else no
    import numpy as np

    return np.where(condition, yes, no)


def any_of(condition: Any) -> bool:
    """Whether the condition holds anywhere."""
    return condition if type(condition) is bool else bool(condition.any())


def greater(a: Number, b: Number) -> Number:
    """Return the larger one, with its kink."""
    return where(a > b, a, b)


def lesser(a: Number, b: Number) -> Number:
    """Return the smaller one, with its kink."""
    return where(a < b, a, b)


def peak(values: Sequence[Number]) -> Number:
    """Return the largest magnitude among a list of numbers, design by design."""
    if set(map(type, values)) == {float}:
        return max(map(abs, values))
    first = abs(values[0])
    for value in values[1:]:
        first = greater(first, abs(value))
    return first


def smooth_max(a: Number, b: Number, width: float) -> tuple[Number, Number, Number]:
    """Return max(a, b) rounded over `width`, with its slopes to a and to b (they add up to 1).

    The plain form (a + b + sqrt(d^2 + w^2))/2 loses all digits far from the corner; here the small excess over the true
    maximum is formed on its own, so that it fades as w^2/(4 d).
    """
    difference = a - b
    reach = (difference * difference + width * width) ** 0.5
    tail = 0.5 * width * width / (reach * (reach + abs(difference)))
    if type(difference) is float:
        return (a + tail * reach, 1.0 - tail, tail) if difference > 0.0 else (b + tail * reach, tail, 1.0 - tail)
    first = difference > 0.0
    return where(first, a, b) + tail * reach, where(first, 1.0 - tail, tail), where(first, tail, 1.0 - tail)


def soft_positive(x: Number, width: float) -> tuple[Number, Number]:
    """Return x above `width`, 0 below -`width`, a parabola between, with its slope.

    Nothing of it is left where it is dry: along a tail, however thin, Newton would crawl.
    """
    if type(x) is float:
        over = x + width
        if over <= 0.0:
            return 0.0, 0.0
        return (x, 1.0) if x >= width else (over * over / (4.0 * width), over / (2.0 * width))
    over = where(x > -width, where(x < width, x + width, 2.0 * width + 0.0 * x), 0.0 * x)
    return over * over / (4.0 * width) + where(x > width, x - width, 0.0 * x), over / (2.0 * width)


def smooth_step(x: Number) -> tuple[Number, Number]:
    """Return 0 below x = 0, 1 above x = 1, 3x^2 - 2x^3 between, with its slope."""
    if type(x) is float:
        if x <= 0.0:
            return 0.0, 0.0
        return (1.0, 0.0) if x >= 1.0 else (x * x * (3.0 - 2.0 * x), 6.0 * x * (1.0 - x))
    t = where(x > 0.0, where(x < 1.0, x, 1.0 + 0.0 * x), 0.0 * x)
    return t * t * (3.0 - 2.0 * t), 6.0 * t * (1.0 - t)


def piece(knots: Sequence[Number], rows: Sequence[Sequence[Number]], x: Number) -> Sequence[Number]:
    """Return the row of coefficients that holds at x: rows[k] between knots[k - 1] and knots[k].

    `rows` has one entry more than `knots`. Knots and coefficients are floats, or arrays with one entry a design: in that
    case every design has its own table.
    """
    if type(x) is float:
        try:
            return rows[bisect_right(knots, x)]
        except ValueError:  # some knots are arrays, which are neither above nor below x as a whole
            pass
    chosen = list(rows[0])
    for knot, row in zip(knots, rows[1:], strict=True):
        past = x >= knot
        chosen = [where(past, new, old) for new, old in zip(row, chosen, strict=True)]
    return chosen


def each(function: Callable[..., float], *xs: Number) -> Number:
    """Apply a function that knows only floats, once for every distinct argument. For preparing parameters, not for laws."""
    if all(is_scalar(x) for x in xs):
        return function(*map(float, xs))
    import numpy as np

    table = np.stack(np.broadcast_arrays(*xs), axis=-1)
    values, back = np.unique(table, axis=0, return_inverse=True)
    return np.array([function(*value) for value in values.tolist()])[back.reshape(-1)]


def stack(records: Sequence[Any]) -> Any:
    """Join parameter records of one type, design by design, into one record whose numbers are arrays.

    Words and other non-numbers must agree in all of them: ValueError otherwise. Nested records, tuples and lists are followed.
    """
    import numpy as np

    first = records[0]
    if isinstance(first, (bool, str, type(None))) or callable(first):
        if any(record != first for record in records):
            raise ValueError(f"designs of one batch differ in more than numbers: {first!r}")
        return first
    if isinstance(first, (int, float)):
        return np.array(records, dtype=float)
    if isinstance(first, (tuple, list)):
        return type(first)(stack(entries) for entries in zip(*records, strict=True))
    if dataclasses.is_dataclass(first):
        made = object.__new__(type(first))
        for field in dataclasses.fields(first):
            object.__setattr__(made, field.name, stack([getattr(record, field.name) for record in records]))
        return made
    raise ValueError(f"cannot join {type(first).__name__} over designs")


def take(record: Any, chosen: Any) -> Any:
    """Return a record of arrays with only the chosen designs: what `stack` joined, taken apart again.

    `chosen` is an array of places or of yes and no, or one place: then the numbers come out as floats. Nested records, tuples,
    lists and mappings are followed; what is no array stays as it is.
    """
    kind = type(record)
    if record is None or kind in (float, str, int, bool) or callable(record):
        return record
    if kind in (tuple, list):
        return kind(take(entry, chosen) for entry in record)
    if kind is dict:
        return {name: take(entry, chosen) for name, entry in record.items()}
    if dataclasses.is_dataclass(record):
        made = object.__new__(kind)
        for field in dataclasses.fields(record):
            object.__setattr__(made, field.name, take(getattr(record, field.name), chosen))
        return made
    if not hasattr(record, "shape") or record.shape in ((), (1,)):
        return record
    taken = record[chosen]
    return taken.item() if taken.shape == () else taken


def first(x: Number) -> float:
    """Return the value of the first design: for decisions about shape, which all designs of a batch share."""
    return float(x) if is_scalar(x) else float(x.flat[0])
