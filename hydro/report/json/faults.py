"""The fault table for programs: plain data in SI units.

Heights whose key starts with 'above_ground' count from the ground, 'over_bottom' from the sump's bottom, 'under_rim' downward
from the tank's rim; m, m3, s. What does not exist or was not asked is null.
"""

from __future__ import annotations

from typing import Any

from hydro.faults.single import Fault
from hydro.faults.survivable_heights import SurvivableHeight, Surviving, below
from hydro.faults.table import FaultRow, FaultTable
from hydro.report.content.levels import bottom_of
from hydro.report.json.schema import origin
from hydro.report.terminal.faults import outcome


def fault_table_data(found: FaultTable, heights: Surviving | None) -> dict[str, Any]:
    """Return the table as dicts, lists, texts and numbers."""
    build, network = found.base.loop.build, found.base.network
    return {**origin(), "title": build.title, "file": build.file, "complete": found.complete,
            "done": found.done, "asked": found.asked,
            **({"pairs_left_out": found.left_out} if found.left_out else {}),
            "single_faults": [_fault(fault) for fault in found.faults],
            "floods": [row.names for row in found.flooding],
            "surviving": None if heights is None else {
                "highest_line": _line(heights.highest, bottom_of(network, network.pump_chamber)),
                "lowest_line": (None if heights.lowest is None else
                                _line(heights.lowest, bottom_of(network, network.pump_chamber))),
                "line_over_the_highest": (None if heights.higher is None else
                                          _line(heights.higher, bottom_of(network, network.pump_chamber))),
                "siphon_break": None if heights.siphon_break is None else _break(found, heights.siphon_break)},
            "rows": [_row(row, found.base.room) for row in found.rows], "hoses_off": _hoses(found)}


def faults_data(found: FaultTable) -> dict[str, Any]:
    """Return the single faults of a table as the report on a build has them: what floods, and every row, worst first."""
    return {"complete": found.complete, "done": found.done, "asked": found.asked,
            "floods": [row.names for row in found.flooding], "rows": [_row(row, found.base.room) for row in found.rows],
            "hoses_off": _hoses(found)}


def _hoses(found: FaultTable) -> list[dict[str, Any]]:
    """Return the hoses that come off outside the sump, which no build holds against: counted apart, the most water first."""
    return [{"names": row.names, "count": row.count, "faults": [{"kind": fault.noun, "part": fault.part, "words": fault.words}
             for fault in row.effect.faults], "on_the_floor": row.effect.litres} for row in found.hoses]


def _fault(fault: Fault) -> dict[str, Any]:
    told = {"kind": fault.noun, "part": fault.part, "words": fault.words}
    return {**told, "stands_for": fault.stands_for} if fault.stands_for else told


def _row(row: FaultRow, room: float) -> dict[str, Any]:
    effect = row.effect
    return {"names": row.names, "count": row.count, "faults": [_fault(fault) for fault in effect.faults],
            "outcome": outcome(effect, "metric", room), "floods": effect.floods, "on_the_floor": effect.litres,
            "while_running": effect.over, "power_cut_on_top": effect.cut, "where": effect.where, "topped_up": effect.topped,
            "as_long_as_topped_up": effect.endless, "unless_a_drain_siphons": effect.unless_siphons, "pump_dry": effect.dry,
            "noise": ["quiet", "noisy", "surging"][effect.noise],
            "over_opening": effect.above, "left_in_sump": effect.left,
            "over_intake": effect.lowest, "found": row.method, "time": row.time, "timed_on_the_floor": row.timed}


def _line(height: SurvivableHeight, bottom: float) -> dict[str, Any]:
    return {"above_ground": height.level, "over_bottom": None if height.level is None else height.level - bottom,
            **_reasons(height)}


def _break(found: FaultTable, height: SurvivableHeight) -> dict[str, Any]:
    network = found.base.network
    tank = network.waters[network.tank].body
    under = None if height.level is None or tank is None else float(tank.rim) - height.level
    return {"above_ground": height.level, "under_rim": under,
            "mouths_below": [] if height.level is None else below(network, height.level), **_reasons(height)}


def _reasons(height: SurvivableHeight) -> dict[str, Any]:
    return {"set_by": None if height.fault is None else _fault(height.fault), "never": [_fault(one) for one in height.never]}
