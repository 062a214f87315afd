"""Turnover, speeds, noise, and how near each drain is to changing the way it runs."""

from __future__ import annotations

from hydro.checks.check import FAILS, HOLDS, TIGHT, Check, CheckKind, held, held_within
from hydro.checks.folding import worst_of_groups
from hydro.elements import limits
from hydro.elements.drain import QUIET_AT, SIPHON, WITH_AIR
from hydro.network.model import JUNCTION
from hydro.scenarios.results import Results
from hydro.steady.operating_point import NO_FLOW


def comfort_checks(results: Results) -> list[Check]:
    """Return the checks on turnover, speeds and noise."""
    network, build = results.network, results.build
    drains = [(network.links[k].name, k) for k in network.drains]
    return [*turnover(results), return_speed(results),
            *worst_of_groups(build, [(name, noise(results, k)) for name, k in drains]),
            *worst_of_groups(build, [(name, steadiness(results, k)) for name, k in drains])]


def turnover(results: Results) -> list[Check]:
    """Hold what really flows through each tank over its water, and over all the water, against the wanted range.

    A range that nobody wished for cannot fail a build: outside the default range the check is tight. A tank that only
    drains fill, a filter or a gutter, is not asked. One of several that gets no water at all fails.
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
    checks: list[tuple[str, Check]] = []
    for tank, flow in into.items():
        name, body = network.waters[tank].name, network.waters[tank].body
        assert body is not None
        turned = flow / float(body.stored(state.levels[tank])[0])
        question = f"turnover of {name if several else 'the tank'}"
        check = _within(results, CheckKind.TURNOVER, question, turned, name if several else "")
        checks.append((name, check.downgraded("no water comes into it", FAILS) if several and flow == 0.0 else check))
    lifted = sum(max(float(state.flows[k]), 0.0) for k in network.pumps if network.waters[network.links[k].up].kind != JUNCTION)
    return [*worst_of_groups(results.build, checks),
            _within(results, CheckKind.TURNOVER_OF_ALL, "turnover of all the water", lifted / everything)]


def _within(results: Results, kind: CheckKind, question: str, value: float, subject: str = "") -> Check:
    wished = {"least turnover", "most turnover"} & results.build.wishes.keys()
    otherwise = FAILS if wished and kind is CheckKind.TURNOVER else TIGHT
    low = (0.0, "no wish") if wished == {"most turnover"} else results.limit(limits.LEAST_TURNOVER)
    high = (float("inf"), "no wish") if wished == {"least turnover"} else results.limit(limits.MOST_TURNOVER)
    return held_within(kind, question, value, low, high, otherwise, subject=subject)


def return_speed(results: Results) -> Check:
    """Hold the fastest run of the pressure side against the quiet speed, and against the most that plastic pipe takes."""
    network = results.network
    lines = [k for k, link in enumerate(network.links) if hasattr(link.element, "line") and k not in network.drains]
    runs = [results.element(k).line.fastest(state.flows[k]) for state in results.answer.states for k in lines]
    speed, where = max(((float(value), label) for value, label in runs), default=(0.0, ""))
    quiet, origin = results.limit(limits.QUIET_SPEED)
    most, _ = results.limit(limits.MOST_SPEED)
    return held(CheckKind.SPEED, "speed in the returns", speed, quiet, origin, f"fastest in {where}" if where else "",
                otherwise=TIGHT if speed <= most else FAILS)


def noise(results: Results, k: int) -> Check:
    """Hold a drain's J = V/sqrt(g D) with air against the limit up to which it vents itself quietly; full siphons are quiet too.

    Above it the drain is heard; where the water is so fast that it sweeps the air along, and where it flushes, it is loud.
    """
    element = results.element(k)
    quiet, origin = results.limit(QUIET_AT)
    name = results.network.links[k].name
    states = results.answer.states
    modes = {state.network.links[k].element.mode for state in states}
    airy = [state for state in states if state.network.links[k].element.mode != SIPHON] or states
    number = max(float(element.air_number(max(float(state.flows[k]), 0.0))) for state in airy)
    swept = number > float(element.sweeps_at)
    check = held(CheckKind.NOISE, f"{name} runs quietly", number, quiet, origin, subject=name,
                 otherwise=FAILS if swept else TIGHT)
    if modes - {WITH_AIR, SIPHON}:
        return check.downgraded("it flushes: fills, gulps air and empties in turn", FAILS)
    if modes == {SIPHON}:
        return check.with_verdict(HOLDS, "full of water, without air")
    if check.verdict == HOLDS:
        return check
    return check.downgraded("it sweeps air down and roars" if swept else "it carries air down and gurgles", check.verdict)


def steadiness(results: Results, k: int) -> Check:
    """Hold the margin that keeps a drain in its way of running against 15 %."""
    near, origin = results.limit(limits.NEAR_CHANGE)
    name = results.network.links[k].name
    margin, words = float("inf"), ""
    for state in results.answer.states:
        for guard in state.network.links[k].element.guards(float(state.flows[k]), *map(float, state.ends(k))):
            if guard.margin < margin:
                margin, words = float(guard.margin), guard.words
    check = held(CheckKind.WAY, f"{name} stays in its way of running", margin, near, origin,
                 otherwise=TIGHT if margin >= 0.0 else FAILS, subject=name)
    if check.verdict == HOLDS:
        return check
    return check.downgraded(f"close to where {words}" if margin >= 0.0 else words, check.verdict)
