"""Turnover, speeds, noise, and how near each drain is to changing the way it runs."""

from __future__ import annotations

from hydro.checks.folding import keyed, worst_of_groups
from hydro.checks.row import FAILS, HOLDS, ONLY_JUST, Check, at_least, at_most
from hydro.elements import limits
from hydro.elements.drain import QUIET_AT, SIPHON, WITH_AIR
from hydro.network.model import JUNCTION
from hydro.scenarios.results import Results
from hydro.steady.operating_point import NO_FLOW


def comfort_rows(results: Results) -> list[Check]:
    """Return the rows on turnover, speeds and noise."""
    network, build = results.network, results.build
    drains = [(network.links[k].name, k) for k in network.drains]
    return [*turnover(results), return_speed(results),
            *worst_of_groups(build, "noise", [(name, noise(results, k)) for name, k in drains]),
            *worst_of_groups(build, "way", [(name, steadiness(results, k)) for name, k in drains])]


def turnover(results: Results) -> list[Check]:
    """Hold what really flows through each tank over its water, and over all the water, against the wanted range.

    A range that nobody wished for cannot fail a build: outside the default range the row holds only just. A tank that only drains
    fill, a filter or a gutter, is not asked. One of several that gets no water at all fails.
    """
    state, network = results.state, results.network
    other = results.build.wishes.get("other water")
    everything = float(state.total) + (float(other.at(results.sample)) if other is not None else 0.0)
    several = len(network.tanks) > 1
    fed = {network.links[k].down for k in network.returns}
    into: dict[int, float] = {tank: 0.0 for tank in network.tanks if tank in fed or not several}
    for link, flow in zip(network.links, map(float, state.flows), strict=True):
        comes_to = link.down if flow > 0.0 else link.up
        if comes_to in into and abs(flow) > NO_FLOW:
            into[comes_to] += abs(flow)
    rows: list[tuple[str, Check]] = []
    for tank, flow in into.items():
        name, body = network.waters[tank].name, network.waters[tank].body
        assert body is not None
        turned = flow / float(body.stored(state.levels[tank])[0])
        question = f"turnover of {name if several else 'the tank'}"
        asked = _within(results, keyed("turnover", name, several), question, turned)
        rows += [(name, row.downgraded("no water comes into it", FAILS) if several and flow == 0.0 else row) for row in asked]
    lifted = sum(max(float(state.flows[k]), 0.0) for k in network.pumps if network.waters[network.links[k].up].kind != JUNCTION)
    return [*worst_of_groups(results.build, "turnover", rows),
            *_within(results, "turnover of all", "turnover of all the water", lifted / everything)]


def _within(results: Results, key: str, question: str, value: float) -> list[Check]:
    wished = {"least turnover", "most turnover"} & results.build.wishes.keys()
    otherwise = FAILS if wished and key != "turnover of all" else ONLY_JUST
    low, origin = results.limit(limits.LEAST_TURNOVER)
    high, high_origin = results.limit(limits.MOST_TURNOVER)
    if wished and "most turnover" not in wished:
        high, high_origin = float("inf"), "no wish"
    if wished and "least turnover" not in wished:
        low, origin = 0.0, "no wish"
    least = at_least(key, f"{question}, at least", value, low, "turnover", origin, otherwise=otherwise)
    most = at_most(key, f"{question}, at most", value, high, "turnover", high_origin, otherwise=otherwise)
    return [least if least.margin <= most.margin else most]


def return_speed(results: Results) -> Check:
    """Hold the fastest run of the pressure side against the quiet speed, and against the most that plastic pipe takes."""
    network = results.network
    lines = [k for k, link in enumerate(network.links) if hasattr(link.element, "line") and k not in network.drains]
    runs = [results.element(k).line.fastest(state.flows[k]) for state in results.answer.states for k in lines]
    speed, where = max(((float(value), label) for value, label in runs), default=(0.0, ""))
    quiet, origin = results.limit(limits.QUIET_SPEED)
    most, _ = results.limit(limits.MOST_SPEED)
    return at_most("speed", "speed in the returns", speed, quiet, "speed", origin, f"fastest in {where}" if where else "",
                   otherwise=ONLY_JUST if speed <= most else FAILS)


def noise(results: Results, k: int) -> Check:
    """Hold a drain's J = V/sqrt(g D) against the limit up to which it vents itself quietly; full siphons are quiet too."""
    element = results.element(k)
    quiet, origin = results.limit(QUIET_AT)
    name = results.network.links[k].name
    number = max(float(element.air_number(max(float(state.flows[k]), 0.0))) for state in results.answer.states)
    modes = {state.network.links[k].element.mode for state in results.answer.states}
    row = at_most(f"noise {name}", f"{name} runs quietly", number, quiet, "number", origin, otherwise=ONLY_JUST)
    if modes - {WITH_AIR, SIPHON}:
        return row.downgraded("it flushes: fills, gulps air and empties in turn", FAILS)
    if modes == {SIPHON}:
        return row.with_verdict(HOLDS, "full of water, without air")
    return row.downgraded("it carries air down and gurgles") if row.verdict != HOLDS else row


def steadiness(results: Results, k: int) -> Check:
    """Hold the margin that keeps a drain in its way of running against 15 %."""
    near, origin = results.limit(limits.NEAR_CHANGE)
    name = results.network.links[k].name
    margin, words = float("inf"), ""
    for state in results.answer.states:
        for guard in state.network.links[k].element.guards(float(state.flows[k]), *map(float, state.ends(k))):
            if guard.margin < margin:
                margin, words = float(guard.margin), guard.words
    row = at_least(f"way {name}", f"{name} stays in its way of running", margin, near, "share", origin,
                   otherwise=ONLY_JUST if margin >= 0.0 else FAILS)
    return row if row.verdict == HOLDS else row.downgraded(f"close to where {words}" if margin >= 0.0 else words, row.verdict)
