"""`sumpwright check`: a file read and told back in a few lines, nothing worked out."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.errors import HydroError

from .output import FINE, complain


def check(cases: Sequence[str], units: str | None) -> int:
    """Read each case and say how it was understood; return the highest exit code."""
    from hydro.case import load
    from hydro.report.terminal.case_summary import understood

    code = FINE
    for number, file in enumerate(cases):
        try:
            build = load(file)
        except HydroError as problem:
            code = max(code, complain(problem, file))
            continue
        print("\n".join([*([""] if number else []), *understood(build, units or build.units)]))
    return code
