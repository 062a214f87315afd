"""The power cut: what comes down, where the sump ends, and a loop at rest. By conservation and closed forms."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import pi

import pytest
from builds import (
    above,
    band,
    box,
    bucket,
    chamber,
    drain,
    found,
    loop,
    mat,
    plate,
    pump,
    slot,
    stated,
    taper,
    three_chambers,
    way,
    worked,
)

from hydro.network.model import Closing
from hydro.scenarios.placed_build import place, run_placed
from hydro.shutdown import shut_down, still_volume
from hydro.steady.modes import operating_point

CASES = tuple(product((True, False), repeat=2))
AREA = 2.06 * 0.78
BUCKET = bucket("sump", (0.03, 0.10), (0.08, 0.22), (0.20, 0.46))
TUB = taper("sump", (1.02, 0.50), (0.86, 0.38), 0.46, corners=0.03)
SHARES = (chamber("inflow", share=0.6, end=replace(slot(0.03), values={**slot(0.03).values, **mat(0.3).values,
                                                                        "width": slot(0.5).values["gap"]})), chamber("pump"))
"""A slot with a width of its own: the width of a sump known by bucket fills is not known."""
GEAR = (chamber("inflow", 0.62, plate(0.29), gear=0.008, gear_top=0.15), chamber("pump", gear=0.004))
VESSELS = {"box": {}, "taper": {"sump": TUB}, "bucket": {"sump": BUCKET, "chambers": SHARES}, "gear": {"chambers": GEAR},
           "three": {"chambers": three_chambers()},
           "pump first": {"chambers": (chamber("pump", 0.4, plate(0.29)), chamber("inflow"))},
           "pump between": {"chambers": (chamber("inflow", 0.4, plate(0.29)), chamber("pump", 0.3, plate(0.27)),
                                         chamber("beyond"))},
           "one": {"chambers": (chamber("inflow"),), "driven_by": pump(into="inflow")}}


def sump_of(network, levels):
    """Return the water in the sump's chambers at given levels, asked of the bodies themselves."""
    return sum(float(network.waters[k].body.stored(level)[0]) for k, level in zip(network.chambers, levels, strict=True))


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("vessel", VESSELS)
def test_what_comes_down_is_what_the_sump_gains(vessel, case):
    """For every shape of sump and all four cases the sump gains just what comes down, to a hundredth of a millilitre."""
    state = found(loop(**VESSELS[vessel])).state
    network = state.network
    end = shut_down(state, *case)
    before = sump_of(network, [float(state.levels[k]) for k in network.chambers])
    assert sump_of(network, end.chambers) - before == pytest.approx(end.comes_down, abs=1e-8)
    fall = AREA * (float(state.tank_level) - end.tank_level)
    assert end.items["tank"] == pytest.approx(fall, rel=1e-9)
    assert end.comes_down == pytest.approx(sum(end.items.values()), rel=1e-12)


@pytest.mark.parametrize("case", CASES)
def test_all_the_water_is_kept(case):
    """Tank, sump and what stays in the lines hold at rest what the loop held while running."""
    for build in (worked(), loop(driven_by=pump(valve=True)), loop(returns=(way("a", valve=True), way("b", valve=True)))):
        state = found(build).state
        network, end = state.network, shut_down(state, *case)
        stays = float(network.full) - end.items["returns"]
        rest = float(network.waters[0].body.stored(end.tank_level)[0]) + sump_of(network, end.chambers) + stays
        assert rest == pytest.approx(float(state.total), abs=1e-8)


def test_the_worked_loop_stopped():
    """40.62 L from the tank, 1.04 from drains, 2.21 from returns end at 0.3498 m, 56.23 L to spare; plugged 79.22 and 20.88 L.

    Figures of the physics notes, section 6, computed there with coefficients as given.
    """
    state = found(worked()).state
    works, plugged = shut_down(state, True, False), shut_down(state, False, False)
    litres = {name: 1e3 * volume for name, volume in works.items.items()}
    assert litres == {"tank": pytest.approx(40.62, abs=0.01), "drains": pytest.approx(1.04, abs=0.01),
                      "returns": pytest.approx(2.21, abs=0.01)}
    assert works.sump_level == pytest.approx(0.3498, abs=1e-4)
    assert 1e3 * works.spare == pytest.approx(56.23, abs=0.02)
    assert plugged.tank_level == pytest.approx(1.448, abs=1e-9)
    assert 1e3 * plugged.comes_down == pytest.approx(79.22, abs=0.02)
    assert 1e3 * plugged.spare == pytest.approx(20.88, abs=0.02)
    holding = shut_down(found(worked(driven_by=pump(valve=True))).state, True, True)
    assert holding.items["returns"] == 0.0


INCH = 0.0254


def stopped_by_hand(below):
    """Return a cut with the figures of a 72 x 24 in display over a sump of 48 x 18 x 16 in, 3.3 L in the lines.

    While running a film of 12.6 mm stands over the lip and the pump chamber at 250 mm; the mouth lies so far below the lip.
    """
    bore = 0.04
    build = loop(tank=box("tank", 72 * INCH, 24 * INCH, 24 * INCH), sump=box("sump", 48 * INCH, 18 * INCH, 16 * INCH),
                 chambers=(chamber("inflow"),), tank_bottom=1.0, drains=(drain(lip=1.5, length=0.0, end=0.42),),
                 returns=(way(end=1.5 - below, bore=bore, length=3.3e-3 / (pi / 4.0 * bore * bore)),),
                 driven_by=pump(into="inflow", riser=False), line=0.25)
    return shut_down(stated(found(build).state, tank=1.5126, chambers=(0.25,)), False, False)


def test_a_small_case_that_fits_by_arithmetic():
    """14.0 L of film, 55.7 L by a mouth 50 mm under the lip and 3.3 L of lines are 73.0 L: up 131 mm, 25 mm below the rim.

    Derived on invented sizes (areas 1.1148 and 0.5574 m2); the rounding of the trade notes' case A is 1 mm.
    """
    end = stopped_by_hand(0.050)
    assert 1e3 * end.comes_down == pytest.approx(73.0, abs=0.1)
    assert end.sump_level - 0.25 == pytest.approx(0.131, abs=5e-4)
    assert 16 * INCH - end.sump_level == pytest.approx(0.025, abs=1e-3)


def test_a_small_case_that_floods_by_arithmetic():
    """The same with the mouth 300 mm under the lip: 351.8 L want to raise the sump by 632 mm. Derived, as above (case B)."""
    end = stopped_by_hand(0.300)
    assert 1e3 * end.comes_down == pytest.approx(351.8, abs=0.2)
    assert end.sump_level - 0.25 == pytest.approx(0.632, abs=1e-3)
    assert end.spare == pytest.approx(0.5574 * (16 * INCH - 0.25) - 0.3518, abs=3e-4)


STILL = {**VESSELS, "valve": {"driven_by": pump(valve=True)},
         "hole": {"returns": (way(end=1.40, hole_at=1.46, hole=0.01, mark=True),)},
         "one valve": {"returns": (way("a", 1.45, valve=True), way("b", 1.45))},
         "two valves": {"returns": (way("a", 1.45, valve=True), way("b", 1.45, valve=True))},
         "siphon": {"drains": (drain("siphon", 1.44, bore=0.0284, length=1.3, k=14.0), drain("rest", 1.47, bore=0.0452)),
                    "driven_by": pump(curve=((0.0, 4.0), (0.75e-3, 2.5), (0.975e-3, 0.0))), "returns": (way(end=1.44),)},
         "slot": {"chambers": (chamber("inflow", 0.62, slot(0.03)), chamber("pump"))},
         "mat": {"chambers": (chamber("inflow", 0.62, mat(0.30)), chamber("pump"))},
         "into the pump's chamber": {"drains": (drain(into="pump"),)},
         "mouth in the air": {"returns": (way(end=1.6, points="up"),)},
         "two lips": {"drains": (drain("a"), drain("b", 1.50))}}


@pytest.mark.parametrize("level", [0.22, 0.37])
@pytest.mark.parametrize("name", STILL)
def test_water_at_rest_comes_back_to_rest(name, level):
    """The level at rest that says how much water there is comes back when the pump stops again, breaks and valves working."""
    loop_ = place(loop(still=level, **STILL[name]))
    network = loop_.network()
    answer = run_placed(loop_, network)
    assert answer.state is not None
    end = shut_down(answer.state, True, True)
    assert end.chambers[network.chambers.index(network.pump_chamber)] == pytest.approx(level, abs=3e-4)


def test_still_water_by_hand():
    """At rest the tank stands at the hole, the sump at plate and level, and lines are full only behind a valve that holds."""
    for valve, full in ((False, 0.0), (True, pi / 4.0 * 0.0284 ** 2 * (1.70 + 0.65))):
        build = loop(driven_by=pump(valve=valve), returns=(way(end=1.40, hole_at=1.46),))
        rest = 1.47 if valve else 1.46
        by_hand = AREA * (rest - 0.92) + 0.31 * 0.29 + 0.20 * 0.2 + full
        assert still_volume(place(build).network(), 0.2) == pytest.approx(by_hand, rel=1e-9)
        assert still_volume(place(build).network(), 0.35) == pytest.approx(AREA * (rest - 0.92) + 0.51 * 0.35 + full, rel=1e-9)


def test_the_worst_way_to_run_is_stopped_from():
    """Of several ways to run the one that leaves the least room in the sump is stopped from, in each of the four cases."""
    results = found(loop(drains=(drain(lip=1.47, bore=0.0362, length=1.3, k=2.6),)))
    assert len(results.answer.states) == 2
    for case in CASES:
        assert results.stopped[case].spare == min(shut_down(state, *case).spare for state in results.answer.states)
    levels = {shut_down(state, True, True).sump_level for state in results.answer.states}
    assert len(levels) == 2


def test_the_drains_water_comes_down():
    """What the drains hold while running comes down: all of a full siphon, the filling of one that runs with air."""
    state = found(loop(drains=(drain(bore=0.05, length=2.0),))).state
    k = state.network.drains[0]
    assert shut_down(state, True, True).items["drains"] == pytest.approx(
        float(state.network.links[k].element.held(state.flows[k])[0])
    )
    full = replace(state, network=state.network.in_modes({k: "as a siphon"}))
    assert shut_down(full, True, True).items["drains"] == pytest.approx(pi / 4.0 * 0.05 ** 2 * 2.0, rel=1e-9)


def test_a_level_from_the_tank_bottom():
    """Heights hang on their places: a lip from the tank's rim moves with a tank that stands higher."""
    low = found(loop(drains=(drain(lip=above("tank rim", -0.1)),), returns=(way(end=above("tank rim", -0.115)),)))
    high = found(loop(drains=(drain(lip=above("tank rim", -0.1)),), returns=(way(end=above("tank rim", -0.115)),),
                      tank_bottom=band(0.9, 0.95, 1.0)))
    assert high.stopped[False, False].tank_level - low.stopped[False, False].tank_level == pytest.approx(0.03, abs=1e-12)


def test_the_amount_of_water_only_moves_the_sump():
    """More water in the system raises the sump at rest by its volume over the open area, nothing else."""
    network = found(loop()).network
    total = float(found(loop(line=0.25)).state.total)
    first, second = (operating_point(network, Closing(network.pump_chamber, total=total + more)).state for more in (0.0, 0.004))
    ends = [shut_down(state, False, False) for state in (first, second)]
    assert ends[1].sump_level - ends[0].sump_level == pytest.approx(0.004 / 0.51, abs=1e-7)


def test_a_pump_that_lifts_nothing_stops_from_a_full_tank():
    """Too weak a pump holds no level in the tank: from its lip, where it was filled to, all down to the mouth may come down."""
    weak = pump(curve=((0.0, 0.9), (0.5e-3, 0.6), (1e-3, 0.0)))
    results = found(loop(driven_by=weak, returns=[way(end=1.30)]))
    assert results.answer.kind in ("runs backwards", "cannot lift that high")
    case = shut_down(results.state, False, False)
    mouth = float(results.element(results.network.returns[0]).end.lowest)
    assert mouth < 1.470
    assert case.items["tank"] == pytest.approx(2.06 * 0.78 * (1.470 - mouth), abs=1e-6)
    given = found(loop(driven_by=weak, returns=[way(end=1.30)], total=0.9))
    assert shut_down(given.state, False, False).items["tank"] == pytest.approx(
        max(0.0, 2.06 * 0.78 * (float(given.state.tank_level) - mouth)), abs=1e-6)
