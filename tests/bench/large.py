"""The sparse solver on N tanks along one header: how its time and memory grow with N. Printed as ratios within one run.

    PYTHONPATH=. python tests/bench/large.py                      250, 500, 1000 and 2000 tanks, and where arrays and sparse pay
    PYTHONPATH=. python tests/bench/large.py --sizes 60           small

A pump feeds the middle of a header of N junctions, each with a branch to a tank; each tank overflows a standpipe into one splash
chamber, and over a plate the water comes back to the pump. Sizes are seeded, no two tanks are alike. Started from levels 15 mm
over the crests, the flow shared evenly and the heads marched along the header; solved once with all branches open and once with
a tenth of them shut. 'plain' are the steps from a start that knows nothing: one head in the whole header, one flow in all of it.

'its factorisations' are the calls of splu that the solve itself made, in an order found once; 'searching' is what as many calls
take that search for an order of their own (least degree), as splu does when it is not told. Memory is what Python and numpy ask
for (tracemalloc), L and U apart, which SuperLU keeps for itself.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
import tracemalloc
from functools import partial
from pathlib import Path

import numpy as np
from scipy.sparse.linalg import splu

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "support"), str(HERE.parent.parent)]

from hydro.elements.drain import DrainLine  # noqa: E402
from hydro.elements.edge import Plate  # noqa: E402
from hydro.elements.fittings import LocalLoss  # noqa: E402
from hydro.elements.line import Line, LineLink  # noqa: E402
from hydro.elements.pipe import Pipe  # noqa: E402
from hydro.elements.pump import PumpLine, from_box  # noqa: E402
from hydro.elements.rim import Rim  # noqa: E402
from hydro.elements.waters import Body  # noqa: E402
from hydro.network.model import CHAMBER, JUNCTION, TANK, Closing, Link, Network, Water  # noqa: E402
from hydro.solve import newton, sparse  # noqa: E402
from hydro.solve.grouped import group  # noqa: E402
from hydro.solve.pattern import CALM  # noqa: E402

ONE = 2500.0 / 3.6e6
"""Flow meant for a tank, m3/s."""
SPEED = 0.5
"""Speed in the header for which its bores are chosen, m/s."""
WALL, COLD = 1.5e-6, 0.95e-6
"""Roughness of the pipes (m), kinematic viscosity of the water (m2/s)."""


def run_of(bore, length, k):
    """Return a line of one pipe with fittings of a coefficient k on its bore."""
    return Line.of([LocalLoss.of(k, bore), Pipe.of(bore, length, WALL, COLD)])


def header_bore(flow):
    """Return the bore (m) of a piece of header for a flow (m3/s)."""
    return max(0.05, (4.0 * flow / (math.pi * SPEED)) ** 0.5)


def farm(count, rng):
    """Return a network of so many tanks, with the total volume that closes it; nodes: tanks, junctions, splash, pump."""
    splash, pump = 2 * count, 2 * count + 1
    crests = 1.5 + rng.uniform(0.0, 0.1, count)
    areas = rng.uniform(0.3, 1.2, count)
    tanks = [Water(f"tank {k}", TANK, Body.box(f"tank {k}", float(crests[k]) - 0.5, float(areas[k]), 0.7)) for k in range(count)]
    joints = [Water(f"tee {k}", JUNCTION) for k in range(count)]
    sump = [Water(name, CHAMBER, Body.box(name, 0.0, 0.1 * count, 0.8)) for name in ("splash", "pump")]
    middle, whole = count // 2, count * ONE
    main = PumpLine("pump", from_box(2.0 * whole, 6.0, 2.0), run_of(header_bore(whole), 4.0, 3.0), intake=0.05)
    links = [Link("pump", main, pump, count + middle), Link("plate", Plate.of("plate", 0.3, 0.15 * count, 0.62), splash, pump)]
    for k in range(1, count):
        beyond = count - k if k > middle else k
        piece = LineLink(f"header {k}", run_of(header_bore(beyond * ONE), float(rng.uniform(1.0, 2.0)), 0.1))
        ends = (count + k - 1, count + k) if k > middle else (count + k, count + k - 1)
        links.append(Link(f"header {k}", piece, *ends))
    for k in range(count):
        branch = LineLink(f"branch {k}", run_of(0.025, float(rng.uniform(1.0, 2.0)), float(rng.uniform(4.0, 8.0))),
                          outlet=float(crests[k]) + 0.05)
        links.append(Link(f"branch {k}", branch, count + k, k))
    for k in range(count):
        rim = Rim.of(float(crests[k]), 0.05, 0.05, float(rng.uniform(0.45, 0.6)), 0.606)
        drain = DrainLine(f"drain {k}", rim, run_of(0.044, float(rng.uniform(1.0, 2.0)), 2.0), end=0.35)
        links.append(Link(f"drain {k}", drain, k, splash))
    total = float(0.515 * areas.sum()) + 0.1 * count * (0.32 + 0.35)
    return Network((*tanks, *joints, *sump), tuple(links)), Closing(pump, total)


def with_shut(network, share, rng):
    """Return the network with a share of its branches shut, picked at random."""
    branches = [k for k, link in enumerate(network.links) if link.name.startswith("branch")]
    chosen = rng.choice(branches, round(share * len(branches)), replace=False)
    return network.changed({int(k): {"shut": 1.0} for k in chosen})


def start(network, plain=False):
    """Return levels 15 mm over the crests with every branch the same flow; plain: one head and one flow in the whole header."""
    count = (len(network.waters) - 2) // 2
    middle = count // 2
    levels, flows = [2.2] * len(network.waters), [ONE] * len(network.links)
    levels[2 * count:] = [0.32, 0.35]
    flows[:2] = [count * ONE] * 2
    for link in network.links[2 * count + 1:]:
        levels[link.up] = link.element.inlet.crest + 0.015
    if plain:
        return levels, flows
    for k in range(1, count):
        flows[k + 1] = ONE * (count - k if k > middle else k)
    pump = network.links[0].element
    levels[count + middle] = 0.35 + pump.curve.head(flows[0])[0] - pump.line.loss(flows[0])[0]
    for k in (*range(middle, 0, -1), *range(middle + 1, count)):
        link = network.links[k + 1]
        levels[link.down] = levels[link.up] - link.element.line.loss(flows[k + 1])[0]
    return levels, flows


class Clock:
    """Adds up the time of every factorisation while it stands in its place."""

    def __init__(self):
        self.spent, self.real = 0.0, sparse.factorised

    def __enter__(self):
        sparse.factorised = self
        return self

    def __exit__(self, *_):
        sparse.factorised = self.real

    def __call__(self, matrix):
        """Return the factors, timed."""
        begun = time.perf_counter()
        factors = self.real(matrix)
        self.spent += time.perf_counter() - begun
        return factors


def timed(task, repeats):
    """Return the least time of some runs (s)."""
    least = float("inf")
    for _ in range(repeats):
        begun = time.perf_counter()
        task()
        least = min(least, time.perf_counter() - begun)
    return least


def measured(network, closing, repeats=7):
    """Return what one network takes: times (s), steps, entries of L and U a node, peak memory (MB), and the answer."""
    system = network.system(closing)
    heads, flows = start(network)
    ready = sparse.prepare(system)
    found = {"prepare": timed(lambda: sparse.prepare(system), 3), "solve": float("inf")}
    for _ in range(repeats):
        with Clock() as clock:
            begun = time.perf_counter()
            answer = sparse.solve_sparse(ready, heads, flows)
            spent = time.perf_counter() - begun
        if spent < found["solve"]:
            found |= {"solve": spent, "splu": clock.spent}
    matrix = ready.pattern.matrix
    factors = sparse.factorised(matrix)
    found["searching"] = (answer.steps + 1) * timed(lambda: splu(matrix, permc_spec="MMD_AT_PLUS_A", **CALM), 3)
    plain = sparse.solve_sparse(ready, *start(network, plain=True))
    tracemalloc.start()
    sparse.solve_sparse(sparse.prepare(system), heads, flows)
    found["memory"] = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    return found | {"fill": (factors.L.nnz + factors.U.nnz) / len(heads), "steps": answer.steps, "plain": plain.steps,
                    "answer": answer, "solved": answer.solved and plain.solved}


def crossings(seed=2):
    """Print where one call with arrays is quicker than calls with floats, and where the sparse back end is quicker."""
    network, _ = farm(64, np.random.default_rng(seed))
    for name, first in (("lines", 65), ("drains", 129)):
        ratios = []
        for count in (8, 16, 24, 32, 64):
            laws = [link.element.residual for link in network.links[first:first + count]]
            at = (np.full(count, ONE), np.full(count, 1.8), np.full(count, 0.4))
            arrays, floats = (timed(partial(group(laws, 3, few)[0].ask, *at), 20) for few in (2, count + 1))
            ratios.append(f"{count}: {floats / arrays:.1f}")
        print(f"{name}, time by floats over time by arrays: " + ", ".join(ratios))
    ratios = []
    for count in (8, 12, 16, 20, 25, 30, 40):
        network, closing = farm(count, np.random.default_rng(seed))
        system, (heads, flows) = network.system(closing), start(network)
        dense = timed(partial(newton.solve_dense, system, heads, flows), 20)
        alone = timed(partial(sparse.solve_sparse, sparse.prepare(system), heads, flows), 20)
        grouping = timed(partial(sparse.prepare, system), 20)
        ratios.append(f"{2 * count + 2}: {dense / alone:.1f} ({dense / (alone + grouping):.1f})")
    print("unknown heads, time dense over time sparse (with grouping): " + ", ".join(ratios))


def said(count, words, found):
    """Return what was measured of one network, in a line."""
    return (f"{count} tanks, {words}: grouping {1e3 * found['prepare']:.1f} ms; solve {1e3 * found['solve']:.1f} ms in "
            f"{found['steps']} steps ({found['plain']} plain), {found['solve'] / found['splu']:.1f} times its factorisations, "
            f"{found['solve'] / found['searching']:.1f} searching; {found['memory']:.1f} MB, L and U {found['fill']:.1f} entries "
            f"a node" + ("" if found["solved"] else "; NOT SOLVED"))


def main(arguments=None):
    """Print times, steps and memory for each size, and their exponents from the smallest to the largest."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--sizes", type=int, nargs="+", default=[250, 500, 1000, 2000])
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args(arguments)
    rows = {}
    for words, share in (("open", 0.0), ("a tenth shut", 0.1)):
        for count in chosen.sizes:
            rng = np.random.default_rng(chosen.seed)
            network, closing = farm(count, rng)
            found = rows[words, count] = measured(with_shut(network, share, rng), closing)
            print(said(count, words, found))
        if len(chosen.sizes) > 1:
            small, large = min(chosen.sizes), max(chosen.sizes)
            span = math.log(large / small)
            print("  exponents: " + ", ".join(
                f"{name} {math.log(rows[words, large][name] / rows[words, small][name]) / span:.2f}"
                for name in ("prepare", "solve", "splu", "memory")))
    if len(chosen.sizes) > 1:
        crossings()
    return rows


if __name__ == "__main__":
    main()
