"""Tanks, overflow boxes, sumps with their chambers, and the walls between them."""

from __future__ import annotations

from dataclasses import replace

from hydro.description.build import Box, Sump
from hydro.elements.registry import KINDS, Reader
from hydro.elements.waters import Body, Plan, read_plan
from hydro.errors import Complaint, InputError
from hydro.network.assembler import Assembler
from hydro.network.model import BOX, CHAMBER, TANK, Link, Water
from hydro.quantities.arrays import Number, first

GEAR_ASKED = tuple(k / 40.0 for k in range(10, 41))
"""Shares of its height at which a chamber must have room beside its gear."""
LOWER = 1e-3
"""Height from which one rim is said to be lower than another, m."""


def add_vessels(made: Assembler) -> None:
    """Add the tanks, the boxes they spill into, and the sumps."""
    build, context = made.build, made.context
    for tank in build.tanks:
        body = read_plan(Reader(tank.shape, context)).whole(tank.name, context.height(tank.bottom))
        made.water(Water(tank.name, TANK, body, opening=made.opening(tank, body)))
    for box in build.boxes:
        plan = read_plan(Reader(box.vessel.shape, context))
        body = plan.whole(box.name, context.height(box.vessel.bottom))
        element = KINDS[box.edge.kind].make(Reader(box.edge, context))(plan.length, body.bottom, body.rim)
        opening = made.opening(box.vessel, body)
        if stands_inside(box, body, made.waters[made.place[box.tank]]):
            opening = _take_room(made, box, body, element.crest, opening)
        node = made.water(Water(box.name, BOX, body, opening=opening))
        made.link("edges", Link(box.edge.label or f"edge of {box.name}", element, made.place[box.tank], node))
    for sump in build.sumps:
        _sump(made, sump)


def stands_inside(box: Box, body: Body, tank: Water) -> bool:
    """Whether a box stands in its tank: as it is said, else where its rim is lower than the tank's."""
    assert tank.body is not None
    return first(tank.body.rim) - first(body.rim) > LOWER if box.inside is None else box.inside


def _take_room(made: Assembler, box: Box, body: Body, crest: Number, opening: Number) -> Number:
    """Take a box's room out of its tank, and return the height at which water leaves the box for the floor, m.

    Over the rim of a box in a tank stands the tank. Where it is only taken to stand there its rim counts all the same, but where
    the box is described up to the edge it is filled over: elsewhere than in its tank it could not be filled.
    """
    place = made.place[box.tank]
    tank = made.waters[place]
    assert tank.body is not None
    around = tank.body.around(body)
    if first(around.stored(body.rim - LOWER)[1]) <= 0.0:
        raise InputError([Complaint(made.build.file, 0, box.name, "as wide as the tank that it stands in",
                                    "a smaller box, or 'inside tank: no'")])
    made.waters[place] = replace(tank, body=around)
    certain = box.inside or first(body.rim) <= first(crest) + LOWER
    return tank.opening if certain and tank.opening is not None else opening


def _sump(made: Assembler, sump: Sump) -> None:
    """Add the chambers of a sump and the walls between them."""
    context, vessel, chambers = made.context, sump.vessel, sump.chambers
    plan = read_plan(Reader(vessel.shape, context))
    bottom = context.height(vessel.bottom)
    whole = plan.whole(vessel.name, bottom)
    opening = made.opening(vessel, whole)
    nodes = []
    for chamber, body in zip(chambers, _cut(made, sump, plan, bottom, whole), strict=True):
        if chamber.gear is not None:
            top = context.height(chamber.gear_top) if chamber.gear_top is not None else whole.rim
            gear = context.value(chamber.gear)
            body = body.displaced(gear, top)
            # Spread evenly, gear may be wider than a chamber that narrows, though it holds more up to the gear's top.
            if any(min(map(first, body.stored(body.bottom + share * (top - body.bottom)))) <= 0.0 for share in GEAR_ASKED):
                raise InputError([Complaint(made.build.file, 0, chamber.gear.name, "more than the chamber holds to that height, "
                                            "or lower", "a smaller volume, or gear that reaches higher")])
        nodes.append(made.water(Water(chamber.name, CHAMBER, body, opening=opening)))
    made.sumps.append(tuple(nodes))
    drawn = [k for k, chamber in enumerate(chambers) if any(pump.chamber == chamber.name for pump in made.build.pumps)]
    for k, chamber in enumerate(chambers[:-1]):
        if chamber.end is None:
            continue
        if plan.width is None and "width" not in chamber.end.values:
            expected = "'width: 50 cm' at the plate, slot or mat, or 'plan: LENGTH x WIDTH' at the sump"
            raise InputError([Complaint(made.build.file, 0, chamber.end.label, "the sump's width is not known", expected)])
        element = KINDS[chamber.end.kind].make(Reader(chamber.end, context))(plan.width, bottom, whole.rim)
        # A wall faces the pump: beyond its chamber the water passes the walls the other way.
        up, down = (nodes[k + 1], nodes[k]) if drawn and drawn[0] <= k else (nodes[k], nodes[k + 1])
        made.link("barriers", Link(chamber.end.label or f"wall of {chamber.name}", element, up, down))


def _cut(made: Assembler, sump: Sump, plan: Plan, bottom: Number, whole: Body) -> list[Body]:
    """Cut a sump into its chambers, by share or by length."""
    chambers, value = sump.chambers, made.context.value
    if len(chambers) == 1:
        return [replace(whole, name=chambers[0].name)]
    if any(chamber.share is not None for chamber in chambers):
        shares = [None if chamber.share is None else value(chamber.share) for chamber in chambers]
        rest = 1.0 - sum(share for share in shares if share is not None)
        return [whole.part(chamber.name, rest if share is None else share)
                for chamber, share in zip(chambers, shares, strict=True)]
    bodies: list[Body] = []
    start: Number = 0.0
    for chamber in chambers:
        end = (value(chamber.at) if chamber.at is not None
               else start + value(chamber.length) if chamber.length is not None else plan.length)
        if chamber is chambers[-1] and chamber.length is None:
            end = plan.length
        bodies.append(plan.stretch(chamber.name, bottom, start, end))
        start = end
    return bodies
