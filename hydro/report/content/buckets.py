"""The bucket of each system of units, with which a flow is measured."""

from __future__ import annotations

from hydro.checks.assessment import BUCKET
from hydro.quantities.unit_table import IMPERIAL_GALLON, US_GALLON

BUCKETS = {"metric": ("10 L", 1.0), "US": ("5 US gal", 5.0 * US_GALLON / BUCKET),
           "imperial": ("2 imp gal", 2.0 * IMPERIAL_GALLON / BUCKET)}
"""The bucket of each system of units, and its size over the one that times are counted for."""
