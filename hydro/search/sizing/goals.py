"""What the owner asks of a design, in the section 'goals' of the file: which checks have to hold, others must not fail.

    goals:
      turnover: 3 .. 5 per hour             at least, or within; the wish for a turnover is a goal too
      flow: 3000 .. 4500 L/h                what all pumps lift
      quiet: yes                            every drain runs quietly
      survives one blocked drain: yes       with each drain blocked the others carry the pump's best
      holds the power cut: yes              what comes down fits, and no tank runs over its rim
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from hydro.case.keys import SECTIONS
from hydro.case.syntax.reading import CaseSection, Reading
from hydro.case.syntax.yaml_nodes import YamlMapping, compose
from hydro.checks import FAILS, HOLDS, Check
from hydro.checks.assessment import pumped_flow
from hydro.checks.row import at_least, at_most
from hydro.checks.sensitivity import Shift
from hydro.description.build import Build
from hydro.errors import InputError
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.results import Results

ASKED = {"quiet": ("noise",), "survives one blocked drain": ("blocked",), "holds the power cut": ("power cut", "cut over rims")}
"""A goal that is asked with yes or no -> the checks that have to hold, by the start of their keys."""
ORIGIN = "goal"
OF_ALL = "turnover of all"
"""The row on all the water together, which nobody wishes for."""


@dataclass(frozen=True, slots=True)
class Goals:
    """`asked` are starts of keys of checks that have to hold; turnover (1/s) and flow (m3/s) as bands, low = high for a least."""

    asked: tuple[str, ...] = ()
    turnover: Uncertain | None = None
    flow: Uncertain | None = None
    words: tuple[str, ...] = field(default=())

    def asks(self, row: Check) -> bool:
        """Whether a check has to hold."""
        named = any(row.key == start or row.key.startswith(f"{start} ") for start in self.asked)
        return row.key != OF_ALL and (named or row.origin == ORIGIN)

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
    asked = [key for goal in yes for key in ASKED[goal]]
    words = [*yes]
    if turnover is not None or wished:
        asked.append("turnover")
    if wished:
        words.append("the wished turnover")
    words += [f"{name} {_text(section, name)}" for name, value in (("turnover", turnover), ("flow", flow)) if value is not None]
    return Goals(tuple(asked), turnover, flow, tuple(words))


def _text(section: CaseSection, name: str) -> str:
    return getattr(section.table.entries[name], "text", "")


def goal_rows(goals: Goals, results: Results) -> list[Check]:
    """Return the row on the flow that the goals add, for one choice of values; none where it does not run."""
    if results.answer.state is None or not results.stopped:
        return []
    rows: list[Check] = []
    flow = pumped_flow(results.state)
    if goals.flow is not None:
        rows += _within("goal flow", "goal: flow of the pumps", flow, goals.flow, "flow")
    return rows


def _within(key: str, question: str, value: float, wanted: Uncertain, dimension: str) -> list[Check]:
    least = at_least(key, f"{question}, at least", value, wanted.low, dimension, ORIGIN)
    if wanted.is_exact:
        return [least]
    most = at_most(key, f"{question}, at most", value, wanted.high, dimension, ORIGIN)
    return [least if least.margin <= most.margin else most]


def judged_goals(goals: Goals, middle: Results, moved: Sequence[Shift]) -> list[Check]:
    """Return the goals' rows, each 'only just' where it holds in the middle and no longer at some end of some input."""
    rows = []
    for row in goal_rows(goals, middle):
        if row.verdict == HOLDS:
            for shift in moved:
                there = {one.key: one for one in goal_rows(goals, shift.results)}.get(row.key)
                if there is None or there.verdict == FAILS:
                    row = row.downgraded(f"not with '{shift.uncertain.name}' at its {shift.end} end")
                    break
        rows.append(row)
    return rows
