"""What a flush brings down stands higher over the first plate than what the pump moves: the room in the sump counts it."""

from dataclasses import replace

import pytest
from builds import box, chamber, drain, found, loop, plate
from single_drains import BORE, LIP, driven, single

from hydro.checks import FAILS
from hydro.checks.flood import sump_room
from hydro.checks.overflow import capacity
from hydro.elements.drain import SIPHON
from hydro.scenarios.flush import highest_in_a_flush
from hydro.steady.operating_point import SURGES
from hydro.transient.disturbances import as_it_is, drains_blocked, simulate

L_H = 1.0 / 3.6e6


def surging(**changes):
    """Return findings of one 36.2 mm drain, too much water for air and too little for a siphon; plate 0.6 m at 0.40 m."""
    sump = {"sump": box("sump", 2.0, 0.6, 0.6), "chambers": [chamber("inflow", 0.2, plate(0.40)), chamber("pump")], **changes}
    return found(single(0.6, total=found(single(0.3, **sump)).answer.state.total + 0.06, **sump))


def test_a_flush_stands_over_the_plate_by_poleni():
    """The flush stands over the plate at the head of the drain's full flow, 14.7 mm, where the pump's flow makes 9 mm.

    The drain full of water falls 1.519 - 0.40 m; entrance 0.5, one K of 2.3, exit 1 and 0.72 of friction (f 0.021, 1.25 m of
    36.2 mm) leave V = sqrt(2g 1.119/4.52) = 2.20 m/s: 8,170 L/h; its edge feeds 7,010 L/h at 49.3 mm over the lip, the lesser.
    Poleni: h = (q / ((2/3) 0.62 sqrt(2g) 0.6))^(2/3); 7,010 L/h make 14.7 mm, the pump's 3,420 L/h 9.1 mm.
    """
    results = surging()
    strength = 2.0 / 3.0 * 0.62 * (2.0 * 9.81) ** 0.5 * 0.6
    flush = highest_in_a_flush(results.answer, results.network.sumps[0])
    assert flush == pytest.approx(0.40 + (7010 * L_H / strength) ** (2.0 / 3.0), abs=2e-4)
    standing = max(float(state.levels[results.network.chambers[0]]) for state in results.answer.states)
    assert standing == pytest.approx(0.40 + (3420 * L_H / strength) ** (2.0 / 3.0), abs=2e-4)


def test_room_that_a_flush_goes_over_fails():
    """An opening at 412 mm, over the level that the pump's flow makes and under the flush, fails, and through time it spills."""
    results = surging(sump_opening=0.412)
    assert sump_room(results).verdict == FAILS
    seen = simulate(results.state, as_it_is(), 2e-4, 900.0)
    inflow = results.network.chambers[0]
    assert max(moment.levels[inflow] for moment in seen.moments) > 0.412
    assert seen.end.volumes[-1] > 1e-4


def test_no_instant_stands_over_the_bound_of_a_flush():
    """Through time no chamber stands over the level that a flush is counted with, and the first comes within 2 mm of it."""
    results = surging()
    seen = simulate(results.state, as_it_is(), 2e-4, 900.0)
    bound = highest_in_a_flush(results.answer, results.network.sumps[0])
    highest = max(moment.levels[k] for moment in seen.moments for k in results.network.chambers)
    assert bound - 2e-3 < highest < bound


def test_a_loop_that_does_not_surge_has_no_flush():
    """A loop that runs steadily has no flush to count."""
    results = found(single(0.3))
    assert highest_in_a_flush(results.answer, results.network.sumps[0]) == float("-inf")


def flushes_when_blocked(**changes):
    """Return findings of two drains, vented together; with the wide one blocked the 36.2 mm one has too much for air alone."""
    sump = {"sump": box("sump", 2.0, 0.6, 0.6), "chambers": [chamber("inflow", 0.2, plate(0.40)), chamber("pump")], **changes}
    drains = [drain("narrow", LIP, BORE), drain("wide", LIP - 0.005, 0.0814)]
    return found(loop(drains=drains, driven_by=driven(0.6), line=0.30, **sump))


def test_a_blocked_drain_whose_neighbour_floods_the_sump_fails():
    """A drain that flushes because another one is blocked sends 7,010 L/h over the plate, 14.7 mm: over an opening at 12 mm."""
    narrow, wide = (next(one for one in results.overflows if one.out == (results.network.drains[1],))
                    for results in (flushes_when_blocked(sump_opening=0.412), flushes_when_blocked()))
    low, high = flushes_when_blocked(sump_opening=0.412), flushes_when_blocked()
    assert narrow.closed.kind == wide.closed.kind == SURGES
    assert capacity(low, narrow).verdict == FAILS
    assert "what comes down then goes over the sump" in capacity(low, narrow).because
    assert "what comes down" not in capacity(high, wide).because
    start = low.state
    seen = simulate(start, drains_blocked(low.network, narrow.out), 2e-4, 900.0)
    assert seen.end.volumes[-1] > 1e-4


def test_what_a_line_holds_comes_down_when_its_siphon_breaks():
    """Where it siphons at the lower bound, 0.79 L of its line come on top: 3.3 mm over a sump of 0.24 m2.

    1.25 m of 36.2 mm hold 1.287 L full. With air, EN 12056-3 turned round: Q = 31.5 D^(8/3) r^(5/3), so that the 3,379 L/h fill
    r = (9.39e-4 / 4.52e-3)^0.6 = 0.390 of it, 0.501 L. The upper bound, with air already, lets nothing go.
    """
    answer = found(loop(drains=[drain(bore=BORE, lip=LIP, into="pump")], driven_by=driven(0.6), line=0.25,
                        sump=box("sump", 0.6, 0.4, 0.6), chambers=[chamber("pump")])).answer
    assert answer.kind == SURGES
    assert highest_in_a_flush(answer, answer.state.network.sumps[0]) == pytest.approx(0.25, abs=1e-5)
    network = answer.state.network
    k, = network.drains
    siphons = replace(network.links[k], element=network.links[k].element.in_mode(SIPHON))
    low = replace(answer.states[0], network=replace(network, links=(*network.links[:k], siphons, *network.links[k + 1:])))
    held_by_siphon = replace(answer, state=low, others=answer.states[1:])
    assert highest_in_a_flush(held_by_siphon, network.sumps[0]) == pytest.approx(0.25 + 0.785e-3 / 0.24, abs=2e-5)
