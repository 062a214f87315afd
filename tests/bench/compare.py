"""The library's solver against general root finders, and arrays of designs against the float loop. Printed as ratios.

    PYTHONPATH=. python tests/bench/compare.py                              everything, about a minute
    PYTHONPATH=. python tests/bench/compare.py --builds 20 --designs 200    small

The root finders of scipy.optimize get the same residuals (`System.evaluate`), rows scaled as in the solver's own merit, and the
same start. Each is timed alone, several times, interleaved; the least time counts. A root counts as one where the squared
misfit is below 1e-8 (0.1 mm); fewer digits than the library's own 10 nm.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.optimize import root

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "support"), str(HERE.parent.parent)]

from random_builds import cases  # noqa: E402

from hydro.case import load  # noqa: E402
from hydro.elements.drain import WITH_AIR  # noqa: E402
from hydro.quantities.arrays import stack  # noqa: E402
from hydro.scenarios.placed_build import closing_of, place  # noqa: E402
from hydro.solve import solve  # noqa: E402
from hydro.solve.system import BALANCE, VOLUME  # noqa: E402
from hydro.steady.state import initial_guesses, solve_network  # noqa: E402

METHODS = ("hybr", "lm")
ROOT = 1e-8


def timed(task, repeats=5):
    """Return the least time of some runs (s) and the last result."""
    least, result = float("inf"), None
    for _ in range(repeats):
        begun = time.perf_counter()
        result = task()
        least = min(least, time.perf_counter() - begun)
    return least, result


def residuals(system):
    """Return the residuals of a system as one function of one vector: heads, then flows."""
    count = len(system.stored)
    scale = [VOLUME if k == system.closing else BALANCE for k in range(count)]

    def function(x):
        values = x.tolist()
        laws, rows, _ = system.evaluate(values[:count], values[count:])
        return [law[0] for law in laws] + [row * by for row, by in zip(rows, scale, strict=True)]
    return function


def compare(network, closing, repeats=5):
    """Return times (s) and success of the library and of each root finder from one start, for one network."""
    system = network.system(closing)
    heads, flows = next(initial_guesses(network, closing))
    function, start = residuals(system), np.array([*heads, *flows], dtype=float)
    tasks = {"library": lambda: solve(system, heads, flows)} | {
        name: lambda name=name: root(function, start, method=name) for name in METHODS}
    times, solved = dict.fromkeys(tasks, float("inf")), {}
    for _ in range(repeats):
        for name, task in tasks.items():
            spent, result = timed(task, 1)
            times[name] = min(times[name], spent)
            solved[name] = bool(result.solved) if name == "library" else bool(
                np.isfinite(result.x).all() and np.square(function(result.x)).sum() < ROOT)
    return times, solved


def worked_loop():
    """Return how many times longer the faster root finder takes on the worked loop."""
    loop = place(load(HERE.parent.parent / "cases" / "worked-loop.yaml"))
    network = loop.network()
    times, solved = compare(network, closing_of(loop, network), repeats=40)
    assert all(solved.values())
    return min(times[name] for name in METHODS) / times["library"], times


def random_loops(count, seed="bench"):
    """Return the time per build solved by the library, by each root finder, and what each solved, all drains with air.

    What the library does not reach from the common start it goes on with, up its ladder; that time counts.
    """
    spent, solved, missed = dict.fromkeys(("library", *METHODS), 0.0), dict.fromkeys(("library", *METHODS), 0), 0
    for case in cases(seed, count):
        loop = place(case.build)
        network = loop.network()
        network = network.in_modes(dict.fromkeys(network.drains, WITH_AIR))
        closing = closing_of(loop, network)
        times, success = compare(network, closing, repeats=3)
        if not success["library"]:
            times["library"], state = timed(lambda network=network, closing=closing: solve_network(network, closing), 3)
            success["library"] = bool(state.solved)
        missed += any(success.values()) and not success["library"]
        for name in spent:
            spent[name] += times[name]
            solved[name] += success[name]
    return {name: spent[name] / max(1, solved[name]) for name in spent}, solved, missed


def designs(count, seed=1):
    """Return the time of a float loop over designs of the worked loop, of arrays, and the largest difference of a flow.

    Each design has its own sizes (`stack` joins their elements); preparing them is not counted, solving is.
    """
    loop = place(load(HERE.parent.parent / "cases" / "worked-loop.yaml"))
    network = loop.network()
    system = network.system(closing_of(loop, network))
    rng = np.random.default_rng(seed)
    varied = [varied_network(network, rng) for _ in range(count)]
    joined = replace(network, links=tuple(replace(link, element=stack([one.links[k].element for one in varied]))
                                          for k, link in enumerate(network.links)))
    closing = closing_of(loop, network)
    heads, flows = next(initial_guesses(network, closing))
    floats, one_by_one = timed(lambda: [solve(one.system(closing), heads, flows) for one in varied], 1)
    arrays, together = timed(lambda: solve(joined.system(closing), heads, [flow + np.zeros(count) for flow in flows]), 2)
    assert all(one.solved for one in one_by_one)
    assert np.all(together.solved)
    assert system.closing is not None
    difference = max(float(np.abs(np.array([one.flows[k] for one in one_by_one]) - together.flows[k]).max())
                     for k in range(len(flows)))
    return floats, arrays, difference


def varied_network(network, rng):
    """Return the network with the coefficients and sizes of its elements moved by some per cent."""
    changes = {}
    for k in network.drains:
        inlet = network.links[k].element.inlet
        changes[k] = {"inlet": replace(inlet, weir_resistance=inlet.weir_resistance * float(rng.uniform(0.9, 1.1)),
                                       orifice_resistance=inlet.orifice_resistance * float(rng.uniform(0.9, 1.1)))}
    for k in (network.pump, *network.returns):
        line = network.links[k].element.line
        changes[k] = {"line": replace(line, quadratic=line.quadratic * float(rng.uniform(0.8, 1.3)))}
    changes[network.pump]["speed"] = float(rng.uniform(0.85, 1.05))
    return network.changed(changes)


def main(arguments=None):
    """Print the ratios."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--builds", type=int, default=400)
    parser.add_argument("--designs", type=int, default=10_000)
    chosen = parser.parse_args(arguments)
    ratio, times = worked_loop()
    print("worked loop: " + ", ".join(f"{name} {1e6 * spent:.0f} us" for name, spent in times.items()))
    print(f"  the faster root finder takes {ratio:.1f} times as long")
    per, solved, missed = random_loops(chosen.builds)
    print(f"{chosen.builds} random builds: " + ", ".join(f"{name} {1e6 * per[name]:.0f} us each, {solved[name]} solved"
                                                        for name in per))
    print(f"  per build solved the faster root finder takes {min(per[name] for name in METHODS) / per['library']:.1f} times as "
          f"long; {missed} solved by a root finder alone")
    floats, arrays, difference = designs(chosen.designs)
    print(f"{chosen.designs} designs: one by one {floats:.2f} s, as arrays {arrays:.2f} s: {floats / arrays:.1f} times; "
          f"flows differ by at most {difference:.1e} m3/s")
    return ratio, per, solved, missed, floats, arrays, difference


if __name__ == "__main__":
    main()
