"""Shared drain pipes, siphon tubes, lines over the rim, and rows of which the worst stands for a group."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from builds import found, height, loop, seen, way
from many_builds import driven, gutter, tube

from hydro.checks import FAILS, HOLDS, TIGHT, checks_of
from hydro.checks.check import CheckKind, held
from hydro.checks.folding import worst_of_groups
from hydro.checks.shared import headers_of_drains, shared_checks, shared_pipe, suction
from hydro.description.build import Group
from hydro.elements.drain import SIPHON
from hydro.quantities.arrays import GRAVITY


def number_in(results, bore):
    """Return J of the pump's whole flow in a bore, by hand."""
    flow = results.state.flows[results.network.pump]
    return flow / (math.pi / 4.0 * bore**2 * math.sqrt(GRAVITY * bore))


@pytest.mark.parametrize(("bore", "verdict"), [(0.110, HOLDS), (0.060, TIGHT)])
def test_a_pipe_that_drains_share(bore, verdict):
    """A shared pipe that vents itself, J up to 0.3 by hand, holds; a narrower one that fills up is tight."""
    results = found(gutter(bore))
    node, = headers_of_drains(results)
    row = shared_pipe(results, node)
    assert (row.value, row.verdict) == (pytest.approx(number_in(results, bore), rel=1e-6), verdict)
    assert (row.value <= 0.3) is (verdict == HOLDS)


def test_a_siphon_in_a_shared_pipe_fails():
    """A drain that siphons into a pipe with others in it draws their air, however wide the pipe is."""
    results = found(gutter(0.110))
    state = replace(results.state, network=results.state.network.in_modes({results.network.drains[0]: SIPHON}))
    assert shared_pipe(seen(results, state), headers_of_drains(results)[0]).verdict == FAILS


def test_drains_of_their_own_share_nothing():
    """Drains that end in a chamber each, and a single drain into a header, are no shared pipe."""
    assert headers_of_drains(found(loop())) == []
    assert shared_checks(found(loop())) == []


@pytest.mark.parametrize(("over", "verdict"), [(0.99, HOLDS), (1.01, TIGHT), (6.99, TIGHT), (7.01, FAILS)])
def test_the_suction_at_a_lines_highest_point(over, verdict):
    """A line that climbs 1 m over its mouth's level may flatten a soft hose, one that climbs 7 m parts its column."""
    high = 1.52
    results = found(loop(returns=(way(end=high),)))
    k, = results.network.returns
    element = results.element(k)
    end = replace(element.end, highest=high + over)
    links = list(results.network.links)
    links[k] = replace(links[k], element=replace(element, end=end))
    row = suction(replace(results, network=replace(results.network, links=tuple(links))), k)
    assert (row.value, row.verdict) == (pytest.approx(over, abs=1e-9), verdict)
    assert (row.soft, row.to_failing) == (False, pytest.approx(7.0 - over, abs=1e-9))


def test_a_siphon_tube_that_keeps_its_prime():
    """Both ends stay under water, running and after a cut: what stands over the higher one is the row's value."""
    results = found(tube())
    row = next(row for row in shared_checks(results) if row.key == "prime tube")
    rest = [case.levels[results.network.water(name)] for case in results.stopped.values() for name in ("inner", "outer")]
    running = [results.state.levels[results.network.water(name)] for name in ("inner", "outer")]
    assert row.value == pytest.approx(min(*rest, *running) - 1.20, abs=1e-9)
    assert row.verdict in (HOLDS, TIGHT)


def test_a_wave_uncovers_the_end_of_a_siphon_tube():
    """An end with less than 10 mm of water over it, at rest or running, is tight; with a fast tube and more it holds."""
    plain = found(tube(start=1.15, finish=1.15, bore=0.0284))
    low = 1.15 + next(row for row in shared_checks(plain) if row.key == "prime tube").value
    for cover, verdict in ((0.012, HOLDS), (0.008, TIGHT), (0.001, TIGHT)):
        row = next(row for row in shared_checks(found(tube(start=low - cover, finish=low - cover, bore=0.0284)))
                   if row.key == "prime tube")
        assert row.value == pytest.approx(cover, abs=1e-3)
        assert (row.verdict, "wave" in row.because) == (verdict, verdict == TIGHT)


def test_a_siphon_tube_with_an_end_in_the_air():
    """An end that stands over the water at rest loses its prime in a power cut: the row fails."""
    results = found(tube(finish=1.40))
    row = next(row for row in checks_of(results) if row.key == "prime tube")
    assert row.value < 0.0
    assert row.verdict == FAILS


def rows(*values):
    """Return rows by name, each held against 1."""
    return [(f"tank {n}", held(CheckKind.TANK_ROOM, f"tank {n} holds", value, 1.0, "here", subject=f"tank {n}"))
            for n, value in enumerate(values, 1)]


def test_the_worst_stands_for_its_group():
    """Of a group's rows the gravest with the least margin stays, under the group's name; what is in no group stays as it is."""
    build = replace(loop(), groups=(Group("rack", ("tank 1", "tank 2", "tank 3")),))
    made = worst_of_groups(build, rows(0.2, 1.4, 1.1, 0.5))
    assert [row.key for row in made] == ["tank room rack", "tank room tank 4"]
    assert [(row.worst, row.stands_for) for row in made] == [("tank 2", ("tank 1", "tank 2", "tank 3")), ("", ())]
    assert made[0].value == 1.4
    assert made[0].question == "any of 3 x rack: tank 2 holds (worst: tank 2)"


def test_a_group_of_one_is_no_group():
    """A description that was built once is told by its name."""
    build = replace(loop(), groups=(Group("rack", ("tank 1",)),))
    assert [row.key for row in worst_of_groups(build, rows(0.2))] == ["tank room tank 1"]


def test_keys_name_what_there_are_several_of():
    """A check's key is its kind's word, with the name of its subject where it has one."""
    assert (CheckKind.TANK_ROOM.key("show"), CheckKind.TANK_ROOM.key()) == ("tank room show", "tank room")


def test_a_return_over_a_high_crown_may_not_fill_again():
    """Of two returns one climbs over more than the pump lifts from rest: full it runs, and the restart is tight."""
    curve = ((0.0, 1.60), (0.6e-3, 1.50), (1.2e-3, 0.0))
    high = replace(way("high"), highest=height(2.10, "high: highest"))
    results = found(loop(returns=(way("low", bore=0.022), high), driven_by=driven(curve=curve)))
    row = next(row for row in checks_of(results) if row.key == "restart pump")
    assert (row.verdict, "high climbs higher" in row.because) == (TIGHT, True)
    lower = found(loop(returns=(way("low", bore=0.022), way("high")), driven_by=driven(curve=curve)))
    assert next(row for row in checks_of(lower) if row.key == "restart pump").verdict == HOLDS


@pytest.mark.parametrize(("bore", "slow"), [(0.0452, True), (0.0284, False)])
def test_a_siphon_tube_that_is_too_slow_for_its_air(bore, slow):
    """With J below 1 at its crown, by hand, a tube may lose its prime to air that collects: tight; a faster one holds."""
    results = found(tube(start=1.15, finish=1.15, bore=bore))
    k = results.network.place("tube")
    number = results.state.flows[k] / (math.pi / 4.0 * bore**2 * math.sqrt(GRAVITY * bore))
    row = next(row for row in shared_checks(results) if row.key == "prime tube")
    assert (number < 1.0) is slow
    assert (row.verdict, "too slow" in row.because) == ((TIGHT, True) if slow else (HOLDS, False))
