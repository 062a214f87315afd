"""Pump curves over the system curve as a small chart of signs, for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from hydro.quantities.formatting import convert, show, unit_name
from hydro.report.terminal.chart import COLUMNS, LABELS, at
from hydro.report.terminal.layout import heading, paragraph
from hydro.search.pumps.curves import Curves

HEIGHT = 16
SYSTEM, WORKS, WANTED = "+", "O", ":"


def pump_curves_chart(curves: Curves, system: str) -> list[str]:
    """Return the section with the chart; nothing where no pump runs."""
    if not curves.pumps or curves.most_head <= 0.0:
        return []
    letters = dict(curves.letters)
    right, top = 1.02 * curves.most_flow, 1.05 * curves.most_head
    rows = [[" "] * COLUMNS for _ in range(HEIGHT)]

    def put(flow: float, head: float, sign: str) -> None:
        column, row = round(flow / right * (COLUMNS - 1)), round((top - head) / top * (HEIGHT - 1))
        if 0 <= column < COLUMNS and 0 <= row < HEIGHT:
            rows[row][column] = sign

    if curves.wanted is not None:
        for row in range(HEIGHT):
            put(curves.wanted, top * row / (HEIGHT - 1), WANTED)
    for one in reversed(curves.pumps):
        _along(one.points, letters.get(one.name, "."), right, put)
    _along(curves.system, SYSTEM, right, put)
    for one in curves.pumps:
        put(*one.works, WORKS)
    lines = [*heading("Pumps over the system curve"), ""]
    unit = unit_name("flow", system)
    for number, cells in enumerate(rows):
        shown = show(top * (HEIGHT - 1 - number) / (HEIGHT - 1), "length", system, 2) if number % 5 == 0 else ""
        lines.append(f"{shown:>{LABELS}} |{''.join(cells)}".rstrip())
    lines.append(" " * LABELS + " +" + "-" * COLUMNS)
    last = f"{convert(right, 'flow', system):.0f} {unit}"
    lines += [" " * (LABELS + 2) + f"0{last:>{COLUMNS - 1}}", ""]
    names = ", ".join(f"{letter} {name}" for name, letter in curves.letters)
    rest = f"; {len(curves.pumps) - len(letters)} more as '.'" if len(curves.pumps) > len(letters) else ""
    wanted = f" {WANTED} is the wanted flow." if curves.wanted is not None else ""
    return lines + paragraph(f"{names}{rest}. {SYSTEM} is the head that the loop asks for at each flow, {WORKS} where a pump "
                             f"works, all on.{wanted}")


def _along(points: Sequence[tuple[float, float]], sign: str, right: float, put: Callable[[float, float, str], None]) -> None:
    if not points:
        return
    flows, heads = [q for q, _ in points], [h for _, h in points]
    for column in range(COLUMNS):
        flow = right * column / (COLUMNS - 1)
        if flows[0] <= flow <= flows[-1]:
            put(flow, at(flows, heads, flow), sign)
