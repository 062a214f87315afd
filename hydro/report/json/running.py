"""A running state for programs: levels, drains, returns, pumps, pipes, tanks by name, and what is folded of them."""

from __future__ import annotations

from typing import Any

from hydro.checks.assessment import Assessment
from hydro.report.content.flows import drain_runs, hole_runs, return_name, return_runs, wall_runs
from hydro.report.content.grouping import Grouping
from hydro.report.content.head_budget import Way, pump_head_of, way_of, ways_to
from hydro.report.content.levels import Level, levels
from hydro.report.content.pipe_flows import edge_runs, pipe_runs
from hydro.report.content.pump_points import pump_runs
from hydro.report.content.tank_flows import tank_runs, worst_off
from hydro.steady.state import State


def state_data(assessment: Assessment, state: State) -> dict[str, Any]:
    """Return a state by names; what is asked of the only tank or pump is null where there are several."""
    one = assessment.build.one
    tank: Any = state.network.waters[state.network.tank].body if one else None
    return {
        "levels": [_level(level) for level in levels(assessment, state)],
        "drains": [{"name": run.name, "chamber": run.chamber, "band": run.flow, "flow": run.flow[1], "speed": run.speed,
                    "over_lip": run.over_lip, "air_number": run.air_number, "mode": run.mode, "runs": run.runs,
                    "ruled_by": run.ruled_by, "tank": run.tank} for run in drain_runs(assessment, state)],
        "returns": [{"name": run.name, "band": run.flow, "flow": run.flow[1], "speed": run.speed, "where": run.where,
                     "bucket_seconds": run.bucket, "tank": run.tank} for run in return_runs(assessment, state)],
        "walls": [{"name": run.name, "drop": run.drop, "over_top": run.over_top} for run in wall_runs(state)],
        "siphon_break_leaks": [{"name": run.name, "flow": run.flow} for run in hole_runs(state)],
        "pump": _pump(assessment, state) if one else None,
        "volumes": {"tank": float(tank.stored(state.tank_level)[0]) if one else None, "all": float(state.total)},
        "pumps": [{"name": run.name, "draws_from": run.draws, "band": run.flow, "flow": run.flow[1], "head": run.head,
                   "shut_off_head": run.shutoff, "last_flow": run.last, "stands": run.company}
                  for run in pump_runs(assessment, state)],
        "tanks": [{"name": run.name, "band": run.flow, "flow": run.flow[1], "turnover": run.turnover, "volume": run.volume,
                   "bucket_seconds": run.bucket} for run in tank_runs(assessment, state)],
        "pipes": [{"name": run.name, "from": run.start, "to": run.finish, "band": run.flow, "flow": run.flow[1],
                   "speed": run.speed, "where": run.where} for run in pipe_runs(assessment, state)],
        "edges": [{"name": run.name, "tank": run.tank, "box": run.box, "band": run.flow, "flow": run.flow[1],
                   "over_edge": run.over} for run in edge_runs(assessment, state)],
        "worst_off": None if one else _worst_off(assessment, state),
        "folded": grouped_rows(assessment, state)}


def _level(level: Level) -> dict[str, Any]:
    return {"name": level.name, "kind": level.kind, "above_ground": level.height, "over_bottom": level.height - level.bottom,
            "under_rim": level.rim - level.height, "under_opening": level.under_opening, "band": level.over_bottom}


def _pump(assessment: Assessment, state: State) -> dict[str, Any]:
    network = state.network
    run, = pump_runs(assessment, state)
    ways = ways_to(state)
    return {"flow": float(state.pump_flow), "head": pump_head_of(state, network.pump), "shut_off_head": run.shutoff,
            "last_flow": run.last, "budget": [_way(assessment, way_of(state, ways[k])) for k in network.returns if k in ways]}


def _worst_off(assessment: Assessment, state: State) -> dict[str, Any] | None:
    """Return where the head goes on the way to the return that is worst off."""
    found = worst_off(assessment, state)
    if found is None:
        return None
    way, tank = found
    told = _way(assessment, way)
    first, parts = told.pop("return"), told.pop("parts")
    return {"return": first, "tank": tank, "draws_from": way.start, **told,
            "pumps": [{"name": name, "head": head} for name, head in way.heads], "parts": parts}


def _way(assessment: Assessment, way: Way) -> dict[str, Any]:
    return {"return": return_name(assessment, way.link), "head": way.head, "lift": way.lift, "mouth_in_air": way.free,
            "left": way.left, "parts": [{"part": label, "head": head} for label, head in way.parts]}


def grouped_rows(assessment: Assessment, state: State) -> list[dict[str, Any]]:
    """Return the lowest and the highest of what was described once for several, with their names."""
    grouping = Grouping.by(assessment.build)
    asked: list[tuple[str, str, list[tuple[str, float]]]] = [
        ("level over the bottom", "length", [(one.name, one.height - one.bottom) for one in levels(assessment, state)]),
        ("flow into", "flow", [(run.name, run.flow[1]) for run in tank_runs(assessment, state)]),
        ("turnover", "turnover", [(run.name, run.turnover) for run in tank_runs(assessment, state)]),
        ("flow", "flow", [*((run.name, run.flow[1]) for run in drain_runs(assessment, state)),
                          *((run.name, run.flow[1]) for run in return_runs(assessment, state)),
                          *((run.name, run.flow[1]) for run in pump_runs(assessment, state))])]
    rows = []
    for what, dimension, pairs in asked:
        for grouped in grouping.of("", [pair for pair in pairs if pair[0] in grouping.group_of]):
            if not grouped.alone:
                (least, low), (most, high) = grouped.least(float), grouped.most(float)
                rows.append({"what": what, "group": grouping.group_of[least].name, "count": len(grouped.members), "lowest": low,
                             "lowest_at": least, "highest": high, "highest_at": most, "dimension": dimension})
    return rows
