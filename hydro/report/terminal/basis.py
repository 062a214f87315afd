"""The sections on what was assumed and on the inputs that move the results most."""

from __future__ import annotations

from hydro.checks.line_moves import Ends
from hydro.quantities.formatting import convert, unit_name
from hydro.quantities.tape import mark, plain_band, unrounded
from hydro.report.content.asked_back import asked_back_notes
from hydro.report.content.assumed import LINE, Assumed, assumed, bore_of, line_ends
from hydro.report.content.influence import influences, watched
from hydro.report.content.view import View
from hydro.report.terminal.layout import heading, listed, paragraph, table


def assumptions(view: View) -> list[str]:
    """Return what was assumed, with bands and sources, limits that nobody set, and what the file put in place."""
    found, system, moves = assumed(view.assessment), view.system, line_ends(view.study)
    lines = heading("Assumed")
    lines += paragraph("Not stated in the file, so taken from here; the section 'defaults' of the file overrides each by name."
                       + (f" {LINE}" if moves else ""))
    for one in found:
        if one.kind in ("default", "catalogue"):
            lines += listed(_entry(one, view) + _line(moves.get(one.name), system))
    by_source: dict[str, list[str]] = {}
    for one in found:
        if one.kind == "limit":
            by_source.setdefault(one.source, []).append(f"{one.name} {unrounded(one.middle, one.dimension, system)}")
    if by_source:
        lines += paragraph("Limits that nobody set:")
        for source, names in by_source.items():
            lines += listed(f"{', '.join(names)}: {source}")
    own = [f"{one.name} {plain_band(one.low, one.high, one.dimension, system) or unrounded(one.middle, one.dimension, system)}"
           for one in found if one.kind == "override"]
    if own:
        lines += paragraph(f"Overridden in the file: {', '.join(own)}.", 2, 2)
    return lines


def _entry(one: Assumed, view: View) -> str:
    digits = 3 if one.kind == "catalogue" else None
    name = one.name if one.kind == "default" else bore_of(one, view.grouping)
    likely = plain_band(one.low, one.high, one.dimension, view.system, digits)
    band = f" ({likely})" if likely else ""
    return f"{name} {unrounded(one.middle, one.dimension, view.system, digits)}{band}: {one.source}"


def _line(ends: Ends | None, system: str) -> str:
    """Return what the ends of a band do to the line, nothing where a tape cannot tell."""
    told = ["no line" if end is None else _signed(end, "length", system) for end in ends or ()]
    return "" if all(end == "0" for end in told) else f"; line {' / '.join(told)} {unit_name('length', system)}"


def moves_most(view: View) -> list[str]:
    """Return the inputs that move pump flow, tank level and the level after a power cut most."""
    found, system = influences(view.assessment), view.system
    if not found:
        return []
    flow, length = unit_name("flow", system), unit_name("length", system)
    tank, sump = watched(view.assessment)
    pumped = "pump flow" if view.pumps == "pump" else "flow of all pumps"
    rows = [["input, at its low / high end", f"{pumped}, {flow}", f"{view.water(tank).removeprefix('the ')}'s level, {length}",
             f"{view.sump(sump).removeprefix('the ')} after a power cut, {length}"]]
    for one in found:
        rows.append([one.name, _ends(one.flow, "flow", system), _ends(one.tank, "length", system),
                     _ends(one.cut, "length", system)])
    lines = [*heading("What moves the results most"),
             *paragraph("What one input changes at each end of its band, the others in their middle. Plus is more flow or "
                        "higher water; the tank's level is counted from its lowest opening. Measure the first ones better before "
                        "anything else."), ""]
    return lines + table(rows)


def _ends(changes: tuple[float | None, float | None], dimension: str, system: str) -> str:
    return " / ".join("-" if change is None else _signed(change, dimension, system) for change in changes)


def _signed(change: float, dimension: str, system: str) -> str:
    number = convert(change, dimension, system) if dimension == "flow" else 0.0
    text = mark(abs(change), system) if dimension == "length" else f"{abs(number):.0f}"
    return text if text == "0" else ("+" if change > 0.0 else "-") + text


def asked_back(view: View) -> list[str]:
    """Return what the description leaves in doubt, and where the state lies outside the range of the laws."""
    notes = asked_back_notes(view.assessment, view.grouping)
    return [*heading("Asked back"), *(line for note in notes for line in listed(note))] if notes else []
