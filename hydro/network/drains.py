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
from hydro.network.assembler import Assembler
from hydro.network.model import Link


def overflows(made: Assembler) -> None:
    """Add the overflows."""
    context = made.context
    values = {name: context.default(default) for name, default in
              (("primes_at", drains.PRIMES_AT), ("sweeps_at", drains.SWEEPS_AT),
               ("breaks_at", drains.BREAKS_AT), ("breaks_by", drains.BREAKS_BY))}
    values["quiet_at"] = limit_of(made.build, drains.QUIET_AT).at(context.sample)
    for described in made.build.drains:
        reader = Reader(described.inlet, context, first_bore(described.line, context))
        inlet = KINDS[described.inlet.kind].make(reader)
        line = prepare_line(described.line, context, entrance=inlet.entrance, where_from=described.name)
        end = context.height(described.end)
        fall, bend = inlet.crest - end, _bend(described)
        narrows: tuple[Place, ...] = (*narrow_places(line, inlet.throat, fall, inlet.orifice, bend),
                                      *flat_runs(line, fall, context, bend))
        element = drains.DrainLine(described.name, inlet, line, end, narrows=narrows, **values)
        made.link("drains", Link(described.name, element, made.place[described.tank], made.junction(described.into)))


def _bend(described: Drain) -> str:
    """Return the label of the first bend behind an inlet in the tank's wall: the line is level up to it. Else ''."""
    if KINDS[described.inlet.kind].word == "standpipe":
        return ""
    return next((item.label for item in described.line if KINDS[item.kind].word in ("elbow 90", "bend 90")), "")
