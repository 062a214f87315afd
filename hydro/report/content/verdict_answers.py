"""The verdict in sentences: over the floor and the pump, over comfort, what to do, and what to measure first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from hydro.checks import Check
from hydro.checks.check import COMFORT, RANK
from hydro.report.content.grouping import few
from hydro.report.content.influence import influences, most_in_doubt
from hydro.report.content.sentences import Sentence, say
from hydro.report.content.view import View


def in_order(check: Check) -> bool:
    """Whether a check has the best verdict there is."""
    return RANK[check.verdict] == min(RANK.values())


def by_verdict(checks: Sequence[Check]) -> list[tuple[str, list[Check]]]:
    """Return checks by their verdict, the gravest verdict first."""
    found: dict[str, list[Check]] = {}
    for check in sorted(checks, key=lambda one: -RANK[one.verdict]):
        found.setdefault(check.verdict, []).append(check)
    return list(found.items())


def counted_checks(checks: Sequence[Check]) -> str:
    """Return how many checks have which verdict: '18 checks on floor and pump: 14 holds, 4 only just'."""
    count = Counter(check.verdict for check in checks)
    return ", ".join(f"{count[verdict]} {verdict}" for verdict in sorted(count, key=RANK.__getitem__))


def verdict_sentences(view: View) -> list[Sentence]:
    """Return the verdict on floor and pump, what does not hold by name, and what says how to mend it."""
    checks = [check for check in view.assessment.checks if check.kind.stake != COMFORT]
    if not checks:
        return [say("NO RUNNING STATE. Nothing could be checked.")]
    said = [say("{verdict}. {count} on floor and pump: {counted}.", verdict=view.assessment.verdict.upper(),
                count=f"{len(checks)} check{'s' if len(checks) > 1 else ''}", counted=counted_checks(checks))]
    wanting = [check for check in checks if not in_order(check)]
    said += _named(view, wanting)
    if wanting:
        said.append(say("`sumpwright mend CASE` says what to change."))
    return said


def comfort_sentences(view: View) -> list[Sentence]:
    """Return what is amiss with noise, speed, turnover and the like."""
    checks = [check for check in view.assessment.checks if check.kind.stake == COMFORT]
    if not checks:
        return []
    said = _named(view, [check for check in checks if not in_order(check)])
    return said or [say("Nothing amiss in {count} checks.", count=str(len(checks)))]


def _named(view: View, checks: Sequence[Check]) -> list[Sentence]:
    return [say("{verdict}: {names}.", verdict=verdict.capitalize(), names="; ".join(check_topics(view, found)))
            for verdict, found in by_verdict(checks)]


def check_topics(view: View, checks: Sequence[Check]) -> list[str]:
    """Return short names of checks, those of one kind together, what is folded by what it is called."""
    found: dict[str, list[str]] = {}
    for check in checks:
        found.setdefault(check.kind.title, []).append(view.grouping.called(check.subject) if check.worst else check.subject)
    return [title + (f" ({few(subjects)})" if any(subjects) else "") for title, subjects in found.items()]


def measure_sentences(view: View) -> list[Sentence]:
    """Return the input to know better before all others: the one that moves the doubtful checks most, or else the figures."""
    wanting = [check for check in view.assessment.checks if check.kind.stake != COMFORT and not in_order(check)]
    found = most_in_doubt(view.assessment, wanting)
    if found is not None:
        name, moved = found
        return [say("'{name}' first: it moves {checks} most.", name=name,
                    checks=", ".join(dict.fromkeys(check.kind.title for check in moved)))]
    strongest = influences(view.assessment, most=1)
    return [say("'{name}' first, if anything: it moves levels and flow most.", name=strongest[0].name)] if strongest else []
