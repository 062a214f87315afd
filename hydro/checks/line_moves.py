"""How far each default moves the highest running line: the line solved for again at both ends of its band."""

from __future__ import annotations

from hydro.checks.assessment import Assessment, line_over_bottom
from hydro.elements import limits
from hydro.quantities.uncertain import STATED
from hydro.scenarios.running_line import after_cut, highest_line
from hydro.shutdown import lowest_opening

STILL = 1e-4
"""Where the sump comes to rest this near to where it did, the line is taken not to move, m."""

Ends = tuple[float | None, float | None]
"""What the low and the high end of a band change, m; None where no line is low enough there."""


def line_moves(assessment: Assessment) -> dict[str, Ends]:
    """Return by how much each default moves the line that the power cut allows, in the case that has to fit; those that do not
    move it are left out. Nothing where there is no line in the middle."""
    wanted, middle = assessment.wanted_line, assessment.results
    if wanted is None or wanted.height is None:
        return {}
    moved: dict[str, dict[str, float | None]] = {}
    for shift in assessment.shifts:
        results = shift.results
        if shift.uncertain.source == STATED or not results.stopped:
            continue
        case, room, network = results.wanted_cut(), results.limit(limits.ROOM)[0], results.network
        line = wanted.height + results.network.sump_bottom
        limit = lowest_opening(network, network.sump_of(network.pump_chamber)) - max(room, 0.0)
        if case == middle.wanted_cut() and abs(after_cut(network, line, *case)[0] - limit) < STILL:
            continue
        there = line_over_bottom(highest_line(network, *case, room), results)
        moved.setdefault(shift.uncertain.name, {})[shift.end] = None if there is None else there - wanted.height
    found = {name: (ends.get("low", 0.0), ends.get("high", 0.0)) for name, ends in moved.items()}
    return {name: ends for name, ends in found.items() if any(end is None or abs(end) > STILL for end in ends)}
