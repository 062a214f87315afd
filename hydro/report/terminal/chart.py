"""A level against time as a small chart of signs, for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from hydro.report.terminal.layout import WIDTH, clean

HEIGHT, LABELS = 7, 10
COLUMNS = WIDTH - LABELS - 2
LEAST_SPAN = 2e-3
"""No chart spans less, in the unit of its values: a level that stands still is a straight line."""


def at(times: Sequence[float], values: Sequence[float], time: float) -> float:
    """Return a value between the points of a series, by straight lines; the ends go on."""
    for k in range(1, len(times)):
        if times[k] >= time:
            span = times[k] - times[k - 1]
            share = (time - times[k - 1]) / span if span > 0.0 else 1.0
            return values[k - 1] + share * (values[k] - values[k - 1])
    return values[-1]


def level_plot(title: str, times: Sequence[float], values: Sequence[float], until: float, label: Callable[[float], str],
               clock: Callable[[float], str], height: int = HEIGHT) -> list[str]:
    """Return the lines of a chart: values (labelled by `label`) from the first time to `until` (labelled by `clock`)."""
    points = [at(times, values, times[0] + (until - times[0]) * k / (COLUMNS - 1)) for k in range(COLUMNS)]
    low, high = min(points), max(points)
    if high - low < LEAST_SPAN:
        low, high = low - 0.5 * LEAST_SPAN, high + 0.5 * LEAST_SPAN
    rows = [[" "] * COLUMNS for _ in range(height)]
    for column, value in enumerate(points):
        rows[round((high - value) / (high - low) * (height - 1))][column] = "*"
    lines = [clean(title)]
    for number, row in enumerate(rows):
        shown = label(high - (high - low) * number / (height - 1)) if number in (0, height // 2, height - 1) else ""
        lines.append(f"{shown:>{LABELS}} |{''.join(row)}".rstrip())
    lines.append(" " * LABELS + " +" + "-" * COLUMNS)
    first, last = clock(times[0]), clock(until)
    lines.append(" " * (LABELS + 2) + first + f"{last:>{COLUMNS - len(first)}}")
    return lines
