"""The sparse back end against the dense one, and laws asked in groups against laws asked one by one."""

import math
import random
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

import numpy as np
import pytest

from hydro.elements.drain import DrainLine
from hydro.elements.edge import Plate
from hydro.elements.fittings import CheckValve, Closed, LocalLoss
from hydro.elements.holding import Filling
from hydro.elements.line import Line, LineLink
from hydro.elements.pipe import Pipe
from hydro.elements.pump import PumpLine, from_box
from hydro.elements.rim import Rim
from hydro.elements.waters import Body
from hydro.network.model import CHAMBER, JUNCTION, TANK, Closing, Link, Network, Water
from hydro.solve import System, choosing, newton, relaxing, solve, sparse
from hydro.solve.grouped import BatchError, DifferError, group, joined_values
from hydro.solve.pattern import factorised
from hydro.solve.storage import Storage

SAME = 1e-9
ONE = 7e-4
"""Flow that is meant for a tank, m3/s."""


def run(bore, length, k, *others):
    """Return a line of one pipe with fittings."""
    return Line.of([LocalLoss.of(k, bore), Pipe.of(bore, length, 1.5e-6, 0.95e-6), *others])


def row_of_tanks(count, seed, sumps=1, chords=0, shut=0.2, blocked=0.2):
    """Return tanks in a row on one header, each with two overflows into a sump of its own length of the row, and a start.

    Chords join junctions of the header further apart. Some branches are shut, some of the lower overflows blocked: then the
    tank runs over the higher one. The sumps share one pump chamber.
    """
    rng = random.Random(f"{seed} {count}")
    pump, splash = 2 * count, 2 * count + 1
    crests = [1.5 + rng.uniform(0.0, 0.2) for _ in range(count)]
    waters = [Water(f"tank {k}", TANK, Body.box("tank", crests[k] - 0.5, rng.uniform(0.3, 1.2), 0.7)) for k in range(count)]
    waters += [Water(f"tee {k}", JUNCTION) for k in range(count)]
    waters += [Water(name, CHAMBER, Body.box(name, 0.0, 0.1 * count, 0.8)) for name in ("pump", *["splash"] * sumps)]
    widest = 0.04 * count ** 0.5
    lift = PumpLine("pump", from_box(2.2 * ONE * count, 5.0, 2.0), run(widest, 3.0, 2.0), 0.05)
    links = [Link("pump", lift, pump, count + count // 2)]
    links += [Link("plate", Plate.of("plate", 0.3, 0.2 * count, 0.62), splash + k, pump) for k in range(sumps)]
    ends = [(k, k + 1) for k in range(count - 1)] + [tuple(sorted(rng.sample(range(count), 2))) for _ in range(chords)]
    links += [Link("header", LineLink(f"header {a} {b}", run(widest, rng.uniform(1.0, 2.0), 0.1)), count + a, count + b)
              for a, b in ends]
    for k in range(count):
        valve = [CheckValve.of(2.0, 0.025)] if rng.random() < 0.5 else []
        branch = LineLink(f"branch {k}", run(0.025, rng.uniform(1.0, 2.0), rng.uniform(3.0, 6.0), *valve), crests[k] + 0.05,
                          shut=1.0 if rng.random() < shut else 0.0)
        links.append(Link("branch", branch, count + k, k))
        for above, stopped in ((0.0, rng.random() < blocked), (0.03, False)):
            rim = Rim.of(crests[k] + above, 0.05, 0.05, rng.uniform(0.45, 0.6), 0.606)
            drain = DrainLine(f"drain {k}", rim, run(0.044, rng.uniform(1.0, 2.0), 2.0), 0.35, blocked=1.0 if stopped else 0.0)
            links.append(Link("drain", drain, k, splash + k * sumps // count))
    network = Network(tuple(waters), tuple(links))
    levels = [*(crest + 0.015 for crest in crests), *[2.2] * count, 0.3, *[0.33] * sumps]
    flows = [count * ONE if link.name in ("pump", "plate") else ONE for link in links]
    total = sum(0.5 * water.body.rows[0][2] for water in waters[:count]) + 0.07 * count
    return network, Closing(pump, total), levels, flows


def apart(one, other):
    """Return the largest differences of heads and of flows."""
    return (max(abs(a - b) for a, b in zip(one.heads, other.heads, strict=True)),
            max(abs(a - b) for a, b in zip(one.flows, other.flows, strict=True)))


def timestep(network, heads, seed="time"):
    """Return the system of half a second from volumes a little lower, a fifth of each drain's flow kept back in its line."""
    rng = random.Random(seed)
    drains = {k: partial(Filling.of(link.element).passing, rng.uniform(1e-4, 4e-4), dt=0.5)
              for k, link in enumerate(network.links) if link.name == "drain"}
    stored = tuple(None if water.body is None else water.body.stored for water in network.waters)
    old = tuple(0.0 if law is None else law(level)[0] - rng.uniform(0.0, 1e-3) for law, level in zip(stored, heads, strict=True))
    pump = next(k for k, water in enumerate(network.waters) if water.name == "pump")
    return replace(network.system(None), storage=Storage(0.5, old, stored, {pump: 1e-4}, drains))


@pytest.mark.parametrize("closed", ["by its water", "by a level", "through time"])
@pytest.mark.parametrize("rest", [None, 0.03])
def test_one_step_is_the_dense_step(closed, rest):
    """From one point both back ends see the same misfits and take the same step, however the balance is closed."""
    network, closing, heads, flows = row_of_tanks(12, 9, sumps=2, chords=2)
    rng = random.Random("point")
    heads, flows = [h + rng.uniform(0.0, 0.02) for h in heads], [q * rng.uniform(0.7, 1.3) for q in flows]
    system = timestep(network, heads) if closed == "through time" else network.system(
        replace(closing, level=0.28) if closed == "by a level" else closing)
    order, ready = system.order(), sparse.prepare(system)
    h, q = np.array(heads), np.array(flows)[ready.order]
    for put_back in (False, True):
        laws, rows, merit = system.evaluate(heads, flows, put_back)
        point = ready.evaluate(h, q, put_back)
        assert point.rows == pytest.approx(np.array(rows), rel=1e-9, abs=1e-15)
        assert point.merit == pytest.approx(merit, rel=1e-9)
        assert ready.listed(q) == pytest.approx(flows, rel=1e-12)
        dh, dq = newton.newton_step(system, order, newton.matrix_columns(system, order), laws, rows, heads, flows, rest)
        large_dh, large_dq = ready.step(point, h, q, rest or 0.0)
        assert large_dh == pytest.approx(np.array(dh), rel=1e-7, abs=1e-12)
        assert ready.listed(large_dq) == pytest.approx(dq, rel=1e-7, abs=1e-9)


@pytest.mark.parametrize("by_level", [False, True])
@pytest.mark.parametrize("tanks", [4, 7, 12, 17, 23, 30, 38])
def test_sparse_is_dense(tanks, by_level):
    """On rows of 4 to 38 tanks (up to 80 waters), open and shut, both back ends give the same heads and flows."""
    for seed, (sumps, chords) in enumerate(((1, 0), (3, 4))):
        network, closing, heads, flows = row_of_tanks(tanks, seed, sumps, chords)
        closing = replace(closing, level=0.28) if by_level else closing
        system = network.system(closing)
        dense, large = newton.solve_dense(system, heads, flows), sparse.solve_sparse(sparse.prepare(system), heads, flows)
        assert dense.solved
        assert large.solved
        head, flow = apart(dense, large)
        assert head < SAME
        assert flow < SAME * ONE


def test_a_level_from_outside():
    """With the pump chamber held from outside no row closes, and the back ends still agree."""
    network, _, heads, flows = row_of_tanks(25, 5)
    waters = [replace(water, level=0.25) if water.name == "pump" else water for water in network.waters]
    heads[50] = 0.25
    system = replace(network, waters=tuple(waters)).system(None)
    assert system.closing is None
    dense, large = newton.solve_dense(system, heads, flows), solve(system, heads, flows)
    assert dense.solved
    assert large.solved
    assert max(apart(dense, large)) < SAME


def test_a_chain_of_straight_resistances():
    """Along sixty equal resistances between two given heads the head falls evenly and the flow is the head over their sum."""
    def law(q, up, down):
        return up - down - 1e3 * q, -1e3, 1.0, -1.0
    system = System(((law, k, k + 1) for k in range(60)), (None,) * 61, (None,) * 60, {0: 6.0, 60: 0.0}, None)
    system = replace(system, links=tuple(system.links))
    found = solve(system, [6.0, *[1.0] * 59, 0.0], [0.0] * 60)
    assert found.solved
    assert found.flows == pytest.approx([1e-4] * 60, rel=1e-12)
    assert found.heads == pytest.approx([6.0 - 0.1 * k for k in range(61)], abs=1e-12)


def test_a_step_through_time():
    """One implicit step, with what vessels store and what drains keep back, comes out the same from both back ends."""
    network, _, heads, flows = row_of_tanks(22, 8)
    system = timestep(network, heads)
    dense, large = newton.solve_dense(system, heads, flows), solve(system, heads, flows)
    assert dense.solved
    assert large.solved
    assert dense.steps > 1
    assert max(apart(dense, large)) < SAME


def test_letting_the_waters_settle():
    """Relaxing from rest leads both back ends the same way, to a start from which either solves."""
    network, closing, heads, _ = row_of_tanks(21, 2, shut=0.5)
    system, still = network.system(closing), [-1e-13] * len(network.links)
    heads[21:42] = [6.0] * 21
    for rounds in (1, 4, 80):
        dense, large = (relaxing.relax_dense(system, heads, still, rounds),
                        sparse.relax_sparse(sparse.prepare(system), heads, still, rounds))
        assert large[0] == pytest.approx(dense[0], abs=1e-6)
    found = solve(system, *large, put_back=False)
    assert found.solved
    assert max(apart(found, newton.solve_dense(system, *dense, put_back=False))) < SAME


@pytest.mark.parametrize("tees", [0.5, 1.2, 1.4, 6.0])
def test_a_start_far_away_takes_the_same_steps(tees):
    """From heads in the header that press water the wrong way both back ends take the same steps, flows put back or settled."""
    network, closing, heads, flows = row_of_tanks(24, 7)
    heads[24:48] = [tees] * 24
    system = network.system(closing)
    dense, large = newton.solve_dense(system, heads, flows), solve(system, heads, flows)
    assert (dense.solved, dense.steps) == (large.solved, large.steps)


def test_a_start_that_leads_nowhere_leads_both_there():
    """Where halving does not help, flows are settled at the heads: both back ends go on with the same misfit."""
    network, closing, heads, flows = row_of_tanks(24, 1)
    heads[24:48] = [-8.0] * 24
    system = network.system(closing)
    dense, large = newton.solve_dense(system, heads, flows, 8), solve(system, heads, flows, 8)
    assert not dense.solved
    assert not large.solved
    assert large.merit == pytest.approx(dense.merit, rel=1e-6)


def test_a_flow_on_its_way_across_rest_is_asked_once_more():
    """However small the last step, it is none where a flow turns: the law on the other side has to be asked."""
    def law(q, up, down):
        return up - down - q, -1.0, 1.0, -1.0
    system = System(tuple((law, k, k + 1) for k in range(60)), (None,) * 61, (None,) * 60, {0: 6e-11, 60: 0.0}, None)
    heads = [1e-12 * (60 - k) for k in range(61)]
    assert solve(system, heads, [1e-12] * 60).steps == 0
    assert solve(system, heads, [-1e-12] * 60).steps == 1


def test_the_answer_balances():
    """In 150 tanks each water gets what leaves it, and the water in all of them with what the drains hold is the total."""
    network, closing, heads, flows = row_of_tanks(150, 3, sumps=4, chords=6)
    system = network.system(closing)
    found = solve(system, heads, flows)
    assert found.solved
    sums = [0.0] * len(heads)
    for (_, i, j), q in zip(system.links, found.flows, strict=True):
        sums[i] -= q
        sums[j] += q
    assert max(map(abs, sums)) < 1e-12
    assert system.volume(found.heads, found.flows) == pytest.approx(closing.total, abs=1e-9)
    assert max(abs(law(q, found.heads[i], found.heads[j])[0])
               for (law, i, j), q in zip(system.links, found.flows, strict=True)) < 1e-8


def test_floats_come_back():
    """The answer of a large system holds plain floats and a plain bool."""
    network, closing, heads, flows = row_of_tanks(25, 1)
    found = solve(network.system(closing), heads, flows)
    assert {type(x) for x in (*found.heads, *found.flows, found.merit)} == {float}
    assert type(found.solved) is bool


def test_what_has_not_converged_says_so():
    """Given too few steps, or a start that is no number, a large system is marked as not solved and nothing is raised."""
    network, closing, heads, flows = row_of_tanks(25, 1)
    system = network.system(closing)
    assert not solve(system, heads, flows, most=2).solved
    assert solve(system, heads, flows, most=2).steps == 2
    assert not solve(system, [math.nan, *heads[1:]], flows).solved


@pytest.mark.parametrize(("more", "called"), [(0, "newton"), (1, "sparse")])
def test_the_number_of_unknown_heads_chooses(monkeypatch, more, called):
    """Up to the threshold a system is solved densely, with one head more sparsely."""
    def law(q, up, down):
        return up - down - 1e3 * q, -1e3, 1.0, -1.0
    n = choosing.MANY + more
    system = System(tuple((law, k, k + 1) for k in range(n)), (None,) * (n + 1), (None,) * n, {n: 0.0}, None)
    calls = []
    for name, module, function in (("newton", newton, "solve_dense"), ("sparse", sparse, "solve_sparse")):
        real = getattr(module, function)
        monkeypatch.setattr(module, function, lambda *given, name=name, real=real: calls.append(name) or real(*given))
    assert solve(system, [0.5] * n + [0.0], [1e-4] * n).solved
    assert calls == [called]


def test_designs_go_densely():
    """A large system with an array of designs in one of its elements is solved design by design, as each is alone."""
    network, closing, heads, flows = row_of_tanks(21, 4)
    k = next(k for k, link in enumerate(network.links) if link.name == "branch" and link.element.shut == 0.0)
    valves = np.array([0.0, 1e-7, 1.0])
    batch = solve(network.changed({k: {"shut": valves}}).system(closing), heads, flows)
    assert batch.solved.all()
    for n, valve in enumerate(valves.tolist()):
        alone = solve(network.changed({k: {"shut": valve}}).system(closing), heads, flows)
        assert [float(np.broadcast_to(h, 3)[n]) for h in batch.heads] == pytest.approx(alone.heads, abs=SAME)


def test_arrays_in_total_or_start_go_densely():
    """Arrays in the total or in the start are never prepared for the sparse back end."""
    network, closing, heads, flows = row_of_tanks(21, 4)
    system = network.system(replace(closing, total=np.array([2.9, 3.0])))
    assert choosing.prepared(system, heads, flows) is None
    system, many = network.system(closing), np.zeros(2)
    assert choosing.prepared(system, [many + h for h in heads], flows) is None
    assert choosing.prepared(system, heads, [many + q for q in flows]) is None
    assert choosing.prepared(system, heads, flows) is not None


def test_each_system_gets_its_own_answer():
    """Systems that differ in one valve, the total, the level or the closing node, solved in turn, keep to their own."""
    network, closing, heads, flows = row_of_tanks(21, 1)
    k = next(k for k, link in enumerate(network.links) if link.name == "branch" and link.element.shut == 0.0)
    less, splash = replace(closing, total=closing.total - 0.1), replace(closing, node=43)
    systems = [network.system(closing), network.changed({k: {"shut": 1.0}}).system(closing), network.system(less),
               network.system(replace(closing, level=0.22)), network.system(replace(splash, level=0.31)), network.system(closing)]
    found = [solve(system, heads, flows) for system in systems]
    for system, answer in zip(systems, found, strict=True):
        assert max(apart(answer, newton.solve_dense(system, heads, flows))) < SAME
    assert found[0] == found[-1]
    assert all(max(apart(a, b)) > 1e-6 for a, b in pairwise(found))


def test_grouping_is_done_once():
    """Other starts, totals and steps through time of one network do with what was prepared; a changed element does not."""
    network, closing, heads, flows = row_of_tanks(21, 1)
    first = choosing.prepared(network.system(closing), heads, flows)
    second = choosing.prepared(network.system(replace(closing, total=1.0)), heads, flows)
    assert second.pattern is first.pattern
    assert second.system.total == 1.0
    assert choosing.prepared(network.changed({3: {"shut": 0.5}}).system(closing), heads, flows).pattern is not first.pattern


def renumbered(network, closing, heads, seed):
    """Return the network with its waters in another order."""
    places = list(range(len(heads)))
    random.Random(seed).shuffle(places)
    new = {old: k for k, old in enumerate(places)}
    links = tuple(replace(link, up=new[link.up], down=new[link.down]) for link in network.links)
    return (replace(network, waters=tuple(network.waters[k] for k in places), links=links),
            replace(closing, node=new[closing.node]), [heads[k] for k in places])


def test_work_grows_no_faster_than_the_network():
    """Twice as many tanks over four sumps double the entries of the factors, in whatever order the waters come."""
    entries = []
    for count in (150, 300):
        network, closing, heads, flows = row_of_tanks(count, 6, sumps=4, chords=4)
        network, closing, heads = renumbered(network, closing, heads, "order")
        ready = sparse.prepare(network.system(closing))
        h, q = np.array(heads), np.array(flows)[ready.order]
        ready.step(ready.evaluate(h, q), h, q)
        factors = factorised(ready.pattern.matrix)
        entries.append(factors.L.nnz + factors.U.nnz)
    assert entries[1] < 2.1 * entries[0]
    assert entries[1] < 10 * len(heads)


def test_a_hub_is_eliminated_last():
    """The chamber that takes 300 drains is left until everything around it is gone."""
    network, closing, heads, _ = row_of_tanks(150, 6)
    network, closing, _ = renumbered(network, closing, heads, "order")
    ready = sparse.prepare(network.system(closing))
    assert network.waters[ready.pattern.free[-1]].name == "splash"
    assert len(ready.pattern.free) == len(heads) - 1


def a_hundred_laws():
    """Return laws of many shapes, with a flow and two levels for each."""
    rng = random.Random("laws")
    def line():
        others = rng.choice(([], [CheckValve.of(2.0, 0.03)], [Closed.of(0.0, 0.03)]))
        pipes = [Pipe.of(bore, rng.uniform(1.0, 2.0), 1.5e-6, 1e-6) for bore in rng.choice(((0.03,), (0.03, 0.04)))]
        return Line.of([LocalLoss.of(rng.uniform(1.0, 3.0), 0.03, label=str(rng.random())), *pipes, *others])
    links = []
    for _ in range(60):
        rim = Rim.of(1.5, 0.05, 0.05, rng.uniform(0.4, 0.6), 0.606)
        links += [LineLink(str(rng.random()), line(), rng.uniform(0.5, 1.5), shut=rng.choice((0.0, 1.0))),
                  DrainLine(str(rng.random()), rim, line(), 0.3, primed=rng.choice((0.0, 1.0))),
                  Plate.of("plate", rng.uniform(0.3, 0.4), 0.5, 0.62, gap=rng.choice((0.0, 0.05)))]
    at = [[rng.uniform(low, high) for _ in links] for low, high in ((-1e-4, 1e-3), (0.35, 2.0), (0.2, 1.0))]
    return [link.residual for link in links], at


@pytest.mark.parametrize("few", [1, 10, 10_000])
def test_a_group_answers_for_each_of_its_members(few):
    """Laws of many shapes, joined or not, give the residuals and slopes that each gives alone; each law is in one group."""
    laws, at = a_hundred_laws()
    groups = group([None, *laws], 3, few)
    assert sorted(k for some in groups for k in some.places.tolist()) == list(range(1, len(laws) + 1))
    for some in groups:
        answers = some.ask(*(np.array(values)[some.places - 1] for values in at))
        for n, k in enumerate((some.places - 1).tolist()):
            alone = laws[k](*(values[k] for values in at))
            assert [float(np.broadcast_to(one, len(some.places))[n]) for one in answers] == pytest.approx(alone, rel=1e-12)


def test_groups_are_as_large_as_the_laws_allow():
    """Lines fall apart only by what their law reads: pipes and valves in them, not names, labels or numbers."""
    laws, _ = a_hundred_laws()
    lines = [law for law in laws if isinstance(law.__self__, LineLink)]
    shapes = {(len(law.__self__.line.pipes), tuple(map(type, law.__self__.line.others))) for law in lines}
    assert len(group(lines, 3, few=1)) == len(shapes) == 6


def test_what_all_share_stays_as_it_is():
    """A number or record that all members share is not spread out into an array."""
    shared = Body.box("tank", 0.0, 1.0, 0.5)
    assert joined_values([shared, shared]) is shared
    joined = joined_values([Body.box("one", 0.0, 1.0, 0.5), Body.box("other", 0.0, 2.0, 0.5)])
    assert joined.height == 0.5
    assert type(joined.height) is float
    assert joined.rows[0][2].tolist() == [1.0, 2.0]


def test_what_cannot_be_joined():
    """Members that differ in kind, length or words differ in shape; what is neither number nor record is refused."""
    for values, keys in (([1.0, None], [float, type(None)]), ([(1.0,), (1.0, 2.0)], [1, 2]), (["a", "b"], ["a", "b"])):
        with pytest.raises(DifferError) as caught:
            joined_values(values)
        assert list(caught.value.keys) == keys
    with pytest.raises(BatchError):
        joined_values([np.zeros(2), np.ones(2)])


@dataclass(frozen=True)
class Loose:
    """A record without slots, whose fields cannot be fetched late."""

    name: str
    resistance: float

    def residual(self, q, up, down):
        """Return a straight resistance."""
        return up - down - self.resistance * q, -self.resistance + 0.0 * q, 1.0 + 0.0 * q, -1.0 + 0.0 * q


def test_records_without_slots_are_asked_one_by_one():
    """A law of records that cannot be joined is still asked, each by itself."""
    laws = [Loose(str(k), 10.0 + k).residual for k in range(30)]
    (some,) = group(laws, 3)
    assert some.joined is None
    assert some.ask(np.full(30, 0.1), np.full(30, 3.0), np.zeros(30))[0] == pytest.approx([2.0 - 0.1 * k for k in range(30)])
