"""What hangs together with nothing else, and headers where the way ends."""

from __future__ import annotations

from hydro.network.model import JUNCTION, Network
from hydro.network.paths import components, dead_ends


def unjoined_waters(network: Network) -> list[list[str]]:
    """Return the names of the waters that hang together with nothing that holds the line, group by group."""
    groups = [group for group in components(network) if network.pump_chamber not in group]
    wet = [[k for k in group if network.waters[k].kind != JUNCTION] or group for group in groups]
    return [[network.waters[k].name for k in group] for group in wet]


def one_pipe_headers(network: Network) -> list[str]:
    """Return the names of the headers that one pipe meets only."""
    return [network.waters[k].name for k in dead_ends(network)]
