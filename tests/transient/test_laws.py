"""The laws that only time brings: contents that run out, water over an edge, a reservoir, air in a drowned drain."""

from dataclasses import replace

import pytest
from builds import drain, found, loop, worked

from hydro.elements.air_lock import AirLocked
from hydro.elements.drain import SIPHON
from hydro.elements.feed import Feed
from hydro.elements.holding import Filling, falling, falling_flow
from hydro.elements.spill import Spill
from hydro.quantities.arrays import soft_positive
from hydro.transient.disturbances import as_it_is, begin
from hydro.transient.step import extrapolated

FLOWS = (-1e-6, 0.0, 1e-9, 1e-5, 4e-4, 1e-3)
STEPS = (1e-4, 0.02, 1.0, 60.0)


def line(mode):
    """Return a drain of the worked loop in a mode."""
    state = found(worked()).state
    return state.network.links[state.network.drains[0]].element.in_mode(mode)


@pytest.mark.parametrize("mode", ["with air", SIPHON])
@pytest.mark.parametrize("dt", STEPS)
def test_a_steady_line_passes_what_it_takes(mode, dt):
    """Holding what belongs to its flow, a line passes on that flow, however long the step."""
    element = line(mode)
    for q in (1e-6, 1e-4, 7e-4):
        assert Filling.of(element).passing(element.held(q)[0], q, dt)[0] == pytest.approx(q, rel=1e-6)


@pytest.mark.parametrize("mode", ["with air", SIPHON])
@pytest.mark.parametrize("dt", STEPS)
def test_what_a_line_passes_rises_with_what_it_takes(mode, dt):
    """The slope lies between 0 and 1 and agrees with a difference quotient; the contents stay within the line."""
    element = line(mode)
    for share in (0.0, 0.1, 0.9):
        held = share * element.line.volume
        for q in FLOWS:
            out, slope = Filling.of(element).passing(held, q, dt)
            assert 0.0 <= slope <= 1.0
            assert held + dt * (max(q, 0.0) - max(out, 0.0)) > -1e-12
            if q > 1e-7:
                step = 1e-4 * q
                above, below = (Filling.of(element).passing(held, q + side * step, dt)[0] for side in (1.0, -1.0))
                assert slope == pytest.approx((above - below) / (2.0 * step), rel=2e-3, abs=1e-6)


def test_a_column_falls_by_the_square_root():
    """dc/dt = -Q sqrt(c/V) empties a full line in 2 V/Q (closed form); steps of a thousandth come within 1 %."""
    full, most = 0.002, 0.001
    contents, steps = full, 0
    while contents > 1e-6 * full:
        contents, steps = falling(contents, full, most, 0.002 * full / most), steps + 1
    assert steps * 0.002 == pytest.approx(2.0, rel=0.01)
    assert falling(0.0, full, most, 1.0) == 0.0
    assert falling(full, full, 0.0, 1.0) == full


def test_a_column_falls_as_fast_as_its_line_lets_it():
    """The flow at which a column runs back loses just its height in the line and the still pump."""
    pump = found(loop()).state.network
    element = pump.links[pump.pump].element
    flow = falling_flow(element.line, element.stopped, 1.2)
    assert element.stopped * flow * flow - element.line.loss(-flow)[0] == pytest.approx(1.2, rel=1e-6)


def test_a_spill_is_a_weir():
    """10 mm over the edge pass (2/3) 0.31 sqrt(2g) 0.01^1.5 = 0.915 L/s; below the edge nothing passes either way."""
    spill = Spill("sump", 0.40)
    assert spill.flow(0.41)[0] == pytest.approx(2.0 / 3.0 * 0.31 * (2.0 * 9.80665) ** 0.5 * 0.01 ** 1.5, rel=1e-9)
    assert spill.flow(0.39) == (0.0, 0.0)


@pytest.mark.parametrize("element", [Spill("sump", 0.40), Feed("reservoir", 0.0, 1e-4)], ids=["spill", "feed"])
def test_signs_of_the_ways_out(element):
    """The slopes have the signs that the solver asks of every link, and agree with difference quotients."""
    for up in (-0.1, 0.003, 0.008, 0.39, 0.405, 0.45):
        r, by_q, by_up, by_down = element.residual(1e-4, up, 0.0)
        assert by_q < 0.0 <= by_up
        assert by_down == 0.0
        above, below = (element.residual(1e-4, up + side * 1e-7, 0.0)[0] for side in (1.0, -1.0))
        assert by_up == pytest.approx((above - below) / 2e-7, rel=1e-4, abs=1e-9)
        assert r == pytest.approx(element.residual(0.0, up, 0.0)[0] - 1e-3)


def test_a_locked_drain_is_the_drain_up_to_its_limit():
    """Up to J = 0.3 an air-locked drain is the drain itself, then it is barred; it opens when the head outweighs the depth."""
    network = found(loop(drains=[drain(end=0.20)])).state.network
    element = network.links[network.drains[0]].element
    locked = AirLocked(element)
    assert locked.residual(0.9 * locked.vents, 1.5, 0.3) == element.residual(0.9 * locked.vents, 1.5, 0.3)
    over = soft_positive(0.1 * locked.vents, 1e-7)[0]
    assert locked.residual(1.1 * locked.vents, 1.5, 0.3)[0] == pytest.approx(
        element.residual(1.1 * locked.vents, 1.5, 0.3)[0] - 1e6 * over)
    crest = element.inlet.crest
    assert locked.guards(0.0, crest + 0.099, 0.30)[0].margin == pytest.approx(0.001)
    assert locked.guards(0.0, crest + 0.101, 0.30)[0].margin == pytest.approx(-0.001)
    assert locked.guards(0.0, crest - 0.01, 0.19)[0].margin < 0.0


def test_no_vessel_is_carried_on_to_less_than_nothing():
    """Two half steps that bring 0.1 L where one whole step brings 0.3 L lead to 2 x 0.1 - 0.3 < 0: the halves stand instead."""
    start = begin(found(worked()).state, as_it_is())

    def with_floor(volume):
        return replace(start, volumes=(*start.volumes[:-1], volume), levels=(*start.levels[:-1], volume))

    assert extrapolated(with_floor(3e-4), with_floor(1e-4)).volumes[-1] == 1e-4
    assert extrapolated(with_floor(3e-4), with_floor(2e-4)).volumes[-1] == pytest.approx(1e-4)
