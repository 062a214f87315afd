"""What the drains of a tank do together, named by function as the trade draws them, never after people.

| name | drains |
|---|---|
| single vented standpipe | one, running with air |
| throttled siphon with a dry emergency drain | one siphon behind a valve, one dry |
| siphon, open channel and dry emergency drain | a siphon, one that trickles with air, one dry |
| vented drains, with or without a dry emergency drain | all wet ones with air |

Read off how the loop runs, not off the pipes: what is meant as a siphon and can only run with air is said to run with air.
"""

from __future__ import annotations

from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.elements.fittings import Valve
from hydro.network.model import Network
from hydro.scenarios.all_drains_blocked import drains_of
from hydro.scenarios.results import wet_drains
from hydro.steady.operating_point import OperatingPoint

DRY_TOO = "with a dry emergency drain"


def layout(network: Network, answer: OperatingPoint, tank: int) -> str:
    """Return what the drains of a tank (and of its boxes) do together, '' where it has none or they flush."""
    mine = drains_of(network, tank)
    wet = wet_drains(answer, mine)
    modes = {k: {state.network.links[k].element.mode for state in answer.states} for k in wet}
    if not mine or any(found - {SIPHON, WITH_AIR} for found in modes.values()):
        return ""
    siphons = [k for k, found in modes.items() if SIPHON in found]
    airy, dry = len(wet) - len(siphons), len(mine) - len(wet)
    if not siphons:
        return _vented(airy, dry)
    throttled = all(any(isinstance(part, Valve) for part in network.links[k].element.line.parts) for k in siphons)
    word = "throttled siphon" if throttled else "siphon"
    if len(siphons) > 1:
        word = f"{len(siphons)} {word}s"
    if airy:
        word = f"siphon{'s' if len(siphons) > 1 else ''}, open channel"
        return f"{word} and dry emergency drain" if dry else f"{word} and no dry emergency drain"
    return f"{word} {DRY_TOO}" if dry else f"{word} without an emergency drain"


def _vented(airy: int, dry: int) -> str:
    if airy == 1:
        return f"vented standpipe {DRY_TOO}" if dry else "single vented standpipe"
    named = "no drain carries water" if airy == 0 else f"{airy} vented drains"
    return f"{named}, {DRY_TOO}" if dry and airy else named
