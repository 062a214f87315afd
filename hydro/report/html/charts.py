"""The section of charts: what the drains take, and how the levels go when the power fails and comes back."""

from __future__ import annotations

from markupsafe import Markup

from hydro.checks.assessment import Assessment
from hydro.network.model import BOX, Network
from hydro.quantities.formatting import show
from hydro.report.html.figures import both
from hydro.report.html.markup import PageSection, items, join, page_figure, page_paragraph, subheading
from hydro.report.html.plotting import draw
from hydro.report.html.rating_charts import rating_chart
from hydro.report.html.time_charts import level_chart, shown_events, window
from hydro.scenarios.all_drains_blocked import drains_of
from hydro.scenarios.histories import outcome_of
from hydro.scenarios.results import least_room
from hydro.steady.state import State
from hydro.study import Study
from hydro.transient.integrate import History

MOST_DRAINS, MOST_EVENTS = 5, 14
CAUTION = ("Every figure in the middle of its band. The water's inertia (some 0.2 s), waves and water hammer are left out; how "
           "fast the last litres leave a line is an estimate.")


def charts_section(study: Study, system: str) -> PageSection | None:
    """Return the charts, None where the loop does not run."""
    assessment = study.assessment
    state = assessment.answer.state
    if state is None:
        return None
    tank = worst_tank(state)
    body = [_which(assessment, state, tank), *_ratings(study, tank, system), *_through_time(study, tank, system)]
    return PageSection("charts", "Drains and levels in charts", join(body))


def worst_tank(state: State) -> int:
    """Return the place of the tank that has the least room below its lowest opening, for a box that of its tank."""
    network = state.network
    water = least_room(state)[1]
    if network.waters[water].kind == BOX:
        return next((network.links[k].up for k in network.edges if network.links[k].down == water), water)
    return water


def _which(assessment: Assessment, state: State, tank: int) -> Markup:
    if len(state.network.tanks) == 1:
        return Markup("")
    name = state.network.waters[tank].name
    group = next((group for group in assessment.build.groups if name in group.members), None)
    alike = f", one of {len(group.members)} x {group.name}" if group is not None else ""
    return page_paragraph(f"Of {len(state.network.tanks)} tanks the charts show {name}{alike}: it has the least room below its "
                          "lowest opening. Figures for the others stand in the tables.")


def _ratings(study: Study, tank: int, system: str) -> list[Markup]:
    state = study.assessment.results.state
    drains = drains_of(state.network, tank)
    if not drains:
        return []
    made = [subheading("What each drain takes"), page_paragraph(
        "A drain runs with air up to the square; from there on it may fill and run as a siphon, and as one it goes on down to "
        "the diamond, where it draws air. At flows between the two marks it flushes where the diamond stands on the right, and "
        "keeps the way it has where it stands on the left.")]
    for k in drains[:MOST_DRAINS]:
        chart = rating_chart(study.rating(k), system)
        made.append(page_figure(draw(chart), f"{state.network.links[k].name}. {chart.told}", class_="chart"))
    if len(drains) > MOST_DRAINS:
        made.append(page_paragraph(f"{len(drains) - MOST_DRAINS} more drains are left out here."))
    return made


def _through_time(study: Study, tank: int, system: str) -> list[Markup]:
    found = study.courses()
    made = [subheading("Levels when the power fails and comes back")]
    for history, name, title in ((found.cut, "cut", "Power cut"), (found.back, "back", "Power back")):
        if history is not None:
            made += _course(history, tank, name, title, system)
    if found.why:
        made.append(page_paragraph(f"{found.why[0].upper()}{found.why[1:]}."))
    return [*made, page_paragraph(CAUTION, class_="note")]


def _course(history: History, tank: int, name: str, title: str, system: str) -> list[Markup]:
    network = history.start.network
    boxes = [network.links[k].down for k in network.edges if network.links[k].up == tank]
    sump = network.sump_of(network.pump_chamber)
    until = window(history, [tank, *boxes, *sump])
    events = shown_events(history, until, _others(network, tank))[:MOST_EVENTS]
    times = [event.moment.time for event in events]
    upper = network.waters[tank].name
    charts = [level_chart(history, [tank], f"{title}: {upper}", f"{name}-tank", until, times, system)]
    charts += [level_chart(history, [box], f"{title}: {network.waters[box].name}", f"{name}-box-{box}", until, times, system)
               for box in boxes]
    charts.append(level_chart(history, sump, f"{title}: sump", f"{name}-sump", until, times, system))
    said = items((f"{event.words}, after {show(event.moment.time, 'time', system)}" for event in events), ordered=True,
                 class_="events")
    return [*(page_figure(draw(chart), chart.title, class_="chart") for chart in charts), said, page_paragraph(_comes_to(history,
                                                                                                                         system))]


def _others(network: Network, tank: int) -> list[str]:
    """Return the names of drains and returns of other tanks."""
    mine = {network.links[k].name for k in drains_of(network, tank)}
    links = [network.links[k] for k in (*network.drains, *network.returns)]
    back = {link.name for link in links if link.down == tank} | mine
    return [link.name for link in links if link.name not in back and link.name not in {network.waters[tank].name}]


def _comes_to(history: History, system: str) -> str:
    """Return what a course ends in."""
    outcome = outcome_of(history)
    over = "; ".join(f"{both(one.volume, 'volume', system)} go over {one.vessel}'s lowest opening, from "
                     f"{show(one.since, 'time', system)} on" for one in outcome.over) or "Nothing goes over"
    dry = "" if outcome.dry is None else f" A pump draws air after {show(outcome.dry, 'time', system)}."
    return f"{over}.{dry} After {show(history.end.time, 'time', system)}: {history.ended}."
