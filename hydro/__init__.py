"""Hydraulics of a tank and its sump: flows and levels running, what comes down in a power cut, what a blocked drain does.

    >>> import hydro
    >>> from hydro.report.content.named import EXAMPLE                      # a case file as text; hydro.load(path) reads a file
    >>> found = hydro.assess(hydro.loads(EXAMPLE))
    >>> found.verdict
    'fails'
    >>> f"{hydro.figures(found)['comes down, siphon breaks plugged, check valves stuck'].to('litre').magnitude:.0f} L"
    '43 L'

    load(path), loads(text)   a described build -> Build; InputError names every mistake with its line
    assess(build)             Build -> Assessment: checks, running and stopped states, running lines; SolveError
    study_of(build)           Build -> Study: the assessment, and single faults, courses of a power cut, drilling sheet, parts
                              list ..., each worked out once, when it is first asked for
    figures(study)            named figures as pint quantities
    text(study)               the report for a terminal; to_json, as_data: the same for programs, in SI units; all of them take
                              an assessment as well

Everything is imported when it is first asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from hydro.case import load, loads
    from hydro.checks import FAILS, HOLDS, TIGHT, UNSURE, Check, CheckKind
    from hydro.checks.assessment import Assessment, RunningLine, assess
    from hydro.description.build import Build
    from hydro.errors import Complaint, HydroError, InputError, SolveError
    from hydro.quantities.uncertain import Uncertain
    from hydro.report.content.named import figures
    from hydro.report.json.assessment import as_data, to_json
    from hydro.report.terminal.report import text
    from hydro.study import Study, study_of

__version__ = "0.1.0"

__all__ = ["FAILS", "HOLDS", "TIGHT", "UNSURE", "Assessment", "Build", "Check", "CheckKind", "Complaint", "HydroError",
           "InputError", "RunningLine", "SolveError", "Study", "Uncertain", "as_data", "assess", "figures", "load", "loads",
           "study_of", "text", "to_json"]

_MODULES = {
    "hydro.checks.assessment": ("Assessment", "RunningLine", "assess"), "hydro.description.build": ("Build",),
    "hydro.case": ("load", "loads"),
    "hydro.checks": ("FAILS", "HOLDS", "TIGHT", "UNSURE", "Check", "CheckKind"), "hydro.quantities.uncertain": ("Uncertain",),
    "hydro.errors": ("Complaint", "HydroError", "InputError", "SolveError"),
    "hydro.report.content.named": ("figures",), "hydro.report.json.assessment": ("as_data", "to_json"),
    "hydro.report.terminal.report": ("text",), "hydro.study": ("Study", "study_of")}
_WHERE = {name: module for module, names in _MODULES.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module '{__name__}' has no attribute '{name}'")
    return getattr(import_module(_WHERE[name]), name)


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])
