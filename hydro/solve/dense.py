"""Gauss elimination without pivots, for matrices whose signs make pivots needless; on floats or on arrays of designs."""

from __future__ import annotations

from hydro.quantities.arrays import Number


def eliminate(matrix: list[list[Number]]) -> list[Number]:
    """Return x of A x = b for rows [A | b]; the matrix is overwritten. Order at most some 40: the work grows with its cube.

    Entries that are None are zeros of the pattern, and skipped.
    """
    n = len(matrix)
    for p in range(n):
        lead, pivot = matrix[p], matrix[p][p]
        filled = [c for c in range(p + 1, n + 1) if lead[c] is not None]
        for r in range(p + 1, n):
            row = matrix[r]
            if row[p] is None:
                continue
            factor = row[p] / pivot
            for c in filled:
                row[c] = -factor * lead[c] if row[c] is None else row[c] - factor * lead[c]
    x: list[Number] = [0.0] * n
    for p in reversed(range(n)):
        row = matrix[p]
        value = row[n]
        for c in range(p + 1, n):
            if row[c] is not None:
                value = value - row[c] * x[c]
        x[p] = value / row[p]
    return x
