"""The highest running line: the highest pump-chamber level, pumps running, from which a power cut still fits into every sump.

Where there are several sumps the line is that of the chamber that closes the balance, the others stand as they then run; the
sump that keeps the least below its opening decides.

Found by solving the running state again at each trial line. Dividing the spare volume by the sump's area is wrong twice over:
the upstream chambers keep their crests until they drown, and a higher line drowns drain ends and lifts the tank.
"""

from __future__ import annotations

from hydro.errors import SolveError
from hydro.network.model import Network
from hydro.scenarios.placed_build import held_at
from hydro.shutdown import Shutdown, lowest_opening, shut_down
from hydro.steady.modes import operating_point
from hydro.steady.operating_point import NONE
from hydro.steady.state import State

CLOSE = 2e-5
"""The line is found to 0.02 mm."""


def after_cut(network: Network, line: float, breaks: bool, holds: bool) -> tuple[float, State | None]:
    """Return the level at which the sump comes to rest when the pumps stop from a running line, and the running state.

    Of several sumps the one that ends highest counts, as high below or over the pump chamber's opening as it ends below or over
    its own. Infinite where there is no steady way to run at that line, or where a chamber runs over its sump's lowest opening.
    """
    try:
        answer = operating_point(network, held_at(network, line))
    except SolveError:
        return float("inf"), None
    if answer.state is None or answer.kind == NONE:
        return float("inf"), None
    if any(float(state.levels[k]) > lowest_opening(network, sump)
           for state in answer.states for sump in network.sumps for k in sump):
        return float("inf"), answer.state
    return max(_ends_at(network, shut_down(state, breaks, holds)) for state in answer.states), answer.state


def _ends_at(network: Network, stopped: Shutdown) -> float:
    """Return the level (m) of the only sump at rest, or of the worst one as counted from the pump chamber's opening."""
    if len(network.sumps) == 1:
        return stopped.sump_level
    mine = lowest_opening(network, network.sump_of(network.pump_chamber))
    return mine + max(stopped.sump_level_of(sump) - lowest_opening(network, sump) for sump in network.sumps)


def _intake(network: Network) -> float:
    """Return the highest intake of the running pumps in the chamber the line is counted in, its bottom without one, m."""
    chamber = network.waters[network.pump_chamber]
    bottom = float("-inf") if chamber.body is None else float(chamber.body.bottom)
    pumps = [network.links[k].element for k in network.leaving(network.pump_chamber, network.pumps)]
    return max([float(pump.intake) for pump in pumps if float(pump.running) > 0.5], default=bottom)


def highest_line(network: Network, breaks: bool, holds: bool, room: float) -> float | None:
    """Return the highest running line (m above the datum) that leaves `room` below every sump's lowest opening; None without one.

    The line is never above the limit of its own sump, and never below a running pump's intake. Negative room counts as none.
    """
    limit = lowest_opening(network, network.sump_of(network.pump_chamber)) - max(room, 0.0)
    low = _intake(network) + 1e-3
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
