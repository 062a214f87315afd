"""What a study says, for people and for programs. Nothing is solved here: what a report tells stands in the study.

    text(study)       the report for a terminal of 80 columns
    to_json(study)    the same for programs, in SI units (schema: `hydro.report.json.assessment`)
    figures(study)    named figures as pint quantities

An assessment does as well; then whatever more is told is worked out for the one report. Each is imported when it is asked
for: text needs no pint, and nothing here needs scipy.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from hydro.report.content.named import figures
    from hydro.report.json.assessment import as_data, to_json
    from hydro.report.terminal.report import text

__all__ = ["as_data", "figures", "text", "to_json"]

_WHERE = {"as_data": "json.assessment", "to_json": "json.assessment", "figures": "content.named", "text": "terminal.report"}


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module '{__name__}' has no attribute '{name}'")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)


def __dir__() -> list[str]:
    return sorted(__all__)
