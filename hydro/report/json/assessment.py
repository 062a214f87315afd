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

from hydro.checks import Check
from hydro.checks.assessment import Assessment
from hydro.report.content.asked_back import out_of_range, questions
from hydro.report.content.assumed import assumed
from hydro.report.content.grouping import Grouping
from hydro.report.content.influence import influences
from hydro.report.content.levels import running_line, stated_line, vessel_of
from hydro.report.content.named import named
from hydro.report.content.not_judged import CAUTIONS, not_judged
from hydro.report.content.unjoined import one_pipe_headers, unjoined_waters
from hydro.report.json.faults import faults_data
from hydro.report.json.running import state_data
from hydro.report.json.schema import SCHEMA, origin
from hydro.report.json.shutdown import all_blocked_data, blocked_data, stopped_data
from hydro.study import Study

DIGITS = 12
"""Significant digits of a number: far more than any tape gives, fewer than differ from one computer to the next."""


def to_json(found: Study | Assessment) -> str:
    """Return a study, or an assessment by itself, as JSON text (ASCII, indented)."""
    return dumps(as_data(found))


def dumps(data: Any) -> str:
    """Return plain data as JSON text, numbers as `_plain` has them; never 'NaN' or 'Infinity'."""
    return json.dumps(_plain(data), indent=2, allow_nan=False) + "\n"


def as_data(found: Study | Assessment) -> dict[str, Any]:
    """Return a study, or an assessment by itself, as dicts, lists, texts and numbers, keys as in `SCHEMA`."""
    study = Study.of(found)
    assessment = study.assessment
    build, answer = assessment.build, assessment.answer
    data = {
        **origin(), "schema": SCHEMA, "title": build.title, "file": build.file, "verdict": assessment.verdict,
        "answer": {"kind": answer.kind, "reason": answer.reason, "figures": answer.figures,
                   "one_reachable": answer.one_reachable},
        "running_line": _running_line(assessment),
        "flow": assessment.flow, "bucket": {"volume": 0.010, "seconds": assessment.bucket},
        "checks": [_check(check) for check in assessment.checks],
        "states": [state_data(assessment, state) for state in answer.states],
        "bounds": _bounds(answer.figures),
        "stopped": [stopped_data(assessment, case) for case in assessment.results.stopped],
        "blocked": [blocked_data(assessment, overflow) for overflow in assessment.results.overflows],
        "all_blocked": all_blocked_data(assessment, assessment.results.all_blocked),
        "all_blocked_each": [all_blocked_data(assessment, case) for case in assessment.results.blocked_tanks],
        "single_faults": None if study.faults is None else faults_data(study.faults),
        "groups": [{"name": group.name, "members": group.members} for group in build.groups],
        "not_joined": unjoined_waters(assessment.results.network), "dead_ends": one_pipe_headers(assessment.results.network),
        "figures": {name: {"value": value, "dimension": dimension} for name, (value, dimension) in named(assessment).items()},
        "assumed": [{"name": one.name, "kind": one.kind, "band": [one.low, one.middle, one.high], "dimension": one.dimension,
                     "source": one.source, "inputs": list(one.inputs)} for one in assumed(assessment)],
        "influences": [{"input": one.name, "pump_flow": one.flow, "tank_level": one.tank, "power_cut_level": one.cut}
                       for one in influences(assessment, most=10)],
        "asked_back": questions(assessment), "out_of_range": out_of_range(assessment),
        "not_judged": [{"what": item.what, "instead": item.instead, "figures": {
            words: {"value": value, "dimension": dimension} for words, (value, dimension) in item.figures.items()}}
            for item in not_judged(assessment, None if build.one else Grouping.by(build))],
        "notes": build.notes, "cautions": CAUTIONS}
    plain = _plain(data)
    assert isinstance(plain, dict)
    return plain


def _plain(value: Any) -> Any:
    """Return the value as JSON knows it: tuples as lists, whatever is not finite as None, floats to `DIGITS` digits.

    The last digits of a float hang on how a Python adds up and on the machine; -0.0 is 0.0.
    """
    if isinstance(value, dict):
        return {str(key): _plain(entry) for key, entry in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(entry) for entry in value]
    if isinstance(value, (str, bool, int)) or value is None:
        return value
    number = float(value)
    return float(f"{number:.{DIGITS}g}") + 0.0 if math.isfinite(number) else None


def _running_line(assessment: Assessment) -> dict[str, Any]:
    wanted, network = assessment.wanted_line, assessment.results.network
    return {"stated": stated_line(assessment), "running": running_line(assessment),
            "highest": None if wanted is None else wanted.safe, "highest_middle": None if wanted is None else wanted.height,
            "worst_input": "" if wanted is None else wanted.worst,
            "counts_on": {"siphon_breaks": None if wanted is None else wanted.breaks,
                          "check_valves": None if wanted is None else wanted.holds},
            "cases": [{"siphon_breaks": line.breaks, "check_valves": line.holds, "highest": line.height}
                      for line in assessment.lines],
            "chamber": network.waters[network.pump_chamber].name,
            "sump": vessel_of(assessment.results, network.pump_chamber).name}


def _check(check: Check) -> dict[str, Any]:
    return {"key": check.key, "kind": check.kind.word, "subject": check.subject, "stake": check.kind.stake,
            "question": check.question, "verdict": check.verdict, "word": check.word, "decided_by": check.decided_by or None,
            "value": check.value, "limit": check.limit,
            "margin": check.margin, "dimension": check.dimension, "origin": check.origin, "because": check.because,
            "figures": {words: {"value": value, "dimension": dimension} for words, (value, dimension) in check.figures.items()},
            "worst": check.worst}


def _bounds(figures: dict[str, float]) -> dict[str, Any] | None:
    """Return the bounds between which the levels swing while it surges, above the ground."""
    bounds = {key: [figures.get(f"lowest {words}"), figures.get(f"highest {words}")]
              for key, words in (("above_ground_tank", "tank level"), ("above_ground_pump_chamber", "pump chamber level"))}
    return None if None in bounds["above_ground_tank"] else bounds
