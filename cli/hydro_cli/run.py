"""`sumpwright run`: each file read, worked out and told, one after the other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from hydro.errors import HydroError

from .output import BAD_INPUT, FAILED, FINE, NO_SOLUTION, complain, deliver, spare_the_cases

if TYPE_CHECKING:
    from hydro.checks.assessment import Assessment
    from hydro.study import Study

BETWEEN = "\n" + "=" * 80 + "\n\n"


def code_of(assessment: Assessment) -> int:
    """Return the exit code of one case: no solution, a check that fails, or fine."""
    if assessment.answer.state is None:
        return NO_SOLUTION
    return FAILED if assessment.verdict == "fails" else FINE


def run(cases: Sequence[str], as_json: bool, units: str | None, to: str | None, each: bool = False) -> int:
    """Work out each case; return the highest exit code. A file to write to is left alone where any case has no result.

    `each` tells things that were described once for several one by one; JSON always has them so.
    """
    from hydro import load
    from hydro.study import study_of

    try:
        spare_the_cases(cases, to)
    except HydroError as problem:
        return complain(problem, str(to))
    code = FINE
    found: list[Study] = []
    parts = 0
    for file in cases:
        try:
            study = study_of(load(file))
        except HydroError as problem:
            code = max(code, complain(problem, file))
            continue
        code = max(code, code_of(study.assessment))
        if as_json or to is not None:
            found.append(study)
        else:
            deliver((BETWEEN if parts else "") + _text(study, units, each), None)
        parts += 1
    if (not as_json and to is None) or not found or (to is not None and code >= BAD_INPUT):
        return code
    try:
        deliver(_json(found, len(cases)) if as_json else BETWEEN.join(_text(one, units, each) for one in found), to)
    except HydroError as problem:
        return complain(problem, str(to))
    return code


def _text(study: Study, units: str | None, each: bool) -> str:
    from hydro.report.terminal.report import text

    return text(study, units, each)


def _json(found: Sequence[Study], asked: int) -> str:
    """Return one object for one case, a list for several."""
    from hydro.report.json.assessment import as_data, dumps

    data = [as_data(study) for study in found]
    return dumps(data[0] if asked == 1 else data)
