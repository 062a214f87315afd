"""The first screen: where to draw the line, the power cut, the blocked drain, what flow to expect, the verdict."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from hydro.checks import FAILS, HOLDS, ONLY_JUST, Check, CheckKind
from hydro.checks.assessment import Assessment
from hydro.quantities.formatting import show
from hydro.quantities.tape import about, seconds
from hydro.report.content.buckets import BUCKETS
from hydro.report.terminal.abnormal import runs_over, special
from hydro.report.terminal.answers import blocked_answer, cut_answer, line_answer
from hydro.report.terminal.faults import single_faults
from hydro.report.terminal.layout import clean, labelled, wrap
from hydro.steady.operating_point import STEADY
from hydro.study import Study


def first_screen(study: Study, system: str) -> list[str]:
    """Return the answers that come before all tables."""
    assessment = study.assessment
    lines = wrap(assessment.build.title or "A build", 80)[:3]
    if assessment.build.file:
        lines.append(clean(assessment.build.file))
    lines.append("")
    if assessment.answer.kind != STEADY or assessment.answer.others:
        lines += labelled("Attention", *special(assessment, system))
    over = runs_over(assessment, system)
    if over:
        lines += labelled("Attention", *over)
    lines += labelled("Felt-pen line", *line_answer(study, system))
    lines += labelled("Power cut", *cut_answer(assessment, system))
    lines += labelled("Blocked drain", *blocked_answer(assessment, system))
    if assessment.answer.runs:
        lines += labelled("Single faults", *single_faults(study.faults))
    lines += labelled("Expect", *expected(assessment, system))
    return lines + labelled("Verdict", *verdict(assessment))


def expected(assessment: Assessment, system: str) -> list[str]:
    """Return the flow to expect and how long a bucket takes."""
    if assessment.flow is None or assessment.answer.state is None:
        return ["No flow."]
    if assessment.flow[1] <= 1e-7:
        return ["The pump delivers nothing."]
    flows = [float(state.pump_flow) for state in assessment.answer.states]
    low, middle, high = assessment.flow
    band = (min(low, *flows), middle, max(high, *flows))
    texts = [f"The pump moves {about(band, 'flow', system)}." + (
        " It swings while it surges." if max(flows) - min(flows) > 0.02 * middle else "")]
    if assessment.bucket is not None:
        name, size = BUCKETS[system]
        low, middle, high = (size * time for time in assessment.bucket)
        texts.append(f"Fill a bucket: {name} should take {seconds((low, middle, high), system)} of the whole flow.")
    texts[0] += f" Turnover of the tank: {show(assessment.check(CheckKind.TURNOVER).value, 'turnover', system)}."
    return texts


def verdict(assessment: Assessment, named: Callable[[Sequence[Check]], list[str]] | None = None) -> list[str]:
    """Return the verdict, how many checks stand where, and the names of those that do not hold, as `named` has them."""
    checks, named = assessment.checks, named or topics
    count = {word: sum(check.verdict == word for check in checks) for word in (HOLDS, ONLY_JUST, FAILS)}
    texts = [f"{assessment.verdict.upper()}. Of {len(checks)} checks {count[HOLDS]} hold, {count[ONLY_JUST]} only just, "
             f"{count[FAILS]} fail."]
    for word, said in ((FAILS, "Fails"), (ONLY_JUST, "Only just")):
        names = named([check for check in checks if check.verdict == word])
        if names:
            texts.append(f"{said}: {'; '.join(names)}.")
    return texts


def topics(checks: Sequence[Check]) -> list[str]:
    """Return short names of checks, those of one kind together."""
    found: dict[str, list[str]] = {}
    for check in checks:
        found.setdefault(check.kind.title, []).append(check.subject)
    return [title + (f" ({', '.join(subjects)})" if any(subjects) else "") for title, subjects in found.items()]
