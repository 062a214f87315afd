"""The way from a described build to its network: each part is made here, by asking the registry of elements."""

from __future__ import annotations

from collections.abc import Mapping

from hydro.description.build import Build
from hydro.elements.registry import load_all
from hydro.network.assembler import Assembler
from hydro.network.drains import add_drains
from hydro.network.model import Network
from hydro.network.pressure_side import add_pressure_side
from hydro.network.vessels import add_vessels
from hydro.quantities.arrays import Number
from hydro.quantities.uncertain import Sample

__all__ = ["make_network"]


def make_network(build: Build, sample: Sample | None = None, tank_water: Mapping[str, Number] | None = None) -> Network:
    """Return the network of a build with the values that `sample` chooses.

    `tank_water` gives the running levels that heights from 'NAME water' are counted from, m; needed only where one is.
    """
    load_all()
    made = Assembler(build, sample or {}, tank_water)
    add_vessels(made)
    add_drains(made)
    add_pressure_side(made)
    return made.network()
