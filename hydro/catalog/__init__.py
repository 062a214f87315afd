"""Sizes as data files, each with its source and its standing inside: pipe, waste pipe, hose, bulkheads, and what fits what.

    >>> round(find_pipe('1.5 in sch40').bore * 1000, 1)
    40.9
    >>> find_pipe('40 PN10 EN').source
    'EN ISO 1452-2 (from memory)'
    >>> adaptor(find_pipe('50 PN10'), find_pipe('1-1/2 in sch 40'))
    'an adaptor is needed: 50 mm outside (metric pressure) does not fit 48.3 mm outside (US inch pressure)'

An owner's own sizes and prices are read by `load_catalogue` and `load_prices`. A pipe size is the widest bore that its standard
allows; what is from memory or common practice says so in `standing` and in the `source` of every bore made from it.
"""

from __future__ import annotations

from hydro.catalog.compatibility import UNKNOWN, adaptor, family_of
from hydro.catalog.lookup import find_pipe, size_of
from hydro.catalog.prices import Price, PriceList, load_prices
from hydro.catalog.records import THICKER_WALL, BoreSize, Bulkhead, Family, PipeSize, Size
from hydro.catalog.shelf import all_sizes, bulkheads, families, hoses, pipe_sizes, sizes_of, waste_pipes
from hydro.catalog.user_sizes import Catalogue, load_catalogue

__all__ = ["THICKER_WALL", "UNKNOWN", "BoreSize", "Bulkhead", "Catalogue", "Family", "PipeSize", "Price",
           "PriceList", "Size", "adaptor", "all_sizes", "bulkheads", "families", "family_of", "find_pipe", "hoses",
           "load_catalogue", "load_prices", "pipe_sizes", "size_of", "sizes_of", "waste_pipes"]
