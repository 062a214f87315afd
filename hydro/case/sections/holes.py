"""What is drilled, and into what: 'hole' at a drain or return, 'wall' and 'panels' at a tank or box.

    tank: {inside: 150 x 60 x 60 cm, bottom: 80 cm above ground, wall: glass 12 mm}
    tank: {..., wall: plywood 18 mm, panels: {front: {glass: 12 mm}, bottom: {glass: 15 mm, toughened: no}}}
    drains: [{..., hole: {in: back, diameter: 60 mm, from left: 25 cm, rise: 45 mm}}]       # an elbow turned up
    drains: [{..., hole: {in: bottom, diameter: 83 mm, from left: 40 cm, from front: 12 cm}}]    # a standpipe
    returns: [{..., hole: {in: back, diameter: 45 mm, from left: 120 cm, at: 5 cm below tank rim}}]

'from left' is counted from the inner corner of the walls, as seen from outside; at the bottom as seen from above, the front
towards you. 'diameter' is that of the cutter for the fitting in hand, 'rise' how far an upright elbow's lip stands over the
centre of its bulkhead. Whatever is not stated is asked for in the drilling sheet; nothing is made up.
"""

from __future__ import annotations

from hydro.case.keys import SECTIONS
from hydro.case.keys.vessels import MATERIALS, SIDES, WALL
from hydro.case.syntax.reading import CaseSection
from hydro.case.syntax.yaml_nodes import Node, Text, YamlMapping
from hydro.description.build import Wall, WallHole


def read_hole(section: CaseSection, elbow: bool = False) -> WallHole | None:
    """Return the hole of a drain or return, None without one; `elbow`: its inlet is turned up, and so has a rise."""
    inner = section.section("hole")
    if inner is None:
        return None
    side = inner.word("in", "back")
    left, front = inner.number("from left"), inner.number("from front")
    if front is not None and side != "bottom":
        inner.complain("from front", f"'from front' in the {side}", "'from front' only where the hole is in the bottom")
    made = WallHole(side, inner.number("diameter"), left, front, inner.height("at"), inner.number("rise") if elbow else None)
    inner.finish()
    return made


def read_walls(section: CaseSection) -> tuple[Wall, ...]:
    """Return what the sides of a vessel are made of: those named, and the one for all others."""
    walls = []
    panels = section.section("panels")
    if panels is not None:
        for side in SIDES:
            node = panels.take(side)
            walls += [_wall(panels, side, side, node)] if node is not None else []
        panels.finish()
    node = section.take("wall")
    return tuple(walls) if node is None else (*walls, _wall(section, "wall", "", node))


def _wall(section: CaseSection, key: str, side: str, node: Node) -> Wall:
    """Return one wall: 'glass 12 mm', or {glass: 12 mm, toughened: no}."""
    if isinstance(node, YamlMapping):
        inner = CaseSection(section.reading, node, section.path(key), SECTIONS["wall"])
        written = [word for word in MATERIALS if inner.take(word) is not None]
        if len(written) != 1:
            inner.complain("", "no material" if not written else f"both {' and '.join(written)}",
                           "one of " + ", ".join(f"{word}: THICKNESS" for word in MATERIALS))
        word = written[0] if written else MATERIALS[0]
        thickness = inner.number(word)
        toughened = inner.word("toughened")
        if toughened and word != "glass":
            inner.complain("toughened", f"'toughened' at {word}", "'toughened' at glass only")
        inner.finish()
        return Wall(side, word, thickness, toughened)
    text = section.reading.text(node, section.path(key))
    if text is None:
        return Wall(side, MATERIALS[0])
    word, _, rest = text.text.partition(" ")
    material = word.casefold() if word.casefold() in MATERIALS else ""
    if not material or not rest.strip():
        section.reading.complain(text.line, section.path(key), f"'{text.text}'" if text.text else "nothing is written", WALL)
        return Wall(side, material or MATERIALS[0])
    return Wall(side, material, section.number_in(Text(rest.strip(), text.line), key, SECTIONS["wall"][material]))
