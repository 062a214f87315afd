"""What `run` says holds is followed through time: nothing goes over, no pump draws air, nothing stands where it cannot.

All of it: `PYTHONPATH=. python tests/support/contradictions.py --builds 200 --sound 100 --networks 100`.
"""

from dataclasses import replace

import pytest
import random_builds
import random_networks
import sound_builds
from contradictions import followed

from hydro.checks import HOLDS, overflow
from hydro.shutdown import rest

SEED, CAPACITY = "contra", overflow.capacity


@pytest.mark.slow
@pytest.mark.parametrize(("made", "count"), [(random_builds, 20), (sound_builds, 12), (random_networks, 1)])
def test_what_holds_is_not_contradicted_through_time(made, count):
    """No check that holds is contradicted by what happens, with a millimetre left either, and no instant is impossible."""
    tally, faults = followed(made.cases(SEED, count))
    print("\n" + "\n".join(f"{number:6d}  {key}" for key, number in tally.items()))
    assert not faults
    assert tally["followed"] >= 8 * count
    assert tally["not solved through time"] == 0


@pytest.mark.slow
def test_a_power_cut_that_forgets_the_lines_is_contradicted(monkeypatch):
    """Where the power cut leaves out what drains and lines let go, a build with a millimetre left of it is contradicted."""
    monkeypatch.setattr(rest, "out_of_drains", lambda state: {})
    monkeypatch.setattr(rest, "comes_out", lambda network, contents, empty: 0.0)
    faults = followed(sound_builds.cases(SEED, 6))[1]
    assert any("power cut holds, and chamber" in fault for fault in faults), faults


@pytest.mark.slow
def test_overflows_that_always_hold_are_contradicted(monkeypatch):
    """Where overflows are said to hold whatever their level, a drain that blocks puts water over a rim that holds."""
    monkeypatch.setattr(overflow, "capacity", lambda *asked: replace(CAPACITY(*asked), verdict=HOLDS))
    faults = followed(random_builds.cases(SEED, 8))[1]
    assert any("blocked drain" in fault and "tank goes over" in fault for fault in faults), faults
