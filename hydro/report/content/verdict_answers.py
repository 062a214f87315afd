"""The verdict in sentences: over the floor and the pump, over comfort, what to do, and what to measure first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from hydro.checks import FAILS, HOLDS, TIGHT, UNSURE, Check
from hydro.checks.check import COMFORT, RANK, gravity
from hydro.report.content.grouping import few
from hydro.report.content.influence import influences, most_in_doubt
from hydro.report.content.sentences import Sentence, say
from hydro.report.content.trials import no_ruler_tells, trial
from hydro.report.content.view import View


def in_order(check: Check) -> bool:
    """Whether a check has the best verdict there is."""
    return RANK[check.verdict] == min(RANK.values())


def reason_of(check: Check) -> str:
    """Return why a check has its verdict, where value and limit do not say it by themselves; '' where they do."""
    return "" if in_order(check) and not check.margin < 0.0 else check.because


def by_verdict(checks: Sequence[Check]) -> list[tuple[str, list[Check]]]:
    """Return checks by their verdict, the gravest verdict first."""
    found: dict[str, list[Check]] = {}
    for check in sorted(checks, key=lambda one: -RANK[one.verdict]):
        found.setdefault(check.verdict, []).append(check)
    return list(found.items())


def counted_checks(checks: Sequence[Check]) -> str:
    """Return how many checks have which verdict: '14 hold, 3 are tight, 1 fails'."""
    count = Counter(check.verdict for check in checks)
    return ", ".join(f"{count[verdict]} {(ONE if count[verdict] == 1 else SEVERAL)[verdict]}"
                     for verdict in sorted(count, key=RANK.__getitem__))


ONE = {HOLDS: "holds", TIGHT: "is tight", UNSURE: "is unsure", FAILS: "fails"}
SEVERAL = {HOLDS: "hold", TIGHT: "are tight", UNSURE: "are unsure", FAILS: "fail"}


def verdict_sentences(view: View) -> list[Sentence]:
    """Return the verdict on floor and pump, what does not hold by name, and what says how to mend it."""
    checks = [check for check in view.assessment.checks if check.kind.stake != COMFORT]
    if not checks:
        return [say("NO RUNNING STATE. Nothing could be checked.")]
    said = [say("{verdict}. {count} on floor and pump: {counted}.", verdict=view.assessment.verdict.upper(),
                count=f"{len(checks)} check{'s' if len(checks) > 1 else ''}", counted=counted_checks(checks))]
    said += [say("{verdict}: {names}.", verdict=verdict.capitalize(), names="; ".join(check_topics(view, found)))
             for verdict, found in by_verdict([check for check in checks if check.verdict in (FAILS, TIGHT)])]
    # Beside what fails it is enough to say how many checks hang on a figure: the table has them.
    several = any(check.verdict == FAILS for check in checks)
    said += [say("Unsure: '{name}' decides {names}.", name=name, names=f"{len(found)} checks" if several and len(found) > 2 else
                 "; ".join(check_topics(view, found))) for name, found in view.assessment.deciding.items()]
    said += [say("{what}.", what=what[:1].upper() + what[1:]) for what in view.assessment.known_roughly]
    if any(check.verdict in (FAILS, TIGHT) for check in checks):
        said.append(say("Try `sumpwright mend`."))
    return said


def comfort_sentences(view: View) -> list[Sentence]:
    """Return what is amiss with noise, speed, turnover and the like."""
    checks = [check for check in view.assessment.checks if check.kind.stake == COMFORT]
    if not checks:
        return []
    found: dict[str, list[Check]] = {}
    for check in checks:
        if not in_order(check):
            found.setdefault(check.word, []).append(check)
    said = [say("{word}: {names}.", word=word.capitalize(), names="; ".join(check_topics(view, alike)))
            for word, alike in found.items()]
    return said or [say("Quiet; nothing to improve.")]


def check_topics(view: View, checks: Sequence[Check]) -> list[str]:
    """Return short names of checks, those of one kind together, what is folded by what it is called."""
    found: dict[str, list[str]] = {}
    for check in checks:
        found.setdefault(check.kind.title, []).append(view.grouping.called(check.subject) if check.worst else check.subject)
    return [title + (f" ({few(subjects)})" if any(subjects) else "") for title, subjects in found.items()]


FIRST_CHANGE = say("Change first what fails: before that pull no plug and block no drain with water in the tank.")
"""What is said in place of a trial that would put water on the floor."""


def measure_sentences(view: View) -> list[Sentence]:
    """Return the input to know better before all others: the one that moves the doubtful checks most, or else the figures.

    Where no ruler tells it, what to try instead.
    """
    if view.assessment.verdict == FAILS:
        return [FIRST_CHANGE]
    for name, checks in view.assessment.deciding.items():
        if no_ruler_tells(name):
            return [_tried(view, name, checks)]
        return [say("'{name}' first: it decides {checks}.", name=name,
                    checks=", ".join(dict.fromkeys(check.kind.title for check in checks)))]
    wanting = [check for check in view.assessment.checks if check.kind.stake != COMFORT and not in_order(check)]
    found = most_in_doubt(view.assessment, wanting)
    if found is not None:
        name, moved = found
        if no_ruler_tells(name):
            return [_tried(view, name, moved)]
        return [say("'{name}' first: it moves {checks} most.", name=name,
                    checks=", ".join(dict.fromkeys(check.kind.title for check in moved)))]
    strongest = influences(view.assessment, most=1)
    if not strongest:
        return []
    name = strongest[0].name
    return [say("{what} first, if anything: {tells} levels and flow most.",
                what="A timed bucket and the water over a lip" if no_ruler_tells(name) else f"'{name}'",
                tells=f"no ruler tells '{name}', which moves" if no_ruler_tells(name) else "it moves")]


def _tried(view: View, name: str, checks: Sequence[Check]) -> Sentence:
    """Return what to try with the gravest of some checks, which an input moves that no ruler tells."""
    return say("No ruler tells '{name}': {trial}.", name=name, trial=trial(view, max(checks, key=gravity)))
