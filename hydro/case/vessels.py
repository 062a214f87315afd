"""Tank, sump and chambers: 'inside', 'taper', 'bucket fill' and whatever other shape is registered; what chambers end in."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from hydro.build import Chamber, Height, Item, Value, Vessel
from hydro.case.items import Labels, every_field, kinds_of, read_items
from hydro.case.reading import UNREAD, Reading, Section
from hydro.case.same_as import with_same_as
from hydro.case.values import parse
from hydro.case.yaml_nodes import Node, Table, Text
from hydro.elements.registry import Field, Kind
from hydro.rough import Rough
from hydro.units import UnitProblem, nearest, read, read_product

LARGEST = 30.0
"""Longest side of a vessel that is believed, m."""
SMALLEST = 0.02
ROUGH_BOX = 0.05
"""A side whose band is this wide to both sides, as a share of it, makes a box approximate: 'about' is wider, a tape is not."""
SIDES = ("length", "width", "height")
_BAD_FILLS = "fills such as [10 L = 47 mm, 20 L = 92 mm], from the first bucket to the last"


def read_vessel(section: Section, name: str) -> Vessel:
    """Return the tank or the sump of a section; other keys of the section are left for its reader."""
    shape = _shape(section, name)
    bottom = section.height("bottom", required="LENGTH above ground")
    opening = section.height("lowest opening")
    assert bottom is not None
    sides = [value for value in shape.values.values() if isinstance(value, Rough)]
    rough = any(side.high - side.low >= 1.999 * ROUGH_BOX * abs(side.middle) for side in sides)
    return Vessel(name, shape, bottom, opening, approximate=shape.kind == "inside" and rough)


def _shape(section: Section, name: str) -> Item:
    """Return the one shape that a section describes."""
    kinds = kinds_of(("vessel",))
    written = [word for word in kinds if section.take(word) is not None]
    unknown = Item("inside", dict.fromkeys(SIDES, UNREAD))
    if not written:
        keys = section.table.entries
        near = next(filter(None, (nearest(key, kinds) for key in keys if key not in section.known)), "")
        if not near:
            section.complain("", "no shape", f"one of {', '.join(kinds)}")
        return unknown
    if len(written) > 1:
        section.complain(written[1], f"a second shape beside '{written[0]}'", "one shape")
    word = written[0]
    node = section.table.entries[word]
    read_shape = _SHAPES.get(kinds[word].word, _by_fields)
    values = read_shape(section, kinds[word], word, node)
    if values is None:
        return unknown
    return Item(kinds[word].word, values, f"{word}: {node.text}" if isinstance(node, Text) else word, f"{name}: {word}")


def _sides(section: Section, node: Node, key: str, names: tuple[str, ...], form: str) -> dict[str, Value] | None:
    """Return the sides of a product under their names."""
    reading, path = section.reading, section.path(key)
    text = reading.text(node, path)
    if text is None:
        return None
    sides = reading.attempt(text.line, path, lambda: read_product(text.text, "length", reading.system))
    if sides is None:
        return None
    if len(sides) != len(names):
        reading.complain(text.line, path, f"'{text.text}' has {len(sides)} sides", form)
        return None
    if any(not SMALLEST <= side.middle <= LARGEST for side in sides):
        reading.complain(text.line, path, f"'{text.text}' is out of physical range", f"sides from 2 cm to {LARGEST:g} m")
        return None
    return {name: reading.named(side, section.path(name.replace("_", " ")), text.line)
            for name, side in zip(names, sides, strict=True)}


def _inside(section: Section, kind: Kind, word: str, node: Node) -> dict[str, Value] | None:
    return _sides(section, node, word, SIDES, "length x width x height, such as 197 x 99 x 78 cm")


def _taper(section: Section, kind: Kind, word: str, node: Node) -> dict[str, Value] | None:
    form = "{rim: 60 x 40 cm, bottom: 50 x 32 cm, height: 35 cm, corners: 3 cm}"
    inner = section.reading.section(node, section.path(word), form)
    if inner is None:
        return None
    inner.owner = section.owner
    values: dict[str, Value] = {}
    for which in ("rim", "bottom"):
        side = inner.take(which, required="60 x 40 cm")
        names = (f"{which}_length", f"{which}_width")
        sides = _sides(inner, side, which, names, "length x width, such as 60 x 40 cm") if side else None
        values.update(sides or dict.fromkeys(names, UNREAD))
    values["height"] = inner.number("height", "length", SMALLEST, LARGEST, required="35 cm") or UNREAD
    corners = inner.number("corners", "length", 0.0, 2.0)
    if corners is not None:
        values["corners"] = corners
    inner.finish()
    for side in ("length", "width"):
        rim, bottom = values[f"rim_{side}"], values[f"bottom_{side}"]
        if isinstance(rim, Rough) and isinstance(bottom, Rough) and bottom.middle > rim.middle:
            inner.complain("bottom", f"the {side} at the bottom is larger than at the rim", "a tub that narrows downward")
    return values


def _bucket_fill(section: Section, kind: Kind, word: str, node: Node) -> dict[str, Value] | None:
    reading, path = section.reading, section.path(word)
    rows = [row for number, entry in enumerate(reading.rows(node), 1)
            if (row := _fill(reading, entry, f"{section.path('fill')} {number}", path)) is not None]
    for (volume, height), (later, higher) in pairwise(rows):
        for what, first, second in (("volume", volume, later), ("height", height, higher)):
            if second.middle <= first.middle:
                reading.complain(reading.lines[second.name], path, f"the {what} does not rise from one fill to the next",
                                 "fills in the order in which they were poured in")
    if len(reading.rows(node)) < 2:
        reading.complain(node.line, path, "fewer than two fills", _BAD_FILLS)
    values: dict[str, Value] = {"table": tuple(rows) or ((UNREAD, UNREAD),)}
    plan = section.take("plan")
    if plan is not None:
        values.update(_sides(section, plan, "plan", SIDES[:2], "length x width at the rim, such as 60 x 40 cm")
                      or dict.fromkeys(SIDES[:2], UNREAD))
    height = section.number("height", "length", SMALLEST, LARGEST)
    if height is not None:
        values["height"] = height
        if rows and height.middle < rows[-1][1].middle:
            section.complain("height", "the rim is lower than the last fill stands", "the height from bottom to rim")
    return values


def _fill(reading: Reading, node: Node, name: str, path: str) -> tuple[Rough, Rough] | None:
    """Return one fill, 'VOLUME = HEIGHT'."""
    text = reading.text(node, path)
    if text is None:
        return None
    volume, sign, height = text.text.partition("=")

    def pair() -> tuple[Rough, Rough]:
        if not sign:
            raise UnitProblem(f"'{text.text}' has no '='", _BAD_FILLS)
        return read(volume.strip(), "volume", reading.system), read(height.strip(), "length", reading.system)
    both = reading.attempt(text.line, path, pair)
    if both is None:
        return None
    if min(both[0].middle, both[1].middle) <= 0.0 or both[1].middle > LARGEST:
        reading.complain(text.line, path, f"'{text.text}' is out of physical range", _BAD_FILLS)
        return None
    named = [reading.named(value, f"{name} {what}", text.line) for value, what in zip(both, ("volume", "height"), strict=True)]
    first, second = named
    return (first, second) if isinstance(first, Rough) and isinstance(second, Rough) else None


def _by_fields(section: Section, kind: Kind, word: str, node: Node) -> dict[str, Value] | None:
    """Return the values of a shape that is known by its registered fields alone."""
    inner = section.reading.section(node, section.path(word), "its values by name")
    if inner is None:
        return None
    inner.owner = section.owner
    values: dict[str, Value] = {}
    for field in every_field(kind).values():
        entry = inner.take(field.name, required=f"a {field.dimension}" if field.required else "")
        text = section.reading.text(entry, inner.path(field.name)) if entry is not None else None
        if text is not None:
            values[field.name] = _field(inner, field, text)
    inner.finish()
    return values


def _field(section: Section, field: Field, text: Text) -> Value:
    reading, path = section.reading, section.path(field.name)
    value = reading.attempt(text.line, path, lambda: parse(field, text.text, reading.system))
    return reading.named(UNREAD if value is None else value, path, text.line)


_SHAPES: dict[str, Callable[[Section, Kind, str, Node], dict[str, Value] | None]] = {
    "inside": _inside, "taper": _taper, "bucket fill": _bucket_fill}


def read_chambers(section: Section) -> tuple[tuple[Chamber, ...], dict[str, Height]]:
    """Return the chambers of a sump and the lines drawn in them, by chamber. Without chambers the sump is one of its own."""
    node = section.take("chambers")
    lines: dict[str, Height] = {}
    if node is None:
        return (_chamber(section, "sump", lines, last=True),), lines
    tables = with_same_as(section.reading, node, "chamber")
    chambers = []
    for number, (name, owner, table) in enumerate(tables, 1):
        inner = Section(section.reading, table, owner)
        inner.known += ["name", "same as"]
        chambers.append(_chamber(inner, name, lines, last=number == len(tables)))
        inner.finish()
    if not section.reading.rows(node):
        section.complain("chambers", "no chambers", "at least one, or no 'chambers' at all")
    return tuple(chambers), lines


def _chamber(section: Section, name: str, lines: dict[str, Height], last: bool) -> Chamber:
    """Return one chamber of a section."""
    reading = section.reading
    whole = section.owner == "sump"
    length = None if whole else section.number("length", "length", 0.005, LARGEST)
    share = None if whole else section.number("share", "share", 0.001, 1.0)
    at = None if whole else section.number("at", "length", 0.005, LARGEST)
    end: Item | None = None
    node = None if whole else section.take("ends in", required="" if last else "{plate: HEIGHT}")
    if node is not None and last:
        section.complain("ends in", "the last chamber ends at the sump's wall", "no 'ends in' there")
    elif node is not None:
        end, behind = _end(reading, section, node)
        if behind is not None and at is not None:
            section.complain("at", "stands twice, at the chamber and in 'ends in'", "one of the two")
        at = at or behind
    if node is not None and not last and sum(value is not None for value in (length, at, share)) != 1:
        found = "no length" if length is None and at is None and share is None else "more than one of length, at and share"
        section.complain("", found, "one of 'length: LENGTH', 'at: LENGTH from the inflow's wall', 'share: 40 %'")
    if (line := section.height("line")) is not None:
        lines[name] = line
    gear, top = _gear(section)
    return Chamber(name, length, at, share, end, gear, top)


def _end(reading: Reading, section: Section, node: Node) -> tuple[Item | None, Rough | None]:
    """Return what a chamber ends in, and the place along the sump that is written beside it."""
    at = None
    inner = Section(reading, node, section.owner) if isinstance(node, Table) else None
    if inner is not None and isinstance(node, Table):
        at = inner.number("at", "length", 0.005, LARGEST)
        node = Table({k: v for k, v in node.entries.items() if k != "at"}, node.lines, node.line)
    items = read_items(reading, node, ("barrier",), Labels.of(section.owner), section.owner)
    return (items[0] if items else None), at


def _gear(section: Section) -> tuple[Rough | None, Height | None]:
    """Return the volume of media and gear, and how high they reach."""
    node = section.take("gear")
    if not isinstance(node, Table):
        return (None if node is None else section.number_in(node, "gear", "volume", 0.0, 1e3)), None
    inner = Section(section.reading, node, section.path("gear"))
    volume, top = inner.number("volume", "volume", 0.0, 1e3, required="3 L"), inner.height("up to")
    inner.finish()
    return volume, top
