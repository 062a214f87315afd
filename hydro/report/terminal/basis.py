"""The sections on what was assumed and on the inputs that move the results most."""

from __future__ import annotations

from hydro.checks.assessment import Assessment
from hydro.checks.queries import doubts
from hydro.quantities.formatting import convert, unit_name
from hydro.quantities.tape import mark, plain_band, unrounded
from hydro.report.content.assumed import Assumed, assumed
from hydro.report.content.grouping import Folding, few
from hydro.report.content.influence import influences, watched
from hydro.report.content.levels import vessel_of
from hydro.report.terminal.layout import heading, listed, paragraph, table


def assumptions(assessment: Assessment, system: str, folding: Folding | None = None) -> list[str]:
    """Return what was assumed, with bands and sources, limits that nobody set, and what the file put in place."""
    found = assumed(assessment)
    lines = heading("Assumed")
    lines += paragraph("Not stated in the file, so taken from here; the section 'defaults' of the file overrides each by name.")
    for one in found:
        if one.kind in ("default", "catalogue"):
            lines += listed(_entry(one, system, folding))
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


def _entry(one: Assumed, system: str, folding: Folding | None) -> str:
    digits = 3 if one.kind == "catalogue" else None
    name = one.name if one.kind == "default" else _named(one.inputs, folding)
    likely = plain_band(one.low, one.high, one.dimension, system, digits)
    band = f" ({likely})" if likely else ""
    return f"{name} {unrounded(one.middle, one.dimension, system, digits)}{band}: {one.source}"


def _named(inputs: tuple[str, ...], folding: Folding | None) -> str:
    owners = [*dict.fromkeys(name.split(":")[0] for name in inputs)]
    return f"bore of pipes in {', '.join(owners) if folding is None or folding.each else few(owners)}"


def moves_most(assessment: Assessment, system: str) -> list[str]:
    """Return the inputs that move pump flow, tank level and the level after a power cut most."""
    found = influences(assessment)
    if not found:
        return []
    flow, length = unit_name("flow", system), unit_name("length", system)
    tank, sump = _watched(assessment)
    pumped = "pump flow" if len(assessment.build.pumps) == 1 else "flow of all pumps"
    rows = [["input, at its low / high end", f"{pumped}, {flow}", f"{tank}'s level, {length}",
             f"{sump} after a power cut, {length}"]]
    for one in found:
        rows.append([one.name, _ends(one.flow, "flow", system), _ends(one.tank, "length", system),
                     _ends(one.cut, "length", system)])
    lines = [*heading("What moves the results most"),
             *paragraph("What one input changes at each end of its band, the others in their middle. Plus is more flow or "
                        "higher water; the tank's level is counted from its lowest opening. Measure the first ones better before "
                        "anything else."), ""]
    return lines + table(rows)


def _watched(assessment: Assessment) -> tuple[str, str]:
    """Return what the tank and the sump are called whose levels are watched."""
    if assessment.build.one:
        return "tank", "sump"
    tank, sump = watched(assessment)
    return assessment.results.network.waters[tank].name, vessel_of(assessment.results, sump[0]).name


def _ends(changes: tuple[float | None, float | None], dimension: str, system: str) -> str:
    return " / ".join("-" if change is None else _signed(change, dimension, system) for change in changes)


def _signed(change: float, dimension: str, system: str) -> str:
    number = convert(change, dimension, system) if dimension == "flow" else 0.0
    text = mark(abs(change), system) if dimension == "length" else f"{abs(number):.0f}"
    return text if text == "0" else ("+" if change > 0.0 else "-") + text


def asked_back(assessment: Assessment, folding: Folding | None = None) -> list[str]:
    """Return what the description leaves in doubt, and where the state lies outside the range of the laws."""
    asked, outside = questions(assessment), out_of_range(assessment)
    if folding is not None:
        asked, outside = folding.notes(asked), folding.notes(outside)
    if not asked and not outside:
        return []
    lines = heading("Asked back")
    for question in asked:
        lines += listed(f"{question}.")
    for note in outside:
        lines += listed(f"Out of range: {note}.")
    return lines


def questions(assessment: Assessment) -> list[str]:
    """Return the questions that a description leaves open."""
    return doubts(assessment.results)


def out_of_range(assessment: Assessment) -> list[str]:
    """Return in words where a running state lies outside the range in which the elements' laws are known."""
    notes: list[str] = []
    for state in assessment.answer.states:
        for link, flow, k in zip(state.network.links, state.flows, range(len(state.flows)), strict=True):
            if hasattr(link.element, "limits"):
                notes += link.element.limits(float(flow), *map(float, state.ends(k)))
    return [*dict.fromkeys(notes)]
