"""Tees whose losses follow from the split: formulas, the six ways of a tee, the link's coefficient, and solving by turns."""

import itertools
import math
import random
from dataclasses import replace

import numpy as np
import pytest
from fluids import fittings as crane
from scipy.optimize import root

from hydro.elements.fittings import LocalLoss
from hydro.elements.line import BORNE, Line, LineLink, held_up
from hydro.elements.pipe import Pipe
from hydro.elements.pump import PumpCurve, PumpLine
from hydro.elements.tee import BRIDGE, LEAST, Tee, converging, diverging, renewed
from hydro.elements.tee_rounds import CLOSE, ROUNDS, solve_with_tees
from hydro.network.model import JUNCTION, OUTSIDE, Link, Network, Water
from hydro.quantities.arrays import GRAVITY, stack
from hydro.solve import solve

BORE, FLOW = 0.0284, 1.5e-3
TEE = Tee("tee", 0, 1, 2, BORE, BORE)
HEAD = (FLOW / (math.pi / 4.0 * BORE**2)) ** 2 / (2.0 * GRAVITY)
"""Velocity head of `FLOW` in `BORE`, m."""
SHARES = [k / 100 for k in range(101)]
RATIOS = (0.3, 0.5, 0.59, 0.6, 0.62, 0.64, 0.66, 0.67, 0.7, 0.8, 0.82, 0.9, 1.0)
ANGLES = (30.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 90.0)


def run_of(bore=BORE, length=1.0):
    """Return a run of pipe."""
    return Pipe.of(bore, length, 1.5e-6, 1e-6)


def tee_between(common, run, branch, k_run, k_branch, side=BORE):
    """Return a tee between three given levels: 1.5 m of pipe to it, 1 m and a loss behind each leg."""
    lines = [Line.of([run_of(length=1.5)]), Line.of([run_of(), LocalLoss.of(k_run, BORE)]),
             Line.of([run_of(side), LocalLoss.of(k_branch, side)])]
    waters = [Water(name, OUTSIDE, level=level) for name, level in zip("crb", (common, run, branch), strict=True)]
    ends = ((0, 3), (3, 1), (3, 2))
    links = [Link(name, LineLink(name, line), *pair) for name, line, pair in zip("crb", lines, ends, strict=True)]
    return Network((*waters, Water("tee", JUNCTION)), tuple(links)), replace(TEE, side=side)


def solution(network):
    """Solve a tee between given levels."""
    heads = [0.3 if water.level is None else water.level for water in network.waters]
    rest = 0.0 * heads[0]
    found = solve(network.system(None), [h + rest for h in heads], [FLOW + rest] * len(network.links), most=300)
    assert np.all(found.solved)
    return found


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("ratio", RATIOS)
def test_crane_as_fluids_has_it(angle, ratio):
    """All four K are those of fluids (Crane TP-410 2009, errata) within 1e-9; a branch's not about the shares 0.4, 0.6."""
    for share in SHARES:
        ours = (*diverging(share, ratio, angle), *converging(share, ratio, angle))
        theirs = [function(1.0, ratio, 1.0 - share, share, angle) for function in (
            crane.K_run_diverging_Crane, crane.K_branch_diverging_Crane, crane.K_run_converging_Crane,
            crane.K_branch_converging_Crane)]
        near = min(abs(share - 0.4), abs(share - 0.6)) <= BRIDGE + 1e-9
        for k in (0, 2) if near else range(4):
            assert ours[k] == pytest.approx(theirs[k], rel=1e-9, abs=1e-9), (share, k)


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("ratio", RATIOS)
def test_no_jump_in_the_share(angle, ratio):
    """No K jumps where Crane's does: a change of the share by 1e-6 moves it by less than 3e-5 of its size."""
    for share in (0.38, 0.39, 0.4, 0.41, 0.42, 0.5, 0.58, 0.6, 0.62):
        for function in (diverging, converging):
            for a, b in zip(function(share - 5e-7, ratio, angle), function(share + 5e-7, ratio, angle), strict=True):
                assert abs(a - b) < 3e-5 * (1.0 + abs(a)), (share, function.__name__)


def test_arrays_of_tees():
    """Arrays of shares, ratios and angles give each float's K to 1e-12."""
    designs = list(itertools.product((0.0, 0.25, 0.41, 0.6, 1.0), (0.5, 0.7, 1.0), (45.0, 70.0, 90.0)))
    for function in (diverging, converging):
        together = function(*np.array(designs).T)
        for k, design in enumerate(designs):
            assert [float(x[k]) for x in together] == pytest.approx(function(*design), rel=1e-12, abs=1e-12)
            assert {type(x) for x in function(*design)} == {float}


@pytest.mark.parametrize(("run", "branch", "law"), [(0.75, 0.25, diverging), (0.4, 0.6, diverging), (-0.7, -0.3, converging),
                                                    (-0.2, -0.8, converging)])
@pytest.mark.parametrize("side", [BORE, 0.0204])
def test_the_coefficients_give_the_heads(run, branch, law, side):
    """With the common leg carrying all, split q |q| of each leg is K of the formula times the common velocity head."""
    flows = [FLOW * (run + branch), FLOW * run, FLOW * branch]
    splits = replace(TEE, side=side).splits(flows)
    for k, split, flow in zip(law(abs(branch), side / BORE, 90.0), splits, flows[1:], strict=True):
        assert split * flow * flow == pytest.approx(k * HEAD, rel=1e-9)


@pytest.mark.parametrize(("name", "flows", "law"), [
    ("run in, parting", (-0.7, -1.0, 0.3), diverging), ("run out, meeting", (0.7, 1.0, -0.3), converging)])
def test_the_run_carries_all(name, flows, law):
    """Where the run carries all, heads from leg to leg are those of a tee turned round, though the junction has the third's."""
    run, branch = TEE.splits([FLOW * q for q in flows])
    straight, aside = law(0.3, 1.0, 90.0)
    assert run * FLOW**2 == pytest.approx(straight * HEAD, rel=1e-9)
    assert branch * (0.3 * FLOW) ** 2 == pytest.approx((aside - straight) * HEAD, rel=1e-9)


@pytest.mark.parametrize(("flows", "k"), [
    ((-0.6, 0.4, -1.0), lambda leg: 1.0 + leg**2),
    ((0.6, -0.4, 1.0), lambda leg: 2.0 + 3.0 * (leg**2 - leg))])
def test_the_branch_carries_all(flows, k):
    """Out of a branch both ways, and into it from both: 1 + x^2, and Levin's 2 + 3 (x^2 - x) for equal bores (from memory)."""
    run, branch = TEE.splits([FLOW * q for q in flows])
    assert branch * FLOW**2 == pytest.approx(k(0.6) * HEAD, rel=1e-9)
    assert run * (0.4 * FLOW) ** 2 == pytest.approx((k(0.4) - k(0.6)) * HEAD, rel=1e-9)


def test_links_may_point_any_way():
    """Turning a link round, with `toward` saying so, leaves every coefficient: q |q| turns with the flow."""
    flows = [FLOW, 0.7 * FLOW, 0.3 * FLOW]
    turned = replace(TEE, toward=(-1.0, 1.0, -1.0))
    assert turned.splits([-flows[0], -flows[1], flows[2]]) == pytest.approx(TEE.splits(flows), rel=1e-12)


def test_at_rest_nothing_is_lost():
    """A tee at rest, or below 3.6 L/h, has no coefficients."""
    assert TEE.splits([0.0, 0.0, 0.0]) == (0.0, 0.0)
    assert TEE.splits([9e-7, 5e-7, 4e-7]) == (0.0, 0.0)


def test_a_leg_that_carries_next_to_nothing_has_a_bounded_coefficient():
    """Below 5 % of the flow a leg's coefficient is that of 5 %."""
    hardly = TEE.splits([FLOW, FLOW * (1.0 - 1e-6), FLOW * 1e-6])[1]
    assert hardly == pytest.approx(HEAD / (LEAST * FLOW) ** 2, rel=1e-6)


def test_the_band_never_enlarges_a_gain():
    """The factor multiplies what is lost and leaves a gain as it is."""
    flows = [FLOW, 0.75 * FLOW, 0.25 * FLOW]
    plain, wide = TEE.splits(flows), replace(TEE, factor=1.5).splits(flows)
    assert plain[0] < 0.0 < plain[1]
    assert wide == pytest.approx((plain[0], 1.5 * plain[1]), rel=1e-12)


LINE = Line.of([run_of(), LocalLoss.of(1.3, BORE)])


@pytest.mark.parametrize("split", [5e5, -3e4, -1e9])
@pytest.mark.parametrize("outlet", [-1e4, 0.4])
def test_a_link_with_a_tee_keeps_the_contract(split, outlet):
    """With a loss, a gain, and a gain far beyond the line's own losses, signs hold and slopes are the difference quotients."""
    link = LineLink("leg", LINE, outlet, split=split)
    for q, up, down in itertools.product((-2e-2, -1e-3, -1e-6, -1e-12, 0.0, 1e-12, 1e-6, 3e-4, 2e-2), (0.1, 0.9), (0.2, 0.41)):
        r, r_q, r_up, r_down = link.residual(q, up, down)
        assert r_q < 0.0
        assert r_up >= 0.0 >= r_down
        if abs(q) > 1e-9:
            step = 1e-6 * abs(q) + 1e-11
            quotient = (link.residual(q + step, up, down)[0] - link.residual(q - step, up, down)[0]) / (2.0 * step)
            assert quotient == pytest.approx(r_q, rel=1e-3)
        if q == 0.0:
            assert r == link.residual(1e-18, up, down)[0] == replace(link, split=0.0).residual(0.0, up, down)[0]


def test_links_with_tees_join_into_arrays():
    """Links that differ in their split, one of them beyond its bound, answer joined what each answers alone."""
    links = [LineLink("leg", LINE, 0.4, split=split) for split in (0.0, 5e5, -3e4, -1e9)]
    together = stack(links).residual(np.full(4, 8e-4), np.full(4, 0.9), np.full(4, 0.3))
    for k, link in enumerate(links):
        assert [float(np.broadcast_to(x, 4)[k]) for x in together] == pytest.approx(link.residual(8e-4, 0.9, 0.3), rel=1e-12)


def test_a_gain_is_cut_to_what_the_line_bears():
    """A gain beyond the bound leaves 5 % of the line's own q |q|; below the bound, and as a loss, it is taken whole."""
    assert held_up(-1e9, LINE) == -BORNE * LINE.quadratic
    assert held_up(-0.5 * LINE.quadratic, LINE) == -0.5 * LINE.quadratic
    assert held_up(1e9, LINE) == 1e9


def test_the_budget_names_the_tee():
    """A link with a coefficient lists it among what it loses, and the entries add up to its residual; without it lists none."""
    link = LineLink("leg", LINE, split=2e5)
    entries = link.budget(1e-3, 0.9, 0.0)
    assert entries[-1][0] == "leg: in the tee"
    assert sum(head for _, head in entries) == pytest.approx(0.9 - link.residual(1e-3, 0.9, 0.0)[0], abs=2e-6)
    assert len(LineLink("leg", LINE).budget(1e-3, 0.9, 0.0)) == len(LINE.parts)


def test_two_tees_on_one_link_add_up():
    """A link that is a leg of two tees carries the sum of both, and none but run and branch is changed."""
    other = replace(TEE, combined=3, run=1, branch=4)
    flows = [FLOW, 0.7 * FLOW, 0.3 * FLOW, 0.9 * FLOW, 0.2 * FLOW]
    changes = renewed([TEE, other], flows, [LineLink("leg", LINE)] * 5)
    assert set(changes) == {1, 2, 4}
    assert changes[1]["split"] == pytest.approx(TEE.splits(flows)[0] + other.splits(flows)[0], rel=1e-12)


def held_against(network, tee, flows):
    """Return the largest misfit (m) of the equations written out: levels, pipes, and K of the formulas on the heads."""
    common, run, branch = (link.element.line for link in network.links)
    levels = [water.level for water in network.waters]
    split = tee.splits(flows)
    tops = [levels[0] - common.loss(flows[0])[0]] * 2
    return max(abs(top - level - line.loss(q)[0] - held_up(c, line) * q * abs(q))
               for top, level, line, q, c in zip(tops, levels[1:3], (run, branch), flows[1:], split, strict=True))


def test_a_tee_between_levels_settles_on_its_own_equations():
    """Of a hundred tees of supplies and drains 97 settle, within 0.2 mm of their equations, the flows in balance."""
    rng = random.Random("tees")
    unsettled = solves = 0
    for number in range(100):
        levels = ((rng.uniform(0.6, 2.0), rng.uniform(0.0, 0.3), rng.uniform(0.0, 0.3)) if number % 2 else
                  (rng.uniform(0.0, 1.0), rng.uniform(0.0, 1.0), rng.uniform(0.0, 1.0)))
        network, tee = tee_between(*levels, rng.uniform(0.3, 3.0), rng.uniform(0.3, 3.0), rng.choice([BORE, 0.0204, 0.018]))
        ended = solve_with_tees(solution, network, [tee])
        solves += ended.solves
        unsettled += not ended.settled
        flows = ended.state.flows
        assert flows[0] == pytest.approx(flows[1] + flows[2], abs=1e-9)
        if ended.settled:
            assert held_against(network, tee, flows) < 2.0 * CLOSE, levels
    assert unsettled <= 3
    assert solves <= 350


def test_the_split_against_another_solver():
    """An equal tee under 1 m shares its flow as scipy's root finder says on fluids' K and the written-out equations, to 0.1 %."""
    network, tee = tee_between(1.0, 0.0, 0.1, 1.5, 1.5)
    ended = solve_with_tees(solution, network, [tee])
    assert ended.settled
    common, run, branch = (link.element.line for link in network.links)

    def left(legs):
        """Return the heads left over at the ends of run and branch."""
        q_run, q_branch = (float(q) * FLOW for q in legs)
        flow = q_run + q_branch
        top, head = 1.0 - common.loss(flow)[0], HEAD * (flow / FLOW) ** 2
        return [top - run.loss(q_run)[0] - head * crane.K_run_diverging_Crane(BORE, BORE, q_run, q_branch),
                top - 0.1 - branch.loss(q_branch)[0] - head * crane.K_branch_diverging_Crane(BORE, BORE, q_run, q_branch)]

    found = root(left, [1.0, 0.4])
    assert found.success
    assert [q / FLOW for q in ended.state.flows[1:]] == pytest.approx(found.x, rel=1e-3)


def test_what_the_split_does_to_a_branch():
    """Side by side with equal ends, the branch gets less than the run, and less than a tee without losses gives it."""
    network, tee = tee_between(1.0, 0.0, 0.0, 2.0, 2.0)
    plain = solution(network).flows
    ended = solve_with_tees(solution, network, [tee])
    assert plain[1] == pytest.approx(plain[2], rel=1e-6)
    assert ended.state.flows[2] < 0.75 * plain[2] < plain[1] < ended.state.flows[1]


def test_a_pump_on_a_manifold_of_two_tees():
    """Three equal outlets on a pump's manifold of two tees settle, the one straight on gets the most, and less is pumped."""
    lines = {"outlet": Line.of([run_of(0.0204, 0.6), LocalLoss.of(2.5, 0.0204)]), "header": Line.of([run_of(length=0.2)])}
    narrowed = Line.of([LocalLoss.of(0.25, 0.0204), run_of(0.0204, 0.6), LocalLoss.of(2.5, 0.0204)])
    pump = PumpLine(
        "pump", PumpCurve.of([(0.0, 4.0), (1e-3, 3.2), (2e-3, 1.2), (2.6e-3, 0.0)]), Line.of([run_of(length=1.2)]), -1e3
    )
    links = (Link("pump", pump, 0, 2), Link("header", LineLink("header", lines["header"]), 2, 3),
             Link("first", LineLink("first", lines["outlet"]), 2, 1), Link("second", LineLink("second", lines["outlet"]), 3, 1),
             Link("last", LineLink("last", narrowed), 3, 1))
    network = Network((Water("sump", OUTSIDE, level=0.0), Water("tank", OUTSIDE, level=1.0), Water("a", JUNCTION),
                       Water("b", JUNCTION)), links)
    tees = [Tee("a", 0, 1, 2, BORE, 0.0204), Tee("b", 1, 4, 3, BORE, 0.0204)]
    ended = solve_with_tees(solution, network, tees)
    assert ended.settled
    assert ended.solves <= 9
    _, _, first, second, last = ended.state.flows
    assert last > max(first, second)
    assert sum((first, second, last)) < solution(network).flows[0]


def test_designs_settle_side_by_side():
    """Solved as arrays, each design settles where it settles alone, within what 0.1 mm of head may leave."""
    cases = [(1.0, 0.0, 0.1, 1.5, 1.5), (1.4, 0.1, 0.0, 2.5, 1.0), (0.2, 0.9, 1.0, 1.0, 2.0)]
    alone = [solve_with_tees(solution, *pack(tee_between(*case))) for case in cases]
    networks = [tee_between(*case)[0] for case in cases]
    links = tuple(replace(link, element=stack([one.links[k].element for one in networks]))
                  for k, link in enumerate(networks[0].links))
    waters = tuple(replace(water, level=None if water.level is None else np.array([one.waters[k].level for one in networks]))
                   for k, water in enumerate(networks[0].waters))
    together = solve_with_tees(solution, replace(networks[0], waters=waters, links=links), [TEE])
    assert np.all(together.settled)
    assert together.solves <= 5
    for k, one in enumerate(alone):
        assert [float(q[k]) for q in together.state.flows] == pytest.approx(one.state.flows, rel=2e-3)


def pack(made):
    """Return the arguments of `solve_with_tees` behind the solver."""
    network, tee = made
    return network, [tee]


def test_what_does_not_settle_is_said():
    """Where the coefficients would still move a leg after the last round, the answer is not called settled."""
    class Hopping:
        """A solver whose flows hop between two splits for ever."""

        def __init__(self):
            self.turn = 0

        def __call__(self, network):
            self.turn += 1
            share = 0.2 if self.turn % 2 else 0.7
            self.flows = [FLOW, FLOW * (1.0 - share), FLOW * share]
            return self

    network, tee = tee_between(1.0, 0.0, 0.0, 1.0, 1.0)
    ended = solve_with_tees(Hopping(), network, [tee])
    assert not ended.settled
    assert ended.solves == ROUNDS + 1
    assert ended.moved > 1e-2
