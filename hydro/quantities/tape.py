"""Figures as they are read off a tape, a clock or a bucket: whole millimetres or sixteenths of an inch, with their band.

Everything else is shown by `hydro.quantities.formatting`; no figure is shown finer than its band lets anybody know it.
"""

from __future__ import annotations

import math

from hydro.quantities.formatting import MOST_SHOWN, convert, show, show_band, unit_name
from hydro.quantities.unit_table import DIMENSIONS

SIXTEENTHS = 16
WIDE = 0.02
"""Half a band from which on heights are shown to 5 mm or a quarter of an inch, m."""
FIGURES = 3

Band = tuple[float, float, float]
"""Low, middle, high, in SI units."""


def _sixteenths(inches: float) -> str:
    count = round(abs(inches) * SIXTEENTHS)
    whole, rest = divmod(count, SIXTEENTHS)
    sign = "-" if inches < 0 and count else ""
    if not rest:
        return f"{sign}{whole}"
    shared = math.gcd(rest, SIXTEENTHS)
    fraction = f"{rest // shared}/{SIXTEENTHS // shared}"
    return f"{sign}{whole}-{fraction}" if whole else f"{sign}{fraction}"


def mark(height: float, system: str) -> str:
    """Return a height in m as a tape shows it, without its unit: '205' (mm) or '8-1/16' (in)."""
    if not math.isfinite(height):
        return "unknown" if math.isnan(height) else "no limit"
    number = convert(height, "length", system)
    if abs(number) >= MOST_SHOWN:
        return f"{number:.3g}"
    return f"{number:.0f}".replace("-0", "0") if system == "metric" else _sixteenths(number)


def tape(height: float, system: str) -> str:
    """Return a height in m as a tape shows it: '205 mm', '8-1/16 in'."""
    return f"{mark(height, system)} {unit_name('length', system)}" if math.isfinite(height) else mark(height, system)


def _stepped(height: float, system: str, step: float, towards: int) -> float:
    """Return a height in m moved to a step (mm or in) of the tape: downward (-1), to the nearest (0) or upward (1)."""
    one = convert(1.0, "length", system)
    steps = height * one / step
    moved = math.floor(steps + 1e-6) if towards < 0 else math.ceil(steps - 1e-6) if towards else round(steps)
    return moved * step / one


def _marked(height: float, system: str, towards: int) -> float:
    return _stepped(height, system, 1.0 if system == "metric" else 1.0 / SIXTEENTHS, towards)


def floor_mark(height: float, system: str) -> float:
    """Return a height that must not be passed, rounded down to the tape's next mark, m."""
    return _marked(height, system, -1)


def ceiling_mark(height: float, system: str) -> float:
    """Return a height that water reaches, rounded up to the tape's next mark, m."""
    return _marked(height, system, 1)


def tape_above(height: float, system: str) -> str:
    """Return a height that water reaches as a tape shows it, rounded up."""
    return tape(ceiling_mark(height, system), system)


def tape_below(height: float, system: str) -> str:
    """Return a height that must not be passed as a tape shows it, rounded down."""
    return tape(floor_mark(height, system), system)


def tape_band(band: Band, system: str, towards: int = 0) -> tuple[str, str]:
    """Return a height and its band without units, '' where there is none: ('205', '198 to 214').

    The height goes to the tape's next mark downward (-1), to the nearest (0) or upward (1).
    """
    low, middle, high = band
    half = max(high - middle, middle - low)
    if half < 5e-4:
        return mark(_marked(middle, system, towards), system), ""
    fine, coarse = (1.0, 5.0) if system == "metric" else (1.0 / SIXTEENTHS, 0.25)
    step = coarse if half > WIDE else fine
    ends = [mark(_stepped(end, system, step, side), system) for end, side in ((low, -1), (middle, towards), (high, 1))]
    return ends[1], f"{ends[0]} to {ends[2]}"


def rounded_band(band: Band, dimension: str, system: str) -> tuple[str, str]:
    """Return a figure and its band without units, no finer than the band tells: ('4900', '4700 to 5100')."""
    low, middle, high = (convert(end, dimension, system) for end in band)
    half = max(high - middle, middle - low)
    if low == middle == high == 0.0:
        return "0", ""
    size = max(abs(low), abs(middle), abs(high), 1e-12)
    step = 10.0 ** max(math.floor(math.log10(max(half, 1e-12 * size))), math.floor(math.log10(size)) - FIGURES + 1)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    if size >= MOST_SHOWN:
        return f"{middle:.3g}", f"{low:.3g} to {high:.3g}" if half >= 0.5 * step else ""
    shown = f"{round(middle / step) * step:.{decimals}f}"
    if half < 0.5 * step:
        return shown, ""
    ends = math.floor(low / step + 1e-6) * step, math.ceil(high / step - 1e-6) * step
    return shown, f"{ends[0]:.{decimals}f} to {ends[1]:.{decimals}f}"


def seconds(band: Band, system: str) -> str:
    """Return a time with its band: '10 to 12 s'."""
    return show_band(band[0], band[2], "time", system)


def unrounded(value: float, dimension: str, system: str, digits: int | None = None) -> str:
    """Return any value with its unit, however small it is; a dimension without a display of its own in SI."""
    if dimension == "viscosity":
        return f"{value:.3g} m2/s"
    if dimension not in DIMENSIONS:
        return f"{value:.4g}"
    small = dimension in ("length", "share") and 0.0 < abs(convert(value, dimension, system)) < 1.0
    return show(value, dimension, system, digits=2 if small else digits)


def plain_band(low: float, high: float, dimension: str, system: str, digits: int | None = None) -> str:
    """Return a band, '' where both ends are the same."""
    first, last = (unrounded(end, dimension, system, digits) for end in (low, high))
    unit = unit_name(dimension, system) if dimension in DIMENSIONS else "m2/s"
    if unit and first.endswith(f" {unit}") and last.endswith(f" {unit}"):
        first = first.removesuffix(f" {unit}")
    return "" if low == high else f"{first} to {last}"
