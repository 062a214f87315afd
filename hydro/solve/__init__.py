"""The solver: Newton on heads and flows. It knows numbers, no hydraulics."""

from hydro.solve.newton import Solution, solve
from hydro.solve.relaxing import relax
from hydro.solve.system import System

__all__ = ["Solution", "System", "relax", "solve"]
