"""A pump at work in a build: its point with the power it draws, and what that comes to in a year."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.search.pumps.candidate import THROTTLE, Candidate
from hydro.search.pumps.point import DutyPoint
from hydro.search.pumps.power import PowerDraw, cost, efficiency, hydraulic_power, power_draw, yearly_energy


@dataclass(frozen=True, slots=True)
class PumpGoals:
    """What is wanted: `flow` of the pump (m3/s, None: from the turnover), hours a day, price a kWh in `currency`.

    `control` says how pumps are set that say nothing themselves. Without `bands` checks are judged in the middle of every band.
    """

    flow: float | None = None
    hours: float = 24.0
    price: float | None = None
    currency: str = ""
    control: str = THROTTLE
    bands: bool = True


@dataclass(frozen=True, slots=True)
class Duty:
    """A pump at work: `hydraulic` power (W), electric power, `efficiency` wire to water, energy a year (J) and its cost.

    What cannot be known without the watts, or the price, is None.
    """

    point: DutyPoint
    power: PowerDraw | None
    hydraulic: float
    efficiency: float | None
    yearly: float | None
    cost: float | None


def duty(candidate: Candidate, point: DutyPoint, speed: float, asked: PumpGoals, density: float) -> Duty:
    """Return the power, energy and cost of a pump at a point, at a speed (share of full), in water of a density (kg/m3)."""
    power = power_draw(candidate, point.flow, speed)
    useful = hydraulic_power(point.flow, point.head, density)
    yearly = None if power is None else yearly_energy(power.watts, asked.hours)
    return Duty(point, power, useful, None if power is None else efficiency(useful, power.watts), yearly,
                None if yearly is None or asked.price is None else cost(yearly, asked.price))
