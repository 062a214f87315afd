"""Which pump: operating points of the whole loop, settings for a wanted flow, power, and the order, held by independent sums."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from hydro.case import load, loads
from hydro.checks.check import COMFORT, FAILS
from hydro.checks.sensitivity import shifts
from hydro.elements.fittings import _BALL, LocalLoss
from hydro.elements.limits import water_density
from hydro.elements.pump import from_box
from hydro.quantities.water import water_properties
from hydro.report.content.named import EXAMPLE
from hydro.scenarios.placed_build import closing_of, place
from hydro.scenarios.results import results_of
from hydro.search.pumps.candidate import SPEED, THROTTLE, Candidate, own_pump
from hydro.search.pumps.choose import JUST, REACHED, SHORT, Choice, choose, with_candidate
from hydro.search.pumps.duty import PumpGoals
from hydro.search.pumps.point import BEYOND, SHUT_OFF, WITHIN, flow_for_turnover, head_asked, operate, point_of, turnovers
from hydro.search.pumps.power import ALONG, LABEL, SLOWED, cost, power_draw, yearly_energy
from hydro.search.pumps.setting import root, setting_for
from hydro.steady.pump_lift import forced

CASES = Path(__file__).parents[3] / "cases"
LITRE_HOUR = 1e-3 / 3600.0


def curve(name, *points, **others):
    """Return a candidate of points in L/h and m."""
    return Candidate(name, tuple((flow * LITRE_HOUR, head) for flow, head in points), **others)


BIG = curve("big", (0, 5.0), (2500, 4.7), (5000, 4.0), (9000, 0.0), watts=((0.0, 40.0), (5000 * LITRE_HOUR, 70.0),
                                                                            (9000 * LITRE_HOUR, 90.0)))
MIDDLE = curve("middle", (0, 3.0), (3000, 2.2), (6000, 0.0), rated=45.0)
WEAK = curve("weak", (0, 0.9), (2000, 0.0), rated=20.0)
DROOPING = curve("drooping", (0, 1.15), (1500, 1.9), (3000, 2.2), (4500, 1.3), (6000, 0.0), rated=50.0)
BOX = Candidate("box", most_flow=7000 * LITRE_HOUR, most_height=3.8, rated=70.0)


@pytest.fixture(scope="module")
def worked():
    """Return the worked loop, placed."""
    return place(load(str(CASES / "worked-loop.yaml")))


@pytest.fixture(scope="module")
def trough():
    """Return the small example of the library, placed."""
    return place(loads(EXAMPLE, "trough.yaml"))


@pytest.fixture(scope="module")
def chosen(trough):
    """Return the choice among five pumps for 2500 L/h, with a price."""
    return choose(trough, "pump", [BIG, MIDDLE, WEAK, BOX, own_pump(trough.build.pump)],
                  PumpGoals(2500 * LITRE_HOUR, 12.0, 0.30, "EUR"))


def row(choices, name):
    """Return the row of a candidate."""
    return next(one for one in choices.rows if one.candidate.name == name)


def test_the_pump_described_works_where_the_report_says(worked):
    """The build's own pump as a candidate works at the flow of the findings, in its own place and at its own head."""
    found = results_of(worked)
    there = point_of(found.answer, found.network.pump)
    again = results_of(with_candidate(worked, "pump", own_pump(worked.build.pump)))
    assert point_of(again.answer, again.network.pump) == there
    assert there.flow == pytest.approx(float(found.state.pump_flow), rel=1e-12)
    assert there.head == pytest.approx(head_asked(found.state, there.flow, found.network.pump), abs=1e-5)


@pytest.mark.parametrize("candidate", [BIG, MIDDLE, BOX], ids=lambda one: one.name)
def test_a_pump_works_where_its_curve_meets_what_the_loop_asks_for(worked, candidate):
    """The head on the curve is the head that the loop with the pump described asks for at that flow, every level solved."""
    loop = with_candidate(worked, "pump", candidate)
    network = loop.network()
    _, found = operate(network, closing_of(loop, network), network.pump)
    other = results_of(worked)
    assert found.head == pytest.approx(head_asked(other.state, found.flow, other.network.pump), abs=2e-3)
    shape = network.links[network.pump].element.curve
    assert found.head == pytest.approx(float(shape.head(found.flow)[0]), rel=1e-12)
    assert found.share == pytest.approx(found.flow / float(shape.flows[-1]), rel=1e-12)


def test_a_label_is_a_band_of_exponents(trough, chosen):
    """The flow of a pump known by its label spans what exponents 1 to 3 and 7 % of head give."""
    found = row(chosen, "box")
    flows = []
    for exponent, strength in ((1.0, 0.93), (2.0, 1.0), (3.0, 1.07)):
        shape = from_box(BOX.most_flow, BOX.most_height, exponent).scaled(strength)
        loop = with_candidate(trough, "pump", Candidate("same", tuple(zip(shape.flows, shape.heads, strict=True))))
        network = loop.network()
        flows.append(operate(network, closing_of(loop, network), network.pump)[1].flow)
    assert [found.weak, found.full.point.flow, found.strong] == pytest.approx(flows, rel=1e-6)


@pytest.mark.parametrize("candidate", [BIG, MIDDLE], ids=lambda one: one.name)
def test_the_throttle_takes_the_head_that_is_left(worked, candidate):
    """The valve's K is the spare head at the wanted flow over the velocity head, and its opening stands in the ball valve's
    table at that K.
    """
    wanted = 2500 * LITRE_HOUR
    loop = with_candidate(worked, "pump", candidate)
    state = results_of(loop).state
    found = setting_for(loop, "pump", THROTTLE, wanted, state)
    spare, _ = forced(state, found.flow, state.network.pump)
    assert found.k == pytest.approx(spare / LocalLoss.of(1.0, 0.0284).loss(found.flow)[0], rel=1e-3)
    (low, k_low), (high, k_high) = next(pair for pair in pairwise(_BALL)
                                        if pair[0][0] <= found.value <= pair[1][0])
    share = (found.value - low) / (high - low)
    assert found.k == pytest.approx(k_low ** (1.0 - share) * k_high ** share, rel=1e-6)
    assert wanted <= found.flow <= 1.0002 * wanted


@pytest.mark.parametrize("candidate", [BIG, MIDDLE], ids=lambda one: one.name)
def test_the_speed_gives_the_wanted_flow_by_affinity(worked, candidate):
    """At the speed found s^2 h(Q/s) is the head that the loop asks for at the wanted flow."""
    wanted = 2500 * LITRE_HOUR
    loop = with_candidate(worked, "pump", candidate)
    state = results_of(loop).state
    found = setting_for(loop, "pump", SPEED, wanted, state)
    shape = state.network.links[state.network.pump].element.curve
    needed = head_asked(state, found.flow, state.network.pump)
    assert found.value**2 * float(shape.head(found.flow / found.value)[0]) == pytest.approx(needed, rel=1e-4)
    assert wanted <= found.flow <= 1.0002 * wanted


def test_a_weak_pump_takes_a_wider_valve_and_more_speed(chosen):
    """The band of a setting runs from the strong pump's valve, closed further, to the weak one's, and so do the speeds."""
    for setting in row(chosen, "middle").settings:
        assert setting.low < setting.value < setting.high


def test_a_set_pump_runs_with_the_wanted_flow_in_the_whole_loop(chosen):
    """The build that is judged runs with the wanted flow, valve or speed in it, and overflows are rated without them."""
    for name in ("big", "middle", "box"):
        found = row(chosen, name)
        assert float(found.results.state.pump_flow) == pytest.approx(2500 * LITRE_HOUR, rel=2e-4)
        assert found.setting.kind == THROTTLE
        (free,) = (one for one in found.results.overflows if not one.out)
        assert float(free.with_air.pump_flow) >= 0.99 * found.full.point.flow


def test_overflows_are_rated_with_the_pump_at_its_best(trough, chosen):
    """The room told with the worst drain blocked, and with all open, is what the checks of the pump as it comes rest on."""
    found = results_of(with_candidate(trough, "pump", BIG))
    (free,) = (one for one in found.overflows if not one.out)
    opening = float(found.network.waters[found.network.tank].opening)
    assert row(chosen, "big").room == pytest.approx(opening - free.level, abs=1e-4)
    assert (row(chosen, "big").drain, row(chosen, "big").blocked) == ("drain", None)


def test_the_worst_drain_is_the_one_that_leaves_least_room(worked):
    """Of two drains the one is named whose loss leaves the tank higher, and nothing is told where none is left."""
    (found,) = choose(worked, "pump", [MIDDLE], PumpGoals(2500 * LITRE_HOUR, bands=False)).rows
    base = results_of(with_candidate(worked, "pump", MIDDLE))
    opening = float(base.network.waters[base.network.tank].opening)
    rooms = {base.network.links[one.out[0]].name: opening - one.level for one in base.overflows if one.out}
    assert len(rooms) == 2
    assert (found.drain, found.blocked) == (min(rooms, key=rooms.get), pytest.approx(min(rooms.values()), abs=1e-5))


def test_power_and_cost(chosen, trough):
    """Watts along the curve are interpolated, a label is an upper end, slowed ones go by the cube; energy and cost follow."""
    big, middle = row(chosen, "big"), row(chosen, "middle")
    flow = big.full.point.flow / LITRE_HOUR
    watts = 70.0 + (flow - 5000) / 4000 * 20.0 if flow > 5000 else 40.0 + flow / 5000 * 30.0
    assert (big.full.power.watts, big.full.power.basis) == (pytest.approx(watts), ALONG)
    assert (middle.full.power.watts, middle.full.power.basis) == (45.0, LABEL)
    density = water_properties(298.15).density
    assert water_density(trough.build) == pytest.approx(density)
    useful = density * 9.80665 * big.full.point.flow * big.full.point.head
    assert big.full.hydraulic == pytest.approx(useful, rel=1e-9)
    assert big.full.efficiency == pytest.approx(useful / watts)
    assert big.full.yearly == pytest.approx(watts * 12 * 365 * 3600)
    assert big.full.cost == pytest.approx(watts * 12 * 365 / 1000 * 0.30)
    slowed = power_draw(BIG, 2000 * LITRE_HOUR, 0.5)
    assert (slowed.watts, slowed.basis) == (pytest.approx(0.125 * (40.0 + 4000 / 5000 * 30.0)), SLOWED)
    assert power_draw(replace(BIG, watts=()), 0.0) is None
    assert cost(yearly_energy(100.0, 24.0), 0.25) == pytest.approx(219.0)


def test_the_order(chosen):
    """Pumps that fail come last; among the others a reached flow, then the least energy decide."""
    keys = [one.order for one in chosen.rows]
    assert keys == sorted(keys)
    assert chosen.rows[-1].candidate.name == "weak"
    assert row(chosen, "weak").reached == SHORT
    assert row(chosen, "weak").full.point.trouble.startswith(("cannot lift", "too weak"))


def stub(name, verdict_fails=False, **others):
    """Return a row of nothing but what it is ranked by."""
    class Known(Choice):
        @property
        def verdict(self):
            return FAILS if verdict_fails else "holds"

    class Duty:
        yearly = others.pop("yearly", None)
    return Known(Candidate(name), full=Duty(), run=Duty(), **others)


def test_each_step_of_the_order():
    """Each step of the rule counts for less than the step before, and the name settles what is left."""
    rows = [stub("f", True, reached=REACHED, yearly=1.0, blocked=1.0), stub("e", reached=SHORT, yearly=1.0, blocked=1.0),
            stub("d", reached=JUST, yearly=1.0, blocked=1.0), stub("c", reached=REACHED, blocked=9.0),
            stub("b", reached=REACHED, yearly=2.0, blocked=0.1), stub("a", reached=REACHED, yearly=2.0, blocked=0.1),
            stub("z", reached=REACHED, yearly=2.0, blocked=0.2), stub("y", reached=REACHED, yearly=1.9, blocked=None)]
    assert "".join(one.candidate.name for one in sorted(rows, key=lambda one: one.order)) == "yzabcdef"


def test_the_order_does_not_hang_on_the_order_given(trough):
    """The same pumps given the other way round come out in the same order, with the same figures."""
    some = [BIG, MIDDLE, BOX]
    asked = PumpGoals(2500 * LITRE_HOUR, bands=False)
    first, second = choose(trough, "pump", some, asked), choose(trough, "pump", some[::-1], asked)
    assert [one.candidate.name for one in first.rows] == [one.candidate.name for one in second.rows]
    assert [one.run for one in first.rows] == [one.run for one in second.rows]


def test_the_wanted_flow_comes_from_the_turnover(trough):
    """Without a flow the wish rules: the middle of a wished range, else its least, else 3 per hour; each tank gets it."""
    wish = {"wishes: {turnover: 4 .. 8 per hour}": 6.0, "wishes: {least turnover: 5 per hour}": 5.0, "": 3.0}
    for text, times in wish.items():
        loop = place(loads(f"{EXAMPLE}{text}\n", "wish.yaml"))
        found = choose(loop, "pump", [BIG], PumpGoals(bands=False))
        assert found.wanted.turnover == pytest.approx(times / 3600.0)
        turned = turnovers(results_of(found.rows[0].setting.loop).state)
        assert list(turned.values()) == [pytest.approx(times / 3600.0, rel=1e-3)]
    most = place(loads(f"{EXAMPLE}wishes: {{most turnover: 8 per hour}}\n", "wish.yaml"))
    assert choose(most, "pump", [BIG], PumpGoals(bands=False)).wanted.flow is None


def test_no_turnover_without_a_flow(trough):
    """A turnover that no flow gives is no wanted flow."""
    state = results_of(trough).state
    assert flow_for_turnover(state, state.network.pump, 1e6) is None


def test_heights_stay_where_they_were_measured():
    """Heights counted from the running water do not move with the pump that is tried."""
    text = EXAMPLE.replace("end: 10 cm below tank rim", "end: 2 cm below tank water")
    loop = place(loads(text, "water.yaml"))
    network, other = loop.network(), with_candidate(loop, "pump", BIG).network()
    assert float(network.links[network.pump].element.outlet) == float(other.links[other.pump].element.outlet)


def test_a_drooping_curve_is_flagged(trough):
    """A curve that cannot start the loop from rest is flagged with both its points, and fails."""
    (found,) = choose(trough, "pump", [replace(DROOPING, points=((0.0, 1.0), *DROOPING.points[1:]))],
                      PumpGoals(3000 * LITRE_HOUR, bands=False)).rows
    assert "two operating points" in found.full.point.trouble
    assert 0.0 < found.full.point.other < found.full.point.flow
    assert found.verdict == FAILS


def test_air_and_the_ends_of_a_curve_are_flagged():
    """A pump that empties its chamber draws air; one past its last point, and one near shut-off, are said to be so."""
    text = (CASES / "worked-loop.yaml").read_text(encoding="utf-8")
    less = 1000.0 * float(results_of(place(loads(text, "full.yaml"))).state.total) - 45.0
    text = text.replace("length: 0.28 m, line: 0.205 m above sump bottom", "length: 0.28 m")
    dry = place(loads(f"{text}\nwater: {{total: {less} L}}\n", "dry.yaml"))
    (found,) = choose(dry, "pump", [BIG], PumpGoals(bands=False)).rows
    assert found.full.point.trouble == "draws air"
    loop = place(loads(EXAMPLE, "trough.yaml"))
    short = curve("short", (0, 5.0), (1000, 4.5))
    steep = curve("steep", (0, 1.25), (3000, 0.3), (8000, 0.1), (20000, 0.0))
    found = choose(loop, "pump", [short, steep], PumpGoals(bands=False))
    assert row(found, "short").full.point.place == BEYOND
    assert row(found, "steep").full.point.place == SHUT_OFF


def test_verdicts_count_every_band(trough, chosen):
    """A verdict is that of the set build with one input after the other at its ends; without bands it is no worse."""
    found = row(chosen, "middle")
    ends = list(shifts(found.results.loop, found.results))
    assert ends
    worst = {key for shift in ends for key, there in shift.checks.items()
             if there.verdict == FAILS and there.kind.stake != COMFORT}
    assert {one.key for one in found.checks if one.verdict != "holds"} >= worst & {one.key for one in found.checks}


def test_ctrl_c_keeps_what_was_found(trough):
    """Stopped after one pump the choice holds that one and says that it is not complete."""
    def stop(done, count):
        assert count == 3
        raise KeyboardInterrupt
    found = choose(trough, "pump", [BIG, MIDDLE, BOX], PumpGoals(bands=False), stop)
    assert (found.complete, found.done, found.asked_for) == (False, 1, 3)
    assert [one.candidate.name for one in found.rows] == ["big"]


def test_root_finds_or_says_no():
    """A rising function's zero is found within what is enough; out of reach, or jumped over, there is none."""
    assert root(lambda x: x**3 - 0.125, 0.0, 1.0, 1e-9) == pytest.approx(0.5, rel=1e-8)
    assert root(lambda x: x - 2.0, 0.0, 1.0, 1e-9) is None
    assert root(lambda x: x + 1.0, 0.0, 1.0, 1e-9) is None
    assert root(lambda x: 1.0 if x > 0.3 else -1.0, 0.0, 1.0, 1e-9) is None
    assert root(lambda x: x - 1.0, 0.0, 1.0, 1e-9) == 1.0


def test_a_curve_ends_at_its_last_point(worked):
    """A straight curve cut off 2 % before its operating point works beyond its last point, cut off 2 % behind it within."""
    straight = curve("straight", (0, 5.0), (9000, 0.0))
    whole = results_of(with_candidate(worked, "pump", straight))
    flow = float(whole.state.pump_flow) / LITRE_HOUR
    for share, where in ((0.98, BEYOND), (1.02, WITHIN)):
        cut = curve("cut", (0, 5.0), (share * flow, 5.0 * (1.0 - share * flow / 9000)))
        found = results_of(with_candidate(worked, "pump", cut))
        there = point_of(found.answer, found.network.pump)
        assert (there.flow / LITRE_HOUR, there.place) == (pytest.approx(flow, rel=1e-6), where)
