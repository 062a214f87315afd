"""Tees whose losses depend on how the flow parts, read off the marks 'tee run' and 'tee branch' next to a header.

Where three pipes meet in a header, one of them marked 'tee branch' at its end there and another one 'tee run', the header is
one tee: the marks' fixed losses give way to those of the split (`hydro.elements.tee`). Other marks keep their fixed losses;
so do those where a drain ends in the header, for water with air in it parts by other laws.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from hydro.description.build import Build, Item
from hydro.elements.fittings import FITTINGS
from hydro.elements.registry import KINDS
from hydro.elements.tee import Tee
from hydro.network.assembler import Assembler
from hydro.network.model import Link
from hydro.network.naming import fed_from, header_of
from hydro.quantities.arrays import Number, first

FIRST, LAST = 0, -1
BRANCH, RUN = "tee branch", "tee run"


@dataclass(frozen=True, slots=True)
class Leg:
    """A pipe that meets a header with one end: what it is ('pump', 'return', 'run'), its name, which of its items is there."""

    what: str
    name: str
    end: int
    items: tuple[Item, ...]

    @property
    def mark(self) -> str:
        """The tee's mark at this end, '' for none."""
        if not self.items:
            return ""
        word = KINDS[self.items[self.end].kind].word
        return word if word in (BRANCH, RUN) else ""


def legs_of(build: Build) -> dict[str, list[Leg]]:
    """Return the pipes that meet in each header; a drain or a pump that draws from it is one without a mark."""
    legs: dict[str, list[Leg]] = {}
    for pump in build.pumps:
        legs.setdefault(header_of(build, pump), []).append(Leg("pump", pump.name, LAST, pump.line))
        legs.setdefault(pump.chamber, []).append(Leg("drawing", pump.name, FIRST, ()))
    for described in build.returns:
        legs.setdefault(fed_from(build, described), []).append(Leg("return", described.name, FIRST, described.line))
    for run in build.runs:
        legs.setdefault(run.start, []).append(Leg("run", run.name, FIRST, run.line))
        legs.setdefault(run.finish, []).append(Leg("run", run.name, LAST, run.line))
    for drain in build.drains:
        legs.setdefault(drain.into, []).append(Leg("drain", drain.name, LAST, ()))
    return legs


def planned(build: Build) -> dict[str, list[Leg]]:
    """Return the legs of every header that is one tee, the branch last."""
    plans = {}
    for header, legs in legs_of(build).items():
        branches = [leg for leg in legs if leg.mark == BRANCH]
        others = [leg for leg in legs if leg.mark != BRANCH]
        drained = any(leg.what == "drain" for leg in legs)
        if len(legs) == 3 and not drained and len(branches) == 1 and any(leg.mark == RUN for leg in others):
            plans[header] = [*others, branches[0]]
    return plans


def without_marks(build: Build, plans: Mapping[str, Sequence[Leg]]) -> Build:
    """Return the build with the marks of these tees taken out of its lines."""
    taken: dict[tuple[str, str], list[int]] = {}
    for legs in plans.values():
        for leg in legs:
            if leg.mark:
                taken.setdefault((leg.what, leg.name), []).append(leg.end)

    def kept(what: str, name: str, items: tuple[Item, ...]) -> tuple[Item, ...]:
        places = {end % len(items) for end in taken.get((what, name), ())} if items else set()
        return tuple(item for k, item in enumerate(items) if k not in places)
    if not taken:
        return build
    return replace(build, pumps=tuple(replace(one, line=kept("pump", one.name, one.line)) for one in build.pumps),
                   returns=tuple(replace(one, line=kept("return", one.name, one.line)) for one in build.returns),
                   runs=tuple(replace(one, line=kept("run", one.name, one.line)) for one in build.runs))


def tees(made: Assembler, plans: Mapping[str, Sequence[Leg]]) -> tuple[Tee, ...]:
    """Return the tees of the links that were made; one whose bores are not known is left out: its loss is then nothing."""
    by_node: dict[int, list[int]] = {}
    for k, link in enumerate(made.links):
        for node in (link.up, link.down):
            by_node.setdefault(node, []).append(k)
    found = []
    for header, legs in plans.items():
        node = made.place[header]
        names = {made.links[k].name.removesuffix(" before the break"): k for k in by_node[node]}
        places = [names[leg.name] for leg in legs]
        # A pump's own line is the one that needs no coefficient of its own.
        if legs[1].what == "pump":
            places[0], places[1] = places[1], places[0]
        combined, run, branch = places
        bores = [bore for bore in (_bore(made.links[k], node) for k in (combined, run)) if first(bore) == first(bore)]
        main, side = next(iter(bores), math.nan), _bore(made.links[branch], node)
        if first(main) == first(main) and first(side) == first(side):
            signs = [1.0 if made.links[k].down == node else -1.0 for k in places]
            found.append(Tee(header, combined, run, branch, main, side, factor=made.context.default(FITTINGS),
                             toward=(signs[0], signs[1], signs[2])))
    return tuple(found)


def _bore(link: Link, node: int) -> Number:
    """Return the bore of a link's line where it meets a header, m; not a number for a line without parts."""
    line = link.element.line
    return line.bore if link.down == node else line.first_bore
