"""The solver: Newton on heads and flows. It knows numbers, no hydraulics."""

from hydro.solve.newton import Solution, solve
from hydro.solve.system import System

__all__ = ["Solution", "System", "solve"]
