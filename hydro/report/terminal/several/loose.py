"""What hangs together with nothing else, and headers where the way ends: told where there are any."""

from __future__ import annotations

from hydro.network.model import JUNCTION, Network
from hydro.network.paths import components, dead_ends
from hydro.report.content.grouping import few
from hydro.report.content.view import View
from hydro.report.terminal.layout import heading, listed


def apart(network: Network) -> list[list[str]]:
    """Return the names of the waters that hang together with nothing that holds the line, group by group."""
    groups = [group for group in components(network) if network.pump_chamber not in group]
    wet = [[k for k in group if network.waters[k].kind != JUNCTION] or group for group in groups]
    return [[network.waters[k].name for k in group] for group in wet]


def ends(network: Network) -> list[str]:
    """Return the names of the headers that one pipe meets only."""
    return [network.waters[k].name for k in dead_ends(network)]


def loose(view: View) -> list[str]:
    """Return the section on what is not joined to the rest; nothing where all is."""
    groups, headers = apart(view.network), ends(view.network)
    if not groups and not headers:
        return []
    lines = heading("Not joined to the rest")
    for names in groups[:6]:
        lines += listed(f"{few(view.folding.names('waters', names))}: no pipe leads from here to the chamber that closes the "
                        "balance.")
    if len(groups) > 6:
        lines += listed(f"{len(groups) - 6} more such parts.")
    if headers:
        one = len(headers) == 1
        lines += listed(f"{few(view.folding.names('headers', headers))}: {'a header' if one else 'headers'} that only one pipe "
                        "meets; water comes there and goes nowhere.")
    return lines
