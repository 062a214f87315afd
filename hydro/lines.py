"""The highest running line: the highest pump-chamber level, pump running, from which a power cut still fits into the sump.

Found by solving the running state again at each trial line. Dividing the spare volume by the sump's area is wrong twice over:
the upstream chambers keep their crests until they drown, and a higher line drowns drain ends and lifts the tank.
"""

from __future__ import annotations

from hydro.answer import NONE
from hydro.errors import SolveError
from hydro.network import Network
from hydro.regimes import run
from hydro.scenarios import held_at
from hydro.state import State
from hydro.stopped import lowest_opening, stop

CLOSE = 2e-5
"""The line is found to 0.02 mm."""


def after_cut(network: Network, line: float, breaks: bool, holds: bool) -> tuple[float, State | None]:
    """Return the level at which the sump comes to rest when the pump stops from a running line, and the running state.

    Infinite where there is no steady way to run at that line, or where a chamber runs over the sump's lowest opening.
    """
    try:
        answer = run(network, held_at(network, line))
    except SolveError:
        return float("inf"), None
    if answer.state is None or answer.kind == NONE:
        return float("inf"), None
    opening = lowest_opening(network)
    if any(float(state.levels[k]) > opening for state in answer.states for k in network.chambers):
        return float("inf"), answer.state
    return max(stop(state, breaks, holds).sump_level for state in answer.states), answer.state


def highest_line(network: Network, breaks: bool, holds: bool, room: float) -> float | None:
    """Return the highest running line (m above the datum) that leaves `room` below the sump's lowest opening; None if none does.

    The line is never above that limit itself, and never below the pump's intake. Negative room counts as none.
    """
    limit = lowest_opening(network) - max(room, 0.0)
    low = float(network.links[network.pump].element.intake) + 1e-3
    high = limit
    below = after_cut(network, low, breaks, holds)[0] - limit
    if below > 0.0:
        return None
    above = after_cut(network, high, breaks, holds)[0] - limit
    if above <= 0.0:
        return high
    side = 0
    for _ in range(60):
        # Regula falsi with the Illinois weights; a bound that is infinite (no solution there) is halved instead.
        finite = above < 1e3
        trial = (low * above - high * below) / (above - below) if finite else 0.5 * (low + high)
        value = after_cut(network, trial, breaks, holds)[0] - limit
        if value > 0.0:
            high, above, below, side = trial, value, below * (0.5 if side == 1 else 1.0), 1
        else:
            low, below, above, side = trial, value, above * (0.5 if side == -1 else 1.0), -1
        if high - low < CLOSE or -1e-7 < value <= 0.0:
            break
    return low
