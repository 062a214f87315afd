"""The whole of it: a text with open values in, designs that hold out, each proved by the full assessment of the filled-in text.

    sized = size(text, "my.yaml")
    for design in sized.designs: print(design.letter, design.words, design.verdict)
"""

from __future__ import annotations

import string
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from hydro.case import loads
from hydro.catalog import PriceList
from hydro.checks import FAILS, HOLDS, Check
from hydro.checks.assessment import Assessment, assess
from hydro.checks.check import RANK, verdict_at_stake, worst_verdict
from hydro.elements.limits import water_density
from hydro.errors import Complaint, HydroError, InputError
from hydro.search.sizing.figures import FIGURES, DesignScale, Weighed, operating
from hydro.search.sizing.goals import Goals, judged_goals, read_goals
from hydro.search.sizing.openings import Choice, Openings, read_openings
from hydro.search.sizing.search import Judged, Searched, rules_out, search
from hydro.search.sizing.shapes import Shapes, read_shapes
from hydro.search.sizing.weighing import front, short_list, tidy

MOST = 8
"""Most designs that are shown."""
SPARE = 8
"""As many more are proved where some of the first do not hold what is asked with every band moved."""
LEAST = 3
"""Fewer designs that none beats are filled up to so many by those that only these beat."""
BETWEEN = "a trade-off between them"
RUNNER_UP = "beaten by those above alone"
DOUBTS = "fewest checks in doubt"
SAME = 1e-6
"""Figures of a design as array and filled in alone agree within this share."""

Told = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class Design:
    """A design of the short list. `checks` are all its checks and goals with every band moved, of the filled-in text.

    `words` are its open values in the file's own words, `stands_for` why it is here, `point` its operating point.
    """

    letter: str
    choice: Choice
    words: tuple[str, ...]
    stands_for: str
    weighed: Weighed
    assessment: Assessment
    checks: tuple[Check, ...]
    asked: tuple[Check, ...]
    point: dict[str, Any]

    @property
    def verdict(self) -> str:
        """The worst verdict where the floor or the pump is at stake."""
        return verdict_at_stake(self.checks)

    @property
    def asked_verdict(self) -> str:
        """The worst verdict of what the goals ask."""
        return worst_verdict(self.asked)


@dataclass(frozen=True, slots=True)
class Sized:
    """The answer: what was open, what was looked at, how many no other beats, the short list, and what could not be proved."""

    openings: Openings
    shapes: Shapes
    goals: Goals
    searched: Searched
    designs: tuple[Design, ...]
    front: int
    refuted: tuple[str, ...]
    complete: bool
    unpriced: tuple[str, ...]
    currency: str

    @property
    def names(self) -> tuple[str, ...]:
        """The figures that designs are weighed by."""
        return self.searched.names or FIGURES

    def design(self, letter: str) -> Design:
        """Return a design by its letter; `InputError` where there is none."""
        for one in self.designs:
            if one.letter == letter.strip().upper():
                return one
        known = ", ".join(one.letter for one in self.designs) or "no design was found"
        raise InputError([Complaint("--write", 0, "", f"no design '{letter}'", f"one of {known}")])


def find_designs(text: str, file: str, prices: PriceList | None = None, told: Told | None = None) -> Sized:
    """Return the designs that a text with open values leaves, the best of them proved; `InputError` for what cannot be read.

    Ctrl-C ends it with what was found by then: in the search without any proof.
    """
    def tell(what: str) -> Callable[[int, int], None] | None:
        return None if told is None else lambda done, asked: told(what, done, asked)
    openings = read_openings(text, file)
    shapes = read_shapes(openings, tell("read"))
    first = shapes.topologies[0]
    goals = read_goals(openings.filled(first.base), file, first.build.wishes)
    scale = DesignScale(prices, water_density(first.build))
    searched = search(shapes, goals, scale, tell("designs"))
    if scale.unpriced:  # a sum without all its prices would make the unpriced pipe the cheapest
        unpriced, scale = tuple(scale.unpriced), DesignScale(None, scale.density)
        searched = _weighed_again(searched, shapes, scale)
    else:
        unpriced = ()
    chosen, complete = searched.front(), searched.complete
    designs, refuted = list[Design](), list[str]()
    try:
        if complete:  # Ctrl-C in the search is not the wish to have the proofs
            _prove(openings, shapes, goals, scale, searched, chosen, designs, refuted, tell("proofs"))
    except KeyboardInterrupt:
        complete = False
    designs.sort(key=lambda one: RANK[one.asked_verdict])
    kept = _lettered(designs[:MOST], searched.names)
    return Sized(openings, shapes, goals, searched, kept, len(chosen), tuple(refuted), complete, unpriced,
                 prices.currency if prices is not None and not unpriced else "")


def _lettered(designs: list[Design], names: tuple[str, ...]) -> tuple[Design, ...]:
    """Return the designs that are shown with their letters, and with what each is the best of them by."""
    said: dict[int, list[str]] = {n: [one.stands_for] if one.stands_for else [] for n, one in enumerate(designs)}
    costs = [tidy(one.weighed.costs(names)) for one in designs]
    for column, name in enumerate(names):
        values = [one[column] for one in costs]
        if values and min(values) < max(values):
            said[values.index(min(values))].append(f"best by {name}")
    return tuple(replace(one, letter=string.ascii_uppercase[n], stands_for=", ".join(said[n]) or BETWEEN)
                 for n, one in enumerate(designs))


def _weighed_again(searched: Searched, shapes: Shapes, scale: DesignScale) -> Searched:
    """Return the search with pipe weighed without prices."""
    def again(one: Judged) -> Judged:
        if one.weighed is None:
            return one
        topology = shapes.topologies[one.topology]
        pipe = scale.pipe(topology.build, topology.numbers(one.choice))
        return replace(one, weighed=replace(one.weighed, values={**one.weighed.values, "pipe": pipe}))
    return replace(searched, judged=[again(one) for one in searched.judged])


def _prove(openings: Openings, shapes: Shapes, goals: Goals, scale: DesignScale, searched: Searched, chosen: list[Judged],
           designs: list[Design], refuted: list[str], told: Callable[[int, int], None] | None) -> None:
    """Prove the short list, and further designs while some of it does not hold what is asked; whatever is proved is kept."""
    listed = _listed(searched, chosen)
    for n, (one, stands_for) in enumerate(listed):
        if n >= MOST and sum(design.asked_verdict == HOLDS for design in designs) >= min(MOST, len(listed)):
            break
        if n >= MOST and not goals.words:
            break
        if told is not None:
            told(n, min(len(listed), MOST))
        words = tuple(openings.words(one.choice))
        try:
            designs.append(prove_design(openings, goals, scale, one, stands_for, shapes))
        except HydroError as problem:
            refuted.append(f"{', '.join(words)}: {str(problem).splitlines()[0]}")
            continue
        failing = next((check for check in designs[-1].checks if check.verdict == FAILS and rules_out(goals, check)), None)
        if failing is not None:
            designs.pop()
            refuted.append(f"{', '.join(words)}: fails '{failing.question}'")


def _listed(searched: Searched, chosen: list[Judged]) -> list[tuple[Judged, str]]:
    """Return the designs to prove, the short list first: the spread of the front, and the one with the fewest doubts."""
    if not chosen:
        return []
    listed = [(chosen[k], why) for k, why in short_list(searched.costs(chosen), MOST + SPARE)]
    good = searched.calmest
    left = [one for one in good if one not in chosen]
    while left and len(listed) < LEAST:
        after = [left[k] for k in front(searched.costs(left), [one.doubts for one in left])]
        listed += [(one, RUNNER_UP) for one in after[:LEAST - len(listed)]]
        left = [one for one in left if one not in after]
    least = min(one.doubts for one in good)
    if least < min(one.doubts for one, _ in listed):
        calm = [one for one in good if one.doubts == least]
        costs = searched.costs(calm)
        k, _ = short_list(costs, 1)[0]
        listed.insert(min(MOST - 1, len(listed)), (calm[k], DOUBTS))
    return listed


def prove_design(openings: Openings, goals: Goals, scale: DesignScale, one: Judged, stands_for: str, shapes: Shapes) -> Design:
    """Return one design with the full assessment of its filled-in text; `HydroError` where that cannot be read or solved."""
    assessment = assess(goals.wished(loads(openings.filled(one.choice), openings.file)))
    extra = judged_goals(goals, assessment.results, assessment.shifts)
    checks = (*assessment.checks, *extra)
    asked = tuple(check for check in checks if goals.asks(check))
    assert one.weighed is not None
    weighed, point = one.weighed, dict[str, Any]()
    if assessment.results.stopped:
        weighed = scale.weigh(assessment.results, shapes.topologies[one.topology].numbers(one.choice), asked)
        point = operating(assessment.results)
    return Design("", one.choice, tuple(openings.words(one.choice)), stands_for, weighed, assessment, checks, asked, point)


def write_text(sized: Sized, letter: str, to: str) -> str:
    """Return the filled-in file of a design; `InputError` where it could not be read at its new place."""
    text = sized.openings.written(sized.design(letter).choice)
    loads(text, str(Path(to)))
    return text
