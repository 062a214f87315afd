"""What stands where it cannot: edges that do not go with their box, mouths over their lip, parts that belong elsewhere.

Works on middles, as `rules` does; what could not be read is not a number and compares with nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from hydro.description.build import Box, Drain, Height, Item, Return, Run
from hydro.quantities.uncertain import Uncertain

if TYPE_CHECKING:
    from hydro.case.rules.geometry import Judge

SLACK = 1e-6
"""Differences below a thousandth of a millimetre are rounding."""
LAST = ("spray bar",)
"""Parts behind which nothing can stand: the end of a return."""


def misplaced(judge: Judge) -> None:
    """Complain of everything in a build that stands where it cannot."""
    build = judge.build
    if build.pumps and all(pump.off for pump in build.pumps):
        first = build.pumps[0].intake.offset.name.removesuffix(": intake")
        judge.complain(first, "every pump is switched off", "at least one without 'off: yes'")
    for box in build.boxes:
        _box(judge, box)
    for drain in build.drains:
        _inlet(judge, drain)
        _drain_line(judge, drain)
    for way in build.returns:
        _ends(judge, way.line[:-1], way)
    for pump in build.pumps:
        _ends(judge, pump.line, pump.intake)
    for run in build.runs:
        _run(judge, run)


def _number(item: Item, name: str) -> float:
    value = item.values.get(name)
    return value.middle if isinstance(value, Uncertain) else float("nan")


def _box(judge: Judge, box: Box) -> None:
    """Hold the edge of a box against the box: over its bottom, no longer than the way round it, with openings that fit."""
    if not judge.fresh("edge", box.edge, box.vessel):
        return
    at, bottom = box.edge.values.get("at"), judge.mark(f"{box.name} bottom")
    if isinstance(at, Height) and judge.level(at) < bottom - SLACK:
        judge.complain(at.offset.name, f"{judge.length(bottom - judge.level(at))} below the {box.name} bottom",
                       f"an edge above the bottom of the box '{box.name}'")
    long, shape = box.edge.values.get("length"), box.vessel.shape
    round_it = 2.0 * (_number(shape, "length") + _number(shape, "width"))
    if isinstance(long, Uncertain) and long.middle > round_it + SLACK:
        judge.complain(long.name, f"an edge of {judge.length(long.middle)}; the box '{box.name}' measures "
                       f"{judge.length(round_it)} all round", "no more than the box has sides")
    gaps = box.edge.values.get("gaps")
    needed = _number(box.edge, "gaps") * (_number(box.edge, "gap") + _number(box.edge, "tooth")) - _number(box.edge, "tooth")
    if isinstance(gaps, Uncertain) and isinstance(long, Uncertain) and needed > long.middle + SLACK:
        judge.complain(gaps.name, f"so many gaps and the teeth between them take {judge.length(needed)}, the edge has "
                       f"{judge.length(long.middle)}", "gaps that fit into the length of the edge")


def _inlet(judge: Judge, drain: Drain) -> None:
    """Hold the mouth of an inlet that turns down against its lip and the bottom."""
    mouth, lip = drain.inlet.values.get("mouth"), drain.inlet.values.get("lip")
    if not isinstance(mouth, Height) or not isinstance(lip, Height) or not judge.fresh("mouth", drain.inlet):
        return
    level, bottom = judge.level(mouth), judge.mark(f"{drain.tank} bottom")
    if level > judge.level(lip) + SLACK:
        judge.complain(mouth.offset.name, f"{judge.length(level - judge.level(lip))} above the lip: it turns down",
                       "a mouth below the lip")
    elif level < bottom - SLACK:
        judge.complain(mouth.offset.name, f"{judge.length(bottom - level)} below the {drain.tank} bottom",
                       f"a height above the {drain.tank} bottom")


def _drain_line(judge: Judge, drain: Drain) -> None:
    """Complain of parts in a drain that are the end of a return, and of pipes that lie level and slope."""
    _ends(judge, drain.line, drain)
    for item in drain.line:
        if item.values.get("level") == "yes" and "slope" in item.values and judge.fresh("level", item):
            judge.complain_of(item, drain.end.offset.name, f"'{item.kind}' lies level and has a slope", "one of the two")


def _ends(judge: Judge, line: tuple[Item, ...], whose: Drain | Return | Height) -> None:
    """Complain of a part that nothing can follow, in a line where something does."""
    height = whose if isinstance(whose, Height) else whose.end
    for item in line:
        if item.kind in LAST and judge.fresh("last", item):
            judge.complain_of(item, height.offset.name, f"'{item.kind}' is the end of a return",
                              "it last, in the line of a return")


def _run(judge: Judge, run: Run) -> None:
    """Hold the mouths of a pipe between waters against the vessels in which they stand."""
    names = {chamber.name: sump.name for sump in judge.build.sumps for chamber in sump.chambers}
    for place, mouth in ((run.start, run.start_at), (run.finish, run.finish_at)):
        if mouth is None or not judge.fresh("run", mouth):
            continue
        vessel = names.get(place, place)
        level, bottom, rim = judge.level(mouth), judge.mark(f"{vessel} bottom"), judge.mark(f"{vessel} rim")
        if level < bottom - SLACK:
            judge.complain(mouth.offset.name, f"{judge.length(bottom - level)} below the {vessel} bottom",
                           f"a mouth above the {vessel} bottom")
        elif level > rim + SLACK and mouth is run.start_at:
            judge.complain(mouth.offset.name, f"{judge.length(level - rim)} above the {vessel} rim: no water comes there",
                           f"a mouth below the {vessel} rim")
