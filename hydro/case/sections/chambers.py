"""The chambers of the sump: how long each is, what it ends in, what stands in it, and the line drawn in it."""

from __future__ import annotations

from hydro.case.keys import SECTIONS
from hydro.case.names.same_as import with_same_as
from hydro.case.syntax.items import Labels, read_items
from hydro.case.syntax.reading import CaseSection, Reading
from hydro.case.syntax.yaml_nodes import Node, YamlMapping
from hydro.description.build import Chamber, Height, Item
from hydro.quantities.uncertain import Uncertain


def read_chambers(section: CaseSection, sump: str) -> tuple[tuple[Chamber, ...], dict[str, Height]]:
    """Return the chambers of a sump and the lines drawn in them. Without chambers the sump itself is one, by its name."""
    node = section.take("chambers")
    lines: dict[str, Height] = {}
    if node is None:
        return (_chamber(section, sump, lines, last=True, whole=True),), lines
    tables = with_same_as(section.reading, node, "chamber")
    chambers = []
    for number, entry in enumerate(tables, 1):
        inner = entry.section(section.reading, "chamber")
        section.reading.lines.setdefault(f"chamber {entry.name} in {sump}", inner.line_of("name"))
        chambers.append(_chamber(inner, entry.name, lines, last=number == len(tables)))
        inner.finish()
    if not section.reading.rows(node):
        section.complain("chambers", "no chambers", "at least one, or no 'chambers' at all")
    return tuple(chambers), lines


def _chamber(section: CaseSection, name: str, lines: dict[str, Height], last: bool, whole: bool = False) -> Chamber:
    """Return one chamber of a section; `whole`: of a sump without walls."""
    reading = section.reading
    length = None if whole else section.number("length")
    share = None if whole else section.number("share")
    at = None if whole else section.number("at")
    end: Item | None = None
    node = None if whole else section.take("ends in", required=not last)
    if node is not None and last:
        section.complain("ends in", "the last chamber ends at the sump's wall", "no 'ends in' there")
    elif node is not None:
        end, behind = _end(reading, section, node)
        if behind is not None and at is not None:
            section.complain("at", "stands twice, at the chamber and in 'ends in'", "one of the two")
        at = at or behind
    given = [value for value in (length, at, share) if value is not None]
    if len(given) > 1:
        section.complain("", "more than one of length, at and share", "one of them")
        length, at, share = length, (None if length else at), None
    elif not given and node is not None and not last:
        section.missing["length"] = "40 cm' (or 'at: 40 cm' from the wall of the inflow, or 'share: 40 %)"
    if (line := section.height("line")) is not None:
        lines[name] = line
    gear, top = _gear(section)
    return Chamber(name, length, at, share, end, gear, top)


def _end(reading: Reading, section: CaseSection, node: Node) -> tuple[Item | None, Uncertain | None]:
    """Return what a chamber ends in, and the place along the sump that is written beside it."""
    at = None
    if isinstance(node, YamlMapping):
        at = CaseSection(reading, node, section.owner, SECTIONS["ends-in"]).number("at")
        node = YamlMapping({k: v for k, v in node.entries.items() if k != "at"}, node.lines, node.line)
    items = read_items(reading, node, ("barrier",), Labels.of(section.owner), section.owner)
    return (items[0] if items else None), at


def _gear(section: CaseSection) -> tuple[Uncertain | None, Height | None]:
    """Return the volume of media and gear, and how high they reach."""
    node = section.take("gear")
    if not isinstance(node, YamlMapping):
        return (None if node is None else section.number_in(node, "gear", section.keys["gear"])), None
    inner = CaseSection(section.reading, node, section.path("gear"), SECTIONS["gear"])
    volume, top = inner.number("volume"), inner.height("up to")
    inner.finish()
    return volume, top
