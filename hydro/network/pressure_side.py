"""The pressure side: pumps, the headers they deliver into, returns with their siphon breaks, pipes between headers.

    chamber --pump--> header --return--> tank              one pump on one return is one link
    header --pump--> header                                a pump behind another one
    header --run--> header                                 manifolds and rings
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from hydro.description.build import Item, Pump, Return, Run
from hydro.elements import pump as pumps
from hydro.elements.break_above import HoleAbove
from hydro.elements.drain import QUIET_AT
from hydro.elements.fittings import LocalLoss
from hydro.elements.high_point import GREATEST, SOFTENS, HighPoint
from hydro.elements.limits import limit_of
from hydro.elements.line import NO_OUTLET, Line, LineLink, Mouth, first_bore, prepare_line
from hydro.elements.registry import KINDS, PartContext, Reader
from hydro.elements.return_line import Break, BreakHole
from hydro.elements.rim import WEIR
from hydro.elements.siphon_tube import CLEARS, PROJECTING, SiphonTube
from hydro.errors import Complaint, InputError
from hydro.network.assembler import Assembler
from hydro.network.model import JUNCTION, Link, Water
from hydro.network.naming import fed_from, header_of
from hydro.network.tees import planned, tees, without_marks
from hydro.quantities.arrays import GRAVITY, Number, greater, lesser

EVERYWHERE_DEEP = -1e3
"""Intake of a pump that draws from a pipe: it has no surface to draw air through, m."""


def curve_of(pump: Pump, context: PartContext) -> pumps.PumpCurve:
    """Return a pump's curve from its points, its box or its bucket tests, whichever are given."""
    value, default = context.value, context.default
    tests = [(value(test.volume) / value(test.time), value(test.height)) for test in pump.tests]
    if pump.curve:
        shape = pumps.PumpCurve.of(pump.curve)
    elif pump.most_flow is not None and pump.most_height is not None:
        flow, height = value(pump.most_flow), value(pump.most_height)
        exponent = (pumps.fitted_exponent(flow, height, tests) if tests else default(pumps.BOX_EXPONENT))
        shape = pumps.from_box(flow, height, exponent)
    else:
        try:
            return pumps.from_tests(tests).scaled(default(pumps.STRENGTH))
        except ValueError as problem:  # sound in the middle of the bands, and not at some end
            raise InputError([Complaint("", 0, f"{pump.name}: bucket", str(problem), "tests further apart, or timed closer")]) \
                from problem
    strength = default(pumps.STRENGTH)
    if tests:
        shape = shape.at_speed(pumps.fitted_speed(shape, tests))
    return shape.scaled(strength)


def add_pressure_side(made: Assembler) -> None:
    """Add the pumps, the returns and the pipes between headers, and find the tees among these."""
    plans = planned(made.build)
    build = without_marks(made.build, plans)
    branches: dict[str, list[Return]] = {}
    for described in build.returns:
        branches.setdefault(fed_from(build, described), []).append(described)
    pushed = [header_of(build, pump) for pump in build.pumps]
    others = {*(pump.chamber for pump in build.pumps), *(drain.into for drain in build.drains),
              *(place for run in build.runs for place in (run.start, run.finish))}
    alone = {name: ways[0] for name, ways in branches.items()
             if len(ways) == 1 and pushed.count(name) == 1 and name not in others}
    for pump in build.pumps:
        header = header_of(build, pump)
        if header in alone:
            _single(made, pump, alone[header])
        else:
            _pump(made, pump, header, branches.get(header, []))
    for described in build.returns:
        header = fed_from(build, described)
        if header not in alone:
            _branch(made, described, made.junction(header))
    for run in build.runs:
        _run(made, run)
    made.tees = tees(made, plans)


def _fixed(made: Assembler, pump: Pump) -> dict[str, Number]:
    """Return what a pump is, whatever it pushes through."""
    context = made.context
    wet = _in_chamber(made, pump)
    return {"curve": curve_of(pump, context), "intake": context.height(pump.intake) if wet else EVERYWHERE_DEEP,
            "speed": context.value(pump.speed) if pump.speed is not None else 1.0, "running": 0.0 if pump.off else 1.0,
            **_intake(made, pump, wet)}


def _intake(made: Assembler, pump: Pump, wet: bool) -> dict[str, Number]:
    """Return how wide a pump's intake is, or how fast the water usually goes in where nobody measured it."""
    if pump.intake_bore is not None:
        return {"intake_bore": made.context.value(pump.intake_bore)}
    return {"intake_speed": made.context.default(pumps.INTAKE_SPEED)} if wet else {}


def _in_chamber(made: Assembler, pump: Pump) -> bool:
    """Whether a pump draws from standing water, and not from a header."""
    chamber = made.place.get(pump.chamber)
    return chamber is not None and made.waters[chamber].kind != JUNCTION


def _still(made: Assembler, pump: Pump, line: Line) -> dict[str, Number]:
    """Return what a stopped pump loses on the first bore of its line, and the exit loss where water runs back into a chamber."""
    leaving = 1.0 if _in_chamber(made, pump) else 0.0
    return {"stopped": LocalLoss.of(made.context.default(pumps.STOPPED), line.first_bore).quadratic,
            "leaving": LocalLoss.of(leaving, line.first_bore).quadratic}


def _single(made: Assembler, pump: Pump, described: Return) -> None:
    """Add a pump with its only return: one link, two where a siphon break leaks on the way."""
    before, beyond, link = _return(made, described, (*pump.line, *described.line))
    chamber, tank = made.junction(pump.chamber), made.place[described.tank]
    fixed = {**_still(made, pump, before), **_fixed(made, pump)}
    if beyond is None:
        element = pumps.PumpLine(pump.name, line=before, outlet=link.outlet, end=link.end, hole=link.hole, **fixed)
        made.groups["pumps"].append(made.link("returns", Link(pump.name, element, chamber, tank)))
        return
    node = _break_junction(made, described)
    made.link("pumps", Link(pump.name, pumps.PumpLine(pump.name, line=before, **fixed), chamber, node))
    _beyond(made, described, beyond, link, node)


def _pump(made: Assembler, pump: Pump, header: str, ways: Sequence[Return]) -> None:
    """Add a pump that pushes into a header."""
    context = made.context
    riser = prepare_line(pump.line, context, exit_loss=False, where_from=pump.name) if first_bore(pump.line, context) \
        is not None else Line.of([])
    made.full = made.full + riser.volume
    chamber = made.junction(pump.chamber)
    on = riser if riser.parts or not ways else prepare_line(ways[0].line, context, where_from=ways[0].name)
    still = _still(made, pump, on) if on.parts else {}
    element = pumps.PumpLine(pump.name, line=riser, **still, **_fixed(made, pump))
    made.link("pumps", Link(pump.name, element, chamber, made.junction(header)))


def _branch(made: Assembler, described: Return, header: int) -> None:
    """Add a return that leaves a header."""
    before, beyond, link = _return(made, described, described.line)
    if beyond is None:
        made.link("returns", Link(described.name, replace(link, line=before), header, made.place[described.tank]))
        return
    node = _break_junction(made, described)
    made.link("", Link(f"{described.name} before the break", LineLink(described.name, before), header, node))
    _beyond(made, described, beyond, link, node)


def widest(line: Line) -> Number:
    """Return the largest bore of a line's runs, m: where a hole sits is not always said, and a wide pipe takes more air."""
    bore = line.bore
    for pipe in line.pipes:
        bore = greater(bore, pipe.bore)
    return bore


def _return(made: Assembler, described: Return, items: Sequence[Item]) -> tuple[Line, Line | None, LineLink]:
    """Return the line up to the siphon break, the line beyond it (None: no hole that leaks), and the end's link."""
    context = made.context
    outlet = context.height(described.end)
    hole = _break(made, described)
    marks = [k for k, item in enumerate(items) if KINDS[item.kind].family == "break"]
    whole = prepare_line(items, context, where_from=described.name)
    made.full = made.full + whole.volume
    across = whole.bore if described.points == "sideways" else 0.0 * whole.bore
    reach = None if hole is None or hole.hole is None else hole.hole / widest(whole)
    # A hole below the mouth lets water in instead of air: then it is what the tank can siphon down to.
    lowest = outlet - across / 2.0 if hole is None else lesser(outlet - across / 2.0, hole.stop)
    end = Mouth(described.name, lowest, None if hole is None else hole.stop, reach,
                None if described.highest is None else context.height(described.highest))
    link = LineLink(described.name, whole, outlet, end=end, hole=None if hole is None else HoleAbove(hole.height))
    if not marks or hole is None or hole.hole is None:
        return whole, None, link
    before = prepare_line(items[:marks[0]], context, exit_loss=False, where_from=described.name)
    beyond = prepare_line(items[marks[0]:], context, before=before.bore, where_from=described.name)
    # The hole feels the static head: the velocity head is paid before it and regained behind it, as far as there is one.
    area = math.pi / 4.0 * before.bore * before.bore
    dynamic = lesser(1.0 / (2.0 * GRAVITY * area * area), beyond.quadratic)
    return (replace(before, quadratic=before.quadratic + dynamic),
            replace(beyond, quadratic=beyond.quadratic - dynamic), link)


def _break(made: Assembler, described: Return) -> Break | None:
    if described.hole is None:
        return None
    hole = KINDS[described.hole.kind].make(Reader(described.hole, made.context))
    assert isinstance(hole, Break)
    return hole


def _break_junction(made: Assembler, described: Return) -> int:
    return made.water(Water(f"{described.name} at its siphon break", JUNCTION))


def _beyond(made: Assembler, described: Return, beyond: Line, link: LineLink, node: int) -> None:
    """Add the line beyond a siphon break and the hole."""
    hole = _break(made, described)
    assert hole is not None
    assert hole.hole is not None
    tank = made.place[described.tank]
    made.link("returns", Link(described.name, replace(link, line=beyond, hole=HoleAbove(hole.height, at_start=True)), node, tank))
    made.link("", Link(f"{described.name}: siphon break", BreakHole.of(described.name, hole.height, hole.hole, hole.coefficient),
                       node, tank))


def _run(made: Assembler, run: Run) -> None:
    """Add a pipe between two headers or waters; between two waters it may carry either way, and over a rim as a siphon."""
    context = made.context
    start, finish = made.junction(run.start), made.junction(run.finish)
    from_water, into_water = (made.waters[node].kind != JUNCTION for node in (start, finish))
    entrance = context.default(PROJECTING) if from_water else 0.0
    line = prepare_line(run.line, context, exit_loss=into_water, entrance=entrance, where_from=run.name)
    made.full = made.full + line.volume
    mouths = [None if at is None else context.height(at) for at in (run.start_at, run.finish_at)]
    if from_water and into_water:
        if mouths[0] is None or mouths[1] is None:
            raise InputError([Complaint(made.build.file, 0, run.name, "the heights of its ends in the water are not known",
                                        "a height at each end")])
        crown = _crown(context, run, line)
        # Through a wall a tape gives the middle of a hole, and water runs to its lowest point; over a rim the ends hang down.
        sunk = [0.0, 0.0] if crown is not None else [line.first_bore / 2.0, line.bore / 2.0]
        tube = SiphonTube(run.name, line, mouths[0] - sunk[0], mouths[1] - sunk[1], crown, clears_at=context.default(CLEARS),
                          weir=context.default(WEIR), quiet_at=limit_of(made.build, QUIET_AT).at(context.sample))
        made.link("runs", Link(run.name, tube, start, finish))
        return
    outlet = NO_OUTLET if mouths[1] is None else mouths[1]
    made.link("runs", Link(run.name, LineLink(run.name, line, outlet), start, finish))


def _crown(context: PartContext, run: Run, line: Line) -> HighPoint | None:
    """Return the highest point of a pipe over a rim, taken half way along it; None where the pipe has none."""
    if run.highest is None:
        return None
    top = HighPoint.along(run.name, context.height(run.highest), line, 0.5)
    return replace(top, softens=context.default(SOFTENS), greatest=context.default(GREATEST))
