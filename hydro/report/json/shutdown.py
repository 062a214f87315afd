"""Power cuts and blocked drains for programs."""

from __future__ import annotations

from typing import Any

from hydro.checks.assessment import Assessment
from hydro.report.content.levels import bottom_of, vessel_of
from hydro.scenarios.all_drains_blocked import AllBlocked
from hydro.scenarios.results import OverflowCase, opening_of


def stopped_data(assessment: Assessment, case: tuple[bool, bool]) -> dict[str, Any]:
    """Return one case of a power cut; what is said of the only tank or sump is null where there are several."""
    stopped, network = assessment.results.stopped[case], assessment.results.network
    one, alone = assessment.build.one, len(network.sumps) == 1
    return {"siphon_breaks": stopped.breaks, "check_valves": stopped.holds,
            "has_to_fit": case == assessment.results.wanted_cut(), "items": stopped.items, "comes_down": stopped.comes_down,
            "room_left": stopped.spare, "above_ground_tank": stopped.tank_level if one else None,
            "ends_by": stopped.ends_by if one else None,
            "over_bottom_sump": stopped.sump_level - network.sump_bottom if alone else None,
            "above_ground_chambers": stopped.chambers,
            "sumps": [{"name": vessel_of(assessment.results, sump[0]).name, "room_left": stopped.spare_of(sump),
                       "over_bottom": stopped.sump_level_of(sump) - bottom_of(network, sump[0])} for sump in network.sumps],
            "waters": [{"name": network.waters[k].name, "above_ground": level, "ends_by": stopped.ended.get(k, "")}
                       for k, level in stopped.levels.items()],
            "over_rims_of_tanks": stopped.floor, "either_way": stopped.contested}


def blocked_data(assessment: Assessment, overflow: OverflowCase) -> dict[str, Any]:
    """Return the drains with some of them blocked: the level of the tank or box with the least room."""
    network, water = assessment.results.network, overflow.water
    opening = opening_of(network, network.tanks[0] if water is None else water)
    return {"drains": [network.links[k].name for k in overflow.out], "above_ground_tank": overflow.level,
            "under_opening": opening - overflow.level, "above_ground_tank_while_siphoning": overflow.siphons,
            "tank": None if water is None else network.waters[water].name}


def all_blocked_data(assessment: Assessment, case: AllBlocked | None) -> dict[str, Any] | None:
    """Return what comes up into a tank with all its drains blocked, against the room in it."""
    return None if case is None else {
        "from_sump": case.comes_up, "from_lines": case.held, "from_top_up": case.top_up, "comes_up": case.all,
        "room": case.room, "tank": assessment.results.network.waters[case.tank].name}
