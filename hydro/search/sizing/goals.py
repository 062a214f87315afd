"""What the owner asks of a design, in the section 'goals' of the file: which checks have to hold, others must not fail.

    goals:
      turnover: 3 .. 5 per hour             at least, or within; the wish for a turnover is a goal too
      flow: 3000 .. 4500 L/h                what all pumps lift
      quiet: yes                            every drain runs quietly
      survives one blocked drain: yes       with each drain blocked the others carry the pump's best
      holds the power cut: yes              what comes down fits, and no tank runs over its rim
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from hydro.case.keys import SECTIONS
from hydro.case.syntax.reading import CaseSection, Reading
from hydro.case.syntax.yaml_nodes import YamlMapping, compose
from hydro.checks import FAILS, HOLDS, UNSURE, Check, CheckKind
from hydro.checks.assessment import pumped_flow
from hydro.checks.check import by_key, held_within
from hydro.checks.sensitivity import Shift
from hydro.description.build import Build
from hydro.errors import InputError
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.results import Results

ASKED = {"quiet": (CheckKind.NOISE,), "survives one blocked drain": (CheckKind.BLOCKED,),
         "holds the power cut": (CheckKind.POWER_CUT, CheckKind.CUT_OVER_RIMS)}
"""A goal that is asked with yes or no -> the kinds of checks that have to hold."""
ORIGIN = "goal"


@dataclass(frozen=True, slots=True)
class Goals:
    """`asked` are the kinds of checks that have to hold; turnover (1/s) and flow (m3/s) as bands, low = high for a least."""

    asked: tuple[CheckKind, ...] = ()
    turnover: Uncertain | None = None
    flow: Uncertain | None = None
    words: tuple[str, ...] = field(default=())

    def asks(self, check: Check) -> bool:
        """Whether a check has to hold."""
        return check.kind in (*self.asked, CheckKind.GOAL_FLOW)

    def wished(self, build: Build) -> Build:
        """Return the build with the turnover that the goals ask for among its owner's wishes."""
        if self.turnover is None:
            return build
        ends = {"least turnover": self.turnover.low} | ({} if self.turnover.is_exact else {"most turnover": self.turnover.high})
        named = {name: Uncertain.exact(end, f"goals: {name}") for name, end in ends.items()}
        return replace(build, wishes={**build.wishes, **named})


def read_goals(text: str, file: str, wishes: Mapping[str, Uncertain]) -> Goals:
    """Return the goals of a filled text; `wishes` are those of the build. `InputError` with every mistake."""
    table, _ = compose(text, file)
    system = getattr(table.entries.get("units"), "text", "metric")
    reading = Reading(file, system=system if system in ("metric", "US", "imperial") else "metric")
    node = table.entries.get("goals")
    form = SECTIONS["file"]["goals"].example
    section = reading.section(node or YamlMapping({}, {}, 0), "goals", form, SECTIONS["goals"])
    if section is None:
        raise InputError(reading.complaints)
    turnover = section.number("turnover")
    wished = {"least turnover", "most turnover"} & wishes.keys()
    if turnover is not None and wished:
        section.complain("turnover", "stands twice, here and in 'wishes'", "one of the two")
    flow = section.number("flow")
    yes = [goal for goal in ASKED if section.word(goal) == "yes"]
    section.finish()
    if reading.complaints:
        raise InputError(reading.complaints)
    asked = [kind for goal in yes for kind in ASKED[goal]]
    words = [*yes]
    if turnover is not None or wished:
        asked.append(CheckKind.TURNOVER)
    if wished:
        words.append("the wished turnover")
    words += [f"{name} {_text(section, name)}" for name, value in (("turnover", turnover), ("flow", flow)) if value is not None]
    return Goals(tuple(asked), turnover, flow, tuple(words))


def _text(section: CaseSection, name: str) -> str:
    return getattr(section.table.entries[name], "text", "")


def goal_checks(goals: Goals, results: Results) -> list[Check]:
    """Return the check on the flow that the goals add, for one choice of values; none where it does not run."""
    if results.answer.state is None or not results.stopped:
        return []
    if goals.flow is None:
        return []
    most = math.inf if goals.flow.is_exact else goals.flow.high
    return [held_within(CheckKind.GOAL_FLOW, "goal: flow of the pumps", pumped_flow(results.state), (goals.flow.low, ORIGIN),
                        (most, ORIGIN))]


def judged_goals(goals: Goals, middle: Results, moved: Sequence[Shift]) -> list[Check]:
    """Return the goals' checks, each 'unsure' where it holds in the middle and no longer at some end of some input."""
    checks = []
    for check in goal_checks(goals, middle):
        if check.verdict == HOLDS:
            for shift in moved:
                there = by_key(goal_checks(goals, shift.results)).get(check.key)
                if there is None or there.verdict == FAILS:
                    check = replace(check.downgraded(f"not with {shift.words}", UNSURE), decided_by=shift.uncertain.name)
                    break
        checks.append(check)
    return checks
