"""Thousands of designs at once against one by one and against general root finders: times, and what became of each design.

    PYTHONPATH=. python tests/bench/designs.py                   ten thousand designs, about half a minute
    PYTHONPATH=. python tests/bench/designs.py --designs 100     small

The designs are those of `cases/demo.yaml` with five quantities open: bores of a drain, of the pump's hose and of a return, two
lips. 'Running and stopped' is every way to run with its guards, and the power cut in all four cases. The float solver gets the
same designs as networks made beforehand, one start each, all drains with air; so does each root finder, with the same residuals:
of these only the time on designs that it solves is counted. Times are least and median of some runs in one process; imports and
the reading of the case are not counted.
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
import statistics
import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np
from scipy.optimize import root

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent / "support"), str(HERE.parent.parent)]

from compare import METHODS, ROOT, residuals  # noqa: E402

from hydro.case import load  # noqa: E402
from hydro.elements.drain import WITH_AIR  # noqa: E402
from hydro.quantities.arrays import take  # noqa: E402
from hydro.scenarios.placed_build import closing_of, place  # noqa: E402
from hydro.scenarios.results import COMBINATIONS, results_of  # noqa: E402
from hydro.search.batch.evaluate import designs_of, run_and_stop  # noqa: E402
from hydro.search.batch.solve import DRAWS_AIR, NO_LIFT, NO_MODES, STEADY, UNSOLVED  # noqa: E402
from hydro.shutdown import shut_down  # noqa: E402
from hydro.solve import solve  # noqa: E402
from hydro.steady.modes import operating_point  # noqa: E402
from hydro.steady.operating_point import NONE  # noqa: E402
from hydro.steady.state import initial_guesses  # noqa: E402

CASE = HERE.parent.parent / "cases" / "demo.yaml"
OPEN = {"drain towpath side: pipe: size": (0.036, 0.060), "drain towpath side: lip": (-0.12, -0.07),
        "pump: hose: size": (0.020, 0.040), "drain emergency: lip": (-0.07, -0.03),
        "return reed corner: pipe: size": (0.020, 0.035)}
"""Numbers left open, with the range that designs are drawn from, SI."""
NAMES = {STEADY: "run", DRAWS_AIR: "draw air", NO_LIFT: "lift nothing", NO_MODES: "have no steady way",
         UNSOLVED: "were not solved"}
SHARES = {"laws": ("hydro/elements", "hydro/curve", "hydro/ops"), "elimination": ("hydro/solve/dense",),
          "balances and line search": ("hydro/solve/newton", "hydro/solve/system", "hydro/state"),
          "network making": ("hydro/plumbing", "hydro/network", "hydro/build", "hydro/rough", "hydro/places"),
          "power cuts": ("hydro/stopped", "hydro/designs/stopping")}


def drawn(count, seed=1):
    """Return so many designs: an array for every open number, the same ones every time."""
    dice = np.random.default_rng(seed)
    return {name: dice.uniform(low, high, count) for name, (low, high) in OPEN.items()}


def timed(task, repeats):
    """Return least and median time (s) of some runs, and the last result."""
    spent, result = [], None
    for _ in range(repeats):
        begun = time.perf_counter()
        result = task()
        spent.append(time.perf_counter() - begun)
    return min(spent), statistics.median(spent), result


def one_by_one(loop, sample, count, repeats):
    """Return seconds a design of the float solver and of each root finder, one start each, with how many each solved."""
    rows = []
    for design in range(count):
        network = loop.network({name: value[design].item() for name, value in sample.items()})
        network = network.in_modes(dict.fromkeys(network.drains, WITH_AIR))
        closing = closing_of(loop, network)
        system = network.system(closing)
        heads, flows = next(initial_guesses(network, closing))
        rows.append((system, heads, flows, residuals(system), np.array([*heads, *flows], dtype=float)))
    tasks = {"library": lambda row: bool(solve(*row[:3]).solved)}
    for method in METHODS:
        tasks[method] = lambda row, method=method: _reached(row[3], root(row[3], row[4], method=method).x)
    times, solved = {}, {}
    for name, task in tasks.items():
        spent = []
        for row in rows:
            _, middle, reached = timed(lambda task=task, row=row: task(row), repeats)
            spent += [middle] if reached else []
        times[name], solved[name] = statistics.mean(spent) if spent else float("inf"), len(spent)
    return times, solved


def run_and_stop_alone(loop, sample, count):
    """Return seconds a design of the float loop for the same question: network, every way to run, four power cuts."""
    def alone(design):
        chosen = {name: value[design].item() for name, value in sample.items()}
        network = loop.network(chosen)
        answer = operating_point(network, closing_of(loop, network, chosen))
        return [shut_down(state, *case) for state in answer.states for case in COMBINATIONS] if answer.kind != NONE else []
    return timed(lambda: [alone(design) for design in range(count)], 2)[1] / count


def _reached(function, x):
    return bool(np.isfinite(x).all() and np.square(function(x)).sum() < ROOT)


def shares(task):
    """Return by group the share of the time that is spent in its own functions, and what they call of numpy."""
    profile = cProfile.Profile()
    profile.runcall(task)
    spent = Counter()
    for (file, _, name), (_, _, own, _, callers) in pstats.Stats(profile).stats.items():
        if "hydro" in file:
            spent[_group(file, name)] += own
        else:  # numpy's share belongs to those who called it
            for (caller, _, function), entry in callers.items():
                spent[_group(caller, function)] += entry[2]
    whole = sum(spent.values())
    return {name: part / whole for name, part in spent.most_common()}


def _group(file, function):
    if function in ("each", "take", "stack"):
        return "network making"
    return next((name for name, starts_with in SHARES.items() if any(part in file for part in starts_with)), "the rest")


def main(arguments=None):
    """Print times, ratios, what became of the designs, and where the time goes."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--designs", type=int, default=10_000)
    parser.add_argument("--alone", type=int, default=200, help="designs that are solved one by one")
    parser.add_argument("--repeats", type=int, default=5)
    chosen = parser.parse_args(arguments)
    loop, count = place(load(CASE)), chosen.designs
    sample = drawn(count)
    least, middle, ran = timed(lambda: run_and_stop(loop, sample, count), chosen.repeats)
    print(f"{count} designs running and stopped: {least:.2f} s at best, {middle:.2f} s in the middle of {chosen.repeats} runs, "
          f"{1e6 * middle / count:.0f} us each (wanted: 1.5 s for 10,000 on an idle machine with two cores)")
    kinds = Counter(ran[0].kinds.tolist())
    print("  " + ", ".join(f"{kinds[kind]} {words}" for kind, words in NAMES.items()))
    _, whole, made = timed(lambda: designs_of(loop, sample, count), 1)
    print(f"  with the overflows, all drains and each one out: {whole:.2f} s")
    alone = min(chosen.alone, count)
    times, solved = one_by_one(loop, sample, alone, max(1, chosen.repeats // 2))
    each = middle / count
    print(f"one by one, one start, drains with air, {alone} designs: " + ", ".join(
        f"{name} {1e6 * spent:.0f} us, {solved[name]} solved" for name, spent in times.items()))
    solver, finder = times["library"] / each, min(times[name] for name in METHODS) / each
    print(f"  one float solve takes {solver:.1f} times as long as a design running and stopped (wanted: 8), "
          f"the faster root finder {finder:.1f} times (wanted: 20)")
    same = run_and_stop_alone(loop, sample, min(alone, 50))
    print(f"  the same question, one by one: {1e3 * same:.1f} ms a design, {same / each:.0f} times as long as in arrays")
    _, found, _ = timed(lambda: [results_of(loop, made.picks_of(design)) for design in range(min(alone, 20))], 1)
    _, together, _ = timed(lambda: [made.results(design) for design in range(min(alone, 20))], 1)
    print(f"all findings of a design: alone {1e3 * found / min(alone, 20):.1f} ms; from arrays "
          f"{1e3 * (together / min(alone, 20) + whole / count):.1f} ms, most of it for putting each together")
    parts = shares(lambda: run_and_stop(loop, sample, count))
    print("where the time goes: " + ", ".join(f"{name} {100.0 * share:.0f} %" for name, share in parts.items()))
    print(f"  a hundred times the float solver would be {1e6 * times['library'] / 100.0:.0f} us a design: "
          f"{100.0 / solver:.1f} times as fast as now")
    return ran, solver, finder, solved, take(ran[0].network, 0)


if __name__ == "__main__":
    main()
