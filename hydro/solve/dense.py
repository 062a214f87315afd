"""Gauss elimination without pivots, for matrices whose signs make pivots needless; on floats or on arrays of designs."""

from __future__ import annotations

from hydro.ops import Number


def eliminate(matrix: list[list[Number]], right: list[Number]) -> list[Number]:
    """Return x of A x = b; both are used up. Order at most some 40: the work grows with its cube.

    None stands where nothing was ever entered; such places are passed over.
    """
    n = len(right)
    for p in range(n):
        lead, pivot = matrix[p], matrix[p][p]
        filled = [c for c in range(p + 1, n) if lead[c] is not None]
        for r in range(p + 1, n):
            row = matrix[r]
            if row[p] is None:
                continue
            factor = row[p] / pivot
            for c in filled:
                row[c] = -factor * lead[c] if row[c] is None else row[c] - factor * lead[c]
            right[r] = right[r] - factor * right[p]
    for p in reversed(range(n)):
        row, value = matrix[p], right[p]
        for c in range(p + 1, n):
            if row[c] is not None:
                value = value - row[c] * right[c]
        right[p] = value / row[p]
    return right
