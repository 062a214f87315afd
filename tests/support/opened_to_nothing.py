"""Builds with nothing to spare: an opening of the tank or sump is brought down until one check holds with a millimetre left
(over the swing of a sump, which a power cut has to leave).

    tight, check = opened_to_nothing(build, random.Random("seed"))

The room that is wanted at the rims is set to nothing, so that the millimetre is all there is between water and the floor.
"""

from __future__ import annotations

import random
from collections.abc import Container
from dataclasses import replace

from hydro.checks import HOLDS, Check, CheckKind, checks_of
from hydro.checks.overflow import remote
from hydro.description.build import Build, Height
from hydro.elements import limits
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import Results, results_of

LEFT = 1e-3
"""What is left of a margin, m."""
SWING = 0.010
"""What a power cut is left on top of that, m: `hydro.shutdown` counts volumes at rest, and says that it leaves out the swing of
levels while they settle, some millimetres. Of the builds asked a chamber behind two mats stood highest over its rest, 7.1 mm."""
BY_LEVEL = (CheckKind.POWER_CUT, CheckKind.SUMP_ROOM, CheckKind.TANK_ROOM, CheckKind.CAPACITY, CheckKind.BLOCKED,
            CheckKind.EMERGENCY_ALONE)


def opened_to_nothing(build: Build, rng: random.Random, among: Container[CheckKind] = CheckKind) -> tuple[Build, Check] | None:
    """Return a build with one margin of a check of some kinds that holds taken away, and that check; None where none holds."""
    bare = replace(build, wishes={**build.wishes, **{limit.name: Uncertain.exact(0.0, limit.name)
                                                     for limit in (limits.ROOM, limits.TANK_RIM)}})
    results = results_of(place(bare))
    if results.answer.state is None or not results.stopped:
        return None
    holding = {check.key: (check, *where) for check in checks_of(results)
               if check.verdict == HOLDS and check.kind in among
               for where in [opening_for(results, check)] if where is not None}
    if not holding:
        return None
    kind = rng.choice(sorted({check.kind.name for check, _, _ in holding.values()}))
    check, water, level = rng.choice([one for one in holding.values() if one[0].kind.name == kind])
    return with_opening(bare, results, water, level), check


def opening_for(results: Results, check: Check) -> tuple[int, float] | None:
    """Return the water whose opening rules a check and how low it may lie, m; None where no opening does."""
    network = results.network
    if check.kind in BY_LEVEL and check.water is not None:
        return check.water, check.value + LEFT + (SWING if check.kind is CheckKind.POWER_CUT else 0.0)
    if check.kind is CheckKind.RESTART and check.value > 0.0:
        k = next(k for k in network.drains if network.links[k].name == check.subject)
        return network.links[k].up, float(network.links[k].element.inlet.crest) + check.value + LEFT
    if check.kind is CheckKind.ALL_BLOCKED:
        tank = network.water(check.subject) if check.subject else network.tanks[0]
        body, opening = network.waters[tank].body, network.waters[tank].opening
        assert body is not None
        assert opening is not None
        return None if remote(results, tank) else (tank, level_of_volume(body, check.value, results, tank, float(opening)))
    return None


def level_of_volume(body, volume: float, results: Results, tank: int, top: float) -> float:
    """Return the level at which a tank holds so much more than while it runs, and a millimetre, m."""
    low = max(float(state.levels[tank]) for state in results.answer.states)
    begun = float(body.stored(low)[0])
    high = top
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if float(body.stored(middle)[0]) - begun < volume else (low, middle)
    return high + LEFT


def with_opening(build: Build, results: Results, water: int, level: float) -> Build:
    """Return a build with the opening of a water's vessel at a level, m above the ground."""
    name = results.network.waters[water].name
    height = Height(Uncertain.exact(level, f"{name}: lowest opening"), "ground")
    home = next((n for n, sump in enumerate(results.network.sumps) if water in sump), None)
    if home is not None:
        sump = build.sumps[home]
        sumps = list(build.sumps)
        sumps[home] = replace(sump, vessel=replace(sump.vessel, lowest_opening=height))
        return replace(build, sumps=tuple(sumps))
    tanks = tuple(replace(tank, lowest_opening=height) if tank.name == name else tank for tank in build.tanks)
    boxes = tuple(replace(box, vessel=replace(box.vessel, lowest_opening=height)) if box.vessel.name == name else box
                  for box in build.boxes)
    return replace(build, tanks=tanks, boxes=boxes)
