"""Faults of several tanks and pumps: what is asked, for whom it stands, what comes of one pump without power."""

from dataclasses import replace
from functools import cache

import pytest
from many_builds import with_box
from racks import level, manifold, rack, two_on_a_header, two_on_one, two_pumps

from hydro.description.build import Group
from hydro.faults import table as tables
from hydro.faults.effects import effect_of, sound
from hydro.faults.levels import DROP, overtopped
from hydro.faults.single import CAUSE, EDGE, NO_POWER, PIPE, single_faults
from hydro.faults.survivable_heights import surviving
from hydro.faults.table import IN_TIME, fault_table, worst_first
from hydro.report.json.faults import fault_table_data
from hydro.report.terminal.faults import faults_text
from hydro.scenarios.placed_build import place
from hydro.shutdown import shut_down
from hydro.transient.disturbances import pump_stops, simulate


@cache
def base(made, *args):
    """Return the loop of a build with nothing wrong."""
    return sound(place(made(*args)))


def described_once(count=12):
    """Return the rack with its tanks, drains and returns described once for all."""
    build = rack(count, 6.0 * count / 12.0, 5 * count // 12)
    groups = (Group("rack tank", tuple(tank.name for tank in build.tanks)),
              Group("rack tank drain", tuple(drain.name for drain in build.drains)),
              Group("rack tank return", tuple(way.name for way in build.returns)))
    return replace(build, groups=groups)


def faults_of(there):
    """Return every single fault of a sound loop."""
    return single_faults(there.loop.build, there.network, there.wet, [float(q) for q in there.answer.state.flows])


def one(there, part, words):
    """Return the single fault of that part and words."""
    return next(fault for fault in faults_of(there) if fault.part == part and fault.words == words)


def test_every_element_of_a_manifold_is_asked():
    """Each answer of each element is one single fault; pumps, pipes between headers and returns go by their own nouns."""
    there = base(manifold)
    answers = {(k, words) for k, link in enumerate(there.network.links)
               if hasattr(link.element, "faults") for words in link.element.faults()}
    found = [fault for fault in faults_of(there) if fault.noun != CAUSE]
    assert sorted(member for fault in found for member in fault.members) == sorted(answers)
    assert {fault.noun for fault in found if fault.part == "bridge"} == {PIPE}
    assert {fault.part for fault in found if fault.words == NO_POWER} == {"pump A", "pump B"}
    assert EDGE not in {fault.noun for fault in found}


def test_all_pumps_lose_their_power_together():
    """Besides each pump alone every pump at once is asked, and that is the plain power cut by volumes."""
    there = base(two_pumps)
    every = one(there, "every pump", NO_POWER)
    assert every.noun == CAUSE
    found = effect_of(there, (every,))
    assert not found.in_time
    assert found.power_lost
    assert found.litres == pytest.approx(max(0.0, -shut_down(there.answer.state, True, True).spare))


def test_one_pump_without_power_is_followed_through_time():
    """What one pump's loss comes to is read off its course: levels over openings, the other pump's water, litres."""
    there = base(two_pumps)
    found = effect_of(there, (one(there, "pump A", NO_POWER),))
    network = there.network
    history = simulate(there.answer.state, pump_stops(network, (network.place("pump A"),)))
    assert found.in_time
    assert not found.power_lost
    assert found.over == history.end.named("floor") == 0.0
    intake = network.links[network.place("pump B")].element.intake
    assert found.lowest == pytest.approx(min(level(moment, "pump") for moment in history.moments) - intake)
    row = next(row for row in fault_table(there.loop).rows if row.effect.faults[0].words == NO_POWER and row.effect.in_time)
    assert row.method == IN_TIME


def test_a_valve_stuck_shut_leaves_tanks_where_they_come_to_rest():
    """Behind a valve that sticks shut two tanks on a header run down as in a power cut with that valve holding: no flood."""
    there = base(two_on_a_header)
    found = effect_of(there, (one(there, "pump", "pump: check valve: stuck shut"),))
    assert found.in_time
    assert not found.floods
    assert found.left == pytest.approx(effect_of(there, (one(there, "pump", NO_POWER),)).left, abs=1e-6)


def test_the_tank_that_stands_highest_over_its_opening_is_named():
    """With a tank's drain blocked it is that tank that runs over, by its name."""
    there = base(two_pumps)
    found = effect_of(there, (one(there, "left drain", "blocked"),))
    assert found.floods
    assert found.where == "left"
    assert overtopped(there.network, found.answer)[1] == "left"


def test_one_of_a_group_is_asked_for_all():
    """Of twelve tanks described once each fault is asked at the one with the most flow, so the rows do not grow with them."""
    build = described_once()
    there = sound(place(build))
    found = faults_of(there)
    every = single_faults(build, there.network, there.wet)
    assert len(every) - len(found) == 11 * sum(fault.stands_for != "" for fault in found)
    blocked = next(fault for fault in found if fault.words == "blocked")
    assert blocked.stands_for == "any of 12 x rack tank drain"
    flows = {there.network.links[k].name: there.answer.state.flows[k] for k in there.network.drains}
    assert blocked.part == max(flows, key=flows.get)
    assert len(faults_of(sound(place(described_once(6))))) == len(found)
    told = faults_text(fault_table(there.loop), None)
    assert "any of 12 x rack tank" in told
    assert f"(asked at {blocked.part}, the one with the most flow)" in " ".join(told.split())


def test_no_more_pairs_than_are_said(monkeypatch):
    """With room for ten pairs the table has ten, those of the worst faults first, and says how many were left out."""
    monkeypatch.setattr(tables, "MOST_PAIRS", 10)
    there = base(two_pumps)
    table = fault_table(there.loop, with_pairs=True)
    couples = len(list(worst_first(table.faults)))
    assert table.asked == table.done == len(table.faults) + 10
    assert table.left_out == couples - 10
    assert table.complete
    assert f"{couples - 10} of {couples} pairs are not asked" in " ".join(faults_text(table, None).split())
    assert fault_table_data(table, None)["pairs_left_out"] == couples - 10
    asked = [row.effect.faults for row in table.rows if len(row.effect.faults) == 2]
    worst = max((row.effect for row in table.rows if len(row.effect.faults) == 1), key=lambda effect: effect.litres)
    assert any(worst.faults[0] in pair for pair in asked)


def test_the_highest_line_of_two_tanks_survives():
    """At the highest line of two tanks on a header no fault that a line can help floods; 2 mm higher one does."""
    there = base(two_on_one)
    found = faults_of(there)
    heights = surviving(there, found)
    assert heights.lowest is heights.siphon_break is None
    high = heights.highest
    assert high.fault is not None
    for height, survives in ((high.level, True), (high.level + 2e-3, False)):
        line = sound(there.loop, height)
        found_there = [effect_of(line, (fault,)) for fault in found if fault not in high.never]
        assert all(one.litres <= DROP and one.above <= 0.0 and one.left >= line.room for one in found_there) == survives
    assert "With several tanks" in faults_text(fault_table(there.loop), heights)


def test_heights_of_a_box_are_not_asked():
    """A restart fills the box before its pipes carry water, and its lips are not the tank's: those heights are left open."""
    there = sound(place(with_box()))
    found = faults_of(there)[:3]
    heights = surviving(there, found)
    assert heights.lowest is heights.siphon_break is None
