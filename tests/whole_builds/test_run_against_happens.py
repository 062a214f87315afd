"""What `run` says holds is followed through time: nothing goes over, no pump draws air, nothing stands where it cannot.

All of it: `PYTHONPATH=. python tests/support/contradictions.py --builds 200 --sound 100 --networks 100`.
"""

import random
from dataclasses import replace

import pytest
import random_builds
import random_networks
import sound_builds
from contradictions import followed, told
from opened_to_nothing import opened_to_nothing

from hydro.checks import HOLDS, CheckKind, overflow
from hydro.shutdown import rest

SEED, CAPACITY, LEVELS_AT_CUT = "contra", overflow.capacity, rest.levels_at_cut


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
def test_a_power_cut_that_takes_a_tank_too_low_is_contradicted(monkeypatch):
    """Where the power cut begins with the tank 10 mm lower than it runs, some 6 L, the cut puts water over a sump that holds."""
    def too_low(state):
        uppers = state.network.uppers
        return [level - 0.01 if k in uppers else level for k, level in enumerate(LEVELS_AT_CUT(state))]

    monkeypatch.setattr(rest, "levels_at_cut", too_low)
    case = next(sound_builds.cases(SEED, 1, 2))
    build, check = opened_to_nothing(case.build, random.Random(0), (CheckKind.POWER_CUT,))
    assert check.kind is CheckKind.POWER_CUT
    assert any("power cut holds, and chamber" in words for words in told(build).contradictions)


@pytest.mark.slow
def test_a_power_cut_as_it_is_is_not_contradicted():
    """The same build with the same millimetre left, as the power cut is worked out, is contradicted by nothing."""
    case = next(sound_builds.cases(SEED, 1, 2))
    build, _ = opened_to_nothing(case.build, random.Random(0), (CheckKind.POWER_CUT,))
    assert told(build).contradictions == ()


@pytest.mark.slow
def test_overflows_that_always_hold_are_contradicted(monkeypatch):
    """Where overflows are said to hold whatever their level, a drain that blocks puts water over a rim that holds."""
    monkeypatch.setattr(overflow, "capacity", lambda *asked: replace(CAPACITY(*asked), verdict=HOLDS))
    faults = followed(random_builds.cases(SEED, 8))[1]
    assert any("blocked drain" in fault and "tank goes over" in fault for fault in faults), faults
