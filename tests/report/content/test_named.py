"""Figures as they are shown on a tape and as they are handed to programs; where the pump's head goes."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from report_cases import SURGING, SYSTEMS, assessed, every_case, varied

from hydro import assess, figures, loads
from hydro.elements.line import REST
from hydro.quantities.tape import ceiling_mark, floor_mark, mark, rounded_band, tape_above, tape_band, tape_below
from hydro.report.content.flows import drain_runs, return_runs
from hydro.report.content.head_budget import PAID, REGAINED, pump_head_of, way_of, ways_to
from hydro.report.content.influence import influences
from hydro.report.content.levels import levels
from hydro.report.content.named import EXAMPLE, named
from hydro.report.terminal.layout import columns, table, wrap


def inches(text):
    """Return '8-1/16' as a number, read here on its own."""
    sign, text = (-1.0, text[1:]) if text.startswith("-") else (1.0, text)
    whole, _, fraction = text.partition("-") if "-" in text else ("0", "", text) if "/" in text else (text, "", "")
    over, _, under = fraction.partition("/")
    return sign * (float(whole) + (float(over) / float(under) if fraction else 0.0))


@pytest.mark.parametrize(("height", "system", "shown"), [
    (0.205, "metric", "205"), (1.2136, "metric", "1214"), (-0.0004, "metric", "0"), (0.2048, "US", "8-1/16"),
    (0.0127, "US", "1/2"), (0.3048, "imperial", "12"), (math.inf, "metric", "no limit"), (math.nan, "US", "unknown")])
def test_heights_are_shown_as_a_tape_shows_them(height, system, shown):
    """Heights are whole millimetres, or inches (25.4 mm by definition) in sixteenths."""
    assert mark(height, system) == shown


@given(st.floats(-3.0, 3.0))
def test_sixteenths_are_the_nearest(height):
    """A height in inches is never more than a thirty-second of an inch away from what is shown."""
    assert abs(inches(mark(height, "US")) - height / 0.0254) <= 1.0 / 32.0 + 1e-9


@given(st.floats(0.0, 3.0), st.sampled_from(SYSTEMS))
def test_a_line_is_never_rounded_up(height, system):
    """A height that must not be passed is shown no higher than it is, and less than one mark lower."""
    shown = tape_below(height, system)
    value = float(shown.removesuffix(" mm")) / 1000.0 if system == "metric" else inches(shown.removesuffix(" in")) * 0.0254
    assert -1e-6 <= height - value < (1.001e-3 if system == "metric" else 0.0254 / 16.0 + 1e-6)


@given(st.floats(1e-5, 1e-2), st.floats(0.001, 0.5), st.floats(0.001, 0.5))
def test_bands_shown_hold_the_bands_meant(middle, down, up):
    """A band of flows is rounded outwards, and the figure before it lies within."""
    low, high = middle * (1.0 - down), middle * (1.0 + up)
    shown, ends = rounded_band((low, middle, high), "flow", "metric")
    first, last = map(float, ends.split(" to ")) if ends else (float(shown), float(shown))
    slack = 0.0 if ends else 10.0 ** (math.floor(math.log10(high * 3.6e6)) - 2)
    assert first <= low * 3.6e6 * (1.0 + 1e-6) + slack
    assert last >= high * 3.6e6 * (1.0 - 1e-6) - slack
    assert first <= float(shown) <= last


def test_wide_bands_of_heights_are_coarse():
    """A level known to 9 mm is shown to the millimetre, one known to 70 mm to 5 mm, both rounded outwards."""
    assert tape_band((0.1913, 0.2, 0.2081), "metric") == ("200", "191 to 209")
    assert tape_band((0.1313, 0.2, 0.2631), "metric") == ("200", "130 to 265")
    assert tape_band((0.2, 0.2, 0.2), "metric") == ("200", "")


@settings(max_examples=50)
@given(st.text(max_size=120), st.integers(4, 80))
def test_wrapping_keeps_the_width_and_the_words(text, room):
    """Wrapped lines keep to the width, and together they hold every sign that is not a space."""
    lines = wrap(text, room)
    assert all(columns(line) <= max(room, 2) for line in lines)
    kept = "".join("".join(lines).split())
    assert kept == "".join(sign if sign.isprintable() else "?" for sign in "".join(text.split()))


def test_long_names_are_wrapped_and_numbers_are_whole():
    """A name of 300 signs in a table is wrapped within 80 columns, and the numbers beside it stay in one piece."""
    lines = table([["name", "flow, L/h", "likely"], ["n" * 300, "123456", "100000 to 200000"]])
    assert max(map(columns, lines)) <= 80
    assert any("123456" in line and "100000 to 200000" in line for line in lines)
    assert sum(line.count("n") for line in lines[1:]) >= 300


@every_case
def test_budget_adds_up_to_the_pumps_head(path):
    """Lift and parts of each return add up to the pump's head within 1 um, but for the 1 mm per m3/s that the equations add.

    The pump's equation and each line of the loop carry a resistance of 1e-3 s/m2, so that no slope vanishes.
    """
    state = assessed(path).results.state
    ways = ways_to(state)
    assert set(ways) == set(state.network.returns)
    for links in ways.values():
        way = way_of(state, links)
        added = 1e-3 * state.pump_flow + sum(REST * state.flows[link] for link in links)
        assert way.head == pump_head_of(state, state.network.pump)
        assert way.lift + sum(head for _, head in way.parts) + added == pytest.approx(way.head, abs=1e-6)


def test_budget_knows_the_velocity_head_at_a_siphon_break():
    """What the line before a hole drilled along it pays, the line behind it regains: the two entries cancel or nearly so."""
    text = EXAMPLE.replace("line: [hose 32 mm 1.5 m], end: 10 cm below tank rim",
                           "line: [hose 32 mm 1 m, siphon break, hose 32 mm 0.5 m], end: 10 cm below tank rim, "
                           "siphon break: {hole: 3 mm, at: 9 cm below tank rim}")
    state = assess(loads(text)).results.state
    links, = ways_to(state).values()
    heads = dict(way_of(state, links).parts)
    assert heads[PAID] > 0.01
    assert heads[PAID] + heads[REGAINED] == pytest.approx(0.0, abs=0.1 * heads[PAID])


@every_case
def test_flows_balance(path):
    """What the drains bring down equals what the pump moves, to 0.1 L/h (conservation)."""
    found = assessed(path)
    for state in found.answer.states:
        down = sum(run.flow[1] for run in drain_runs(found, state))
        assert down == pytest.approx(float(state.pump_flow), abs=0.1 / 3.6e6)


@every_case
def test_buckets_and_bands_belong_together(path):
    """Ten litres divided by a return's flow is the time of its bucket, the shortest time for the largest flow."""
    found = assessed(path)
    for run in return_runs(found, found.results.state):
        assert run.bucket == pytest.approx((0.010 / run.flow[2], 0.010 / run.flow[1], 0.010 / run.flow[0]))


@every_case
def test_levels_count_from_their_own_vessel(path):
    """Height over the bottom and below the rim add up to the vessel's inner height, and the bands hold the middle."""
    found = assessed(path)
    build = found.build
    for level in levels(found, found.results.state):
        vessel = build.tank if level.kind == "tank" else build.sump
        height = vessel.shape.values["height"].middle
        assert level.over_bottom[1] + level.under_rim[1] == pytest.approx(height)
        assert level.over_bottom[0] <= level.over_bottom[1] <= level.over_bottom[2]


def test_a_rough_stand_leaves_the_level_in_the_tank_known():
    """A tank bottom known to 7 cm only does not blur the water's height in the tank, which hangs on lips below its rim."""
    text = EXAMPLE.replace("bottom: 90 cm above ground", "bottom: 90 cm +- 7 cm above ground")
    tank = levels(found := assess(loads(text)), found.results.state)[0]
    assert tank.over_bottom[2] - tank.over_bottom[0] < 0.07
    assert tank.under_rim[2] - tank.under_rim[0] < 0.07


def test_influences_are_sorted_and_signed():
    """A stronger pump moves more and lifts the tank; the inputs go down by the largest share of the most of any figure."""
    listed = influences(varied(), most=20)
    sizes = [[max(abs(end or 0.0) for end in ends) for ends in (one.flow, one.tank, one.cut)] for one in listed]
    most = [max(column) for column in zip(*sizes, strict=True)]
    ranks = [max(size / top for size, top in zip(row, most, strict=True)) for row in sizes]
    assert ranks == sorted(ranks, reverse=True)
    assert len(listed) > 4
    found = {one.name: one for one in listed}
    low, high = found["pump strength"].flow
    assert low < 0.0 < high
    assert found["pump strength"].tank[0] < 0.0 < found["pump strength"].tank[1]


@every_case
def test_figures_are_quantities_of_the_same_values(path):
    """Each named figure as a pint quantity has the SI value of the assessment."""
    found = assessed(path)
    plain = named(found)
    for name, quantity in figures(found).items():
        assert quantity.to_base_units().magnitude == pytest.approx(plain[name][0], rel=1e-9, abs=1e-15) or \
            plain[name][1] in ("mass", "pressure")
    assert figures(found)["pump flow"].to("m**3/s").magnitude == pytest.approx(float(found.results.state.pump_flow))


def test_weights_and_pressures_follow_from_depth():
    """The water of a full box weighs its volume times its density, and presses on its bottom with its depth (rho g h)."""
    plain = named(assess(loads(EXAMPLE.replace("title:", "temperature: 4 °C\ntitle:"))))
    assert plain["water in the tank, full to its rim"][0] == pytest.approx(1.2 * 0.5 * 0.5 * 1000.0, rel=1e-4)
    assert plain["water pressure at the tank's bottom, full to its rim"][0] == pytest.approx(1000.0 * 9.80665 * 0.5, rel=1e-4)
    assert plain["water pressure at the lowest lip or mouth described"][0] == pytest.approx(1000.0 * 9.80665 * 0.116, rel=1e-4)


@every_case
def test_air_number_belongs_to_the_speed(path):
    """J of each drain is its speed over sqrt(g D) of its full bore, and its flow the speed times that bore's area."""
    found = assessed(path)
    state = found.results.state
    for k, run in zip(state.network.drains, drain_runs(found, state), strict=True):
        bore = float(found.results.element(k).full_bore)
        assert run.air_number == pytest.approx(run.speed / math.sqrt(9.80665 * bore))
        assert run.speed * math.pi / 4.0 * bore**2 == pytest.approx(run.flow[1], abs=1e-6)


def test_ways_of_running_are_named():
    """A drain that surges 'flushes', one without water is 'dry', a slow one is 'quiet', a fast one 'carries air'."""
    surging = varied(*SURGING)
    assert [run.runs for run in drain_runs(surging, surging.results.state)] == ["flushes"]
    spare = ("pump: {curve", "  - {name: spare, inlet: {standpipe: 60 mm, lip: 2 cm below tank rim}, line: [pipe 63 PN10 1 m], "
             "into: {chamber: pump, end: 30 cm above sump bottom}}\npump: {curve")
    listed = ("drains: [{name: drain", "drains:\n  - {name: drain")
    closed = ("end: 30 cm above sump bottom}}]", "end: 30 cm above sump bottom}}")
    found = varied(listed, closed, spare)
    runs = {run.name: (run.runs, run.ruled_by) for run in drain_runs(found, found.results.state)}
    assert runs["spare"] == ("dry", "-")
    assert runs["drain"][0] == "carries air"
    slow = varied(("3000 L/h = 2.2 m, 6000 L/h = 0 m", "500 L/h = 1.5 m, 900 L/h = 0 m"))
    assert [(run.runs, run.ruled_by) for run in drain_runs(slow, slow.results.state)] == [("quiet", "edge")]


@pytest.mark.parametrize(("system", "step"), [("metric", 1e-3), ("US", 0.0254 / 16.0), ("imperial", 0.0254 / 16.0)])
def test_levels_that_water_reaches_are_rounded_up(system, step):
    """A level after a cut is shown at the tape's next mark above it, the room left at the one below; a whole mark stays."""
    for height in (0.2001, 0.2009, 0.35, 0.123456):
        assert 0.0 <= ceiling_mark(height, system) - height < step
        assert 0.0 <= height - floor_mark(height, system) < step
    assert ceiling_mark(128 * step, system) == pytest.approx(128 * step, abs=1e-9)
    assert tape_above(0.2001, "metric") == "201 mm"
    assert tape_above(8.01 * 0.0254, "US") == "8-1/16 in"
