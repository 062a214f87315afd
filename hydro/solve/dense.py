"""Gauss elimination without pivots, for matrices whose signs make pivots needless; on floats or on arrays of designs."""

from __future__ import annotations

from hydro.ops import Number


def eliminate(matrix: list[list[Number]]) -> list[Number]:
    """Return x of A x = b for rows [A | b]; the matrix is used up. Order at most some 40: the work grows with its cube."""
    n = len(matrix)
    for p in range(n):
        pivot_row = matrix[p]
        pivot = pivot_row[p]
        for row in matrix[p + 1:]:
            lead = row[p]
            if type(lead) is float and lead == 0.0:
                continue
            factor = lead / pivot
            for c in range(p + 1, n + 1):
                row[c] = row[c] - factor * pivot_row[c]
    x: list[Number] = [0.0] * n
    for p in reversed(range(n)):
        row = matrix[p]
        value = row[n]
        for c in range(p + 1, n):
            value = value - row[c] * x[c]
        x[p] = value / row[p]
    return x
