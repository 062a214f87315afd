"""What `run` says holds, followed through time as `happens` does: water over an opening, or air in a pump, contradicts it.

    PYTHONPATH=. python tests/support/contradictions.py --builds 200 --sound 100 --networks 100

prints the verdicts and what contradicts them.

Both start from the same running states, in the middle of every band. Each 'holds' claims something of a history:

    power cut, cut over rims          the cut: not over a sump's opening, no higher at its end than the limit; not over a tank's
    room in sump and tank, capacity   the loop left alone: not over an opening
    blocked, emergency alone          those drains block: no tank or box goes over
    all blocked                       every drain of a tank blocks: that tank does not go over
    restart, restart of the pump      the power comes back: no tank goes over, no drain stays locked, the pump lifts again
    intake, steady                    the loop left alone: no pump draws air, no drain turns again and again

The other kinds (lift margin, pump curve, suction, a dry emergency, holes) are about a figure, not about what comes of it.
"""

from __future__ import annotations

import argparse
import collections
import random
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from followed import FINE, Histories, cannot_be, draws_air, lifts_not, over, rests_too_high, stands_over, stays_out, turns
from opened_to_nothing import opened_to_nothing
from scenario_proofs import COARSE

from hydro.checks import HOLDS, Check, CheckKind, checks_of
from hydro.checks.assessment import assess
from hydro.checks.check import COMFORT, FLOOR
from hydro.checks.overflow import remote
from hydro.description.build import Item
from hydro.errors import SolveError
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.all_drains_blocked import drains_of, with_boxes
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import COMBINATIONS, DRY, Results, results_of

Claim = Callable[[Histories], str]
"""What contradicts a check in the histories of one way to run, in words; '' where nothing does."""


def claims(results: Results, checks: list[Check]) -> Iterator[tuple[str, Claim]]:
    """Yield the key of each check of floor and pump that holds, with what contradicts it."""
    network, wanted = results.network, results.wanted_cut()
    uppers, kinds = network.uppers, CheckKind
    named = {network.links[k].name: k for k in range(len(network.links))}
    sumps = {sump[0]: sump for sump in network.sumps}
    carries = all(check.verdict == HOLDS for check in checks if check.kind in (kinds.TANK_ROOM, kinds.CAPACITY))
    starts = carries and all(check.verdict == HOLDS for check in checks if check.kind is kinds.RESTART)
    for check in checks:
        if check.verdict != HOLDS:
            continue
        water: int = -1 if check.water is None else check.water
        link = named.get(check.subject, network.pumps[0])
        if check.kind is kinds.POWER_CUT:
            yield check.key, lambda seen, sump=sumps[water], check=check: "" if stands_over(seen.state, sump) else (
                over(seen.cut(*wanted), sump) or rests_too_high(seen.cut(*wanted), check, sump))
        elif check.kind is kinds.CUT_OVER_RIMS:
            yield check.key, lambda seen: next(filter(None, (over(seen.cut(*case), uppers) for case in COMBINATIONS)), "")
        elif check.kind is kinds.SUMP_ROOM:
            yield check.key, lambda seen, sump=sumps[water]: over(seen.alone(), sump)
        elif check.kind is kinds.TANK_ROOM:
            yield check.key, lambda seen, water=water: over(seen.alone(), (water,))
        elif check.kind is kinds.CAPACITY:
            yield check.key, lambda seen: over(seen.alone(), uppers)
        elif check.kind is kinds.BLOCKED:
            yield check.key, lambda seen, out=(link,): over(seen.blocked(out), uppers)
        elif check.kind is kinds.EMERGENCY_ALONE:
            out = next(one.out for one in results.emergencies if one.water == water)
            yield check.key, lambda seen, out=out: over(seen.blocked(out), uppers)
        elif check.kind is kinds.ALL_BLOCKED:
            tank = network.water(check.worst or check.subject) if check.subject else network.tanks[0]
            if not remote(results, tank):
                yield check.key, lambda seen, tank=tank: over(seen.blocked(drains_of(network, tank)), with_boxes(network, tank))
        elif check.kind is kinds.RESTART:
            own = (network.links[link].up,) if starts else ()
            yield check.key, lambda seen, k=link, own=own: over(seen.back(*wanted), own) or stays_out(seen.back(*wanted), k)
        elif check.kind is kinds.RESTART_PUMP:
            yield check.key, lambda seen, k=link: lifts_not(seen.back(*wanted), k) if float(seen.state.flows[k]) > DRY else ""
        elif check.kind is kinds.INTAKE:
            yield check.key, lambda seen, pump=check.subject: (
                "" if over(seen.alone(), range(len(network.waters))) else draws_air(seen.alone(), pump))
        elif check.kind is kinds.STEADY:
            yield check.key, lambda seen: turns(seen.alone())


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of one build: checks of floor and pump, claims followed, what contradicts them, what cannot be."""

    kind: str
    checks: tuple[Check, ...]
    followed: int
    contradictions: tuple[str, ...]
    impossible: tuple[str, ...]
    unsolved: tuple[str, ...]


def told(build, bands: bool = False, tolerance: float = COARSE) -> Told:
    """Return what contradicts the checks of a build that hold; what a history of steps up to `tolerance` (m) does is asked again.

    Those that hold in the middle are followed: all that hold over the bands are among them. With `bands` the verdicts told are
    those over the bands, as `run` prints them.
    """
    found = assess(build) if bands else None
    results = results_of(place(build)) if found is None else found.results
    middle = checks_of(results)
    checks = tuple(check for check in (middle if found is None else found.checks) if check.kind.stake != COMFORT)
    against, wrong, unsolved = list[str](), list[str](), list[str]()
    if results.answer.state is None or not results.stopped:
        return Told(results.answer.kind, checks, 0, (), (), ())
    followed = [*claims(results, middle), *floor_holds(results, middle)]
    said = {check.key: check.verdict for check in checks}
    for seen, fine in zip(Histories.of(results.answer, tolerance), Histories.of(results.answer, FINE), strict=True):
        everything(seen, results, unsolved)
        for name, claim in followed:
            try:
                words = claim(seen) and claim(fine)
            except SolveError as error:
                unsolved.append(f"{name}: {error}")
                continue
            if words:
                against.append(f"{name} holds{f', over the bands {said[name]}' if bands and name in said else ''}, and {words}")
        wrong += [f"{name}: {fault}" for name, history in seen.known.items() for fault in cannot_be(history)]
    return Told(results.answer.kind, checks, len(followed), tuple(against), tuple(wrong), tuple(unsolved))


def floor_holds(results: Results, checks: list[Check]) -> Iterator[tuple[str, Claim]]:
    """Yield that nothing goes over anything anywhere, where every check of the floor holds but that for a dry emergency.

    All drains of several tanks at once are more than any check asks, and so are those with a dry one that carries all.
    """
    network, wanted = results.network, results.wanted_cut()
    floor = [check for check in checks if check.kind.stake == FLOOR and check.kind is not CheckKind.DRY_EMERGENCY]
    if any(check.verdict != HOLDS for check in floor):
        return
    asked = [(k,) for k in network.drains]
    if len(network.tanks) == 1 and not remote(results, network.tanks[0]):
        asked.append(network.drains)

    def claim(seen: Histories) -> str:
        histories = [seen.alone(), seen.cut(*wanted), seen.back(*wanted), *map(seen.blocked, asked)]
        return next(filter(None, (over(history, range(len(network.waters))) for history in histories)), "")

    yield "every check of the floor", claim


def everything(seen: Histories, results: Results, unsolved: list[str]) -> None:
    """Work out cut, return, each drain blocked and all of them, whether a check holds there or not."""
    drains = results.network.drains
    asked = [seen.alone, lambda: seen.back(*results.wanted_cut()), *(lambda k=k: seen.blocked((k,)) for k in drains),
             lambda: seen.blocked(drains)]
    for ask in asked:
        try:
            ask()
        except SolveError as error:
            unsolved.append(str(error))


SEVERAL, COARSER = 5, 2e-3
"""Of networks one in so many is asked with a millimetre left too; error of a level in one step there, m: they take long."""


def throttled(build, rng):
    """Return a build with a gate valve in every return, open by a tenth to a half: open, one would starve the others."""
    def valve(name):
        return Item("gate valve", {"open": Uncertain.exact(rng.uniform(0.1, 0.5), f"{name}: gate valve: open")},
                    label=f"{name}: gate valve")
    return replace(build, returns=tuple(replace(one, line=(*one.line, valve(one.name))) for one in build.returns))


def variants(case) -> Iterator[tuple[str, object]]:
    """Yield a build as drawn, some of several tanks with their returns throttled, and with the margin of one check taken away."""
    yield "as drawn", case.build
    if len(case.build.tanks) > 1 and case.number % SEVERAL == 1:
        yield "returns throttled", throttled(case.build, random.Random(str(case)))
    if len(case.build.tanks) > 1 and case.number % SEVERAL:
        return
    opened = opened_to_nothing(case.build, random.Random(str(case)))
    if opened is not None:
        yield f"a millimetre left of '{opened[1].key}'", opened[0]


def followed(drawn, bands: bool = False, aloud: bool = False) -> tuple[collections.Counter, list[str]]:
    """Return the tally over some cases, and what contradicts or cannot be, each with the build it is of."""
    tally, faults = collections.Counter(), []
    for case in drawn:
        for how, build in variants(case):
            found = told(build, bands and build is case.build, COARSE if len(build.tanks) == 1 else COARSER)
            tally[how.split(" of ")[0], found.kind] += 1
            if build is case.build:
                tally.update((check.kind.stake, check.verdict) for check in found.checks)
                tally.update((check.kind.stake, check.kind.word, check.verdict) for check in found.checks)
            tally["followed"] += found.followed
            tally["not solved through time"] += len(found.unsolved)
            faults += [f"{case}, {how}: {fault}" for fault in (*found.contradictions, *found.impossible)]
            if aloud and (found.contradictions or found.impossible):
                print(case, how, found.contradictions, found.impossible, file=sys.stderr, flush=True)
    return tally, faults


def main(arguments=None):
    """Follow random builds and networks through time, print the verdicts and what contradicts; returns 1 if anything does."""
    import random_builds
    import random_networks
    import sound_builds

    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--builds", type=int, default=200, help="builds of any kind")
    parser.add_argument("--sound", type=int, default=100, help="builds drawn with room to spare, a dry drain and no siphons")
    parser.add_argument("--networks", type=int, default=100, help="installations of several tanks, sumps and pumps")
    parser.add_argument("--seed", default="contra")
    parser.add_argument("--first", type=int, default=0, help="number of the first build and of the first network")
    parser.add_argument("--bands", action="store_true", help="verdicts over the bands of all inputs, as `run` gives them")
    chosen = parser.parse_args(arguments)
    broken = 0
    for name, made, count in (("builds", random_builds, chosen.builds), ("sound builds", sound_builds, chosen.sound),
                              ("networks", random_networks, chosen.networks)):
        if count == 0:
            continue
        tally, faults = followed(made.cases(chosen.seed, count, chosen.first), chosen.bands, True)
        print(f"{count} {name}")
        print("\n".join(f"{tally[key]:6d}  {key if isinstance(key, str) else ', '.join(key)}"
                        for key in sorted(tally, key=lambda key: ((), key) if isinstance(key, str) else (key, ""))))
        print("\n".join(faults) or "contradictions: none; impossible states: none", flush=True)
        broken += len(faults)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
