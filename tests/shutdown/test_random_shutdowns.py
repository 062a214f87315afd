"""The power cut on builds drawn at random: nothing is lost, nothing moves any more, and no order of description matters."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from builds import height, item
from many_builds import driven, from_tank, into_tank, run, several, standing, sump, tank

from hydro.description.build import Box
from hydro.network.assembly import make_network
from hydro.network.model import CHAMBER, JUNCTION, Link, Network
from hydro.network.paths import has_check_valve, is_pipe
from hydro.shutdown import open_holes, shut_down
from hydro.shutdown.passages import passages_of
from hydro.shutdown.power_cut import forks
from hydro.shutdown.rest import levels_at_rest

SEEDS = range(60)
CASES = ((True, True), (True, False), (False, True), (False, False))


def drawn(seed):
    """Return a network of 2 to 6 tanks, 1 to 3 pumps and 1 to 3 sumps, and a state of it with levels anywhere."""
    chance = Random(seed)
    tanks = [tank(f"tank {n}", (chance.uniform(0.5, 2.0), chance.uniform(0.4, 0.9), 0.6), chance.uniform(0.7, 2.0))
             for n in range(chance.randint(2, 6))]
    tanks = [replace(one, lowest_opening=height(one.bottom.offset.middle + 0.47, "")) if chance.random() < 0.2 else one
             for one in tanks]
    bottoms = {one.name: one.bottom.offset.middle for one in tanks}
    sumps = [sump(f"sump {n}", f"{n} ", chance.uniform(-0.05, 0.05), wall=chance.choice((None, 0.25, 0.29)))
             for n in range(chance.randint(1, 3))]
    chambers = [one.name for each in sumps for one in each.chambers]
    pumps = [driven(f"pump {n}", chance.choice(chambers), f"header {chance.randint(0, n)}", valve=chance.random() < 0.5,
                    intake=0.08) for n in range(chance.randint(1, 3))]
    headers = sorted({pump.header for pump in pumps})
    drains = [drain_of(chance, n, one, bottoms, chambers) for n, one in enumerate(bottoms) if chance.random() < 0.7]
    drains += [from_tank(f"{one} second", one, bottoms[one] + 0.52, chance.choice(chambers), 0.3)
               for one in bottoms if chance.random() < 0.3]
    returns = [into_tank(f"return {n} {k}", one, bottoms[one] + chance.uniform(0.30, 0.58), chance.choice(headers),
                         valve_last=chance.random() < 0.2, **hole_of(chance, bottoms[one]))
               for n, one in enumerate(bottoms) for k in range(chance.randint(0, 2))]
    returns += [into_tank(f"spare {name}", next(iter(bottoms)), bottoms["tank 0"] + 0.57, name) for name in headers]
    boxes, pipes = [], []
    if chance.random() < 0.5:
        boxes = [Box(tank("box", (0.3, 0.2, 0.5), bottoms["tank 0"] + 0.05), "tank 0",
                     item("edge", "edge", length=0.4, at=height(bottoms["tank 0"] + 0.5, "")))]
        drains.append(from_tank("pipe", "box", bottoms["tank 0"] + chance.uniform(0.3, 0.53), chance.choice(chambers), 0.3))
    if chance.random() < 0.6:
        level = max(bottoms["tank 0"], bottoms["tank 1"]) + chance.uniform(0.05, 0.4)
        pipes.append(run("tube", "tank 0", "tank 1", start_at=level, finish_at=level - chance.uniform(0.0, 0.05)))
    if len(sumps) > 1 and chance.random() < 0.5:
        pipes.append(run("equaliser", sumps[0].chambers[-1].name, sumps[1].chambers[-1].name, start_at=0.1, finish_at=0.12))
    if len(headers) > 1:
        pipes += [run("main", headers[0], headers[1])]
    network = make_network(several(tanks, drains, returns, pumps, sumps, boxes, pipes))
    levels = {water.name: float(water.body.bottom) + chance.uniform(0.15, 0.40 if water.kind == CHAMBER else 0.59)
              for water in network.waters if water.body is not None}
    flows = {link.name: chance.uniform(0.0, 5e-4) for link in network.links}
    return standing(network, levels, flows)


def drain_of(chance, n, name, bottoms, chambers):
    """Return a drain of a tank into a chamber, or into a tank that stands lower."""
    lower = [other for other, bottom in bottoms.items() if bottom + 0.6 < bottoms[name] + 0.4]
    if lower and chance.random() < 0.4:
        into = chance.choice(lower)
        return from_tank(f"drain {n}", name, bottoms[name] + chance.uniform(0.45, 0.52), into, bottoms[into] + 0.3)
    return from_tank(f"drain {n}", name, bottoms[name] + chance.uniform(0.45, 0.52), chance.choice(chambers), 0.3)


def hole_of(chance, bottom):
    """Return a siphon break for a return, or none."""
    if chance.random() < 0.6:
        return {}
    return {"hole_at": bottom + chance.uniform(0.4, 0.55), "hole": 0.006, "mark": chance.random() < 0.5}


def volume(network, levels):
    """Return the water in all vessels, m3."""
    return sum(float(water.body.stored(level)[0]) for water, level in zip(network.waters, levels, strict=True)
               if water.body is not None)


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_is_lost(seed):
    """All the water before the cut is in vessels, in kept lines and on the floor after it, to a thousandth of a millilitre."""
    state = drawn(seed)
    network = state.network
    held = sum(float(network.links[k].element.runs_out(float(state.flows[k]), float(state.ends(k)[1]))) for k in network.drains)
    before = volume(network, state.levels) + float(network.full) + held
    for case in CASES:
        passages = passages_of(network, *case)
        for wanted in forks(network, passages):
            rest = levels_at_rest(state, passages, wanted)
            kept = float(network.full) - rest.lines
            assert volume(network, rest.levels) + rest.floor + kept == pytest.approx(before, abs=1e-9)
            assert kept >= -1e-12
            assert rest.drains == pytest.approx(held, abs=1e-12)
        end = shut_down(state, *case)
        if not end.contested:
            after = sum(float(network.waters[k].body.stored(level)[0])
                        for k, level in zip(network.chambers, end.chambers, strict=True))
            gained = after - sum(float(network.waters[k].body.stored(state.levels[k])[0]) for k in network.chambers)
            assert gained + end.floor == pytest.approx(end.comes_down, abs=1e-9)


def beyond(network, water, holds):
    """Return every water that pipes lead to from a water, with its own end and the far end as (link, at its upper end).

    By walking over headers, link by link; a holding check valve lets water go with the flow only.
    """
    found = []
    for k, link in enumerate(network.links):
        if not is_pipe(network, k):
            continue
        for here, there, forward in ((link.up, link.down, True), (link.down, link.up, False)):
            if here != water or (holds and not forward and has_check_valve(link.element)):
                continue
            waiting, seen = [(there, k, not forward)], {there}
            while waiting:
                node, by, at_up = waiting.pop()
                if network.waters[node].kind != JUNCTION:
                    found.append((k, forward, node, by, at_up))
                    continue
                for n, other in enumerate(network.links):
                    for begin, end, ahead in ((other.up, other.down, True), (other.down, other.up, False)):
                        if is_pipe(network, n) and begin == node and (end not in seen or network.waters[end].kind != JUNCTION) \
                                and (ahead or not (holds and has_check_valve(other.element))) and n != by:
                            seen.add(end)
                            waiting.append((end, n, not ahead))
    return found


def stop_of(link: Link, at_up: bool, breaks: bool) -> float:
    """Return the level at which the end of a pipe draws air, m."""
    element = link.element
    if hasattr(element, "start"):
        return float(element.start if at_up else element.finish)
    if at_up:
        return float(getattr(element, "intake", -9.0))
    return float(element.end.stop(breaks))


def low_of(link: Link, at_up: bool) -> float:
    """Return the height from which water comes out of the end of a pipe, m."""
    element = link.element
    if hasattr(element, "start"):
        return float(element.start if at_up else element.finish)
    return -9.0 if at_up else float(element.end.lowest)


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_moves_any_more(seed):
    """No tank or box stands over a lip, an edge, its rim, or a mouth with a way to a lower water: looked up link by link."""
    state = drawn(seed)
    network = state.network
    for breaks, holds in CASES:
        passages = passages_of(network, breaks, holds)
        rests = [levels_at_rest(state, passages, wanted) for wanted in forks(network, passages)]
        for water in network.uppers:
            ways = beyond(network, water, holds)
            for rest in rests:
                over(network, water, rest.levels, breaks, holds)
                sides = [max(stop_of(network.links[k], forward, breaks), low_of(network.links[by], at_up), rest.levels[there])
                         for k, forward, there, by, at_up in ways if there != water]
                assert rest.levels[water] <= min(sides, default=9.0) + 1e-6


def over(network: Network, water: int, levels: tuple[float, ...], breaks: bool, holds: bool) -> None:
    """Check that a water stands over no lip, edge or hole that is open, and not over its rim."""
    at = levels[water]
    assert at <= float(network.waters[water].opening) + 1e-9
    for k in (*network.drains, *network.edges):
        link = network.links[k]
        crest = float(link.element.stops_at(breaks) if k in network.drains else link.element.crest)
        if link.up == water:
            assert at <= max(crest, levels[link.down]) + 1e-6
        elif link.down == water and k in network.edges:
            assert at <= max(crest, levels[link.up]) + 1e-6
    for k in open_holes(network, holds):
        hole = network.links[k].element
        if network.links[k].down == water:
            assert at <= max(float(hole.height) - float(hole.hole) / 2.0, *(levels[one] for one in network.chambers)) + 1e-6


def shuffled(network: Network, chance: Random) -> Network:
    """Return the network with its waters and links in another order."""
    waters, links = list(range(len(network.waters))), list(range(len(network.links)))
    chance.shuffle(waters)
    chance.shuffle(links)
    at = {old: new for new, old in enumerate(waters)}
    place = {old: new for new, old in enumerate(links)}
    moved = [replace(network.links[k], up=at[network.links[k].up], down=at[network.links[k].down]) for k in links]
    groups = {name: tuple(chance.sample([place[k] for k in getattr(network, name)], len(getattr(network, name))))
              for name in ("drains", "barriers", "edges", "returns", "runs", "pumps")}
    return replace(network, waters=tuple(network.waters[k] for k in waters), links=tuple(moved), **groups,
                   sumps=tuple(tuple(at[k] for k in one) for one in network.sumps), pump_chamber=at[network.pump_chamber])


@pytest.mark.parametrize("seed", SEEDS)
def test_no_order_matters(seed):
    """With waters and links in any order every level, every spare room and every word is the same."""
    state = drawn(seed)
    network = state.network
    levels = {water.name: level for water, level in zip(network.waters, state.levels, strict=True)}
    flows = {link.name: flow for link, flow in zip(network.links, state.flows, strict=True)}
    other = standing(shuffled(network, Random(-seed - 1)), levels, flows)
    for case in CASES:
        one, two = shut_down(state, *case), shut_down(other, *case)
        named = [{network_.waters[k].name: level for k, level in end.levels.items()}
                 for network_, end in ((network, one), (other.network, two))]
        assert named[0] == pytest.approx(named[1], abs=1e-7)
        assert one.chambers == pytest.approx(two.chambers, abs=1e-7)
        assert one.spares == pytest.approx(two.spares, abs=1e-9)
        assert one.floor == pytest.approx(two.floor, abs=1e-9)
        assert one.items == pytest.approx(two.items, abs=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_works_never_makes_it_worse(seed):
    """Counting on siphon breaks never brings more water out of a build's tanks, all of them together."""
    state = drawn(seed)
    for holds in (True, False):
        works, plugged = shut_down(state, True, holds), shut_down(state, False, holds)
        if not plugged.contested:
            fallen = [sum(v for name, v in end.items.items() if name not in ("drains", "returns")) for end in (works, plugged)]
            assert fallen[0] <= fallen[1] + 1e-9
