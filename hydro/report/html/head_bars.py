"""Where the pump's head goes as a bar: lift, pipe, fittings, exit. Figures are those of the report's budget, added up by kind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from hydro.checks.assessment import Assessment
from hydro.description.build import Build
from hydro.elements.registry import KINDS
from hydro.report.content.flows import return_name
from hydro.report.content.head_budget import Way, way_of, ways_to
from hydro.report.html.figures import both
from hydro.report.html.markup import tag
from hydro.report.html.plotting import INK, chart_words, plain
from hydro.steady.operating_point import NO_FLOW
from hydro.steady.state import State

LIFT, PIPE, FITTINGS, EXIT, LEFT_OVER = "lift", "pipe and hose", "fittings and valves", "exit", "not used: the pump draws air"
KIND_ORDER = (LIFT, PIPE, FITTINGS, EXIT, LEFT_OVER)
COLOURS = {LIFT: "#0072B2", PIPE: "#E69F00", FITTINGS: "#CC79A7", EXIT: "#009E73", LEFT_OVER: "#999999"}
LETTERS = dict(zip(KIND_ORDER, "ABCDE", strict=True))
RUNS = ("pipe", "hose", "ribbed hose", "bulkhead")
LEAST = 5e-4
"""Less than this is the rounding of the equations, m."""
WIDE, HIGH = 340.0, 28.0


@dataclass(frozen=True, slots=True)
class Split:
    """The head of the pumps on the way to a return, by kind (m); `parts` what the kinds are made of (kind, label, m)."""

    name: str
    head: float
    flow: float
    by_kind: dict[str, float]
    parts: tuple[tuple[str, str, float], ...]
    free: bool


def splits(assessment: Assessment, state: State) -> list[Split]:
    """Return the split for every return that water comes out of."""
    kinds = part_kinds(assessment.build)
    ways = (way_of(state, links) for k, links in ways_to(state).items() if float(state.flows[k]) > NO_FLOW)
    return [_split(return_name(assessment, way.link), way, kinds, float(state.flows[way.link])) for way in ways]


def part_kinds(build: Build) -> dict[str, str]:
    """Return which kind the labels of a build's parts belong to: runs of pipe; all else are fittings."""
    return {item.label: PIPE for line in build.lines for item in line if KINDS[item.kind].word in RUNS}


def _split(name: str, way: Way, kinds: dict[str, str], flow: float) -> Split:
    listed = tuple((_kind(label, kinds), label, lost) for label, lost in way.parts)
    totals = {LIFT: way.lift, **{kind: sum(lost for one, _, lost in listed if one == kind) for kind in (PIPE, FITTINGS, EXIT)}}
    if abs(way.left) > LEAST:
        totals[LEFT_OVER] = way.left
    return Split(name, way.head, flow, totals, listed, way.free)


def _kind(label: str, kinds: dict[str, str]) -> str:
    return EXIT if label.endswith(": exit") else kinds.get(label, FITTINGS)


def bar(split: Split, longest: float, name: str, system: str) -> Markup:
    """Return the bar of one return; bars are drawn to one scale, `longest` m right across."""
    told = "; ".join(f"{kind} {both(value, 'length', system)}" for kind, value in split.by_kind.items())
    x, made = 0.0, [tag("rect", width=WIDE, height=HIGH, fill="#ffffff")]
    for kind in KIND_ORDER:
        wide = WIDE * max(split.by_kind.get(kind, 0.0), 0.0) / longest
        if wide <= 0.0:
            continue
        made.append(tag("rect", x=f"{x:.1f}", y=4, width=f"{max(wide - 1.5, 0.5):.1f}", height=HIGH - 8, fill=COLOURS[kind]))
        if wide > 16.0:
            made.append(tag("circle", cx=f"{x + wide / 2:.1f}", cy=HIGH / 2, r=8, fill="#ffffff"))
            made.append(chart_words(x + wide / 2, HIGH / 2 + 4, LETTERS[kind], text_anchor="middle", fill=INK))
        x += wide
    titled = tag("title", plain(f"Head on the way to {split.name}")), tag("desc", plain(told))
    return tag("svg", *titled, *made, role="img", id=name,
               viewBox=f"0 0 {WIDE:.0f} {HIGH:.0f}", width="100%", style="max-width:30rem", font_family="sans-serif",
               font_size="12", xmlns="http://www.w3.org/2000/svg")


def head_rows(split: Split, system: str) -> list[Sequence[object]]:
    """Return the table of a bar: letter and kind, head in both systems, share of the pump's head."""
    made: list[Sequence[object]] = [(f"{LETTERS[kind]}: {kind}", head(split.by_kind[kind], system), share(split, kind))
                                    for kind in KIND_ORDER if kind in split.by_kind]
    return [*made, ("in all, what the pump gives", head(split.head, system), "100 %")]


def head(value: float, system: str) -> str:
    """Return a head in both systems, to the millimetre."""
    return both(value, "length", system)


def share(split: Split, kind: str) -> str:
    """Return what share of the head a kind takes."""
    return f"{split.by_kind[kind] / split.head:.1%}".replace("%", " %") if split.head > 0.0 else "-"
