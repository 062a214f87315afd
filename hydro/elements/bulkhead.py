"""A bulkhead (tank connector): a short pipe with a bore of its own, often smaller than the pipe's.

Its length is a short run of friction; entering and leaving it the line adds the losses of the change of bore on the smaller
one. Measure the fitting in hand: bores of one nominal size differ by millimetres between makers.
"""

from __future__ import annotations

from hydro.elements.pipe import ROUGHNESS, Pipe
from hydro.elements.registry import Default, Field, Kind, Reader, register

LENGTH = Default("bulkhead length", 0.05, 0.08, 0.12, "length", "common practice, no source")


def _bulkhead(reader: Reader) -> list[Pipe]:
    length = reader.number("length") if reader.has("length") else reader.default(LENGTH)
    return [Pipe.of(reader.number("size"), length, reader.default(ROUGHNESS), reader.context.viscosity,
                    label=reader.item.label)]


register(Kind("bulkhead", "part", _bulkhead, (Field("size", "size", required=True, low=0.003, high=0.3),
                                              Field("length", "length", low=0.005, high=0.5)), ("size",),
              (ROUGHNESS, LENGTH), also=("tank connector",), summary="tank connector with its own bore"))
