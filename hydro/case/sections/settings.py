"""What stands beside the plumbing: the amount of water, wishes, defaults overridden, temperature, notes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from hydro.case.keys import Key
from hydro.case.keys.whole_file import KEPT
from hydro.case.names.declared_names import World
from hydro.case.syntax.reading import UNREAD, UNREAD_HEIGHT, CaseSection
from hydro.case.syntax.yaml_nodes import Node, Text, YamlList
from hydro.description.build import GivenWater, Height, Pump
from hydro.elements import limits, registry
from hydro.elements.registry import Default
from hydro.quantities.parsing import nearest
from hydro.quantities.uncertain import Uncertain

_WATER_FORM = ("exactly one of 'line: HEIGHT' at the pump's chamber (pump running), 'water: {still: HEIGHT}' "
               "(all at rest) and 'water: {total: VOLUME}'")


LEAST = 0.1
"""Least share of its usual low end that a figure may have by which something is divided."""


def known_defaults() -> dict[str, Default]:
    """Return by name everything that 'defaults' may override: of the elements, and the general figures and limits."""
    return {**registry.all_defaults(), **{default.name: default for default in limits.ALL}}


def read_defaults(top: CaseSection) -> dict[str, Uncertain]:
    """Return the defaults that the file puts in place of the library's, by name."""
    section = top.section("defaults")
    if section is None:
        return {}
    known, values = known_defaults(), dict[str, Uncertain]()
    for name, entry in section.table.entries.items():
        default = known.get(name)
        if default is None:
            near = nearest(name, known)
            expected = "the name of a default" if near else f"one of {', '.join(sorted(known))}"
            section.complain(name, "there is no such default", expected, near)
        else:
            low = 0.0 if default.low >= 0.0 else -math.inf
            if default.divides:
                low = LEAST * default.low
            values[name] = section.number_in(entry, name, Key(kind=default.dimension, low=low), name)
    return values


def read_wishes(top: CaseSection) -> tuple[dict[str, Uncertain], tuple[str, ...]]:
    """Return the limits and amounts that the owner sets, by name, and what he counts on in a power cut."""
    section = top.section("wishes")
    if section is None:
        return {}, ()
    values: dict[str, Uncertain] = {}
    turnover = section.number("turnover")
    if turnover is not None:
        values["least turnover"] = Uncertain.exact(turnover.low, section.path("least turnover"))
        if not turnover.is_exact:
            values["most turnover"] = Uncertain.exact(turnover.high, section.path("most turnover"))
    for name in section.keys.keys:
        if name not in ("turnover", "count on") and (value := section.number(name)) is not None:
            if name in values:
                section.complain(name, "stands twice, here and in 'turnover'", "one of the two")
            values[name] = value
    counted = section.words("count on")
    section.finish()
    return values, counted


def read_water(top: CaseSection, node: Node | None, lines: Mapping[str, Height], pumps: Sequence[Pump], world: World,
               where: int) -> GivenWater:
    """Return the one statement about the amount of water, from the lines drawn in chambers and the key 'water'."""
    reading, given = top.reading, list[tuple[GivenWater, int]]()
    drawn = list(dict.fromkeys(pump.chamber for pump in pumps if pump.chamber in world.chambers))
    drawn = drawn or [world.last_chamber()]
    names, several = "' or '".join(drawn), len(pumps) > 1
    for chamber, height in lines.items():
        line = reading.lines.get(height.offset.name, where)
        if chamber in drawn:
            given.append((GivenWater("line", height, chamber=chamber if several else ""), line))
        else:
            reading.complain(line, f"chamber {chamber}: line", "a running line in a chamber without the pump",
                             f"a line in the pump's chamber, '{names}', whose level tells the amount of water")
    stated = len(lines)
    section = top.inner(node, "water") if node is not None else None
    if section is not None:
        still, total = section.height("still"), section.number("total")
        chamber = world.named(section, "chamber", drawn, "chamber with a pump")
        if still is not None:
            given.append((GivenWater("still", still, chamber=chamber), section.line_of("still")))
        if total is not None:
            given.append((GivenWater("total", total=total, chamber=chamber), section.line_of("total")))
        section.finish()
        stated += len([key for key in section.table.entries if key != "chamber"])
    if len(given) > 1:
        lines_of = " and ".join(str(line) for _, line in given)
        reading.complain(given[-1][1], "water", f"the amount of water is stated {len(given)} times (lines {lines_of})",
                         _WATER_FORM)
    elif not stated and node is None and where:  # without a sump there is no line to miss
        reading.complain(where, "water", "nothing says how much water there is", _WATER_FORM)
    elif not stated and section is not None:
        reading.complain(section.line, "water", "nothing says how much water there is", _WATER_FORM)
    return given[0][0] if given else GivenWater("line", UNREAD_HEIGHT, UNREAD)


def read_notes(section: CaseSection) -> tuple[str, ...]:
    """Return the notes, together with everything described that carries no flow through the sump."""
    notes: list[str] = []
    node = section.take("notes")
    if node is not None:
        notes += [flat(entry) for entry in section.reading.rows(node)]
    for key in (*KEPT, "goals"):
        node = section.take(key)
        if node is not None:
            notes.append(f"{key}: {flat(node)}")
    return tuple(notes)


def flat(node: Node) -> str:
    """Return a node as one line of text."""
    if isinstance(node, Text):
        return node.text
    if isinstance(node, YamlList):
        return ", ".join(map(flat, node.items))
    return ", ".join(f"{key} {flat(value)}".strip() for key, value in node.entries.items())
