"""Checks of several tanks, sumps and pumps: each is asked of every one, by its name, and held by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builds import found, loop, pump, seen, stated
from many_builds import cascade, driven, fish_room, from_tank, into_tank, several, sump, tank, two_on_header, two_sumps, with_box

from hydro.case import loads
from hydro.checks import FAILS, HOLDS, TIGHT, checks_of, flood
from hydro.checks.sensitivity import judged_over_bands, known_roughly
from hydro.description.build import Group
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.all_drains_blocked import drains_of, raised_in_every_tank
from hydro.scenarios.placed_build import at_its_best, held_at, place, with_air_only, with_drains_blocked
from hydro.scenarios.results import COMBINATIONS, asked_of, least_room, results_of
from hydro.shutdown import shut_down, sump_volume, worst_shutdown
from hydro.steady.operating_point import NONE
from hydro.transient.disturbances import drains_blocked, simulate


def keys(results):
    """Return the verdicts of all rows by key."""
    return {row.key: row for row in checks_of(results)}


def wide(*parts, curve=((0.0, 3.0), (0.4e-3, 2.6), (0.8e-3, 0.0)), **changes):
    """Return two tanks side by side with two drains each on one pump; the first of `parts` are drains in place of those."""
    tanks = [tank(name, (1.0, 0.8, 0.6), 1.0) for name in ("left", "right")]
    drains = parts or [from_tank(f"{name} {word}", name, lip) for name in ("left", "right")
                       for word, lip in (("main", 1.50), ("spare", 1.55))]
    returns = [into_tank(f"to {name}", name, 1.45, "pump") for name in ("left", "right")]
    return several(tanks, drains, returns, [driven(curve=curve)], **changes)


def test_every_tank_has_its_rows():
    """Room, turnover, the dry emergency and all drains blocked are asked of each tank by its name, each drain by its own."""
    rows = keys(found(wide()))
    for name in ("left", "right"):
        for key in (f"tank room {name}", f"turnover {name}", f"dry emergency {name}", f"all blocked {name}",
                    f"blocked {name} main", f"blocked {name} spare", f"restart {name} main", f"noise {name} main"):
            assert key in rows
    assert "tank room" not in rows


def test_a_blocked_drain_fills_its_own_tank():
    """Its main drain blocked, a tank stands higher by the step to the spare lip, 50 mm; the other one by 2 mm, getting more."""
    results = found(wide())
    case = next(one for one in results.overflows if [results.network.links[k].name for k in one.out] == ["left main"])
    plain = next(one for one in results.overflows if not one.out)
    left, right = (results.network.water(name) for name in ("left", "right"))
    assert case.water == left
    assert case.with_air.levels[left] - plain.with_air.levels[left] == pytest.approx(0.05, abs=2e-3)
    assert case.with_air.levels[right] == pytest.approx(plain.with_air.levels[right], abs=2e-3)


def test_turnover_by_what_flows_into_each():
    """The turnover of a tank is the flow of its own return over its own water; of all the water it is the pump's."""
    results = found(wide())
    rows, state, network = keys(results), results.state, results.network
    for name in ("left", "right"):
        node = network.water(name)
        flow = state.flows[network.place(f"to {name}")]
        water = network.waters[node].body.stored(state.levels[node])[0]
        assert rows[f"turnover {name}"].value == pytest.approx(float(flow / water), rel=1e-9)
    assert rows["turnover of all"].value == pytest.approx(float(state.pump_flow / state.total), rel=1e-9)


def test_what_can_come_up_into_one_of_two():
    """All drains of one tank blocked, what stands over the other one's lip comes up with what the sump gives: by hand."""
    results = found(wide())
    state, network = results.state, results.network
    left, right = network.water("left"), network.water("right")
    case = next(one for one in raised_in_every_tank(results.loop, {}, state) if one.tank == left)
    over = 0.8 * (state.levels[right] - 1.50)
    inflow, pumps = network.chambers
    levels = [state.levels[inflow], state.levels[pumps]]
    given = sump_volume(network, levels) - sump_volume(network, [min(levels[0], 0.29), 0.07])
    assert case.comes_up == pytest.approx(given + over, abs=1e-9)
    assert case.room == pytest.approx(0.8 * (1.6 - state.levels[left]), abs=1e-9)


def test_the_emergency_of_each_tank():
    """Where two wet drains and a dry one hang in one tank, its wet ones are blocked together; the other tank is left alone."""
    drains = [from_tank(f"{name} {n}", name, lip) for name in ("left", "right")
              for n, lip in enumerate((1.50, 1.5002, 1.56), 1)]
    results = found(wide(*drains))
    outs = [[results.network.links[k].name for k in case.out] for case in results.emergencies]
    assert outs == [["left 1", "left 2"], ["right 1", "right 2"]]
    assert keys(results)["emergency alone left"].verdict == HOLDS


def test_of_many_alike_the_worst_off_are_asked():
    """Of drains built alike those with the most flow and the least room are blocked, one after the other; their row is folded."""
    build = replace(wide(), groups=(Group("main", ("left main", "right main")), Group("tank", ("left", "right"))))
    build = replace(build, tanks=(build.tanks[0], tank("right", (1.0, 0.8, 0.57), 1.0)))
    results = found(build)
    network = results.network
    mains = {k: network.links[k].name for k in network.drains if network.links[k].name.endswith("main")}
    most = max(mains, key=lambda k: results.state.flows[k])
    asked = asked_of(build, results.answer, network.drains)
    assert most in asked
    assert network.place("right main") in asked  # 1.57 m is the lower rim
    rows = keys(results)
    assert "blocked main" in rows
    assert rows["tank room tank"].question.startswith("any of 2 x tank")


def test_a_power_cut_in_each_sump():
    """Two sumps of their own: each has its row with its own level, and the worse one fails by itself."""
    build = two_sumps(header=True)
    results = found(build)
    rows, network = keys(results), results.network
    case = results.stopped[results.wanted_cut()]
    for n, name in enumerate(("left sump", "right sump")):
        assert rows[f"power cut {name}"].value == pytest.approx(case.sump_level_of(network.sumps[n]), abs=1e-12)
        assert f"sump room {name}" in rows


def test_a_tank_flooded_through_a_header_is_on_the_floor():
    """Two tanks on a header whose valve holds: the lower one, its drain blocked, runs over its rim, and that row fails."""
    results = found(two_on_header(lower_rim=1.30, lower_mouth=1.15, upper_mouth=1.45))
    blocked = results.network.changed({results.network.place("lower drain"): {"blocked": 1.0}})
    cuts = {case: shut_down(replace(results.state, network=blocked), *case) for case in COMBINATIONS}
    results = replace(results, stopped=cuts)
    worst = max(case.floor for case in cuts.values())
    row = keys(results)["cut over rims"]
    assert row.value == pytest.approx(worst)
    assert (row.value > 0.0, row.verdict) == (True, FAILS)
    assert row.because.endswith("check valves holding")
    dry = keys(found(wide()))["cut over rims"]
    assert (dry.verdict, dry.value, dry.because) == (HOLDS, 0.0, "")


@pytest.mark.parametrize(("over", "verdict"), [(0.01, FAILS), (-0.01, HOLDS)])
def test_what_stands_over_a_rim_already(over, verdict):
    """A tank of 0.8 m2 that would stand 10 mm over its rim while running has 8 L on the floor, whatever a power cut does."""
    results = found(wide())
    node = results.network.water("left")
    levels = tuple(1.60 + over if k == node else level for k, level in enumerate(results.state.levels))
    row = keys(seen(results, replace(results.state, levels=levels)))["cut over rims"]
    assert (row.value, row.verdict) == (pytest.approx(0.8 * max(over, 0.0), abs=1e-9), verdict)
    assert ("while running already" in row.because) is (verdict == FAILS)


def test_a_blocked_standpipe_lifts_its_box_first():
    """With every standpipe but the highest blocked the box stands up to that lip; its tank is asked as well as itself."""
    results = found(with_box(lips=(1.38, 1.40, 1.45)))
    network = results.network
    box, show = network.water("box"), network.water("tank")
    assert drains_of(network, show) == network.drains
    assert {row for row in keys(results) if row.startswith("tank room")} == {"tank room box", "tank room tank"}
    for case in results.overflows:
        room, water = least_room(case.with_air)
        assert room == pytest.approx(min(1.60 - case.with_air.levels[box], 1.57 - case.with_air.levels[show]), abs=1e-9)
        assert case.water == water


def test_a_cascade_blocked_at_the_top():
    """In a cascade the tank above a blocked drain rises; no drain of another tank relieves it."""
    results = found(cascade())
    for n in (1, 2, 3):
        case = next(one for one in results.overflows if [results.network.links[k].name for k in one.out] == [f"drain {n}"])
        assert results.network.waters[case.water].name == f"tank {n}"


@pytest.mark.parametrize(("heads", "verdict"), [((2.6, 2.6), HOLDS), ((2.6, 1.9), FAILS)])
def test_pumps_side_by_side(heads, verdict):
    """Two pumps of one kind share the work; one that the other presses shut is named and fails."""
    tanks = [tank("show", (1.6, 0.8, 0.6), 1.0)]
    drains = [from_tank(f"drain {n}", "show", 1.50) for n in (1, 2, 3)]
    pumps = [driven(f"pump {n}", header="main", valve=True, curve=((0.0, head), (0.7e-3, 0.7 * head), (1.4e-3, 0.0)))
             for n, head in zip("AB", heads, strict=True)]
    results = found(several(tanks, drains, [into_tank("return", "show", 1.45, "main", bore=0.020)], pumps))
    rows = keys(results)
    assert rows["steady"].verdict == verdict
    assert {"pump curve pump A", "intake pump B", "lift margin pump A", "restart pump pump B"} <= rows.keys()
    if verdict == FAILS:
        assert "pump B: " in results.answer.reason
        assert results.network.links[results.answer.which].name == "pump B"


def test_a_box_label_on_one_of_two_pumps():
    """Of two pumps the one that only its box tells of is named, once; no check says so again."""
    label = replace(pump(curve=(), most_flow=1.6e-3, most_height=3.0), name="boxed", header="main")
    known = driven("known", header="main", curve=((0.0, 3.0), (0.8e-3, 2.4), (1.6e-3, 0.0)))
    build = several([tank("show", (1.6, 0.8, 0.6), 1.0)], [from_tank(f"drain {n}", "show", 1.50) for n in (1, 2, 3)],
                    [into_tank("return", "show", 1.45, "main")], [label, known])
    assert known_roughly(build) == ("boxed is known by the label on its box only",)
    assert not any("label" in check.because for check in judged_over_bands(found(build), []))


@pytest.mark.parametrize(("bore", "verdict"), [(0.057, HOLDS), (0.016, FAILS)])
def test_of_tanks_alike_those_asked_say_whether_it_is_remote(bore, verdict):
    """In two tanks on one description a wet drain beside a dry one is blocked once; the dry one answers for both."""
    drains = [from_tank(f"{name} {word}", name, lip, bore=wide) for name in ("left", "right")
              for word, lip, wide in (("main", 1.50, 0.057), ("spare", 1.55, bore))]
    alike = (Group("main", ("left main", "right main")), Group("spare", ("left spare", "right spare")),
             Group("tank", ("left", "right")))
    build = replace(wide(*drains), groups=alike,
                    wishes={"top-up reservoir": Uncertain.exact(1.0, "wishes: top-up reservoir")})
    results = found(build)
    assert len([case for case in results.overflows if any("main" in results.network.links[k].name for k in case.out)]) < 2
    row = keys(results)["all blocked tank"]
    assert (row.margin < 0.0, row.verdict) == (True, verdict)


def test_many_tanks_are_asked_quickly_of_few():
    """In a room of forty on one description three questions about blocked drains are asked at most, not forty."""
    room = fish_room(40)
    room = replace(room, groups=(Group("drain", tuple(drain.name for drain in room.drains)),))
    fixed = place(room)
    network = fixed.network()
    from hydro.scenarios.placed_build import closing_of
    from hydro.steady.modes import operating_point

    answer = operating_point(network, closing_of(fixed, network))
    assert 1 <= len(asked_of(room, answer, network.drains)) <= 2


def test_the_highest_of_a_water_in_any_state():
    """A tank's room is judged at the highest level of all ways it may run."""
    results = found(wide())
    node = results.network.water("left")
    state = stated(results.state)
    high = replace(state, levels=tuple(1.58 if k == node else level for k, level in enumerate(state.levels)))
    assert seen(results, results.state, high).answer.highest_of(node) == 1.58
    assert keys(seen(results, results.state, high))["tank room left"].value == 1.58


def test_sumps_keep_a_wished_room():
    """The room wished for at the rim is taken off each sump's own opening."""
    build = replace(two_sumps(header=True), sumps=(sump("left sump", "left "), sump("right sump", "right ", opening=0.40)),
                    wishes={"room at the sump rim": Uncertain.exact(0.03, "room")})
    rows = keys(found(build))
    assert rows["power cut left sump"].limit == pytest.approx(0.43)
    assert rows["power cut right sump"].limit == pytest.approx(0.37)


@pytest.mark.parametrize(("helps", "verdict"), [(True, HOLDS), (False, FAILS)])
def test_a_pump_starts_with_the_one_behind_it(helps, verdict):
    """Of two pumps in a row each is too weak alone: from rest they lift together, by the sum of their shut-off heads."""
    weak = ((0.0, 1.1), (0.6e-3, 0.9), (1.2e-3, 0.0))
    pumps = [driven("first", header="middle", curve=weak), replace(driven("booster", "middle", curve=weak), off=not helps)]
    build = several([tank("show", (1.6, 0.8, 0.6), 1.0)], [from_tank(f"drain {n}", "show", 1.50) for n in (1, 2)],
                    [into_tank("return", "show", 1.45, "booster")], pumps)
    results = found(build)
    row = flood.pump_starts(results, results.network.place("first"))
    lowest = min((case.chambers[1] for case in results.stopped.values()),
                 default=float(results.state.levels[results.network.pump_chamber]))
    stands = max(float(results.state.levels[results.network.water("show")]), 1.45)
    assert row.verdict == verdict
    assert row.value == pytest.approx(1.1)
    assert row.limit == pytest.approx(stands - lowest - (1.1 if helps else 0.0), abs=1e-6)


def test_each_sump_is_judged_in_the_state_that_is_worst_for_it():
    """Of two ways to run, one fills the left sump more and one the right: each row stands on its own worst, the floor too."""
    case = shut_down(found(two_sumps(header=True)).state, False, False)
    one = replace(case, chambers=(0.40, 0.40, 0.30, 0.30), spares=(0.01, 0.06), floor=0.002)
    other = replace(case, chambers=(0.35, 0.35, 0.39, 0.39), spares=(0.03, 0.02), floor=0.005)
    for pair in ((one, other), (other, one)):
        worst = worst_shutdown(pair)
        assert worst.spares == (0.01, 0.02)
        assert worst.chambers == (0.40, 0.40, 0.39, 0.39)
        assert worst.floor == 0.005
        assert worst.spare == 0.01
    assert worst_shutdown([one]) == one


def test_sumps_that_nothing_joins_are_named_not_crashed():
    """Two loops side by side with one line between them leave the other one's water open: no steady state, and no error."""
    assert found(two_sumps()).answer.kind == NONE


@pytest.mark.parametrize("valve", [True, False])
def test_water_back_through_a_pump_that_stands(valve):
    """Through a pump that is off water runs back where no check valve bars it, and its row says so: it fails where the tank gets
    less than that, and is tight else; with a valve it holds.
    """
    tanks = [tank("show", (1.6, 0.8, 0.6), 1.0)]
    drains = [from_tank(f"drain {n}", "show", 1.50) for n in (1, 2, 3)]
    pumps = [driven("main", header="ring"), replace(driven("spare", header="ring", valve=valve), off=True)]
    results = found(several(tanks, drains, [into_tank("return", "show", 1.45, "ring")], pumps))
    rows = keys(results)
    back, left = -results.state.flows[results.network.place("spare")], results.state.flows[results.network.returns[0]]
    row = rows["back-flow spare"]
    assert (back > 1e-5) is not valve
    assert row.value == pytest.approx(max(back, 0.0), abs=1e-9)
    assert row.verdict == (HOLDS if valve else FAILS if back > left else TIGHT)
    assert row.because.startswith("" if valve else "no check valve holds it back")
    narrow = found(several(tanks, drains, [into_tank("return", "show", 1.45, "ring")], [
        pumps[0], replace(driven("spare", header="ring", bore=0.012), off=True)]))
    assert keys(narrow)["back-flow spare"].verdict == TIGHT


def test_a_pump_that_lifts_only_once_it_runs():
    """Of a drooping pump that runs, but does not start, the lift says 'from rest'; of one that is too weak it does not."""
    droops = pump(curve=((0.0, 1.20), (0.5e-3, 1.64), (0.85e-3, 0.9), (1.1e-3, 0.0)), k=20.0)
    weak = pump(curve=((0.0, 1.0), (0.5e-3, 0.8), (0.85e-3, 0.0)))
    for one, said in ((droops, True), (weak, False)):
        row = keys(found(loop(driven_by=one)))["lift margin"]
        assert row.verdict == FAILS
        assert ("from rest" in row.because) is said


THROTTLED = """
tanks:
  - name: top
    inside: 60 x 45 x 35 cm
    bottom: 150 cm above ground
    drains:
      - {name: o, inlet: {standpipe: 45 mm, lip: 5 cm below tank rim}, line: [bulkhead 40 mm, pipe 50 PN10 130 cm],
         into: {chamber: inflow, end: 27 cm above sump bottom}}
    returns:
      - {from: up, line: [tee branch, gate valve 40 % open, pipe 20 PN16 40 cm, elbow 90], end: 2 cm above tank rim}
  - name: low
    inside: 60 x 45 x 35 cm
    bottom: 85 cm above ground
    drains:
      - {name: o, inlet: {standpipe: 57 mm, lip: 6 cm below tank rim}, line: [bulkhead 50 mm, pipe 63 PN10 60 cm],
         into: {chamber: inflow, end: 27 cm above sump bottom}}
      - {name: spare, inlet: {standpipe: 57 mm, lip: 4 cm below tank rim}, line: [bulkhead 50 mm, pipe 63 PN10 60 cm],
         into: {chamber: inflow, end: 30 cm above sump bottom}}
    returns:
      - {from: up, line: [tee branch, gate valve 25 % open, pipe 20 PN16 30 cm, elbow 90], end: 2 cm above tank rim}
sump:
  inside: 150 x 50 x 50 cm
  bottom: at ground
  chambers:
    - {name: inflow, length: 60 cm, ends in: {plate: 28 cm above sump bottom}}
    - {name: pump, line: 22 cm above sump bottom}
pump:
  intake: 5 cm above sump bottom
  curve: [0 L/h = 3.03 m, 400 L/h = 2.75 m, 800 L/h = 2.17 m, 1200 L/h = 1.16 m, 1500 L/h = 0 m]
  into: {header: up, line: [pipe 40 PN10 150 cm, 2 x elbow 90]}
"""


def test_each_tank_is_asked_at_its_own_greatest_inflow():
    """With every return's valve open the lower of two tanks takes all; the upper one's only drain blocked it floods all the same.

    The upper mouth stands 1.87 m over the ground, 1.65 m over the pump chamber; the lower one lets the whole flow go at 1.22 m
    and its losses, so that with both open nothing is left to lift 0.65 m higher. Throttled as the file says, both are fed.
    """
    results = results_of(place(loads(THROTTLED)))
    network = results.network
    top = network.place("top o")
    fed = {network.waters[network.links[k].down].name: float(results.state.flows[k]) for k in network.returns}
    assert min(fed.values()) > 200 / 3.6e6
    every = results.loop.network(at_its_best(results.build, {}), network)
    starved = with_air_only(with_drains_blocked(every, (top,)), held_at(every, 0.22), results.state)
    upper, = (k for k in every.returns if network.links[k].down == network.water("top"))
    assert float(starved.flows[upper]) < 1e-7
    check = next(one for one in checks_of(results) if one.key == "blocked top o")
    assert check.verdict == FAILS
    assert simulate(results.state, drains_blocked(network, (top,)), 2e-4, 900.0).end.volumes[-1] > 1e-3
