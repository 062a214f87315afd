"""What a pump puts into the water, what it draws, and what that comes to in a year.

    hydraulic power    P = rho g Q H                              W
    efficiency         P / electric power                         wire to water
    at another speed   electric power = s^3 W(Q/s)                affinity

Q flow m3/s, H head m, rho density kg/m3, s speed as a share of full speed, W watts along the curve at full speed: straight
lines between the points, held level before the first and beyond the last. Affinity takes losses in motor and controller as
falling with the rest; really a slowed pump draws a little more. Makers take watts in fresh water; sea water takes up to 3 % more.
Source: textbooks, and Crane TP-410 Ex. 7-33 and 7-34, which the tests work through.

    >>> round(hydraulic_power(1e-3, 3.0, 1025.0), 2)                # 1 L/s of sea water, 3 m up
    30.16
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from hydro.quantities.arrays import GRAVITY
from hydro.search.pumps.candidate import Candidate

DAYS = 365.0
JOULES = 3.6e6
"""Joules in a kWh."""


ALONG, LABEL, SLOWED = "along the curve", "label", "slowed"


@dataclass(frozen=True, slots=True)
class PowerDraw:
    """Electric power, W. `basis`: from figures along the curve; the label's figure, an upper end; or slowed by affinity."""

    watts: float
    basis: str


def hydraulic_power(flow: float, head: float, density: float) -> float:
    """Return what the water gets, W: flow m3/s, head m, density kg/m3."""
    return density * GRAVITY * flow * head


def efficiency(hydraulic: float, electric: float) -> float:
    """Return the share of the electric power (both W) that reaches the water; 0 where none is drawn."""
    return hydraulic / electric if electric > 0.0 else 0.0


def power_draw(candidate: Candidate, flow: float, speed: float = 1.0) -> PowerDraw | None:
    """Return what a pump draws at a flow (m3/s) and speed (share of full); None where nothing says so."""
    slowed = SLOWED if speed < 1.0 else ""
    if candidate.watts:
        return PowerDraw(speed ** 3 * _between(candidate.watts, flow / speed), slowed or ALONG)
    if candidate.rated is not None:
        return PowerDraw(speed ** 3 * candidate.rated, slowed or LABEL)
    return None


def energy(watts: float, hours: float) -> float:
    """Return the energy that so many hours take, J."""
    return watts * hours * 3600.0


def yearly_energy(watts: float, hours_a_day: float) -> float:
    """Return the energy of a year, J."""
    return energy(watts, hours_a_day * DAYS)


def cost(joules: float, price: float) -> float:
    """Return what energy (J) costs at a price per kWh, in the price's own currency."""
    return joules / JOULES * price


def _between(points: tuple[tuple[float, float], ...], x: float) -> float:
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]
