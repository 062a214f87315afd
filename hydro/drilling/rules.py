"""How near a hole may come to an edge, a corner and another hole; how large it may be. Each rule with its source.

    glass     rim of the hole to an edge, and to another rim    2 t, and one hole diameter
              rim to a corner                                   6 t, 6.5 t with a reserve
              diameter                                          t .. a third of the panel's narrow side
    acrylic, plywood, and where nobody says what it is          one hole diameter

t thickness of the glass. 2 t, 6 t, t and the third are the glass trade's for panes drilled before they are toughened: EN 12150-1,
6.5 t on fabricators' sheets (from memory and from such sheets; the standard itself was not read). One diameter is common practice
of those who drill tanks, no source. The stricter one is kept: the trade's rule is about a pane that outlives the furnace, not one
with water behind it and a nut drawn tight in its hole. Diameters enter at the size of the cutter, places at what the tape is good
for. Below the trade's rule a check fails; between the two it is tight.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from hydro.checks import FAILS, HOLDS, TIGHT, Check, CheckKind
from hydro.checks.check import held
from hydro.drilling.measures import exact, length
from hydro.drilling.panels import DrilledHole, Panel

EDGE, CORNER, CORNER_RESERVE, THIRD = 2.0, 6.0, 6.5, 1.0 / 3.0
TRADE = "glass trade's rule for panes to be toughened (EN 12150-1, from memory; fabricators' sheets)"
HABIT = "common practice of those who drill tanks, no source"
HALF = 0.5
"""Share of a diameter below which a rim is too near to an edge of acrylic or plywood (chosen here)."""
WHY = "the trade's rule is for a pane in the furnace, this one has water behind it"


def checks_of_panel(panel: Panel, holes: Sequence[DrilledHole], tape: float, system: str = "metric") -> list[Check]:
    """Return the checks of a panel's holes; those without a place or a diameter at all are passed over.

    `tape` (m) is how far off a measure may be. A diameter that is only a guess of the catalogue never does better than
    'tight'.
    """
    known = [hole for hole in holes if hole.placed and hole.widest is not None]
    checks: list[Check] = []
    for hole in known:
        checks += [_edge(hole, tape, system), *_corner(hole, tape, system), *_size(hole, system)]
    for one, other in combinations(known, 2):
        check = _between(one, other, tape, system)
        checks += [check] if check is not None else []
    return checks


def clearances(hole: DrilledHole) -> dict[str, float]:
    """Return how far the rim of a hole is from each edge of its panel, m, by the edge's name."""
    (x, up, wide), panel = hole.spot(), hole.panel
    ends = ("front", "back") if panel.level else ("lower", "upper")
    return {"left": x - 0.5 * wide, "right": panel.width - x - 0.5 * wide, ends[0]: up - 0.5 * wide,
            ends[1]: panel.height - up - 0.5 * wide}


def between(one: DrilledHole, other: DrilledHole) -> float:
    """Return how far the rims of two holes are apart, m."""
    (x, up, wide), (other_x, other_up, other_wide) = one.spot(), other.spot()
    return math.hypot(x - other_x, up - other_up) - 0.5 * (wide + other_wide)


def edge_limit(panel: Panel, diameter: float) -> tuple[float, float]:
    """Return the clearance below which a rim is too near to an edge or another rim, and the stricter one that is kept, m."""
    if panel.material == "glass" and panel.thickness is not None:
        trade = EDGE * panel.thickness
        return trade, max(trade, diameter)
    return HALF * diameter, diameter


def pair(one: DrilledHole, other: DrilledHole) -> str:
    """Return the subject of a check on two holes."""
    return f"{one.name}, {other.name}"


def _judged(hole: DrilledHole, check: Check, tape: float, least: float, lax: str) -> Check:
    """Give a check its verdict: fails below `least`, tight below its limit or within the tape of it."""
    if check.value < least:
        return check.with_verdict(FAILS, *check.reasons)
    if check.margin < 0.0:
        check = check.downgraded(lax, TIGHT)
    elif check.margin < tape:
        check = check.downgraded("within what the tape is good for", TIGHT)
    return _guessed(hole, check)


def _guessed(hole: DrilledHole, check: Check) -> Check:
    return check if hole.diameter is not None else check.downgraded(
        "with the largest usual hole for its bulkhead; measure the fitting in hand", TIGHT)


def _limit(panel: Panel, diameter: float, system: str) -> tuple[float, float, str, str]:
    """Return the laxer limit, the one that is kept, where it comes from, and what to say between the two."""
    least, kept = edge_limit(panel, diameter)
    if panel.material != "glass":
        made = panel.material or "not stated what it is of"
        return least, kept, f"one hole diameter; {HABIT} ({made})", "less than a diameter, more than half of one"
    if panel.thickness is None:
        return least, kept, f"one hole diameter; {HABIT}", "less than a diameter; the thickness of the glass is not stated"
    if kept > least:
        return least, kept, (f"one hole diameter; {HABIT}; stricter than 2 x {exact(panel.thickness, system)} of the {TRADE}, "
                             f"and kept: {WHY}"), "keeps 2 thicknesses of the glass, not a hole diameter"
    return least, kept, f"2 x {exact(panel.thickness, system)}; {TRADE}; stricter here than one hole diameter", ""


def _edge(hole: DrilledHole, tape: float, system: str) -> Check:
    near, value = min(clearances(hole).items(), key=lambda item: item[1])
    least, kept, origin, lax = _limit(hole.panel, hole.spot()[2], system)
    check = held(CheckKind.HOLE_TO_EDGE, f"{hole.name}: rim of the hole to the {near} edge", value, kept, origin, otherwise=HOLDS,
                 subject=hole.name)
    if hole.panel.material == "glass" and hole.panel.thickness is None:
        check = check.downgraded("the thickness of the glass is not stated, so its own rule cannot be asked", TIGHT)
    return _judged(hole, check, tape, least, lax)


def _between(one: DrilledHole, other: DrilledHole, tape: float, system: str) -> Check | None:
    """Hold two rims against each other; no check where they are more than two limits apart."""
    value, larger = between(one, other), max(one.spot()[2], other.spot()[2])
    least, kept, origin, lax = _limit(one.panel, larger, system)
    if value > 2.0 * kept:
        return None
    check = held(CheckKind.HOLE_TO_HOLE, f"{one.name} and {other.name}: rim to rim", value, kept, origin, otherwise=HOLDS,
                 subject=pair(one, other))
    return _guessed(other, _judged(one, check, tape, least, lax))


def _corner(hole: DrilledHole, tape: float, system: str) -> list[Check]:
    panel, thick = hole.panel, hole.panel.thickness
    if panel.material != "glass" or thick is None:
        return []
    x, up, wide = hole.spot()
    value = math.hypot(min(x, panel.width - x), min(up, panel.height - up)) - 0.5 * wide
    kept = CORNER_RESERVE * thick
    check = held(CheckKind.HOLE_TO_CORNER, f"{hole.name}: rim of the hole to the nearest corner", value, kept,
                 f"6.5 x {exact(thick, system)}; {TRADE}", otherwise=HOLDS, subject=hole.name)
    return [_judged(hole, check, tape, CORNER * thick, "keeps 6 thicknesses, not the 6.5 of some sheets")]


def _size(hole: DrilledHole, system: str) -> list[Check]:
    panel, thick, size = hole.panel, hole.panel.thickness, hole.spot()[2]
    if panel.material != "glass":
        return []
    most = THIRD * min(panel.width, panel.height)
    checks = [held(CheckKind.LARGEST_HOLE, f"{hole.name}: hole against the panel's narrow side", size, most,
                   f"a third of {length(min(panel.width, panel.height), system)}; {TRADE}", subject=hole.name)]
    if thick is not None and size < thick:
        checks.append(held(CheckKind.SMALLEST_HOLE, f"{hole.name}: hole no smaller than the glass is thick", size, thick,
                           f"one thickness; {TRADE}", subject=hole.name))
    return [_guessed(hole, check) for check in checks]
