"""The first screen: where to draw the line, the power cut, the blocked drain, what flow to expect, the verdict."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.assess import Assessment, RunningLine
from hydro.checks import FAILS, HOLDS, ONLY_JUST, Row
from hydro.display import show
from hydro.findings import BREAKS
from hydro.regimes import STEADY, SURGES
from hydro.report.levels import running_line, stated_line, sump_bottom, sump_opening
from hydro.report.page import clean, labelled, wrap
from hydro.report.special import special
from hydro.report.tape import about, rough, seconds, tape, tape_below
from hydro.stopped import Stopped
from hydro.unit_table import IMPERIAL_GALLON, US_GALLON

SAME = 1e-3
"""Heights closer than this are one, m."""
BUCKETS = {"metric": ("10 L", 1.0), "US": ("5 US gal", 5 * US_GALLON / 0.010), "imperial": ("2 imp gal", 2 * IMPERIAL_GALLON
                                                                                            / 0.010)}
"""The bucket of each system of units, and its size over 10 L."""
TOPICS = (("restart ", "restart"), ("noise ", "noise"), ("way ", "near a change"), ("blocked ", "blocked drain"))
NAMES = {"turnover of all": "turnover of all water", "intake": "water over the intake", "speed": "speed in the returns",
         "dry emergency": "no dry emergency drain", "steady": "steady running", "all blocked": "all drains blocked",
         "overflow": "overflow capacity"}


def first_screen(assessment: Assessment, system: str) -> list[str]:
    """Return the answers that come before all tables."""
    lines = wrap(assessment.build.title or "A build", 80)[:3]
    if assessment.build.file:
        lines.append(clean(assessment.build.file))
    lines.append("")
    if assessment.answer.kind != STEADY or assessment.answer.others:
        lines += labelled("Attention", *special(assessment, system))
    lines += labelled("Felt-pen line", *line_answer(assessment, system))
    lines += labelled("Power cut", *cut_answer(assessment, system))
    lines += labelled("Blocked drain", *blocked_answer(assessment, system))
    lines += labelled("Expect", *expected(assessment, system))
    return lines + labelled("Verdict", *verdict(assessment))


def line_answer(assessment: Assessment, system: str) -> list[str]:
    """Return where to draw the line, and how the line that the file states lies to it."""
    wanted = assessment.wanted_line
    if wanted is None:
        return [f"No line can be given: {assessment.answer.kind}."]
    drawn = "with the pump running, measured from the sump's bottom"
    if wanted.height is None:
        texts = [f"No line is low enough: {coming_down(assessment, system)}"]
    elif wanted.safe is None:
        texts = [f"No line is surely low enough: {tape_below(wanted.height, system)} with every figure in its middle, none "
                 f"with {_end(wanted.worst)}."]
    else:
        texts = [f"Draw it at most {tape_below(wanted.safe, system)} above the sump's bottom, pump running."]
        if wanted.height - wanted.safe > SAME:
            texts.append(f"({tape_below(wanted.height, system)} with every figure in its middle; the lower line is for "
                         f"{_end(wanted.worst)}.)")
    texts += _own_line(assessment, wanted, system) + _low_line(assessment, wanted, system)
    return [*texts, *_other_line(assessment, wanted, system)] if drawn else texts


def _end(worst: str) -> str:
    return f"'{worst.replace(' at its ', chr(39) + ' at its ')}"


def _own_line(assessment: Assessment, wanted: RunningLine, system: str) -> list[str]:
    stated, runs = stated_line(assessment), running_line(assessment)
    own = stated if stated is not None else runs
    if own is None or wanted.height is None:
        return []
    whose = "Yours" if stated is not None else "With your water it runs"
    bound = wanted.height if wanted.safe is None else wanted.safe
    gap = bound - own
    if abs(gap) < SAME:
        return [f"{whose} at {tape(own, system)}: right at it."]
    return [f"{whose} at {tape(own, system)}: {tape(abs(gap), system)} {'below it, good' if gap > 0 else 'too high'}."]


def _low_line(assessment: Assessment, wanted: RunningLine, system: str) -> list[str]:
    """Return the warning that the pump's intake is hardly under water at that line."""
    height = wanted.safe if wanted.safe is not None else wanted.height
    if height is None:
        return []
    findings = assessment.findings
    intake = float(findings.element(findings.network.pump).intake) - sump_bottom(findings.network)
    needed = assessment.row("intake").limit
    if height >= intake + needed:
        return []
    return [f"That low the pump may draw air: its intake is at {tape(intake, system)} and asks for "
            f"{tape(needed, system)} of water over it."]


def _other_line(assessment: Assessment, wanted: RunningLine, system: str) -> list[str]:
    """Return the line that would do if the siphon breaks were counted on, where that is another one."""
    findings = assessment.findings
    if wanted.breaks or not any(findings.element(k).end.break_at is not None for k in findings.network.returns):
        return []
    other = next(line for line in assessment.lines if (line.breaks, line.holds) == (True, wanted.holds))
    if other.height is None or (wanted.height is not None and other.height - wanted.height < SAME):
        return []
    trust = "" if findings.breaks_counted() else " (too small to be trusted)"
    return [f"If the siphon breaks{trust} work: at most {tape_below(other.height, system)}."]


def coming_down(assessment: Assessment, system: str) -> str:
    """Return what comes down in the case that has to fit, against the room."""
    case = assessment.findings.stopped[assessment.findings.wanted_cut()]
    room = case.comes_down + case.spare
    return (f"{show(case.comes_down, 'volume', system)} come down, and the sump has room for "
            f"{show(max(room, 0.0), 'volume', system)}.")


def counted_on(wanted: tuple[bool, bool]) -> str:
    """Return what a case of a power cut counts on."""
    names = [name for name, on in zip(("siphon breaks", "check valves"), wanted, strict=True) if on]
    return f"counting on the {' and the '.join(names)}" if names else "counting on no siphon break and no check valve"


def cut_answer(assessment: Assessment, system: str) -> list[str]:
    """Return what a power cut does in the case that has to fit, and what that rests on."""
    findings = assessment.findings
    if not findings.stopped:
        return ["Not worked out: there is no running state to stop from."]
    wanted = findings.wanted_cut()
    row = assessment.row("power cut")
    texts = [f"{row.verdict.capitalize()}, {counted_on(wanted)}.", where_it_ends(findings.stopped[wanted], assessment, system)]
    if row.verdict != HOLDS:
        texts += [f"{part[:1].upper()}{part[1:]}." for part in row.because.split("; ") if not part.startswith(BREAKS)]
    other = findings.stopped[True, wanted[1]]
    if not wanted[0] and findings.stopped[wanted].comes_down - other.comes_down > 1e-4:
        texts.append("With siphon breaks that work: " + where_it_ends(other, assessment, system))
    if BREAKS in assessment.build.counts_on and not wanted[0]:
        texts.append("You count on the siphon breaks; one is missing or too small to be trusted, so they are taken as plugged.")
    return texts


def where_it_ends(case: Stopped, assessment: Assessment, system: str) -> str:
    """Return how much comes down and where the sump ends, or how much goes over."""
    network = assessment.findings.network
    brim = "rim" if assessment.build.sump.lowest_opening is None else "lowest opening"
    comes = f"{show(case.comes_down, 'volume', system)} come down"
    if case.spare < 0.0:
        return f"{comes}; {show(-case.spare, 'volume', system)} of it go over the sump's {brim}."
    level = case.sump_level
    return (f"{comes}; the sump ends at {tape(level - sump_bottom(network), system)}, "
            f"{tape(sump_opening(network) - level, system)} below its {brim}.")


def blocked_answer(assessment: Assessment, system: str) -> list[str]:
    """Return what the worst single blocked drain does to the tank, and all of them blocked."""
    rows = [row for row in assessment.rows if row.key.startswith("blocked ")]
    if not rows:
        return ["Not worked out: there is no running state to block a drain in."]
    worst = min(rows, key=lambda row: row.margin)
    names = worst.key.removeprefix("blocked ")
    brim = "rim" if assessment.build.tank.lowest_opening is None else "lowest opening"
    several = len(assessment.findings.network.drains) > 1
    texts = []
    if several:
        why = f" ({worst.because})" if worst.verdict == ONLY_JUST and worst.because else ""
        texts.append(f"{worst.verdict.capitalize()}. Worst with '{names}' blocked: the tank {_stands(worst, brim, system)}{why}.")
    everything = assessment.row("all blocked")
    said = "All blocked at once" if several else f"{everything.verdict.capitalize()}. '{names}' is the only drain; blocked"
    texts.append(f"{said}, the pump can bring up {show(everything.value, 'volume', system)} more, and the tank has room for "
                 f"{show(everything.limit, 'volume', system)}.")
    return texts


def _stands(row: Row, brim: str, system: str) -> str:
    if row.value == float("inf"):
        return "rises without end"
    gap = tape(abs(row.margin), system)
    return f"stands {gap} below its {brim}" if row.margin >= 0.0 else f"would have to stand {gap} above its {brim}"


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
        " It swings while it surges." if assessment.answer.kind == SURGES else "")]
    if assessment.bucket is not None:
        name, size = BUCKETS[system]
        low, middle, high = (size * time for time in assessment.bucket)
        texts.append(f"Fill a bucket: {name} should take {seconds((low, middle, high), system)} of the whole flow.")
    tank = assessment.row("turnover").value
    texts.append(f"That turns the tank over {rough((tank, tank, tank), 'turnover', system)[0]} times an hour.")
    return texts


def verdict(assessment: Assessment) -> list[str]:
    """Return the verdict, how many checks stand where, and the names of those that do not hold."""
    rows = assessment.rows
    count = {word: sum(row.verdict == word for row in rows) for word in (HOLDS, ONLY_JUST, FAILS)}
    texts = [f"{assessment.verdict.upper()}. Of {len(rows)} checks {count[HOLDS]} hold, {count[ONLY_JUST]} only just, "
             f"{count[FAILS]} fail."]
    for word, said in ((FAILS, "Fails"), (ONLY_JUST, "Only just")):
        names = topics([row for row in rows if row.verdict == word])
        if names:
            texts.append(f"{said}: {'; '.join(names)}.")
    return texts


def topics(rows: Sequence[Row]) -> list[str]:
    """Return short names of checks, those on the same thing at several drains together."""
    found: dict[str, list[str]] = {}
    for row in rows:
        topic, name = next(((words, row.key.removeprefix(start)) for start, words in TOPICS if row.key.startswith(start)),
                           (NAMES.get(row.key, row.key), ""))
        found.setdefault(topic, []).append(name)
    return [topic + (f" ({', '.join(names)})" if any(names) else "") for topic, names in found.items()]
