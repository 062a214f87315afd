"""The assessment for programs: plain data in SI units, and its text as JSON.

Heights whose key starts with 'above_ground' count from the ground, those with 'over_bottom' from the bottom of their vessel,
those with 'under' downward from the vessel's rim or lowest opening. m, m3, m3/s, m/s, s, kg, Pa, 1/s; 'band' is [low, middle,
high]. What does not exist or is not finite is null. The order of keys never changes. `SCHEMA` describes every key by its path
and stands in the output under 'schema'; '[]' is each entry of a list, '*' each name in a table of names.
"""

from __future__ import annotations

import json
import math
from typing import Any

from hydro import __version__
from hydro.assessment import Assessment
from hydro.report.assumed import assumed
from hydro.report.basis import out_of_range, questions
from hydro.report.beyond import CAUTIONS, not_judged
from hydro.report.budget import paths, pump_head
from hydro.report.flows import drain_runs, hole_runs, return_name, return_runs, wall_runs
from hydro.report.influence import influences
from hydro.report.levels import Level, levels, running_line, stated_line, sump_bottom
from hydro.report.named import named
from hydro.report.schema import SCHEMA
from hydro.state import State

FORMAT = 1
"""Raised when a key changes its meaning or goes."""


def to_json(assessment: Assessment) -> str:
    """Return the assessment as JSON text (ASCII, indented)."""
    return dumps(as_data(assessment))


def dumps(data: Any) -> str:
    """Return plain data as JSON text; never 'NaN' or 'Infinity'."""
    return json.dumps(data, indent=2, allow_nan=False) + "\n"


def as_data(assessment: Assessment) -> dict[str, Any]:
    """Return the assessment as dicts, lists, texts and numbers, keys as in `SCHEMA`."""
    build, answer = assessment.build, assessment.answer
    data = {
        "program": "sumpwright", "version": __version__, "format": FORMAT, "units": "SI", "schema": SCHEMA,
        "title": build.title, "file": build.file, "verdict": assessment.verdict,
        "answer": {"kind": answer.kind, "reason": answer.reason, "figures": answer.figures,
                   "one_reachable": answer.one_reachable},
        "running_line": _running_line(assessment),
        "flow": assessment.flow, "bucket": {"volume": 0.010, "seconds": assessment.bucket},
        "checks": [_check(row) for row in assessment.rows],
        "states": [_state(assessment, state) for state in answer.states],
        "bounds": _bounds(answer.figures),
        "stopped": [_stopped(assessment, case) for case in assessment.findings.stopped],
        "blocked": [_blocked(assessment, overflow) for overflow in assessment.findings.overflows],
        "all_blocked": _all_blocked(assessment),
        "figures": {name: {"value": value, "dimension": dimension} for name, (value, dimension) in named(assessment).items()},
        "assumed": [{"name": one.name, "kind": one.kind, "band": [one.low, one.middle, one.high], "dimension": one.dimension,
                     "source": one.source, "inputs": list(one.inputs)} for one in assumed(assessment)],
        "influences": [{"input": one.name, "pump_flow": one.flow, "tank_level": one.tank, "power_cut_level": one.cut}
                       for one in influences(assessment, most=10)],
        "asked_back": questions(assessment), "out_of_range": out_of_range(assessment),
        "not_judged": [{"what": item.what, "instead": item.instead, "figures": {
            words: {"value": value, "dimension": dimension} for words, (value, dimension) in item.figures.items()}}
            for item in not_judged(assessment)],
        "notes": build.notes, "cautions": CAUTIONS}
    plain = _plain(data)
    assert isinstance(plain, dict)
    return plain


def _plain(value: Any) -> Any:
    """Return the value as JSON knows it: tuples as lists, whatever is not finite as None."""
    if isinstance(value, dict):
        return {str(key): _plain(entry) for key, entry in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(entry) for entry in value]
    if isinstance(value, (str, bool, int)) or value is None:
        return value
    number = float(value)
    return number if math.isfinite(number) else None


def _running_line(assessment: Assessment) -> dict[str, Any]:
    wanted = assessment.wanted_line
    return {"stated": stated_line(assessment), "running": running_line(assessment),
            "highest": None if wanted is None else wanted.safe, "highest_middle": None if wanted is None else wanted.height,
            "worst_input": "" if wanted is None else wanted.worst,
            "counts_on": {"siphon_breaks": None if wanted is None else wanted.breaks,
                          "check_valves": None if wanted is None else wanted.holds},
            "cases": [{"siphon_breaks": line.breaks, "check_valves": line.holds, "highest": line.height}
                      for line in assessment.lines]}


def _check(row: Any) -> dict[str, Any]:
    return {"key": row.key, "question": row.question, "verdict": row.verdict, "value": row.value, "limit": row.limit,
            "margin": row.margin, "dimension": row.dimension, "origin": row.origin, "because": row.because,
            "figures": {words: {"value": value, "dimension": dimension} for words, (value, dimension) in row.figures.items()}}


def _state(assessment: Assessment, state: State) -> dict[str, Any]:
    tank: Any = state.network.waters[state.network.tank].body
    return {
        "levels": [_level(level) for level in levels(assessment, state)],
        "drains": [{"name": run.name, "chamber": run.chamber, "band": run.flow, "flow": run.flow[1], "speed": run.speed,
                    "over_lip": run.over_lip, "air_number": run.air_number, "mode": run.mode, "runs": run.runs,
                    "ruled_by": run.ruled_by} for run in drain_runs(assessment, state)],
        "returns": [{"name": run.name, "band": run.flow, "flow": run.flow[1], "speed": run.speed, "where": run.where,
                     "bucket_seconds": run.bucket} for run in return_runs(assessment, state)],
        "walls": [{"name": run.name, "drop": run.drop, "over_top": run.over_top} for run in wall_runs(state)],
        "siphon_break_leaks": [{"name": run.name, "flow": run.flow} for run in hole_runs(state)],
        "pump": _pump(assessment, state),
        "volumes": {"tank": float(tank.stored(state.tank_level)[0]), "all": float(state.total)}}


def _level(level: Level) -> dict[str, Any]:
    return {"name": level.name, "kind": level.kind, "above_ground": level.height, "over_bottom": level.height - level.bottom,
            "under_rim": level.rim - level.height, "under_opening": level.under_opening, "band": level.over_bottom}


def _pump(assessment: Assessment, state: State) -> dict[str, Any]:
    network = state.network
    pump: Any = network.links[network.pump].element
    return {"flow": float(state.pump_flow), "head": pump_head(state),
            "shut_off_head": float(pump.curve.shutoff) * float(pump.speed) ** 2,
            "last_flow": float(pump.curve.flows[-1]) * float(pump.speed),
            "budget": [{"return": return_name(assessment, k), "head": path.head, "lift": path.lift,
                        "mouth_in_air": path.free, "left": path.left,
                        "parts": [{"part": label, "head": head} for label, head in (*path.shared, *path.own)]}
                       for k, path in zip(network.returns, paths(state), strict=True)]}


def _bounds(figures: dict[str, float]) -> dict[str, Any] | None:
    """Return the bounds between which the levels swing while it surges, above the ground."""
    bounds = {key: [figures.get(f"lowest {words}"), figures.get(f"highest {words}")]
              for key, words in (("above_ground_tank", "tank level"), ("above_ground_pump_chamber", "pump chamber level"))}
    return None if None in bounds["above_ground_tank"] else bounds


def _stopped(assessment: Assessment, case: tuple[bool, bool]) -> dict[str, Any]:
    stopped, network = assessment.findings.stopped[case], assessment.findings.network
    return {"siphon_breaks": stopped.breaks, "check_valves": stopped.holds,
            "has_to_fit": case == assessment.findings.wanted_cut(), "items": stopped.items, "comes_down": stopped.comes_down,
            "room_left": stopped.spare, "above_ground_tank": stopped.tank_level, "ends_by": stopped.ends_by,
            "over_bottom_sump": stopped.sump_level - sump_bottom(network),
            "above_ground_chambers": stopped.chambers}


def _blocked(assessment: Assessment, overflow: Any) -> dict[str, Any]:
    network = assessment.findings.network
    return {"drains": [network.links[k].name for k in overflow.out], "above_ground_tank": overflow.level,
            "under_opening": assessment.findings.tank_opening - overflow.level,
            "above_ground_tank_while_siphoning": overflow.siphons}


def _all_blocked(assessment: Assessment) -> dict[str, Any] | None:
    case = assessment.findings.all_blocked
    return None if case is None else {
        "from_sump": case.comes_up, "from_lines": case.held, "from_top_up": case.top_up, "comes_up": case.all, "room": case.room}
