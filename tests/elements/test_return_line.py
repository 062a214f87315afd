"""The end of a return: siphon-break hole and nozzle."""

import math
from dataclasses import replace

import pytest

from hydro.elements.return_line import Break, BreakHole
from hydro.quantities.arrays import GRAVITY
from hydro.solve import System, solve

HOLE = BreakHole.of("hole", height=1.484, hole=0.008, coefficient=0.61)


def jet(up, down, hole=HOLE):
    """Return the flow through a hole between two given heads."""
    found = solve(System(((hole.residual, 0, 1),), (None, None), (None,), {0: up, 1: down}, None), [up, down], [1e-5], most=200)
    assert found.solved
    return found.flows[0]


def test_a_hole_is_torricellis():
    """A hole loses Cd a sqrt(2 g D), D counted from its own centre in the air and from the tank's level under water."""
    area = math.pi / 4.0 * 0.008**2
    assert jet(1.884, 1.0) == pytest.approx(0.61 * area * math.sqrt(2.0 * GRAVITY * 0.4), rel=2e-3)
    assert jet(1.884, 1.584) == pytest.approx(0.61 * area * math.sqrt(2.0 * GRAVITY * 0.3), rel=2e-3)


def test_no_water_comes_back_in_through_a_hole():
    """Where the head in the pipe is below the hole nothing flows."""
    assert jet(1.3, 1.0) == pytest.approx(0.0, abs=1e-9)


def test_a_plugged_hole_passes_nothing():
    """Plugged, a hole passes less than 1 L/h of its 340."""
    assert jet(1.884, 1.0) > 300.0 / 3.6e6
    assert jet(1.884, 1.0, replace(HOLE, **HOLE.faults()["siphon break: plugged"])) < 1.0 / 3.6e6


def test_air_comes_in_at_the_lowest_point():
    """A siphon breaks at the hole's lowest point; where the bore is not known, at the height given."""
    assert Break(1.484, 0.008, 0.61).stop == pytest.approx(1.480)
    assert Break(1.484, None, 0.61).stop == 1.484
