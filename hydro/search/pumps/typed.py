"""Pumps and wishes as they are typed on a command line.

    NAME: 0 L/h = 5 m, 3600 L/h = 3.9 m, 7200 L/h = 0 m; 70 W         a curve; the power may be left out
    NAME: 0 L/h = 5 m at 50 W, 7200 L/h = 0 m at 80 W                 or stand at every point
    NAME: 7000 L/h, 3.8 m, 70 W                                       the label on a box
    0.32 EUR                                                          a price a kWh, in any currency
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from hydro.errors import Complaint, InputError
from hydro.quantities.parsing import UnitProblem
from hydro.search.pumps.candidate import Candidate
from hydro.search.pumps.tables import LONGEST_NAME, RANGES, bounded, curve_problems, twins

POINTS_FORM = "NAME: 0 L/h = 5 m, 3600 L/h = 3.9 m, 7200 L/h = 0 m; 70 W"
BOX_FORM = "NAME: most flow, most height, power, such as NAME: 7000 L/h, 3.8 m, 70 W"
PRICE_FORM = "a price a kWh with its currency, such as 0.32 EUR"
_PRICE = re.compile(r"(?P<before>[^\d.+-]*)(?P<number>[\d.,]+)\s*(?P<after>.*?)(?:\s*(?:/|per|a)\s*kWh)?", re.IGNORECASE)


def typed_pumps(points: Sequence[str], boxes: Sequence[str], others: Sequence[Candidate] = ()) -> list[Candidate]:
    """Return the pumps that were typed. InputError with every mistake, a name that one of `others` has among them."""
    complaints: list[Complaint] = []
    found: list[Candidate] = []
    for option, texts, make in (("--points", points, _curve), ("--box", boxes, _label)):
        for number, text in enumerate(texts, 1):
            try:
                found.append(make(option, number, text))
            except UnitProblem as problem:
                complaints.append(Complaint(option, 0, "", problem.found, problem.expected, problem.nearest))
            except InputError as problem:
                complaints += problem.complaints
    complaints += twins([*others, *found])
    if complaints:
        raise InputError(complaints)
    return found


def _named(option: str, number: int, text: str, form: str) -> tuple[str, str]:
    name, colon, rest = text.partition(":")
    if not colon:
        return f"typed {option[2:]} {number}", text
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME:
        raise UnitProblem(f"'{text[:60]}' has no name before the colon" if not name else "a long name", form)
    return name, rest


def _curve(option: str, number: int, text: str) -> Candidate:
    name, rest = _named(option, number, text, POINTS_FORM)
    rest, _, label = rest.partition(";")
    points: list[tuple[float, float]] = []
    watts: list[tuple[float, float]] = []
    entries = [entry.strip() for entry in rest.strip().strip("[]").split(",")]
    for entry in entries:
        flow, sign, head = entry.partition("=")
        if not sign:
            raise UnitProblem(f"'{entry[:60]}' is no point", POINTS_FORM)
        head, _, power = head.partition(" at ")
        here = bounded(flow.strip(), "flow", *RANGES["flow"], entry)
        points.append((here, bounded(head.strip(), "length", *RANGES["height"], entry)))
        if power:
            watts.append((here, bounded(power.strip(), "power", *RANGES["power"], entry)))
    problems = curve_problems(option, 0, name, [(0, point) for point in points])
    if problems:
        raise InputError(problems)
    if watts and (len(watts) != len(points) or label.strip()):
        raise UnitProblem(f"'{name}' has a power at {len(watts)} of {len(points)} points" if len(watts) != len(points)
                          else f"'{name}' has a power at each point and one more", "a power at every point, or one at the end")
    rated = bounded(label.strip(), "power", *RANGES["power"], label) if label.strip() else None
    return Candidate(name, tuple(points), watts=tuple(watts), rated=rated, source=option)


def _label(option: str, number: int, text: str) -> Candidate:
    name, rest = _named(option, number, text, BOX_FORM)
    values = [value.strip() for value in rest.split(",")]
    if len(values) not in (2, 3):
        raise UnitProblem(f"'{text[:60]}' has {len(values)} values", BOX_FORM)
    flow = bounded(values[0], "flow", *RANGES["most flow"], values[0])
    height = bounded(values[1], "length", *RANGES["most height"], values[1])
    rated = bounded(values[2], "power", *RANGES["power"], values[2]) if len(values) == 3 else None
    return Candidate(name, most_flow=flow, most_height=height, rated=rated, source=option)


def typed_price(text: str) -> tuple[float, str]:
    """Return a price a kWh and the word for its currency, as typed ('0.32 EUR', '$ 0.12', '0.3')."""
    match = _PRICE.fullmatch(text.strip())
    if match is None or (match["before"].strip() and match["after"].strip()):
        raise _refused("--price", f"'{text[:60]}'", PRICE_FORM)
    word = match["before"].strip() or match["after"].strip()
    try:
        return bounded(match["number"], "number", 0.0, 1e6, text), word[:12]
    except UnitProblem as problem:
        raise _refused("--price", problem.found, PRICE_FORM, problem.nearest) from None


def typed_flow(text: str) -> float:
    """Return a wanted flow, m3/s."""
    try:
        return bounded(text, "flow", *RANGES["most flow"], text)
    except UnitProblem as problem:
        raise _refused("--flow", problem.found, problem.expected, problem.nearest) from None


def typed_hours(text: str) -> float:
    """Return hours a day, over 0 and at most 24: '24', or '16 h'."""
    try:
        if re.fullmatch(r"[\d.]+", text.strip()):
            return bounded(text, "number", 0.01, 24.0, text)
        return bounded(text, "time", 36.0, 86400.0, text) / 3600.0
    except UnitProblem as problem:
        raise _refused("--hours", problem.found, "hours a day, up to 24, such as 24 or 16 h", problem.nearest) from None


def _refused(option: str, found: str, expected: str, near: str = "") -> InputError:
    return InputError([Complaint(option, 0, "", found, expected, near)])
