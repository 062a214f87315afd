"""What hangs together with nothing else, and headers where the way ends: told where there are any."""

from __future__ import annotations

from hydro.report.content.grouping import few
from hydro.report.content.unjoined import one_pipe_headers, unjoined_waters
from hydro.report.content.view import View
from hydro.report.terminal.layout import heading, listed


def unjoined_section(view: View) -> list[str]:
    """Return the section on what is not joined to the rest; nothing where all is."""
    groups, headers = unjoined_waters(view.network), one_pipe_headers(view.network)
    if not groups and not headers:
        return []
    lines = heading("Not joined to the rest")
    for names in groups[:6]:
        lines += listed(f"{few(view.grouping.names('waters', names))}: no pipe leads from here to the chamber that closes the "
                        "balance.")
    if len(groups) > 6:
        lines += listed(f"{len(groups) - 6} more such parts.")
    if headers:
        one = len(headers) == 1
        lines += listed(f"{few(view.grouping.names('headers', headers))}: {'a header' if one else 'headers'} that only one pipe "
                        "meets; water comes there and goes nowhere.")
    return lines
