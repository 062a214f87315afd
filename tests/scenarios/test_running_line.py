"""The highest running line: just high enough that a power cut still fits, found by running and stopping again."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import inf

import pytest
from builds import chamber, drain, found, height, loop, plate, pump, taper, three_chambers, way, worked
from many_builds import standing, sump, two_sumps

import hydro.scenarios.running_line
from hydro.errors import SolveError
from hydro.scenarios.placed_build import held_at, place
from hydro.scenarios.running_line import after_cut, highest_line
from hydro.shutdown import Shutdown, lowest_opening
from hydro.steady.operating_point import NONE, OperatingPoint

CASES = tuple(product((True, False), repeat=2))
BUILDS = {
    "plain": loop(), "worked": worked(), "valve": loop(driven_by=pump(valve=True)),
    "notch": loop(sump_opening=0.41, returns=(way(end=1.465),)),
    "small siphon": loop(drains=(drain(lip=1.47, bore=0.0284, length=1.3),), returns=(way(end=1.46),)),
    "taper": loop(sump=taper("sump", (1.02, 0.5), (0.9, 0.4), 0.46)),
    "break": loop(returns=(way(end=1.40, hole_at=1.465, hole=0.01, mark=True),)),
}


def of(build):
    """Return the network of a build."""
    return place(build).network()


@pytest.mark.parametrize("room", [0.0, 0.025])
@pytest.mark.parametrize("name", BUILDS)
def test_the_line_fits_exactly(name, room):
    """Stopped from the highest line the sump ends at its opening less the room, within 0.1 mm and never above it."""
    network = of(BUILDS[name])
    limit, met = lowest_opening(network) - room, 0
    for case in CASES:
        line = highest_line(network, *case, room)
        if line is None:
            continue
        rest, _ = after_cut(network, line, *case)
        assert rest <= limit
        if line < limit - 1e-9:
            assert rest == pytest.approx(limit, abs=1e-4)
            met += 1
    assert met > 0


@pytest.mark.parametrize("name", BUILDS)
def test_a_millimetre_higher_does_not_fit(name):
    """From 1 mm above the highest line the sump no longer keeps its room."""
    network = of(BUILDS[name])
    limit = lowest_opening(network) - 0.01
    for case in CASES:
        line = highest_line(network, *case, 0.01)
        if line is not None and line < limit - 1e-9:
            assert after_cut(network, line + 1e-3, *case)[0] > limit


@pytest.mark.parametrize("name", BUILDS)
def test_more_room_never_raises_the_line(name):
    """The more room is wanted, the lower the line, down to none at all."""
    network = of(BUILDS[name])
    lines = [highest_line(network, name == "break", False, room) for room in (0.0, 0.01, 0.02, 0.04, 0.08, 0.30)]
    heights = [-inf if line is None else line for line in lines]
    assert heights == sorted(heights, reverse=True)
    assert len(set(heights)) >= 4


def test_what_is_counted_on_never_lowers_the_line():
    """Counting on siphon breaks or a check valve can only raise the line."""
    network = of(loop(driven_by=pump(valve=True), returns=(way(end=1.45, hole_at=1.465),)))
    line = {case: highest_line(network, *case, 0.0) for case in CASES}
    assert line[False, False] < line[True, False] < line[True, True]
    assert line[False, False] < line[False, True] == line[True, True]


def test_the_worked_loops_lines():
    """To the very brim the worked loop may run at 0.3727 m with holes that work, at 0.3018 m with plugged ones (notes, 6)."""
    network = of(worked())
    assert highest_line(network, True, False, 0.0) == pytest.approx(0.3727, abs=3e-4)
    assert highest_line(network, False, False, 0.0) == pytest.approx(0.3018, abs=1e-4)


def test_the_line_is_not_spare_over_area():
    """Raising the present line by the spare volume over the pump chamber's or the sump's area misses by more than 10 mm.

    In the worked loop, plugged, 20.88 L over the pump chamber's 0.14 m2 would allow 0.354 m (the notes' example) and over the
    whole sump's 0.51 m2 0.246 m; running and stopping again finds 0.302 m.
    """
    results = found(worked())
    line = highest_line(results.network, False, False, 0.0)
    spare = results.stopped[False, False].spare
    assert 0.205 + spare / 0.14 == pytest.approx(0.354, abs=5e-4)
    assert 0.205 + spare / 0.14 - line > 0.050
    assert line - (0.205 + spare / 0.51) > 0.050


@pytest.mark.parametrize("room", [0.18, 0.45, 0.46, 0.6])
def test_none_where_nothing_fits(room):
    """Where even a pump chamber at its intake leaves too little room there is no line."""
    assert highest_line(of(loop(returns=(way(end=1.45),))), False, False, room) is None


def test_the_limit_itself_is_returned(monkeypatch):
    """A line at the limit that fits is returned as it is, and one that fits by nothing too."""
    network = of(loop())
    for rest in (0.2, lowest_opening(network) - 0.03):
        monkeypatch.setattr(hydro.scenarios.running_line, "after_cut", lambda *_, rest=rest: (rest, None))
        assert highest_line(network, True, True, 0.03) == lowest_opening(network) - 0.03


def test_a_line_that_just_fits_at_the_intake(monkeypatch):
    """Where the lowest line fits by nothing and all others do not, it is the line; the least bit more and there is none."""
    network = of(loop())
    lowest = 0.07 + 1e-3
    for over, line in ((0.0, lowest), (1e-9, None)):
        monkeypatch.setattr(
            hydro.scenarios.running_line, "after_cut", lambda _, at, *__, over=over: (0.46 + over + 9.0 * (at - lowest), None)
        )
        found_line = highest_line(network, True, True, 0.0)
        assert found_line == (line if line is None else pytest.approx(line, abs=2e-5))


@pytest.mark.parametrize("shape", [lambda x: x, lambda x: x ** 5, lambda x: 1.0 - (1.0 - x) ** 5,
                                   lambda x: x if x < 0.6 else inf])
def test_the_search_finds_any_rising_crossing(monkeypatch, shape):
    """Whatever the shape of the rise, the line found fits and 0.03 mm above it nothing does, after at most 40 trials."""
    network = of(loop())
    low, high, at = 0.071, 0.46, 0.30

    def level(_, line, *__):
        share = shape((line - low) / (high - low))
        return 0.46 + share - shape((at - low) / (high - low)), None

    monkeypatch.setattr(hydro.scenarios.running_line, "after_cut", level)
    asked = []
    monkeypatch.setattr(hydro.scenarios.running_line, "after_cut", lambda *given: asked.append(given) or level(*given))
    line = highest_line(network, True, True, 0.0)
    assert len(asked) <= 40
    assert level(None, line)[0] <= 0.46
    assert level(None, line + 3e-5)[0] > 0.46


def test_a_trial_that_fits_by_nothing_fits(monkeypatch):
    """A trial from which the sump ends exactly at its limit counts as one that fits, and is taken."""
    network = of(loop())
    ends = {0.07 + 1e-3: 0.36, 0.46: 0.56}
    monkeypatch.setattr(hydro.scenarios.running_line, "after_cut", lambda _, line, *__: (ends.get(line, 0.46), None))
    assert highest_line(network, True, True, 0.0) == pytest.approx((0.071 + 0.46) / 2.0, abs=1e-9)


def test_negative_room_is_no_room():
    """Less room than none is none: the line never lets the sump run over."""
    network = of(loop())
    assert highest_line(network, False, False, -0.05) == highest_line(network, False, False, 0.0)


def test_no_chamber_runs_over_at_the_line():
    """The line keeps every chamber below the sump's opening while running, also where a power cut would fit from higher up."""
    build = loop(chambers=(chamber("inflow", 0.15, plate(0.30)), chamber("pump")), driven_by=pump(valve=True), sump_opening=0.355,
                 returns=(way(end=1.475),))
    network = of(build)
    line = highest_line(network, True, True, 0.0)
    if line is not None:
        _, state = after_cut(network, line, True, True)
        assert max(float(state.levels[k]) for k in network.chambers) <= 0.355
    over = of(replace(build, sumps=(replace(build.sumps[0], chambers=(chamber("inflow", 0.15, plate(0.345)), chamber("pump"))),)))
    assert after_cut(over, 0.1, True, True)[0] == inf
    assert highest_line(over, True, True, 0.0) is None


def test_a_chamber_may_stand_at_the_opening():
    """A chamber that stands just at the opening while running does not yet run over."""
    network = of(loop())
    _, state = after_cut(network, 0.1, False, False)
    top = float(state.levels[network.chambers[0]])
    opened = replace(network, waters=tuple(replace(water, opening=top) if k in network.chambers else water
                                           for k, water in enumerate(network.waters)))
    assert after_cut(opened, 0.1, False, False)[0] < inf


@pytest.mark.parametrize("answer", [OperatingPoint(NONE, None), "raise", "untrusted"])
def test_a_line_without_a_way_to_run_does_not_fit(monkeypatch, answer):
    """A line at which the loop does not run, or the equations are not solved, never counts as one that fits."""
    network = of(loop())
    state = hydro.scenarios.running_line.operating_point(network, held_at(network, 0.2)).state

    def run(*_):
        if answer == "raise":
            raise SolveError("running", 1, 1.0, "pump", "none")
        return OperatingPoint(NONE, state) if answer == "untrusted" else answer

    monkeypatch.setattr(hydro.scenarios.running_line, "operating_point", run)
    assert after_cut(network, 0.2, False, False) == (inf, None)
    assert highest_line(network, False, False, 0.0) is None


def test_the_worst_way_to_run_decides():
    """Of several ways to run at a line the one that ends highest counts."""
    network = of(loop(drains=(drain(lip=1.47, bore=0.0362, length=1.3, k=2.6),)))
    rest, _ = after_cut(network, 0.15, False, False)
    states = hydro.scenarios.running_line.operating_point(network, held_at(network, 0.15)).states
    ends = [hydro.scenarios.running_line.shut_down(state, False, False).sump_level for state in states]
    assert len(ends) == 2
    assert rest == max(ends) > min(ends)


def test_the_line_is_held_while_running():
    """The state that comes back stands at the line it was asked for."""
    network = of(loop(chambers=three_chambers()))
    for line in (0.1, 0.3):
        _, state = after_cut(network, line, False, False)
        assert float(state.pump_level) == pytest.approx(line, abs=1e-9)


def test_every_sump_keeps_its_room():
    """Of two joined sumps each ends below its own opening by the wanted room; from 1 mm higher one of them does not."""
    build = two_sumps(joined=True)
    build = replace(build, sumps=(build.sumps[0], sump("right sump", "right ", bottom=-0.1, opening=0.38)),
                    returns=tuple(replace(one, end=height(1.495, "")) for one in build.returns))
    network = of(build)
    line = highest_line(network, False, False, 0.02)
    assert line is not None

    def rooms(at):
        _, state = after_cut(network, at, False, False)
        end = hydro.scenarios.running_line.shut_down(state, False, False)
        return [lowest_opening(network, one) - end.sump_level_of(one) for one in network.sumps]

    assert min(rooms(line)) >= 0.02 - 1e-9
    assert line >= lowest_opening(network, network.sumps[0]) - 0.02 - 1e-9 or min(rooms(line + 1e-3)) < 0.02


def test_the_worst_sump_counts_by_its_own_opening(monkeypatch):
    """Of two sumps 30 mm and 50 mm under openings of 0.46 and 0.33 m the first counts; with the other 10 mm over, that one."""
    network = of(replace(two_sumps(), sumps=(two_sumps().sumps[0], sump("right sump", "right ", opening=0.33))))
    levels = dict.fromkeys((water.name for water in network.waters), 0.1)
    monkeypatch.setattr(
        hydro.scenarios.running_line, "operating_point", lambda *_: OperatingPoint("steady", standing(network, levels))
    )
    for right, rest in ((0.28, 0.43), (0.34, 0.47)):
        end = Shutdown(False, False, {}, {}, {}, (0.43, 0.40, right, 0.2), (0.0, 0.0), network.sumps)
        monkeypatch.setattr(hydro.scenarios.running_line, "shut_down", lambda *_, end=end: end)
        assert after_cut(network, 0.2, False, False)[0] == pytest.approx(rest)


def test_a_second_sump_over_its_opening_while_running_does_not_fit(monkeypatch):
    """A chamber of another sump that stands over that sump's own opening while running rules a line out."""
    network = of(replace(two_sumps(), sumps=(two_sumps().sumps[0], sump("right sump", "right ", opening=0.33))))
    for level, fits in ((0.32, True), (0.34, False)):
        levels = {**dict.fromkeys((water.name for water in network.waters), 0.1), "right inflow": level}
        monkeypatch.setattr(hydro.scenarios.running_line, "operating_point",
                            lambda *_, levels=levels: OperatingPoint("steady", standing(network, levels)))
        assert (after_cut(network, 0.2, True, True)[0] < inf) is fits
