"""The drains: an inlet in a tank or box, its line, and where that ends."""

from __future__ import annotations

from hydro.description.build import Drain
from hydro.elements import drain as drains
from hydro.elements.flat_run import flat_runs
from hydro.elements.inlet import Place
from hydro.elements.line import first_bore, prepare_line
from hydro.elements.narrowing import narrow_places
from hydro.elements.registry import KINDS, Reader
from hydro.network.assembler import Assembler
from hydro.network.model import Link, Water
from hydro.quantities.arrays import Number, where


def overflows(made: Assembler) -> None:
    """Add the overflows."""
    context = made.context
    values = {name: context.default(default) for name, default in
              (("primes_at", drains.PRIMES_AT), ("sweeps_at", drains.SWEEPS_AT),
               ("breaks_at", drains.BREAKS_AT), ("breaks_by", drains.BREAKS_BY))}
    for described in made.build.drains:
        reader = Reader(described.inlet, context, first_bore(described.line, context))
        inlet = KINDS[described.inlet.kind].make(reader)
        line = prepare_line(described.line, context, entrance=inlet.entrance, where_from=described.name)
        end = context.height(described.end)
        fall, bend = inlet.crest - end, _bend(described)
        narrows: tuple[Place, ...] = (*narrow_places(line, inlet.throat, fall, inlet.orifice, bend),
                                      *flat_runs(line, fall, context, bend))
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


def _bend(described: Drain) -> str:
    """Return the label of the first bend behind an inlet in the tank's wall: the line is level up to it. Else ''."""
    if KINDS[described.inlet.kind].word == "standpipe":
        return ""
    return next((item.label for item in described.line if KINDS[item.kind].word in ("elbow 90", "bend 90")), "")
