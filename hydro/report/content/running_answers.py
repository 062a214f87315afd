"""How it runs: what is special about it, what runs over with nothing amiss, which flows, turnovers and bucket times to expect."""

from __future__ import annotations

from hydro.checks import CheckKind
from hydro.checks.assessment import pumped_flow
from hydro.elements.drain import TRICKLE
from hydro.quantities.tape import Band
from hydro.report.content.buckets import BUCKETS
from hydro.report.content.flows import return_runs
from hydro.report.content.grouping import Grouped
from hydro.report.content.levels import bottom_of, brim_of
from hydro.report.content.pump_points import PumpRun, pump_runs
from hydro.report.content.sentences import UP, Figure, Sentence, banded, height, joined_sentences, least_to_most, opened, say
from hydro.report.content.tank_flows import TankRun, tank_runs
from hydro.report.content.view import View
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, DRAWS_AIR, NONE, STEADY, SURGES, TWO_POINTS

SAID = {SURGES: "It surges", DRAWS_AIR: "The pump draws air", CANNOT_LIFT: "The pump cannot lift that high",
        BACKWARDS: "It runs backwards", TWO_POINTS: "Two operating points", NONE: "No steady state",
        STEADY: "More than one way to run"}
IN_SUMP = ("lowest pump chamber level", "highest pump chamber level", "pump chamber level", "intake")
SWING = 1e-3
"""A level that moves less than this stands, m."""
QUICK = 1.0
"""A flow that fills a bucket in less is not measured with one, s."""
STILL = 1e-7
"""A flow below this is none, m3/s."""


def attention_sentences(view: View) -> list[Sentence]:
    """Return what is special about the way it runs, what runs backwards, and each vessel that runs over with nothing amiss."""
    answer = view.assessment.answer
    return [*(special_sentences(view) if answer.kind != STEADY or answer.others else []), *rising_sentences(view),
            *over_sentences(view)]


def rising_sentences(view: View) -> list[Sentence]:
    """Return the drains that water comes back up through while it runs, with the most of it."""
    states, network = view.assessment.answer.states, view.network
    rising = [(network.links[k].name, most) for k in network.drains
              if (most := max((-float(state.flows[k]) for state in states), default=0.0)) > TRICKLE]
    return [say("Water comes back up through {who}: {flow}.", who=grouped.whole,
                flow=Figure(grouped.most(lambda flow: flow)[1], "flow")) for grouped in view.grouping.of("drains", rising)]


def special_sentences(view: View) -> list[Sentence]:
    """Return how it runs where that is not one steady way: the reason, naming pump or drains, and the figures behind it."""
    answer = view.assessment.answer
    said = [say("{kind}: {reason}.", kind=SAID[answer.kind], reason=view.grouping.reason(answer.reason))]
    if answer.kind == SURGES:
        said += _swings(view)
    elif answer.figures:
        said.append(joined_sentences((_answer_figure(view, name, value) for name, value in answer.figures.items()), "; ") + ".")
    if answer.kind == STEADY and answer.others:
        said += _swings(view, "may stand at", "or")
    if answer.kind in (DRAWS_AIR, CANNOT_LIFT, BACKWARDS):
        said.append(say("Mend that first: what follows is for the build as it stands."))
    if answer.one_reachable:
        said.append(say("With so many drains this is one state that a dry start reaches; there may be others."))
    return said


def _answer_figure(view: View, name: str, value: float) -> Sentence:
    """Return a figure of the answer by name; levels in the sump are counted from its bottom."""
    if name not in IN_SUMP:
        return say("{name} {value}", name=name, value=Figure(value, "flow" if "flow" in name else "length", digits=3))
    network, which = view.network, view.assessment.answer.which
    drawn = network.pump_chamber if which is None else network.links[which].up
    sump = network.sump_of(drawn) if drawn in network.chambers else network.sump_of(network.pump_chamber)
    return say("{name} {level} above {bottom}", name=name, level=height(value - bottom_of(network, sump[0])),
               bottom=view.bottom(sump))


def _swings(view: View, verb: str = "swings between", joint: str = "and") -> list[Sentence]:
    """Return between which levels each tank, and the pump chamber, moves: of many alike the one that moves most."""
    states, network = view.assessment.answer.states, view.network
    moving = []
    for k in network.uppers:
        levels = [float(state.levels[k]) - bottom_of(network, k) for state in states]
        if max(levels) - min(levels) > SWING:
            moving.append((network.waters[k].name, (min(levels), max(levels))))
    said = []
    for grouped in view.grouping.of("tanks", moving):
        name, (low, high) = grouped.most(lambda ends: ends[1] - ends[0])
        who = view.called(name)
        said.append(say("{who}{among} {verb} {low} {joint} {high} above its bottom.",
                        who=who if who == name else who.capitalize(), verb=verb, low=height(low), joint=joint, high=height(high),
                        among="" if grouped.alone else f", the widest of {grouped.called},"))
    figures = view.assessment.answer.figures
    lowest, highest = figures.get("lowest pump chamber level"), figures.get("highest pump chamber level")
    if lowest is not None and highest is not None and highest - lowest > SWING:
        bottom = network.sump_bottom
        said.append(say("The water in {chamber} swings between {low} and {high} above {bottom}.",
                        chamber=view.chamber(network.pump_chamber), low=height(lowest - bottom), high=height(highest - bottom),
                        bottom=view.bottom(network.sump_of(network.pump_chamber))))
    return said


def over_sentences(view: View) -> list[Sentence]:
    """Return a warning for each vessel that runs over while nothing is amiss; such levels cannot stand, they are wanted."""
    said = []
    for check in view.assessment.of(CheckKind.TANK_ROOM, CheckKind.SUMP_ROOM):
        water = check.water
        if check.margin >= 0.0 or water is None:
            continue
        who = view.water(water) if check.kind is CheckKind.TANK_ROOM else view.sump(view.network.sump_of(water))
        among = f" (the worst of {len(check.stands_for)} x {check.subject})" if check.worst else ""
        said.append(opened(say("{who}{among} runs over with nothing blocked: its water would have to stand {over} above its "
                               "{brim}.", who=who, among=among, over=height(-check.margin, UP),
                               brim=brim_of(view.results, water))))
    return [*said, say("Mend that first: what follows is for water that cannot stand so high.")] if said else []


def expected_sentences(view: View) -> list[Sentence]:
    """Return the flow of all pumps, what flows into each tank and its turnover, and bucket times."""
    assessment = view.assessment
    if assessment.flow is None or assessment.answer.state is None:
        return [say("No flow.")]
    if assessment.flow[1] <= STILL:
        return [say("Nothing comes out of the {pumps}.", pumps=view.pumps)]
    flows = [pumped_flow(state) for state in assessment.answer.states]
    low, middle, high = assessment.flow
    runs = tank_runs(assessment, assessment.answer.state)
    moved = say("{pumps} {flow}.{swings}", pumps="The pump moves" if view.pumps == "pump" else "Together the pumps move",
                flow=banded((min(low, *flows), middle, max(high, *flows)), "flow"),
                swings=" It swings while it surges." if max(flows) - min(flows) > 0.02 * middle else "")
    turned = [say("{who} {turned}", who=view.called(grouped.whole), turned=least_to_most(*grouped.ends(lambda run: run.turnover),
                                                                                         "turnover"))
              for grouped in view.grouping.of("tanks", [(run.name, run) for run in runs])]
    return [moved + say(" Turnover of {each}.", each=joined_sentences(turned, ", ")), *_buckets(view, runs)]


def flow_details(view: View) -> list[Sentence]:
    """Return what each pump gives and what flows into each tank, where there are several."""
    state = view.assessment.answer.state
    if state is None:
        return []

    def gives(grouped: Grouped[PumpRun]) -> Sentence:
        return say("{who} {flow}", who=grouped.whole, flow=view.figure(grouped, lambda run: run.flow, "flow"))

    pumps = view.grouping.of("pumps", [(run.name, run) for run in pump_runs(view.assessment, state)])
    tanks = view.grouping.of("tanks", [(run.name, run) for run in tank_runs(view.assessment, state)])
    return [*([say("Of the pumps {each}.", each=joined_sentences(map(gives, pumps), "; "))] if view.pumps == "pumps" else []),
            *(_into(view, grouped) for grouped in tanks if len(view.network.tanks) > 1)]


def _into(view: View, grouped: Grouped[TankRun]) -> Sentence:
    """Return what flows into a tank or into each of many alike."""
    if grouped.ends(lambda run: run.flow[1])[1] <= STILL:
        return say("Into {who}: nothing.", who=view.called(grouped.whole))
    least, most = grouped.ends(lambda run: run.flow[1])
    where = f", least at {grouped.least(lambda run: run.flow[1])[0]}" if most - least > 0.005 * most else ""
    return say("Into {who}: {flow}{where}; turnover {turned}.", who=view.called(grouped.whole), where=where,
               flow=view.figure(grouped, lambda run: run.flow, "flow"),
               turned=least_to_most(*grouped.ends(lambda run: run.turnover), "turnover"))


def _buckets(view: View, runs: list[TankRun]) -> list[Sentence]:
    """Return how long a bucket takes of the whole flow, and at each of two mouths, or at the tank that gets the least."""
    if view.assessment.bucket is None:
        return []
    size = BUCKETS[view.system][1]

    def time(band: Band) -> Figure:
        return banded((size * band[0], size * band[1], size * band[2]), "time")

    bucket = Figure(0.010 * size, "volume")
    fed = [run for run in runs if any(view.network.links[k].down == run.place for k in view.network.returns)]
    weakest = min(fed, key=lambda run: run.flow[1], default=None)
    if size * view.assessment.bucket[1] < QUICK:
        return [] if weakest is None or weakest.bucket is None else [
            say("Fill a bucket at {who}: {bucket} should take {time}.", who=view.called(weakest.name), bucket=bucket,
                time=time(weakest.bucket))]
    also: Sentence | str = ""
    mouths = return_runs(view.assessment, view.assessment.answer.states[0])
    if weakest is not None and len(fed) > 1:
        also = say("; {who} gets too little to fill one", who=weakest.name) if weakest.bucket is None else \
            say(", {time} at {who}", time=time(weakest.bucket), who=weakest.name)
    elif len(mouths) == 2:
        # Nobody holds one bucket under two mouths.
        also = joined_sentences((say(", {time} at {who}", time=time(one.bucket), who=one.name) for one in mouths
                                 if one.bucket is not None), "")
    return [say("Fill a bucket: {bucket} should take {time} of the whole flow{also}.", bucket=bucket,
                time=time(view.assessment.bucket), also=also)]
