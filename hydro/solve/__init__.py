"""The solver: Newton on heads and flows. It knows numbers, no hydraulics."""

from hydro.solve.choosing import relax, solve
from hydro.solve.newton import Solution
from hydro.solve.system import System

__all__ = ["Solution", "System", "relax", "solve"]
