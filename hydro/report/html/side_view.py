"""The side view to scale in every state, and the table of its heights."""

from __future__ import annotations

from dataclasses import replace

from markupsafe import Markup

from hydro.checks.assessment import Assessment
from hydro.quantities.formatting import show
from hydro.quantities.tape import mark as tape_mark
from hydro.report.content.cut_answers import counted_on
from hydro.report.content.grouping import few, span
from hydro.report.content.levels import rim_of
from hydro.report.drawing.side import side_view
from hydro.report.html.figures import both
from hydro.report.html.heights import HIGHEST_LINE, TURN, Heights, Named, together
from hydro.report.html.markup import PageSection, join, page_figure, page_paragraph, page_table, subheading
from hydro.report.html.side_scene import from_rim, scene_lines, scene_of
from hydro.report.html.states import BLOCKED, BUILT, RESTARTED, RUNNING, STOPPED, Standing, shown_waters_of, standing
from hydro.scenarios.results import opening_of
from hydro.study import Study

TALL, LOW = 150.0, 88.0
"""Paper that the heights take at the most in the first drawing and in the others, mm."""
HEADINGS = {RUNNING: "Running", STOPPED: "Power off, all at rest", RESTARTED: "Power back, the pump just on",
            BLOCKED: "A drain blocked", BUILT: "As built"}
LABELLED: dict[str, frozenset[str]] = {
    STOPPED: frozenset({"rim", "opening", "water", "hole", "mouth", "line"}),
    RESTARTED: frozenset({"rim", "water", "lip", "end", "intake"}),
    BLOCKED: frozenset({"rim", "opening", "water", "lip", "blocked"})}
"""What has a label in each state; in the others everything has."""


def side_view_section(study: Study, system: str) -> PageSection | None:
    """Return the section with the side views."""
    assessment = study.assessment
    parts: list[Markup] = [page_paragraph(
        "Every height counts from one place: the ground, 0. Beside it stands the distance to the nearest rim, which is what a "
        "tape reaches. Heights are to scale; widths and the ways of pipes are only schematic. Figures are those in the middle of "
        "their bands. A drawing printed at its full size is 180 mm wide (7 1/16 in), and the scale at its foot holds. Bottoms "
        "are inside: the pane under them is not described.")]
    states = standing(assessment)
    for number, state in enumerate(states):
        parts += _view(assessment, state, system, TALL if number == 0 else LOW, number)
    parts += _waters(assessment, states, system)
    return PageSection("side-view", "Side view: every height from the ground", join(parts))


def _view(assessment: Assessment, state: Standing, system: str, room: float, number: int) -> list[Markup]:
    seen = shown_waters_of(assessment, state)
    heights = Heights(assessment, state, seen)
    found = together([_with_figures(one, heights, system) for one in heights.all()])
    scene = scene_of(heights, found, system, HEADINGS[state.name])
    caption = _caption(heights, system)
    made = [subheading(HEADINGS[state.name]), page_figure(side_view(scene, room), caption, class_="side")]
    if number == 0:
        made.append(page_table("Every height in this drawing", ("what", "above the ground", "above its vessel's bottom",
                                                                "from its vessel's rim"), _rows(found, system),
                          class_="nowrap"))
    if number == 0 and seen.stands_for:
        made.append(_folded(heights, system))
    return made


def _waters(assessment: Assessment, states: list[Standing], system: str) -> list[Markup]:
    """Return the table of all water in all states, of the vessels that are drawn in the first one."""
    drawn = [state for state in states if state.levels and state.name != RESTARTED]
    if not drawn:
        return []
    seen = shown_waters_of(assessment, drawn[0])
    heights = [Heights(assessment, state, seen) for state in drawn]
    rows: list[list[str]] = []
    for column in zip(*([one for one in each.waters() if one.kind == "water"] for each in heights), strict=True):
        rows.append([column[0].called(), *("; ".join(scene_lines(one, system)) for one in column)])
    head = {STOPPED: "power off; power just back"}
    return [subheading("Water in every state"),
            page_table("Where water stands, above the ground and from its vessel's rim",
                       ("what", *(head.get(state.name, state.name) for state in drawn)), rows, range(len(drawn) + 1))]


def _with_figures(one: Named, heights: Heights, system: str) -> Named:
    """Return a height with what this state has to say of it, and without a label where it has nothing to say."""
    kinds = LABELLED.get(heights.state.name)
    if kinds is not None and one.kind not in kinds:
        return replace(one, side="")
    if heights.state.name == STOPPED and one.kind == "line" and one.noun != HIGHEST_LINE:
        return replace(one, side="")
    if heights.state.name == RESTARTED and one.kind in ("lip", "end"):
        water = next(k for k, spot in heights.spots.items() if spot.key == one.spot.key and spot.chamber == one.spot.chamber)
        level = heights.state.levels.get(water)
        if level is not None and one.kind == "lip":
            return replace(one, more=(f"to rise {both(max(one.height - level, 0.0), 'length', system)}",))
        if level is not None:
            under = level - one.height
            return replace(one, more=(f"{both(under, 'length', system)} under water" if under > 0.0 else "in the air",))
    return one


def _rows(found: list[Named], system: str) -> list[list[str]]:
    rows = []
    for one in sorted((one for one in found if one.side), key=lambda one: -one.height):
        over = both(one.height - one.spot.bottom, "length", system, one.towards)
        under = "" if one.kind == "rim" else from_rim(one, system).removesuffix(" rim")
        more = f" ({', '.join(one.more)})" if one.more else ""
        rows.append([one.called() + more, both(one.height, "length", system, one.towards), over, under])
    return rows


def _caption(heights: Heights, system: str) -> str:
    state, network, results = heights.state, heights.network, heights.assessment.results
    if state.name == BUILT:
        return f"No water is drawn: {heights.assessment.answer.kind} ({heights.assessment.answer.reason})."
    if state.name == RUNNING:
        swing = any(level - state.lowest.get(k, level) > TURN for k, level in state.levels.items())
        moves = ". It does not stand still, or may run in more than one way: the highest levels are drawn, the lowest dashed."
        return f"Running{moves if swing else ', all pumps on.'}{_worst(heights)}"
    if state.name in (STOPPED, RESTARTED):
        case = results.stopped[results.wanted_cut()]
        counts = counted_on(network, results.wanted_cut())
        if state.name == RESTARTED:
            return ("The moment the power comes back, before the pump has lifted anything: the sump at its highest, the tank at "
                    f"its lowest{counts}. Drains whose ends are under water hold air that has to get out; afterwards the "
                    "levels come near those while running ('sumpwright happens' follows them through time).")
        goes = "" if case.spare >= 0.0 else f" {show(-case.spare, 'volume', system)} go over the sump."
        return f"At rest after a power cut{counts}: the case that has to fit.{goes}{_worst(heights)}"
    blocked = few([network.links[k].name for k in state.blocked])
    over = " Water goes over." if state.over & set(network.uppers) else ""
    return (f"'{blocked}' blocked, the worst single one: the other drains carry the pump's best, running with air, the sump kept "
            f"topped up to its line.{over}{_worst(heights)}")


def _worst(heights: Heights) -> str:
    """Say for whom a tank stands that is drawn for several."""
    told = [f" {heights.network.waters[k].name} is drawn for {grouped.called}: of all it stands nearest to its opening."
            for k, grouped in heights.seen.stands_for.items() if k in heights.network.uppers]
    return "".join(told)


def _folded(heights: Heights, system: str) -> Markup:
    """Return the table of what was folded: lowest .. highest of each kind, and which one has the least room."""
    results, levels = heights.assessment.results, heights.state.levels
    rows = []
    for k, grouped in heights.seen.stands_for.items():
        if k not in heights.network.uppers:
            continue

        def figures(ask: dict[int, float], members: list[int] = grouped.all) -> str:
            ends = min(ask[one] for one in members), max(ask[one] for one in members)
            first, second = (span(*(tape_mark(end, which) for end in ends)) for which in ("metric", "US"))
            return f"{first} mm ({second} in)" if system == "metric" else f"{second} in ({first} mm)"

        rims = {one: rim_of(results, one) for one in grouped.all}
        rows.append([grouped.called, figures(rims), figures({one: levels.get(one, 0.0) for one in grouped.all}),
                     figures({one: opening_of(heights.network, one) - levels.get(one, 0.0) for one in grouped.all}),
                     heights.network.waters[k].name])
    return page_table("Tanks told as one: the lowest and the highest of them, running",
                      ("tanks", "rims above the ground", "water above the ground", "water below the opening", "least room"),
                      rows, (0, 4))
