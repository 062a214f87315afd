"""The drains: an inlet in a tank or box, its line, and where that ends."""

from __future__ import annotations

from hydro.description.build import Drain
from hydro.elements import drain as drains
from hydro.elements.flat_run import flat_runs
from hydro.elements.inlet import Place
from hydro.elements.limits import limit_of
from hydro.elements.line import first_bore, prepare_line
from hydro.elements.narrowing import narrow_places
from hydro.elements.registry import KINDS, Reader
from hydro.elements.rim import bulkhead_depth
from hydro.network.assembler import Assembler
from hydro.network.model import Link, Water
from hydro.quantities.arrays import Number, where


def add_drains(made: Assembler) -> None:
    """Add the drains with their inlets and lines."""
    context = made.context
    values = {name: context.default(default) for name, default in
              (("primes_at", drains.PRIMES_AT), ("sweeps_at", drains.SWEEPS_AT),
               ("breaks_at", drains.BREAKS_AT), ("breaks_by", drains.BREAKS_BY))}
    values["quiet_at"] = limit_of(made.build, drains.QUIET_AT).at(context.sample)
    for described in made.build.drains:
        reader = Reader(described.inlet, context, None if _stands_on(described) else first_bore(described.line, context))
        inlet = KINDS[described.inlet.kind].make(reader)
        depth = _depth(made, described, reader) if _stands_on(described) else 0.0
        line = prepare_line(described.line, context, entrance=inlet.entrance, where_from=described.name)
        end = context.height(described.end)
        fall, bend = inlet.crest - end, _bend(described)
        narrows: tuple[Place, ...] = (*narrow_places(line, inlet.throat, fall, inlet.orifice, bend, depth),
                                      *flat_runs(line, fall, context, bend, depth))
        below = made.junction(described.into)
        element = drains.DrainLine(described.name, inlet, line, end, narrows=narrows,
                                   two_way=_two_way(made.waters[below], inlet.crest), **values)
        made.link("drains", Link(described.name, element, made.place[described.tank], below))


def _two_way(below: Water, crest: Number) -> Number:
    """Return 1 where the water at a drain's lower end can stand over its lip: a header, or a vessel with a higher rim. Else 0."""
    if below.body is None:
        return 1.0 + 0.0 * crest
    higher = below.body.rim > crest
    return where(higher, 1.0 + 0.0 * crest, 0.0 * crest)


def _stands_on(described: Drain) -> bool:
    """Whether a standpipe or an up-turned elbow stands on something that lies deeper than its lip: a bulkhead, or as stated."""
    if KINDS[described.inlet.kind].word not in ("standpipe", "elbow up"):
        return False
    bored = next((KINDS[item.kind].word for item in described.line if "size" in item.values), "")
    return bored == "bulkhead" or "length" in described.inlet.values or "bulkhead" in described.inlet.values


def _depth(made: Assembler, described: Drain, reader: Reader) -> Number:
    """Return how far the beginning of a line lies under the lip of what stands on it, m: as stated, as drilled, else assumed."""
    vessel, drilled = made.waters[made.place[described.tank]].body, described.drilled
    assert vessel is not None
    if drilled is not None and drilled.rise is not None and not {"length", "bulkhead"} & set(described.inlet.values):
        return made.context.value(drilled.rise)
    return bulkhead_depth(reader, vessel.bottom, drilled is not None and drilled.side != "bottom")


def _bend(described: Drain) -> str:
    """Return the label of the first bend behind an inlet in the tank's wall: the line is level up to it. Else ''."""
    if KINDS[described.inlet.kind].word == "standpipe":
        return ""
    return next((item.label for item in described.line if KINDS[item.kind].bends), "")
