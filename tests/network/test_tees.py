"""Marked tees: their losses follow the split, wherever three pipes meet in a header."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from builds import above, box, chamber, drain, exact_defaults, height, item, loop, pipe, plate, pump, way, worked
from fluids.fittings import K_branch_diverging_Crane, K_run_diverging_Crane

from hydro.description.build import Build, GivenWater, Item, Run, Sump, Vessel
from hydro.quantities.arrays import GRAVITY
from hydro.scenarios.placed_build import place, run_placed


def mark(word):
    """Return a tee as it stands in a line."""
    return Item(word, {}, label=word)


def marked(build, first="tee run", second="tee branch"):
    """Return the worked loop with its two returns marked as the legs of one tee."""
    legs = zip(build.returns, (first, second), strict=True)
    return replace(build, returns=tuple(replace(way_back, line=(mark(word), *way_back.line)) for way_back, word in legs))


def solved(build):
    """Return the running state of a build."""
    loop = place(build)
    return run_placed(loop, loop.network()).state


def test_the_split_sets_the_losses():
    """From header to mouth each leg loses what its parts lose and Crane's K (by fluids) at the split, on the riser's speed."""
    state = solved(marked(worked()))
    network = state.network
    run, branch = network.returns
    share = float(state.flows[branch] / state.pump_flow)
    whole = (float(state.pump_flow) / (math.pi / 4.0 * 0.0284**2)) ** 2 / (2.0 * GRAVITY)
    k = {run: K_run_diverging_Crane(0.0284, 0.022, 1.0 - share, share, 90.0),
         branch: K_branch_diverging_Crane(0.0284, 0.022, 1.0 - share, share, 90.0)}
    for leg in network.returns:
        link = network.links[leg]
        lost = float(state.levels[link.up]) - max(float(state.levels[link.down]), float(link.element.outlet))
        assert lost == pytest.approx(float(link.element.line.loss(state.flows[leg])[0]) + k[leg] * whole, abs=1e-3)


def test_marks_that_make_no_tee_keep_their_fixed_losses():
    """Two branches and no run are no tee: 60 fT each on their own bore stay in the lines."""
    build = marked(worked(), "tee branch", "tee branch")
    network = place(build).network()
    assert network.tees == ()
    labels = [part.label for k in network.returns for part in network.links[k].element.line.parts]
    assert labels.count("tee branch") == 2


def test_a_drain_that_parts_keeps_the_fixed_losses():
    """A drain carries air with its water: a tee that it ends in is no tee of the pressure side, and the loop still runs."""
    parted = tuple(Run(name, "parting", into, (mark(word), *pipe(name, 0.05, 0.3)), None, height(0.3, ""))
                   for name, into, word in (("straight", "inflow", "tee run"), ("aside", "pump", "tee branch")))
    one = replace(loop(), drains=(drain(into="parting", end=0.5),), runs=parted)
    state = solved(one)
    assert state.network.tees == ()
    into = [float(state.flows[state.network.place(name)]) for name in ("straight", "aside")]
    assert sum(into) == pytest.approx(float(state.pump_flow), rel=1e-9)
    assert min(into) > 0.0


def test_a_marked_tee_is_not_counted_twice():
    """The marks of a tee leave the lines: no fixed loss stands there beside that of the split."""
    network = place(marked(worked())).network()
    assert len(network.tees) == 1
    assert not [part for k in network.returns for part in network.links[k].element.line.parts if "tee" in part.label]


def row(count):
    """Return tanks on a row of headers, each with its return as a branch."""
    names = [f"rack {n}" for n in range(1, count + 1)]
    tanks = tuple(Vessel(name, box(name, 0.9, 0.45, 0.4), height(0.9, f"{name}: bottom")) for name in names)
    drains = tuple(replace(drain(f"{name} overflow", above(f"{name} rim", -0.05), 0.0452), tank=name) for name in names)
    returns = tuple(replace(way(f"{name} return", above(f"{name} rim", -0.08), bore=0.0157, k=8.0), tank=name, source=f"row {n}")
                    for n, name in enumerate(names, 1))
    returns = tuple(replace(one, line=(mark("tee branch"), *one.line)) for one in returns)
    runs = tuple(Run(f"row {n} to {n + 1}", f"row {n}", f"row {n + 1}",
                     (item("pipe", "row", size=0.0452, length=0.95), mark("tee run"))) for n in range(1, count))
    sump = Sump(Vessel("sump", box("sump", 2.0, 0.5, 0.46), height(0.0, "sump: bottom")),
                (chamber("inflow", 1.2, plate(0.29)), chamber("pump")))
    return Build("row", tanks, (sump,), drains, returns, (replace(pump(), header="row 1"),),
                 GivenWater("line", height(0.205, "line")), exact_defaults(), runs=runs)


def test_a_manifold_of_tees_settles():
    """Eight tanks on one row: the tees between settle within 0.1 mm, and every header balances."""
    state = solved(row(8))
    assert len(state.network.tees) == 6
    assert state.moved < 1e-4
    assert state.imbalance() < 1e-9
