"""Hoses of a line that come off: a hose is pushed on and clamped, a glued or threaded pipe does not slip.

Off at the pump, below all that is rigid, the pump stirs its own chamber and the line runs back as it does without power; a check
valve between the pump and the hose stays with the pump and holds nothing back. Any other end lies outside the sump: what is
pumped, or drained, goes on the floor (`hydro.faults.hoses`). Where a pump stands beside its sump instead of in it, and no file
says so, its own end lies outside as well.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hydro.elements.fittings import CheckValve
from hydro.elements.line import Line
from hydro.elements.pipe import Pipe

OFF_AT_PUMP = "comes off at the pump"


def hoses_in(line: Line) -> list[tuple[int, str]]:
    """Return the places of a line's hoses among its parts, each with its label; a label that comes twice is numbered."""
    found = [k for k, part in enumerate(line.parts) if isinstance(part, Pipe) and part.hose]
    labels = [line.parts[k].label for k in found]
    return [(k, f"{label} {labels[:n].count(label) + 1}" if labels.count(label) > 1 else label)
            for n, (k, label) in enumerate(zip(found, labels, strict=True))]


def rigid(line: Line, start: int, end: int | None = None) -> bool:
    """Whether a run of pipe or hose is among the parts of a line from `start` on, up to `end`."""
    return any(isinstance(part, Pipe) for part in line.parts[start:end])


def opened_below(line: Line, place: int) -> Line:
    """Return the line with the check valves before a place among its parts holding nothing back."""
    parts = [replace(part, back=0.0) if isinstance(part, CheckValve) and k < place else part for k, part in enumerate(line.parts)]
    return replace(Line.of(parts), quadratic=line.quadratic)


def off_at_pump(line: Line) -> dict[str, dict[str, Any]]:
    """Return the fault of a pump's hose that comes off below all that is rigid: words -> changed parameters; none without."""
    found = [(k, label) for k, label in hoses_in(line) if not rigid(line, 0, k)]
    return {f"{label}: {OFF_AT_PUMP}": {"running": 0.0, "line": opened_below(line, k)} for k, label in found}
