"""Figures of the cases in cases/ worked out beside the library, from the numbers in their files: weirs, siphons, pumps, volumes.

Nothing of the library's laws or solver is used for what is expected. Formulas: Poleni's weir; Darcy and Weisbach with Colebrook
(1939); K on the velocity head; sudden changes of bore by Borda and Carnot and 0.5 (1 - b^2); Torricelli's jets. Coefficients
are the middles of the data sheets, Crane's fT is that of `fluids`. Pumps are read on a monotone cubic through their points.
"""

from __future__ import annotations

import math

import pytest
from fluids.fittings import ft_Crane
from report_cases import ROOT
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from hydro import load
from hydro.checks.comfort import turnover
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of

G, L_H = 9.80665, 1.0 / 3.6e6
FRESH_25, SALT_26, FRESH_14 = 0.8927e-6, 0.920e-6, 1.169e-6
"""Kinematic viscosities, m2/s: fresh water from IAPWS-95 and R12-08, sea water (35 g/kg, 26 degrees) from memory: it moves the
friction by a twentieth of its error."""


@pytest.fixture(scope="module")
def worked():
    """Return what looks up a case worked out in the middle of every band: flows in L/h and levels in m by name, its cuts."""
    known = {}

    def of(name):
        if name not in known:
            found = results_of(place(load(ROOT / "cases" / f"{name}.yaml")))
            network, state = found.network, found.state
            flows = {link.name: float(flow) / L_H for link, flow in zip(network.links, state.flows, strict=True)}
            levels = {water.name: float(level) for water, level in zip(network.waters, state.levels, strict=True)}
            known[name] = flows, levels, found
        return known[name]
    return of


def area(bore):
    """Return the section of a bore, m2."""
    return math.pi / 4.0 * bore * bore


def velocity_head(flow, bore):
    """Return V^2/(2g) of a flow in L/h, m."""
    return (flow * L_H / area(bore)) ** 2 / (2.0 * G)


def friction(flow, bore, length, nu):
    """Return the head lost in a smooth pipe (1.5 um) by a flow in L/h, m."""
    speed = flow * L_H / area(bore)
    reynolds = speed * bore / nu
    assert reynolds > 4000.0
    x = brentq(lambda x: x + 2.0 * math.log10(1.5e-6 / (3.7 * bore) + 2.51 * x / reynolds), 2.0, 20.0)
    return length / bore / x ** 2 * velocity_head(flow, bore)


PIPE_25, PIPE_32, PIPE_40, PIPE_50 = 0.0207, 0.0279, 0.0357, 0.0447
"""Bores of DIN 8062 pipes of 25 mm (PN16), 32, 40 and 50 mm (PN10), the middles that the catalogue takes, m."""


def test_water_over_the_comb(worked):
    """The reef tank stands over the comb's teeth as Poleni's weir says for the gaps together: 660 mm x 8/13, Cd 0.58."""
    flows, levels, _ = worked("reef-comb-three-drains")
    clear = 0.66 * 8.0 / 13.0
    head = (flows["pump"] * L_H / (2.0 / 3.0 * 0.58 * math.sqrt(2.0 * G) * clear)) ** (2.0 / 3.0)
    crest = 0.85 + 0.70 - 0.075
    assert levels["tank"] - crest == pytest.approx(head, abs=2e-4)
    assert head == pytest.approx(0.0192, abs=1e-4)


def test_flow_of_the_throttled_siphon(worked):
    """The siphon carries what the fall from the box's water to the inflow's leaves over entrance, bulkhead, bend and valve.

    The valve at 29 %: K on a straight line of log K between the table's points 25 % (24) and 50 % (4.5), handbooks, from memory.
    """
    flows, levels, _ = worked("reef-comb-three-drains")
    fall = levels["weir"] - levels["inflow"]
    small, large = 0.042, PIPE_50
    share = (0.29 - 0.25) / (0.50 - 0.25)
    valve = 24.0 * (4.5 / 24.0) ** share

    def lost(flow):
        narrow = (0.5 + (1.0 - (small / large) ** 2) ** 2) * velocity_head(flow, small) + friction(flow, small, 0.08, SALT_26)
        wide = (30.0 * ft_Crane(large) + valve + 1.0) * velocity_head(flow, large) + friction(flow, large, 1.30, SALT_26)
        return narrow + wide
    assert flows["siphon"] == pytest.approx(brentq(lambda flow: lost(flow) - fall, 3000.0, 12000.0), rel=5e-3)


def test_two_unequal_pumps_meet_at_one_head(worked):
    """Each pump's head less its own check valve (20 mm and K 2.5) and pipe is the same at the foot of the riser."""
    flows, levels, _ = worked("two-unequal-pumps")
    new = PchipInterpolator([0, 2500, 5000, 7500, 8500], [4.4, 3.9, 2.8, 1.0, 0.0])
    old = PchipInterpolator([0, 1500, 3000, 4200], [2.9, 2.4, 1.5, 0.0])
    feet = []
    for curve, name, valve, pipe in ((new, "new", 0.0372, PIPE_40), (old, "old", 0.0284, PIPE_32)):
        flow = flows[name]
        narrowed = 0.5 * (1.0 - (pipe / valve) ** 2) * velocity_head(flow, pipe)
        lost = 0.020 + 2.5 * velocity_head(flow, valve) + narrowed + friction(flow, pipe, 0.8, FRESH_25)
        feet.append(levels["pumps"] + float(curve(flow)) - lost)
    assert feet[0] == pytest.approx(feet[1], abs=0.015)
    assert feet[0] == pytest.approx(levels["foot of riser"], abs=0.015)
    assert flows["new"] + flows["old"] == pytest.approx(flows["left jet"] + flows["right jet"])


def test_water_runs_back_through_the_stand_by(worked):
    """What stands over the sump at the riser's foot is lost on the way back: K 10 of the still pump, K 1 at its exit, pipe."""
    flows, levels, _ = worked("stand-by-flows-back")
    back = -flows["stand-by"]
    over = levels["foot of riser"] - levels["pumps"]
    lost = (10.0 + 1.0) * velocity_head(back, PIPE_40) + friction(back, PIPE_40, 0.70, FRESH_25)
    assert lost == pytest.approx(over, rel=0.01)
    assert flows["duty"] - back == pytest.approx(flows["left jet"] + flows["right jet"])


def test_water_comes_up_the_lower_tanks_standpipe(worked):
    """What the stack leaves over comes up into the lower tank: the head in the stack over that tank is what its line loses.

    The tank stands over the lip and its weir, so that nothing else is lost: K 0.5 and 80 mm on 50 mm, the step to 56.5 mm, 0.6 m,
    a bend and the end. All of it leaves by the emergency drain, with what the tank's own return brings.
    """
    flows, levels, _ = worked("shared-stack")
    back, small, large = -flows["lower overflow"], 0.050, 0.0565
    narrow = (0.5 + (1.0 - (small / large) ** 2) ** 2) * velocity_head(back, small) + friction(back, small, 0.08, FRESH_25)
    wide = (30.0 * ft_Crane(large) + 1.0) * velocity_head(back, large) + friction(back, large, 0.60, FRESH_25)
    assert levels["stack"] - levels["lower"] == pytest.approx(narrow + wide, rel=0.02)
    assert back == pytest.approx(flows["upper overflow"] - flows["down pipe"])
    assert flows["lower emergency"] == pytest.approx(back + flows["lower return"])
    assert 2000.0 < back < 3000.0


def test_power_cut_of_two_heights_by_volume(worked):
    """With the valve holding the nursery falls to its mouth, the show tank to its lip, the header empties: times their areas.

    What the sump has no room for is that less its own dry room: inflow over its plate, pump chamber at the line.
    """
    _, levels, found = worked("two-heights-one-header")
    case = found.stopped[False, True]
    rim = 0.80 + 0.60
    nursery = 1.20 * 0.50 * (levels["nursery"] - (rim + 0.40 + 0.45 - 0.30))
    show = 1.80 * 0.70 * (levels["show"] - (rim - 0.08))
    header = area(PIPE_40) * 0.60 + area(0.025) * (1.20 + 2.60)
    assert case.items["nursery"] == pytest.approx(nursery, rel=1e-3)
    assert case.items["show"] == pytest.approx(show, rel=1e-3)
    assert case.items["returns"] == pytest.approx(header, rel=0.01)
    room = 0.50 * 0.50 * (0.45 - levels["inflow"]) + 0.80 * 0.50 * (0.45 - 0.18)
    assert case.spare == pytest.approx(room - case.comes_down, abs=1e-5)
    assert case.comes_down == pytest.approx(nursery + show + header + case.items["drains"], abs=5e-5)


def test_turnover_of_the_newt_tank(worked):
    """Flow over water: what the return brings to 1.50 x 0.60 m of newt tank at its running level."""
    flows, levels, found = worked("filter-above-the-sump")
    by_hand = flows["pump"] * L_H / (1.50 * 0.60 * (levels["newts"] - 1.20))
    row = next(row for row in turnover(found) if row.key == "turnover newts")
    assert row.value == pytest.approx(by_hand)
    assert 3600.0 * by_hand == pytest.approx(7.27, abs=0.01)


def test_spray_bar_jet_by_jet(worked):
    """The bar's head is that of its last jet, with friction and 0.7 of each drop of velocity head, hole by hole to its start."""
    flows, _, found = worked("spray-bar")
    bore, holes, jet = PIPE_25, 40, 0.62 * area(0.004)

    def march(last):
        head, flow = last, 0.0
        for _ in range(holes):
            through = flow + jet * math.sqrt(2.0 * G * head)
            head -= 0.7 * (velocity_head(through / L_H, bore) - velocity_head(flow / L_H, bore))
            x = max(through / L_H, 300.0)
            head += friction(x, bore, 1.0 / holes, FRESH_14) * (through / L_H / x) ** 2
            flow = through
        return flow / L_H, head + velocity_head(flow / L_H, bore)
    last = brentq(lambda head: march(head)[0] - flows["pump"], 0.05, 2.0)
    parts = found.network.links[found.network.pump].element.line.parts
    bar = next(part for part in parts if part.label.endswith("spray bar"))
    assert float(bar.loss(flows["pump"] * L_H)[0]) == pytest.approx(march(last)[1], rel=0.03)


def test_the_drooping_pump_lacks_head_at_rest(worked):
    """At rest the drooping pump gives 0.90 m; from the lowest water after a cut to the tank's running level it is more.

    The sump then holds what came down besides its own water: its plane of 1.10 x 0.50 m is flooded over the plate of 300 mm.
    """
    _, levels, found = worked("drooping-pump")
    case = found.stopped[True, True]
    held = 0.40 * 0.50 * levels["inflow"] + 0.70 * 0.50 * levels["pump"]
    rest = (held + case.comes_down) / (1.10 * 0.50)
    assert rest > 0.30
    assert case.sump_level == pytest.approx(rest, abs=2e-4)
    assert levels["tank"] - rest == pytest.approx(0.924, abs=1e-3)
    assert levels["tank"] - rest > 0.90


def test_gutter_carries_all_and_the_rack_shares_it(worked):
    """In the fish room all that the pump moves comes over twelve lips into the gutter and leaves it by one drain, over its weir.

    Weir round the rim of 104 mm with C 0.53, as Poleni's with the whole way round it for its length.
    """
    flows, levels, _ = worked("fish-room-12")
    racks = [flow for name, flow in flows.items() if name.startswith("rack tank") and name.endswith("overflow")]
    assert len(racks) == 12
    assert sum(racks) == pytest.approx(flows["main"])
    assert flows["gutter left"] == pytest.approx(flows["main"], rel=1e-6)
    head = (flows["main"] * L_H / (2.0 / 3.0 * 0.53 * math.sqrt(2.0 * G) * math.pi * 0.104)) ** (2.0 / 3.0)
    assert levels["gutter"] - (0.62 + 0.20 - 0.12) == pytest.approx(head, abs=1e-3)


def test_header_of_two_hundred_by_its_length():
    """What the large room's header lets down is its own water: 6 m, 199 times 90 cm and 12 m of 188 mm pipe, more or less."""
    found = results_of(place(load(ROOT / "cases" / "large" / "fish-room-200.yaml")))
    case = found.stopped[found.wanted_cut()]
    header = area(0.188) * (6.0 + 199 * 0.90 + 12.0)
    assert case.items["returns"] == pytest.approx(header, rel=0.05)
    assert case.items["returns"] > header
