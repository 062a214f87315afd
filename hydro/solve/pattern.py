"""The matrix of a large system: its pattern, the order in which nodes are eliminated, and its factors.

A link between nodes i and j has four places, (i, i), (i, j), (j, i), (j, j); places in the closing node's column go into the
border b, those in its row nowhere. Numbers are added up into the places by one count with weights.

The columns stand in the order of elimination, found once for the pattern: least degree first (SuperLU's search on A + A'), nodes
with very many neighbours last. -A is an M-matrix, dominated by its diagonal column by column: no pivots are needed, so the order
depends on the pattern alone. On a header with branches to tanks over one sump nothing fills but some six entries a node.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from hydro.solve.system import System

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

CALM: dict[str, Any] = {"diag_pivot_thresh": 0.0, "relax": 1, "panel_size": 1, "options": {"SymmetricMode": True}}
"""How SuperLU is asked: pivots where they stand, columns one by one (trees have no blocks)."""
HUB = 10.0
"""A node with more neighbours than this times the root of the number of nodes is eliminated after all others."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """Where the links' shares go: `spots` of up, down, -up, -down in the places of A, then in b, the last entry being waste.

    `diagonal` are the places of A's diagonal. `free` are the nodes of A's columns, `matrix` is A with its pattern.
    """

    free: NDArray[np.intp]
    spots: NDArray[np.intp]
    size: int
    diagonal: NDArray[np.intp]
    matrix: Any


def laid_out(system: System, starts: NDArray[np.intp], ends: NDArray[np.intp]) -> Pattern:
    """Return the pattern of the matrix over all unknown heads but the closing one, in the order of elimination."""
    import numpy as np
    from scipy.sparse import csc_matrix

    free = np.array([k for k in system.order() if k != system.closing])
    m = len(free)
    column = np.full(len(system.stored), m + 1)
    column[free] = np.arange(m)
    free = free[_elimination(column[starts], column[ends], m)]
    column[free] = np.arange(m)
    if system.closing is not None:
        column[system.closing] = m
    a, b = column[starts], column[ends]
    rows, columns = np.concatenate((a, a, b, b, np.arange(m))), np.concatenate((a, b, a, b, np.arange(m)))
    inner, edge = (rows < m) & (columns < m), (rows < m) & (columns == m)
    keys, inside = np.unique(columns[inner] * m + rows[inner], return_inverse=True)
    spots = np.full(len(rows), len(keys) + m)
    spots[inner] = inside.reshape(-1)
    spots[edge] = len(keys) + rows[edge]
    heads = np.searchsorted(keys, np.arange(m + 1) * m)
    matrix = csc_matrix((np.zeros(len(keys)), (keys % m).astype(np.intc), heads.astype(np.intc)), shape=(m, m))
    return Pattern(free, spots[:4 * len(starts)], len(keys) + m + 1, spots[4 * len(starts):], matrix)


def _elimination(a: NDArray[np.intp], b: NDArray[np.intp], m: int) -> NDArray[np.intp]:
    """Return the order in which m nodes are best eliminated; a and b are the ends of each link, m or more for none of them.

    Least degree first. SuperLU's search for it takes time as the square of a node's neighbours: hubs are kept from it.
    """
    import numpy as np
    from scipy.sparse import coo_matrix, eye
    from scipy.sparse.linalg import splu

    both = (a < m) & (b < m)
    links = coo_matrix((np.ones(both.sum()), (a[both], b[both])), shape=(m, m)).tocsr()
    links = links + links.T
    common = np.diff(links.indptr) <= HUB * m ** 0.5
    wanted, hubs = np.flatnonzero(common), np.flatnonzero(~common)
    # Only the pattern matters; a heavy diagonal makes sure that the factors exist.
    heavy = (1.0 + 2.0 * both.sum()) * eye(len(wanted)) + links[wanted][:, wanted]
    factors = splu(heavy.tocsc(), permc_spec="MMD_AT_PLUS_A", **CALM)
    return np.concatenate((wanted[np.argsort(factors.perm_c)], hubs))


def factorised(matrix: Any) -> Any:
    """Return SuperLU's factors of a matrix in columns."""
    from scipy.sparse.linalg import splu

    return splu(matrix, permc_spec="NATURAL", **CALM)
