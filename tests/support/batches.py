"""Loops with numbers drawn for so many designs."""

from __future__ import annotations

import numpy as np
from builds import chamber, drain, loop, mat, plate, pump, way, worked

from hydro.scenarios.placed_build import place

THREE = worked(drains=(drain("d1", 1.470, 0.0452, length=1.45, k=2.9, end=0.22), drain("d2", 1.472, 0.0452, end=0.22),
                       drain("dry", 1.520, 0.0678, end=0.40)))
SIPHONS = loop(drains=(drain("siphon", 1.44, bore=0.0362, k=45.0), drain("open", 1.47, bore=0.057)),
               driven_by=pump(curve=[(0.6 * flow, head) for flow, head in
                                     ((0.0, 5.0), (0.5e-3, 4.7), (1.0e-3, 3.9), (1.4e-3, 2.9), (1.7e-3, 1.6), (2.0e-3, 0.0))]))
VALVES = loop(returns=(way("one", valve=True, hole_at=1.47, hole=0.01), way("two", bore=0.022)),
              chambers=(chamber("inflow", 0.5, mat(0.29)), chamber("media", 0.2, plate(0.27)), chamber("pump")))
BATCHES = {
    "three drains": (THREE, {"drain d1: rim": (0.025, 0.06), "drain d1: size": (0.025, 0.06), "drain d2: size": (0.025, 0.06),
                             "pump: size": (0.022, 0.04), "return branch 1: size": (0.02, 0.032), "drain d1: lip": (1.47, 1.56)}),
    "siphons": (SIPHONS, {"drain siphon: K": (5.0, 120.0), "drain open: lip": (1.45, 1.52),
                          "drain siphon: size": (0.025, 0.045)}),
    "valves": (VALVES, {"return one: size": (0.018, 0.032), "return two: end": (1.40, 1.47), "drain drain: size": (0.03, 0.06)}),
    "line": (THREE, {"chamber pump: line": (0.075, 0.34), "pump: size": (0.02, 0.03)})}
COUNT = 60


def batch(name):
    """Return a loop and numbers for so many designs, the same ones every time."""
    build, ranges = BATCHES[name]
    dice = np.random.default_rng(sum(map(ord, name)))
    return place(build), {key: dice.uniform(low, high, COUNT) for key, (low, high) in ranges.items()}
