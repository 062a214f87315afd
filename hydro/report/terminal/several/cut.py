"""A power cut on several tanks and sumps: how much comes down from where, where each sump ends, and what floods on the way."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.checks import HOLDS, Check, CheckKind
from hydro.network.model import Network
from hydro.network.paths import has_check_valve, pipes_at
from hydro.quantities.formatting import show
from hydro.quantities.tape import tape_above, tape_below
from hydro.report.content.grouping import Fold, few, span
from hydro.report.content.levels import bottom_of, brim_of
from hydro.report.content.view import View
from hydro.report.terminal.answers import CUP, counted_on, litres, why_not
from hydro.scenarios.results import BREAKS, VALVES, opening_of
from hydro.shutdown import Shutdown
from hydro.steady.state import State

LINES = {"drains": "the drains", "returns": "the lines under pressure", "tank": "the tank"}
"""Items of a power cut that are no vessels by name."""
FULL = 1e-6
"""A tank this near under its opening stands at it, m."""
FALLS = 1e-3
"""A tank that falls less than this stays where it is, m."""


def cut_answer(view: View) -> list[str]:
    """Return what a power cut does in the case that has to fit, sump by sump, and what that rests on."""
    results = view.results
    row = view.worst(CheckKind.POWER_CUT)
    if not results.stopped or row is None:
        return ["Not worked out: there is no running state to stop from."]
    wanted = results.wanted_cut()
    case = results.stopped[wanted]
    texts = [f"{row.verdict.capitalize()}, {counted_on(wanted)}. {coming_down(view)}",
             " ".join([*where_sumps_end(view, case), *floods(view, case)])]
    rest = [*_why(view.assessment.of(CheckKind.POWER_CUT), wanted), *_while_valves_hold(view)]
    other = results.stopped[True, wanted[1]]
    if not wanted[0] and case.comes_down - other.comes_down > 1e-4:
        rest.append(f"With siphon breaks that work: {litres(other.comes_down, view.system)} come down. "
                    + " ".join(where_sumps_end(view, other)))
    if BREAKS in view.assessment.build.counts_on and not wanted[0]:
        rest.append("You count on the siphon breaks; one is missing or too small to be trusted, so they are taken as plugged.")
    return [*texts, " ".join(rest)]


def _why(checks: Sequence[Check], wanted: tuple[bool, bool]) -> list[str]:
    """Return the reasons of checks that do not hold, each once, without the case of the power cut that they are of."""
    reasons = [reason for check in checks if check.verdict != HOLDS for reason in why_not(check, wanted)]
    return [f"{reason[:1].upper()}{reason[1:]}." for reason in dict.fromkeys(reasons)]


def folded_items(view: View, case: Shutdown) -> list[Fold[float]]:
    """Return what comes down by where it comes from, vessels alike together (m3)."""
    vessels = [(name, volume) for name, volume in case.items.items() if name not in LINES]
    lines = [Fold(LINES[name], ((LINES[name], volume),)) for name, volume in case.items.items() if name in LINES]
    return [*view.folding.of("tanks", vessels), *lines]


def coming_down(view: View) -> str:
    """Return how much comes down in the case that has to fit, and from where."""
    case = view.results.stopped[view.results.wanted_cut()]
    told = [_item(view, fold) for fold in folded_items(view, case) if abs(sum(fold.all)) > CUP]
    return f"{litres(case.comes_down, view.system)} come down: {', '.join(told)}."


def _item(view: View, fold: Fold[float]) -> str:
    volume = sum(fold.all)
    if volume < 0.0:
        return f"less {show(-volume, 'volume', view.system)} that run into {fold.called}"
    if fold.alone:
        return f"{show(volume, 'volume', view.system)} from {fold.called}"
    unit = view.unit("volume")
    low, high = (show(end, "volume", view.system).removesuffix(f" {unit}") for end in fold.ends(lambda one: one))
    return f"{show(volume, 'volume', view.system)} from {fold.called} ({span(low, high)} {unit} each)"


def where_sumps_end(view: View, case: Shutdown) -> list[str]:
    """Return where each sump ends, or how much goes over."""
    texts = []
    for sump in view.network.sumps:
        who = view.sump(sump)
        brim, spare, level = brim_of(view.results, sump[0]), case.spare_of(sump), case.sump_level_of(sump)
        if spare < 0.0:
            texts.append(f"{show(-spare, 'volume', view.system)} go over the {brim} of {who}.")
            continue
        texts.append(f"{who[:1].upper()}{who[1:]} ends at {tape_above(level - bottom_of(view.network, sump[0]), view.system)}, "
                     f"{tape_below(opening_of(view.network, sump[0]) - level, view.system)} below its {brim}, with room for "
                     f"{litres(spare, view.system)} more.")
    if case.contested:
        texts.append("Where water may go one way or another, each is judged as if all of it came there.")
    return texts


def floods(view: View, case: Shutdown) -> list[str]:
    """Return the tanks and boxes that a power cut fills over their rims, with what goes over in all."""
    if case.floor <= CUP:
        return []
    full = [view.network.waters[k].name for k, level in case.levels.items() if level >= opening_of(view.network, k) - FULL]
    where = f" of {few(view.folding.names('tanks', full))}" if full else "s of tanks"
    return [f"{show(case.floor, 'volume', view.system)} go over the rim{where} and on the floor."]


def _while_valves_hold(view: View) -> list[str]:
    """Return what goes on although the check valves hold: one at the pump does not part tanks that hang on one header."""
    breaks, _ = view.results.wanted_cut()
    case = view.results.stopped[breaks, True]
    if not has_valves(view):
        return []
    texts = []
    for fallen, lowest in passed_on(view.network, case, view.results.state):
        names = [view.network.waters[k].name for k in fallen]
        over = case.levels[lowest] >= opening_of(view.network, lowest) - FULL
        then = "and it goes over its rim" if over else "and its drains have to carry that"
        siphon = "siphons" if len(names) == 1 else "siphon"
        texts.append(f"With the {VALVES} holding, {few(view.folding.names('tanks', names))} still {siphon} through the header "
                     f"into {view.network.waters[lowest].name}, {then}.")
    return [*texts, *(f"Also with the {VALVES} holding, {text}" for text in floods(view, case))]


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
        if any(start in group for group in found):
            continue
        group, waiting = {start}, [start]
        while waiting:
            for k in meets[waiting.pop()]:
                for node in (network.links[k].up, network.links[k].down):
                    if node in meets and node not in group:
                        group.add(node)
                        waiting.append(node)
        found.append(frozenset(group))
    return found


def has_valves(view: View) -> bool:
    """Whether there is a check valve anywhere."""
    return any(link.element.line.check_valves for link in view.network.links
               if hasattr(link.element, "line") and not hasattr(link.element, "inlet"))
