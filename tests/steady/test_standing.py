"""Water that stands: no level lies under its vessel's bottom, and where no pump lifts any water nothing is said to hold."""

from dataclasses import replace

import pytest
from builds import chamber, drain, loop, plate, pump, way
from proofs import impossible
from report_cases import ROOT

from hydro import load
from hydro.checks import HOLDS
from hydro.checks.assessment import assess
from hydro.report.terminal.report import text
from hydro.scenarios.placed_build import closing_of, place
from hydro.scenarios.results import results_of
from hydro.steady.modes import operating_point
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT
from hydro.steady.standing import drained_to, pipes_by_node
from hydro.transient.disturbances import begin, power_cut, top_up_stuck

WEAK = pump(curve=[(0.0, 0.30), (0.3e-3, 0.2), (0.6e-3, 0.0)])
"""0.30 m at most: the mouths below lie 1.2 m and more over the chamber."""
HIGH = {"demo": ("bottom: 84 cm above ground", "bottom: 5 m above ground", BACKWARDS),
        "tub-and-mats": ("bottom: about 70 cm above ground", "bottom: 3 m above ground", CANNOT_LIFT),
        "paludarium": ("bottom: 95 cm above ground", "bottom: 350 cm above ground", CANNOT_LIFT),
        "stand-by-flows-back": ("bottom: 85 cm above ground", "bottom: 237.467 cm above ground", BACKWARDS)}
"""Cases whose tank is lifted out of the pump's reach: best heads 4.2, 2.58, 3 m; the stand-by takes all there is at 2.5 m."""


def answer(build):
    """Return how a build runs."""
    placed = place(build)
    network = placed.network()
    return operating_point(network, closing_of(placed, network))


def lifted(name, tmp_path):
    """Return the build of a case with its tank lifted."""
    low, high, _ = HIGH[name]
    path = tmp_path / f"{name}.yaml"
    written = (ROOT / "cases" / f"{name}.yaml").read_text(encoding="utf-8")
    assert low in written
    path.write_text(written.replace(low, high), encoding="utf-8")
    return load(path)


def test_a_tank_that_nothing_empties_stands_at_its_lip():
    """A mouth 5 mm over the lip at 1.470 gives nothing back: filled to the lip, the tank keeps that, 2.06 x 0.78 x 0.55 m3."""
    result = answer(loop(driven_by=WEAK, returns=[way(end=1.475)]))
    assert result.kind == CANNOT_LIFT
    assert result.state.tank_level == pytest.approx(1.470, abs=2e-3)
    assert result.state.network.waters[0].body.stored(result.state.tank_level)[0] == pytest.approx(0.88374, abs=4e-3)


@pytest.mark.parametrize(("found", "stands"), [(1.30, 1.4685), (1.4699, 1.4685), (1.4701, 1.4685), (1.471, 1.4685), (1.60, 1.60)])
def test_a_full_tank_has_one_level(found, stands):
    """A tank full to its lip at 1.470 stands 1.5 mm under it, wherever near it the solver left it; one that floods stays."""
    state = answer(loop(driven_by=WEAK, returns=[way(end=1.475)])).state
    state = replace(state, levels=(found, *state.levels[1:]))
    assert drained_to(state, 0, pipes_by_node(state.network)) == pytest.approx(stands, abs=1e-9)


def test_a_check_valve_keeps_the_tank_at_its_lip():
    """With its mouth at 1.40 under water the tank would fall; a check valve that holds keeps it at the lip."""
    state = answer(loop(driven_by=WEAK, returns=[way(end=1.40, valve=True)])).state
    assert state.tank_level == pytest.approx(1.470, abs=2e-3)


def test_a_tank_that_runs_back_stands_at_its_mouth():
    """Through a pump without a check valve the tank falls until the mouth at 1.40 lies in the air, and no further."""
    result = answer(loop(driven_by=WEAK, returns=[way(end=1.40, points="down")]))
    assert result.kind == BACKWARDS
    assert result.state.tank_level == pytest.approx(1.40, abs=5e-3)
    sideways = answer(loop(driven_by=WEAK, returns=[way(end=1.40, points="sideways")])).state
    assert sideways.tank_level == pytest.approx(1.40 - 0.0284 / 2.0, abs=5e-3)


def test_a_mouth_at_the_bottom_empties_the_tank():
    """A mouth that opens under the tank's bottom at 1.30 lets it run dry: it stands at its bottom, with no water in it."""
    state = answer(loop(tank_bottom=1.30, driven_by=WEAK, returns=[way(end=1.29, points="down")])).state
    assert state.tank_level == pytest.approx(1.30, abs=1e-6)


def test_the_pump_holds_up_what_it_can():
    """A pump of 1.20 m over a chamber at 0.205 holds the tank at 1.405, over the mouth at 1.30 and under the lip at 1.470."""
    able = pump(curve=[(0.0, 1.20), (0.3e-3, 0.8), (0.6e-3, 0.0)])
    state = answer(loop(driven_by=able, returns=[way(end=1.30, points="down")])).state
    assert state.tank_level == pytest.approx(1.405, abs=1e-3)


@pytest.mark.parametrize("total", [0.010, 0.050, 0.200, 0.900, 1.000])
def test_a_given_amount_is_kept_and_nothing_lies_under_a_bottom(total):
    """Whatever amount is given, all of it stands in tank, chambers and lines, none of them holding less than nothing."""
    result = answer(loop(driven_by=WEAK, returns=[way(end=1.475)], total=total))
    for state in result.states:
        assert not list(impossible(state))
        assert state.total == pytest.approx(total, abs=1e-7)


@pytest.mark.parametrize("name", HIGH)
def test_no_good_verdict_without_a_running_state(name, tmp_path):
    """A tank lifted out of the pump's reach gets no water: the state is one that can be, and no row and no line says 'holds'."""
    build = lifted(name, tmp_path)
    found = assess(build)
    assert found.answer.kind == HIGH[name][2]
    assert not found.answer.runs
    for state in found.answer.states:
        assert not list(impossible(state))
    assert found.verdict == "fails"
    assert not [row.key for row in found.checks if row.verdict == HOLDS]
    screen = text(found).partition("Checks\n")[0]
    assert "olds" not in screen.replace("0 hold", "")
    assert "No single fault" not in screen


@pytest.mark.parametrize("name", HIGH)
def test_everything_that_happens_begins_with_the_same_water(name, tmp_path):
    """A power cut and a top-up that stays open begin with the water of the state that was found, the reservoir aside."""
    state = results_of(place(lifted(name, tmp_path))).answer.state
    cut, stuck = begin(state, power_cut()), begin(state, top_up_stuck(0.01, 1e-5))
    assert cut.volumes[:len(state.levels)] == stuck.volumes[:len(state.levels)]
    assert sum(stuck.volumes) - sum(cut.volumes) == pytest.approx(0.01)


def test_a_flood_over_blocked_lips_is_no_standing_water():
    """Every drain blocked, the chamber held: the tank stands as high as the pump lifts, not at its lip: 5.0 + 0.205 m."""
    placed = place(loop(returns=[way(end=1.475, valve=True)]))
    network = placed.network().changed({placed.network().drains[0]: {"blocked": 1.0}})
    state = operating_point(network, closing_of(placed, network)).state
    assert state.tank_level == pytest.approx(5.205, abs=2e-3)


def test_a_dry_chamber_is_not_less_than_empty():
    """Three chambers behind plates, with water for the first alone: none of them holds less than nothing."""
    chambers = [chamber("inflow", 0.42, plate(0.29)), chamber("media", 0.32, plate(0.25)), chamber("pump")]
    result = answer(loop(driven_by=WEAK, chambers=chambers, drains=[drain()], returns=[way(end=1.475)], total=0.03))
    assert result.states
    assert not [fault for state in result.states for fault in impossible(state)]
