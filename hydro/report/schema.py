"""Every key of the JSON output by its path, with its meaning and unit. '[]' is each entry of a list, '*' each name."""

from __future__ import annotations

_BAND = "[low, middle, high]"
_FIGURE = {"value": "SI value, by its dimension", "dimension": "name of the dimension: length, volume, flow, ..."}


def _figures(path: str) -> dict[str, str]:
    return {f"{path}.*.{key}": meaning for key, meaning in _FIGURE.items()}


SCHEMA: dict[str, str] = {
    "program": "text", "version": "text", "format": "number of this layout", "units": "SI", "schema": "this table",
    "title": "text", "file": "text", "verdict": "holds, only just or fails",
    "answer.kind": "steady, draws air, cannot lift that high, runs backwards, two operating points, surges, no steady state",
    "answer.reason": "text", "answer.figures.*": "figures of the reason: flows in m3/s, levels above the ground and heads in m",
    "answer.one_reachable": "true where other states may exist that were not looked for",
    "running_line.stated": "m over the sump's bottom, as the file has it", "running_line.running": "m over the sump's bottom",
    "running_line.highest": "m over the sump's bottom, what the bands of all inputs leave; null: no line is low enough",
    "running_line.highest_middle": "m over the sump's bottom, every input in its middle",
    "running_line.worst_input": "the input that weighs most in it", "running_line.counts_on.siphon_breaks": "true or false",
    "running_line.counts_on.check_valves": "true or false", "running_line.cases[].siphon_breaks": "true: working",
    "running_line.cases[].check_valves": "true: holding", "running_line.cases[].highest": "m over the sump's bottom, middle",
    "flow": f"pump flow, m3/s, {_BAND}", "bucket.volume": "m3", "bucket.seconds": f"s, {_BAND}",
    "checks[].key": "text", "checks[].question": "text", "checks[].verdict": "holds, only just or fails",
    "checks[].value": "SI, levels above the ground", "checks[].limit": "SI", "checks[].margin": "SI, positive while it holds",
    "checks[].dimension": "name of the dimension", "checks[].origin": "where the limit comes from", "checks[].because": "text",
    **_figures("checks[].figures"),
    "states[].levels[].name": "text", "states[].levels[].kind": "tank or chamber", "states[].levels[].above_ground": "m",
    "states[].levels[].over_bottom": "m", "states[].levels[].under_rim": "m", "states[].levels[].under_opening": "m",
    "states[].levels[].band": f"m over the bottom, {_BAND}",
    "states[].drains[].name": "text", "states[].drains[].chamber": "where it ends", "states[].drains[].band": f"m3/s, {_BAND}",
    "states[].drains[].flow": "m3/s", "states[].drains[].speed": "m/s in the full bore", "states[].drains[].over_lip": "m",
    "states[].drains[].air_number": "J = V/sqrt(g D)", "states[].drains[].mode": "with air, as a siphon, flushing",
    "states[].drains[].runs": "dry, quiet, carries air, much air, full siphon, flushes",
    "states[].drains[].ruled_by": "edge, throat, full pipe or -",
    "states[].returns[].name": "text", "states[].returns[].band": f"m3/s, {_BAND}", "states[].returns[].flow": "m3/s",
    "states[].returns[].speed": "highest, m/s", "states[].returns[].where": "the fastest run",
    "states[].returns[].bucket_seconds": f"s for 10 L, {_BAND}",
    "states[].walls[].name": "text", "states[].walls[].drop": "m", "states[].walls[].over_top": "m of water over its top",
    "states[].siphon_break_leaks[].name": "text", "states[].siphon_break_leaks[].flow": "m3/s",
    "states[].pump.flow": "m3/s", "states[].pump.head": "m", "states[].pump.shut_off_head": "m",
    "states[].pump.last_flow": "m3/s at the last point of the curve", "states[].pump.budget[].return": "text",
    "states[].pump.budget[].head": "m, what the pump gives", "states[].pump.budget[].lift": "m",
    "states[].pump.budget[].mouth_in_air": "true or false", "states[].pump.budget[].left": "m, not used or rounding",
    "states[].pump.budget[].parts[].part": "text", "states[].pump.budget[].parts[].head": "m",
    "states[].volumes.tank": "m3", "states[].volumes.all": "m3",
    "bounds.above_ground_tank": "m, [lowest, highest] while it surges; bounds is null otherwise",
    "bounds.above_ground_pump_chamber": "m, [lowest, highest]",
    "stopped[].siphon_breaks": "true: working", "stopped[].check_valves": "true: holding",
    "stopped[].has_to_fit": "true for the case that the verdict is about",
    "stopped[].items.*": "m3 that come down, by where from",
    "stopped[].comes_down": "m3", "stopped[].room_left": "m3 up to the lowest opening, negative: that much goes over",
    "stopped[].above_ground_tank": "m", "stopped[].ends_by": "what ends the tank's fall",
    "stopped[].over_bottom_sump": "m over the sump's bottom", "stopped[].above_ground_chambers": "m, one by one",
    "blocked[].drains": "names of the blocked drains, none: all run", "blocked[].above_ground_tank": "m, the rest with air",
    "blocked[].under_opening": "m below the tank's lowest opening, negative: over it",
    "blocked[].above_ground_tank_while_siphoning": "m, lowest level with a drain that siphons",
    "all_blocked.from_sump": "m3; all_blocked is null without a running state", "all_blocked.from_lines": "m3",
    "all_blocked.from_top_up": "m3", "all_blocked.comes_up": "m3 in all",
    "all_blocked.room": "m3",
    **_figures("figures"),
    "assumed[].name": "text", "assumed[].kind": "default, catalogue, limit or override", "assumed[].band": f"SI, {_BAND}",
    "assumed[].dimension": "name of the dimension", "assumed[].source": "text", "assumed[].inputs": "names it stands for",
    "influences[].input": "text", "influences[].pump_flow": "change at its [low, high] end, m3/s",
    "influences[].tank_level": "change to the lowest opening, m",
    "influences[].power_cut_level": "change over the sump's bottom, m",
    "asked_back": "texts", "out_of_range": "texts",
    "not_judged[].what": "text", "not_judged[].instead": "text", **_figures("not_judged[].figures"),
    "notes": "texts", "cautions": "texts"}
