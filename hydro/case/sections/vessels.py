"""Tank and sump: 'inside', 'taper', 'bucket fill' and whatever other shape is registered."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from hydro.case.keys import SECTIONS, Key, SectionKeys
from hydro.case.keys.vessels import LARGEST, SHAPES, SMALLEST
from hydro.case.sections.holes import read_walls
from hydro.case.syntax.items import every_field, kinds_of_families, words_of
from hydro.case.syntax.reading import UNREAD, CaseSection, Reading
from hydro.case.syntax.values import parse
from hydro.case.syntax.yaml_nodes import Node, Text
from hydro.description.build import Item, Value, Vessel
from hydro.elements.registry import Field, Kind
from hydro.quantities.parsing import UnitProblem, nearest, read, read_product, show
from hydro.quantities.uncertain import Uncertain

ROUGH_BOX = 0.05
"""Half band of a side, as a share of it, that makes a box approximate: 'about' is wider, a tape is not."""
SIDES = ("length", "width", "height")
_BAD_FILLS = "fills such as [10 L = 47 mm, 20 L = 92 mm], from the first bucket to the last"


def read_vessel(section: CaseSection, name: str, drilled: bool = True) -> Vessel:
    """Return the tank or the sump of a section; other keys of the section are left for its reader.

    `drilled` says that it may have holes in its walls, and so asks what they are made of.
    """
    shape = _shape(section, name)
    bottom = section.height("bottom")
    opening = section.height("lowest opening")
    assert bottom is not None
    sides = [value for value in shape.values.values() if isinstance(value, Uncertain)]
    uncertain = any(side.high - side.low >= 1.999 * ROUGH_BOX * abs(side.middle) for side in sides)
    return Vessel(name, shape, bottom, opening, approximate=shape.kind == "inside" and uncertain,
                  walls=read_walls(section) if drilled else ())


def _shape(section: CaseSection, name: str) -> Item:
    """Return the one shape that a section describes."""
    kinds = kinds_of_families(("vessel",))
    written = [word for word in kinds if section.take(word) is not None]
    unknown = Item("inside", dict.fromkeys(SIDES, UNREAD))
    if not written:
        keys = section.table.entries
        near = next(filter(None, (nearest(key, kinds) for key in keys if key not in section.known)), "")
        if not near:
            section.complain("", "no shape", f"one of {words_of(kinds)}")
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


def _sides(section: CaseSection, node: Node, key: str, names: tuple[str, ...], form: str) -> dict[str, Value] | None:
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
        reading.complain(text.line, path, f"'{text.text}' is out of physical range",
                         f"sides from {show(SMALLEST, 'length', reading.system)} to "
                         f"{show(LARGEST, 'length', reading.system)}")
        return None
    return {name: reading.named(side, section.path(name.replace("_", " ")), text.line)
            for name, side in zip(names, sides, strict=True)}


def _inside(section: CaseSection, kind: Kind, word: str, node: Node) -> dict[str, Value] | None:
    return _sides(section, node, word, SIDES, "length x width x height, such as 197 x 99 x 78 cm")


def _taper(section: CaseSection, kind: Kind, word: str, node: Node) -> dict[str, Value] | None:
    inner = section.reading.section(node, section.path(word), SHAPES["taper"].example, SECTIONS["taper"])
    if inner is None:
        return None
    values: dict[str, Value] = {}
    for which in ("rim", "bottom"):
        side = inner.take(which)
        names = (f"{which}_length", f"{which}_width")
        sides = _sides(inner, side, which, names, "length x width, such as 60 x 40 cm") if side else None
        values.update(sides or dict.fromkeys(names, UNREAD))
    values["height"] = inner.number("height") or UNREAD
    corners = inner.number("corners")
    if corners is not None:
        values["corners"] = corners
    inner.finish()
    for name in ("length", "width"):
        rim, bottom = values[f"rim_{name}"], values[f"bottom_{name}"]
        if isinstance(rim, Uncertain) and isinstance(bottom, Uncertain) and bottom.middle > rim.middle:
            inner.complain("bottom", f"the {name} at the bottom is larger than at the rim",
                           "a tub that narrows downward")
    return values


def _bucket_fill(section: CaseSection, kind: Kind, word: str, node: Node) -> dict[str, Value] | None:
    reading, path = section.reading, section.path(word)
    rows = [row for number, entry in enumerate(reading.rows(node), 1)
            if (row := _fill(reading, entry, f"{section.path('fill')} {number}", path)) is not None]
    before = len(reading.complaints)
    for (volume, height), (later, higher) in pairwise(rows):
        for what, first, second in (("volume", volume, later), ("height", height, higher)):
            if second.middle <= first.middle:
                reading.complain(reading.lines[second.name], path,
                                 f"the {what} does not rise from one fill to the next",
                                 "fills in the order in which they were poured in")
    if len(reading.rows(node)) < 2:
        reading.complain(node.line, path, "fewer than two fills", _BAD_FILLS)
    good = len(reading.complaints) == before and len(rows) == len(reading.rows(node))
    values: dict[str, Value] = {"table": tuple(rows) if good else ((UNREAD, UNREAD),)}
    plan = section.take("plan")
    if plan is not None:
        values.update(_sides(section, plan, "plan", SIDES[:2], "length x width at the rim, such as 60 x 40 cm")
                      or dict.fromkeys(SIDES[:2], UNREAD))
    rim = section.number("height")
    if rim is not None:
        values["height"] = rim
        if rows and rim.middle < rows[-1][1].middle:
            section.complain("height", "the rim is lower than the last fill stands", "the height from bottom to rim")
    return values


def _fill(reading: Reading, node: Node, name: str, path: str) -> tuple[Uncertain, Uncertain] | None:
    """Return one fill, 'VOLUME = HEIGHT'."""
    text = reading.text(node, path)
    if text is None:
        return None
    volume, sign, height = text.text.partition("=")

    def pair() -> tuple[Uncertain, Uncertain]:
        if not sign:
            raise UnitProblem(f"'{text.text}' has no '='", _BAD_FILLS)
        return read(volume.strip(), "volume", reading.system), read(height.strip(), "length", reading.system)
    both = reading.attempt(text.line, path, pair)
    if both is None:
        return None
    if min(both[0].middle, both[1].middle) <= 0.0 or both[1].middle > LARGEST:
        reading.complain(text.line, path, f"'{text.text}' is out of physical range", _BAD_FILLS)
        return None
    named = [reading.named(value, f"{name} {what}", text.line)
             for value, what in zip(both, ("volume", "height"), strict=True)]
    first, second = named
    return (first, second) if isinstance(first, Uncertain) and isinstance(second, Uncertain) else None


def _by_fields(section: CaseSection, kind: Kind, word: str, node: Node) -> dict[str, Value] | None:
    """Return the values of a shape that is known by its registered fields alone."""
    keys = SectionKeys({field.name: Key(field.name, example=f"a {field.dimension}", required=field.required)
                        for field in every_field(kind).values()})
    inner = section.reading.section(node, section.path(word), "its values by name", keys)
    if inner is None:
        return None
    inner.owner = section.owner
    values: dict[str, Value] = {}
    for field in every_field(kind).values():
        if (text := inner.scalar(field.name)) is not None:
            values[field.name] = _field(inner, field, text)
    inner.finish()
    return values


def _field(section: CaseSection, field: Field, text: Text) -> Value:
    reading, path = section.reading, section.path(field.name)
    value = reading.attempt(text.line, path, lambda: parse(field, text.text, reading.system, reading.many))
    return reading.named(UNREAD if value is None else value, path, text.line)


_SHAPES: dict[str, Callable[[CaseSection, Kind, str, Node], dict[str, Value] | None]] = {
    "inside": _inside, "taper": _taper, "bucket fill": _bucket_fill}
