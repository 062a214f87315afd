"""What the plots of a choice of pumps show: every curve, with its band where only a box is known, over the system curve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from hydro.elements.pump import BOX_EXPONENT, from_box
from hydro.search.pumps.candidate import SPEED
from hydro.search.pumps.point import system_curve

if TYPE_CHECKING:
    from hydro.search.pumps.choose import Choice, Choices

LETTERS = "ABCDEFGHIJKLMNPQRSTUVWXYZ"
"""Letters for the small chart; O stands for an operating point there."""
STEPS = 40

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """One pump: `points` (flow m3/s, head m) of its curve as it comes, the two edges of its band, and where it works."""

    name: str
    points: Points
    band: tuple[Points, Points] | None
    works: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Curves:
    """All pumps that run, in order, the system curve, and the wanted flow (m3/s, None without one)."""

    pumps: tuple[Drawn, ...]
    system: Points
    wanted: float | None

    @property
    def most_flow(self) -> float:
        """The last flow of any pump, m3/s."""
        return max((points[-1][0] for points in (one.points for one in self.pumps)), default=0.0)

    @property
    def most_head(self) -> float:
        """The highest head of any pump, m."""
        return max((head for one in self.pumps for _, head in one.points), default=0.0)

    @property
    def letters(self) -> tuple[tuple[str, str], ...]:
        """Each pump's name with its letter, as many as there are letters."""
        return tuple(zip((one.name for one in self.pumps), LETTERS, strict=False))


def curves_of(found: Choices) -> Curves:
    """Return what is to be drawn; no system curve where the loop runs with no pump."""
    pumps = tuple(_drawn(row, found.pump) for row in found.rows if row.full is not None and row.results is not None)
    most = max((one.points[-1][0] for one in pumps), default=0.0)
    system: Points = ()
    if found.state is not None and most > 0.0:
        flows = [most * 1.05 * k / STEPS for k in range(STEPS + 1)]
        system = tuple(system_curve(found.state, found.state.network.place(found.pump), flows))
    return Curves(pumps, system, found.wanted.flow)


def _drawn(row: Choice, name: str) -> Drawn:
    assert row.full is not None
    assert row.results is not None
    element: Any = row.results.element(row.results.network.place(name))
    point = row.full.point
    # A candidate set by its speed is drawn as it comes, at full speed; a speed that the file gives stays.
    speed = 1.0 if row.setting is not None and row.setting.kind == SPEED else float(element.speed)
    last = max(float(element.curve.flows[-1]) * speed, point.flow)
    points = tuple((last * k / STEPS, float(element.curve.head(last * k / STEPS, speed)[0])) for k in range(STEPS + 1))
    band = None
    if row.candidate.most_flow is not None and row.candidate.most_height is not None and not row.candidate.points:
        edges = [from_box(row.candidate.most_flow, row.candidate.most_height, exponent)
                 for exponent in (BOX_EXPONENT.low, BOX_EXPONENT.high)]
        low, high = (tuple((float(q), float(h)) for q, h in zip(edge.flows, edge.heads, strict=True)) for edge in edges)
        band = low, high
    return Drawn(row.candidate.name, points, band, (point.flow, point.head))
