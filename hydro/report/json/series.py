"""A course of events for programs: JSON and CSV, in SI units, levels above the ground.

The series holds every step that was taken, closer together where much happens: at most 2e-5 m of error in a level per step.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

from hydro.network.model import JUNCTION
from hydro.report.json.schema import origin
from hydro.scenarios.histories import Question, outcome_of
from hydro.transient.state import TransientState


def series_columns(moment: TransientState) -> tuple[list[str], list[str]]:
    """Return the names of the waters that hold volume, and of the links; a name that comes again is numbered."""
    waters = [water.name for water in moment.network.waters if water.kind != JUNCTION]
    return numbered(waters), numbered([link.name for link in moment.network.links])


def numbered(names: Sequence[str]) -> list[str]:
    """Return names with ' (2)' behind one that was there before, and so on."""
    return [name if name not in names[:k] else f"{name} ({names[:k].count(name) + 1})" for k, name in enumerate(names)]


def row(moment: TransientState) -> tuple[list[float], list[float], list[float]]:
    """Return levels and volumes of the waters that hold volume, and flows in the links."""
    kept = [k for k, water in enumerate(moment.network.waters) if water.kind != JUNCTION]
    return [moment.levels[k] for k in kept], [moment.volumes[k] for k in kept], list(moment.flows)


def to_csv(asked: Question) -> str:
    """Return the series as CSV: time (s), levels (m), volumes (m3), flows into the links (m3/s), water in lines (m3)."""
    waters, links = series_columns(asked.history.start)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["time, s", *(f"level of {name}, m" for name in waters), *(f"volume of {name}, m3" for name in waters),
                     *(f"flow in {name}, m3/s" for name in links), "in drains, m3", "in the pump's lines, m3",
                     "running down, m3"])
    for moment in asked.history.moments:
        levels, volumes, flows = row(moment)
        numbers = [moment.time, *levels, *volumes, *flows, sum(moment.held), moment.lines, moment.falling]
        writer.writerow([f"{number:.9g}" for number in numbers])
    return out.getvalue()


def series_data(asked: Question) -> dict[str, Any]:
    """Return question, events, outcome and series as dicts, lists, texts and numbers."""
    history, outcome, disturbance = asked.history, outcome_of(asked.history), asked.disturbance
    waters, links = series_columns(history.start)
    rows = [row(moment) for moment in history.moments]
    network = history.start.network
    pumps = {} if len(network.pumps) == 1 else {
        "pumps_stopped": [str(network.links[k].element.name) for k in disturbance.standing(network)],
        "pumps_draw_air": dict(outcome.dry_pumps)}
    return {
        **origin(), "title": asked.build.title, "file": asked.build.file, "ran_before": asked.answer.kind,
        "happening": {"name": disturbance.name, "words": disturbance.words, "siphon_breaks_work": disturbance.breaks,
                      "check_valves": disturbance.valves, "power": disturbance.running, "top_up": disturbance.top_up},
        "ended": {"after": history.end.time, "why": history.ended},
        "over": [{"vessel": one.vessel, "since": one.since, "volume": one.volume} for one in outcome.over],
        "on_the_floor": outcome.on_the_floor, "pump_draws_air_after": outcome.dry, **pumps,
        "turns": [{"what": one.words, "count": one.count, "period_estimate": one.period} for one in outcome.turns],
        "events": [_event(event.moment, event.words, waters) for event in history.events],
        "series": {"time": [moment.time for moment in history.moments],
                   "levels": {name: [one[0][k] for one in rows] for k, name in enumerate(waters)},
                   "volumes": {name: [one[1][k] for one in rows] for k, name in enumerate(waters)},
                   "flows": {name: [one[2][k] for one in rows] for k, name in enumerate(links)},
                   "in_drains": [sum(moment.held) for moment in history.moments],
                   "in_pump_lines": [moment.lines for moment in history.moments],
                   "running_down": [moment.falling for moment in history.moments]}}


def _event(moment: TransientState, words: str, waters: list[str]) -> dict[str, Any]:
    levels, volumes, _ = row(moment)
    return {"time": moment.time, "words": words, "levels": dict(zip(waters, levels, strict=True)),
            "volumes": dict(zip(waters, volumes, strict=True))}
