"""What each drain takes at which level, with air and as a siphon, with the marks between which it changes, and where it runs."""

from __future__ import annotations

from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.report.html.figures import both
from hydro.report.html.plotting import Axis, Chart, ChartCurve, ChartLevel, ChartMark
from hydro.scenarios.results import DRY
from hydro.study.rating import Rating

AIR, FULL = "with air", "as a siphon"


def rating_chart(rating: Rating, system: str) -> Chart:
    """Return the chart of a drain: level over its lip against flow."""
    full = rating.as_siphon
    marks = []
    if full and full[0][0] > 0.0:
        marks.append(ChartMark("siphon breaks below here", full[0], "diamond"))
    if rating.fills is not None:
        marks.append(ChartMark("begins to siphon here", rating.fills, "square"))
    if rating.flow >= DRY:
        marks.append(ChartMark("runs here", (rating.flow, rating.over)))
    low = min([0.0, *(1.1 * y for _, y in full), 1.1 * rating.over if rating.flow >= DRY else 0.0])
    levels = [ChartLevel("lip", 0.0)] + ([ChartLevel("lowest opening", rating.room)] if rating.room <= 1.02 * rating.top else [])
    return Chart(f"{rating.name}: level over the lip against flow", _sentence(rating, system), f"rating-{rating.link}",
                 Axis("flow", "flow", 0.0, rating.most, system), Axis("level over the lip", "length", low, rating.top, system),
                 [ChartCurve(AIR, rating.with_air, 0), ChartCurve(FULL, full, 1)], marks, levels)


def _sentence(rating: Rating, system: str) -> str:
    """Return what the chart shows, in words."""
    full = rating.as_siphon
    mode = rating.mode if rating.mode in (WITH_AIR, SIPHON) else "flushing"
    runs = f"It runs {mode} at {both(rating.flow, 'flow', system)} with {both(rating.over, 'length', system)} over its lip." \
        if rating.flow >= DRY else "It stands dry."
    breaks = f" As a siphon it takes at least {both(full[0][0], 'flow', system)}; with less it draws air." if full else \
        " No full line is to be had at these levels."
    takes = both(rating.vented, "flow", system)
    return f"{runs} With air it takes up to {takes}; from {both(rating.primes, 'length', system)} over the lip it may begin to " \
           f"siphon.{breaks}"
