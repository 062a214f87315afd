"""A power cut: how much comes down from where, where each sump ends, and what floods on the way."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from hydro.checks import Check, CheckKind
from hydro.checks.flood import case_of_cut
from hydro.network.model import Network
from hydro.network.paths import has_check_valve, pipes_at
from hydro.quantities.reaching import reached
from hydro.report.content.blocked_answers import CUP, litres
from hydro.report.content.grouping import Grouped, few
from hydro.report.content.levels import bottom_of, brim_of
from hydro.report.content.sentences import DOWN, UP, Figure, Sentence, height, joined_sentences, least_to_most, opened, say
from hydro.report.content.verdict_answers import in_order
from hydro.report.content.view import View
from hydro.scenarios.results import BREAKS, VALVES, opening_of
from hydro.shutdown import Shutdown
from hydro.steady.state import State

LINES = {"drains": "the drains", "returns": "the lines under pressure", "tank": "the tank"}
"""Items of a power cut that are no vessels by name."""
FULL = 1e-6
"""A tank this near under its opening stands at it, m."""
FALLS = 1e-3
"""A tank that falls less than this stays where it is, m."""


def counted_on(network: Network, wanted: tuple[bool, bool]) -> str:
    """Return, to be put behind other words, what a case of a power cut counts on, else what does not work in it.

    '' where there is neither break nor valve.
    """
    names = [name for name, on in zip((BREAKS, VALVES), wanted, strict=True) if on]
    if names:
        return f", counting on the {' and the '.join(names)}"
    fail = ((f"the {BREAKS} plugged", has_breaks(network)), (f"the {VALVES} stuck", has_valves(network)))
    told = " and ".join(words for words, there in fail if there)
    return f" with {told}" if told else ""


def cut_sentences(view: View) -> list[Sentence]:
    """Return what a power cut does in the case that has to fit, sump by sump, and why where it does not hold."""
    results = view.results
    row = view.worst(CheckKind.POWER_CUT)
    if not results.stopped or row is None:
        return [say("Not worked out: there is no running state to stop from.")]
    wanted = results.wanted_cut()
    case = results.stopped[wanted]
    why = [*_why(view.assessment.of(CheckKind.POWER_CUT), wanted), *while_valves_hold(view, over=True)]
    if any(wanted) and (over := results.stopped[False, False].over) > CUP >= case.over:
        why.append(say("Should {what} fail, {over} go over.", over=Figure(over, "volume"),
                       what="one of them" if all(wanted) else "a siphon break" if wanted[0] else "a check valve"))
    if BREAKS in view.assessment.build.counts_on and not wanted[0]:
        why.append(say("You count on the siphon breaks; one is missing or too small to be trusted, so they are taken as "
                       "plugged."))
    return [say("{verdict}{counted}. {down} come down; {ends}", verdict=row.verdict.capitalize(),
                counted=counted_on(view.network, wanted),
                down=litres(case.comes_down), ends=joined_sentences([*where_sumps_end(view, case), *floods(view, case), *why]))]


def cut_details(view: View) -> list[Sentence]:
    """Return where the water comes from, and what siphon breaks that work would spare."""
    results = view.results
    if not results.stopped:
        return []
    wanted = results.wanted_cut()
    case, other = results.stopped[wanted], results.stopped[True, wanted[1]]
    said = [*while_valves_hold(view, over=False), coming_down(view)]
    if not wanted[0] and case.comes_down - other.comes_down > 1e-4:
        said.append(say("With siphon breaks that work: {down} come down; {ends}", down=litres(other.comes_down),
                        ends=joined_sentences(where_sumps_end(view, other))))
    return said


def _why(checks: Sequence[Check], wanted: tuple[bool, bool]) -> list[Sentence]:
    """Return the reasons of checks that do not hold, each once, without the case of the power cut that they are of."""
    reasons = [reason for check in checks if not in_order(check) for reason in check.reasons if reason != case_of_cut(*wanted)]
    return [opened(say("{reason}.", reason=reason)) for reason in dict.fromkeys(reasons)]


def coming_down(view: View) -> Sentence:
    """Return how much comes down in the case that has to fit, from where, and the room that is left then."""
    case = view.results.stopped[view.results.wanted_cut()]
    vessels = [(name, volume) for name, volume in case.items.items() if name not in LINES]
    grouped_all = [*view.grouping.of("tanks", vessels),
                   *(Grouped(LINES[name], ((LINES[name], volume),)) for name, volume in case.items.items() if name in LINES)]
    told = [_item(view, grouped) for grouped in grouped_all if abs(sum(grouped.all)) > CUP]
    room = [say("{who} has room for {room} more", who=view.sump(sump), room=litres(case.spare_of(sump)))
            for sump in view.network.sumps if case.spare_of(sump) >= 0.0]
    comes = say("Of {down} there come {items}", down=litres(case.comes_down), items=joined_sentences(told, ", "))
    return joined_sentences([comes, *room], "; ") + "."


def _item(view: View, grouped: Grouped[float]) -> Sentence:
    volume = sum(grouped.all)
    if volume < 0.0:
        return say("less {volume} that run into {who}", volume=Figure(-volume, "volume"), who=view.called(grouped.called))
    each = "" if grouped.alone else say(" ({each} each)", each=least_to_most(*grouped.ends(lambda one: one), "volume"))
    return say("{volume} from {who}{each}", volume=Figure(volume, "volume"), who=view.called(grouped.called), each=each)


def where_sumps_end(view: View, case: Shutdown) -> list[Sentence]:
    """Return where each sump ends, or how much goes over; the first one in the middle of a sentence."""
    said: list[Sentence] = []
    for sump in view.network.sumps:
        who, brim, spare = view.sump(sump), brim_of(view.results, sump[0]), case.spare_of(sump)
        level = case.sump_level_of(sump)
        text = say("{who} ends at {level}, {below} below its {brim}.", who=who, brim=brim,
                   level=height(level - bottom_of(view.network, sump[0]), UP),
                   below=height(opening_of(view.network, sump[0]) - level, DOWN))
        if spare < 0.0:
            text = say("{over} go over the {brim} of {who}.", over=Figure(-spare, "volume"), brim=brim, who=who)
        said.append(opened(text) if said else text)
    if case.contested:
        said.append(say("Where water may go one way or another, each is judged as if all of it came there."))
    return said


def floods(view: View, case: Shutdown) -> list[Sentence]:
    """Return the tanks and boxes that a power cut fills over their rims, with what goes over in all."""
    if case.floor <= CUP:
        return []
    full = [view.network.waters[k].name for k, level in case.levels.items() if level >= opening_of(view.network, k) - FULL]
    return [say("{over} go over the rim{where} and on the floor.", over=Figure(case.floor, "volume"),
                where=f" of {few(view.grouping.names('tanks', full))}" if full else "s of tanks")]


def while_valves_hold(view: View, over: bool) -> list[Sentence]:
    """Return what goes on although the check valves hold: one at the pump does not part tanks that hang on one header.

    `over` asks for what then goes over a rim, else for what the drains of the lower tank have to carry.
    """
    case = view.results.stopped[view.results.wanted_cut()[0], True]
    if not has_valves(view.network):
        return []
    said = []
    for fallen, lowest in passed_on(view.network, case, view.results.state):
        names = [view.network.waters[k].name for k in fallen]
        if over != (case.levels[lowest] >= opening_of(view.network, lowest) - FULL):
            continue
        said.append(say("With the {valves} holding, {names} still {siphon} through the header into {lowest}, {then}.",
                        valves=VALVES, names=few(view.grouping.names("tanks", names)), lowest=view.network.waters[lowest].name,
                        siphon="siphons" if len(names) == 1 else "siphon",
                        then="and it goes over its rim" if over else "and its drains have to carry that"))
    return [*said, *(say("Also with the {valves} holding, {flood}", valves=VALVES, flood=flood)
                     for flood in floods(view, case) if over)]


def passed_on(network: Network, case: Shutdown, state: State) -> list[tuple[list[int], int]]:
    """Return for each header shut off from its pumps the tanks that fall by their returns, and the lowest, which takes it."""
    found = []
    for group in headers(network):
        pumps = [network.links[k].element for k in network.pumps if network.links[k].down in group]
        if not pumps or not all(map(has_check_valve, pumps)):
            continue
        tanks = dict.fromkeys(network.links[k].down for k in network.returns if network.links[k].up in group)
        lowest = min(tanks, key=lambda k: case.levels[k], default=None)
        fallen = [k for k in tanks if k != lowest and case.ended[k].startswith(("mouth", "siphon break"))
                  and float(state.levels[k]) - case.levels[k] > FALLS]
        if lowest is not None and fallen:
            found.append((fallen, lowest))
    return found


def headers(network: Network) -> list[frozenset[int]]:
    """Return the headers that hang together through pipes, group by group."""
    meets = pipes_at(network)
    found: list[frozenset[int]] = []
    for start in meets:
        if not any(start in group for group in found):
            found.append(frozenset(reached([start], lambda header: (
                end for k in meets[header] for end in (network.links[k].up, network.links[k].down) if end in meets))))
    return found


def has_breaks(network: Network) -> bool:
    """Whether there is a siphon break anywhere."""
    elements: list[Any] = [network.links[k].element for k in network.returns]
    return any(element.end.break_at is not None for element in elements)


def has_valves(network: Network) -> bool:
    """Whether there is a check valve anywhere."""
    return any(link.element.line.check_valves for link in network.links
               if hasattr(link.element, "line") and not hasattr(link.element, "inlet"))
