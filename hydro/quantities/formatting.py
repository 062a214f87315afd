"""SI values as text for people, in metric, US or imperial units, rounded as far as a tape or a bucket can tell.

Nothing is read here (see `hydro.quantities.parsing`, which also hands these functions out). Values come in SI units, salinity in
g/kg.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydro.quantities.unit_table import FOOT, IMPERIAL_GALLON, INCH, POUND, US_GALLON, spoken

SYSTEMS = ("metric", "US", "imperial")
MOST_SHOWN = 1e9
"""A number from here on, or a part of one so small, measures nothing that is built: shown as 1e+300, not with 300 digits."""
_HOUR, _DAY = 3600.0, 86400.0
_PSI = POUND * 9.80665 / INCH**2


@dataclass(frozen=True, slots=True)
class DisplayUnit:
    """A display unit: number shown = (value - offset) / factor, to `digits` significant digits, no finer than `step`.

    `upto` is the shown magnitude from which on the next entry of the list is used.
    """

    word: str
    factor: float
    digits: int = 3
    step: float = 0.0
    upto: float = math.inf
    offset: float = 0.0


_US: dict[str, tuple[DisplayUnit, ...]] = {
    "length": (DisplayUnit("in", INCH, 2, 0.01, 0.995), DisplayUnit("in", INCH, 3, 0.1, 120), DisplayUnit("ft", FOOT, 3, 0.1)),
    "area": (DisplayUnit("sq in", INCH**2, 3, 0, 144), DisplayUnit("sq ft", FOOT**2)),
    "volume": (DisplayUnit("US gal", US_GALLON),), "flow": (DisplayUnit("US gph", US_GALLON / _HOUR),),
    "temperature": (DisplayUnit("°F", 5 / 9, 4, 0.1, offset=273.15 - 32 * 5 / 9),), "pressure": (DisplayUnit("psi", _PSI),),
    "speed": (DisplayUnit("ft/s", FOOT, 2),), "mass": (DisplayUnit("lb", POUND),),
    "density": (DisplayUnit("lb/ft3", POUND / FOOT**3),)}
_METRIC: dict[str, tuple[DisplayUnit, ...]] = {
    "length": (DisplayUnit("mm", 1e-3, 3, 0.1, 1000), DisplayUnit("m", 1.0, 3, 0.01)),
    "area": (DisplayUnit("cm²", 1e-4, 3, 0, 1000), DisplayUnit("m²", 1.0)),
    "volume": (DisplayUnit("L", 1e-3),),
    "flow": (DisplayUnit("L/h", 1e-3 / _HOUR),),
    "power": (DisplayUnit("W", 1.0, 3, 0, 10000), DisplayUnit("kW", 1e3)),
    "temperature": (DisplayUnit("°C", 1.0, 4, 0.1, offset=273.15),),
    "time": (DisplayUnit("s", 1.0, 3, 0.1, 120), DisplayUnit("min", 60.0, 3, 0.1, 120), DisplayUnit("h", _HOUR, 2, 0.1, 48),
             DisplayUnit("days", _DAY, 2, 0.1)),
    "pressure": (DisplayUnit("Pa", 1.0, 3, 0, 1000), DisplayUnit("kPa", 1e3)),
    "speed": (DisplayUnit("m/s", 1.0, 2),),
    "number": (DisplayUnit("", 1.0, 4),),
    "share": (DisplayUnit("%", 0.01, 2, 0.1),),
    "energy": (DisplayUnit("kWh", 3.6e6),),
    "mass": (DisplayUnit("kg", 1.0),),
    "density": (DisplayUnit("kg/m³", 1.0, 4),),
    "turnover": (DisplayUnit("per hour", 1 / _HOUR, 2),),
    "salinity": (DisplayUnit("g/kg", 1.0),),
}
_IMPERIAL: dict[str, tuple[DisplayUnit, ...]] = {**_US, "volume": (DisplayUnit("imp gal", IMPERIAL_GALLON),),
                                                 "flow": (DisplayUnit("imp gph", IMPERIAL_GALLON / _HOUR),),
                                                 "temperature": _METRIC["temperature"]}
_TABLE_UNIT = {("area", "metric"): 1, ("area", "US"): 1, ("area", "imperial"): 1, ("pressure", "metric"): 1}


def _scales(dimension: str, system: str) -> tuple[DisplayUnit, ...]:
    spoken(dimension)
    if system not in SYSTEMS:
        raise ValueError(f"units '{system}'; expected one of {', '.join(SYSTEMS)}")
    own = {"metric": _METRIC, "US": _US, "imperial": _IMPERIAL}[system]
    return own.get(dimension) or _METRIC[dimension]


def _table_scale(dimension: str, system: str) -> DisplayUnit:
    return _scales(dimension, system)[_TABLE_UNIT.get((dimension, system), 0)]


def unit_name(dimension: str, system: str = "metric") -> str:
    """Return the one unit a table uses for a dimension, '' for a plain number."""
    return _table_scale(dimension, system).word


def convert(value: float, dimension: str, system: str = "metric") -> float:
    """Return an SI value as a number in the unit that `unit_name` gives, unrounded."""
    scale = _table_scale(dimension, system)
    return (value - scale.offset) / scale.factor


def _step(number: float, scale: DisplayUnit, digits: int | None = None) -> float:
    """Return the size of the last figure worth showing for a number in this unit."""
    if number == 0:
        return scale.step or 10.0 ** -(digits or scale.digits)
    if digits is not None:
        return float(10.0 ** (math.floor(math.log10(abs(number))) - digits + 1))
    step = 10.0 ** (math.floor(math.log10(abs(number))) - scale.digits + 1)
    # what is read off a tape or a thermometer is shown whole from ten on: '205 mm', '12 s'
    whole = scale.word in ("mm", "s", "min") and abs(number) >= 9.95
    return float(max(step, 1.0 if whole else scale.step))


def _figures(number: float, step: float) -> str:
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    if abs(number) >= MOST_SHOWN or 0.0 < abs(number) < 1.0 / MOST_SHOWN:
        return f"{number:.3g}"
    text = f"{round(number / step) * step:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def _pick(value: float, scales: tuple[DisplayUnit, ...], digits: int | None = None) -> tuple[DisplayUnit, float]:
    """Return the unit whose rounded figure stays under its `upto`, and the number in it."""
    for scale in scales:
        number = (value - scale.offset) / scale.factor
        step = _step(number, scale, digits)
        if abs(round(number / step) * step) < scale.upto * (1 - 1e-12):
            break
    return scale, number


def _joined(figures: str, word: str) -> str:
    return f"{figures} {word}" if word else figures


def _minutes(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def show(value: float, dimension: str, system: str = "metric", digits: int | None = None) -> str:
    """Return an SI value with its unit: '205 mm', '1.57 m', '5030 L/h', '2 min 5 s', '8.1 in'.

    `digits` asks for that many significant digits in place of the usual rounding. Infinity is 'no limit', NaN is
    'unknown'.
    """
    scales = _scales(dimension, system)
    if not math.isfinite(value):
        return "unknown" if math.isnan(value) else "no limit"
    if dimension == "time" and digits is None and 59.5 <= value < 599.5:
        return _minutes(value)
    scale, number = _pick(value, scales, digits)
    return _joined(_figures(number, _step(number, scale, digits)), scale.word)


def show_band(low: float, high: float, dimension: str, system: str = "metric") -> str:
    """Return a band with its unit written once: '10 to 12 s'; one figure where both ends round to the same.

    The ends are rounded outwards, to the step that suits the larger of them, so the band shown is never narrower than
    the band meant. Ends in the wrong order are turned round. A time that is nothing in the unit of the longer one keeps its own:
    '9 s to 12 min'.
    """
    low, high = min(low, high), max(low, high)
    if not (math.isfinite(low) and math.isfinite(high)):
        shown = show(low, dimension, system), show(high, dimension, system)
        return shown[0] if shown[0] == shown[1] else " to ".join(shown)
    larger = max(low, high, key=abs)
    if show(low, dimension, system) == show(high, dimension, system):
        return show(larger, dimension, system)
    scale, number = _pick(larger, _scales(dimension, system))
    step = _step(number, scale)
    ends = [(end - scale.offset) / scale.factor / step for end in (low, high)]
    if dimension == "time" and 0.0 < ends[0] < 1.0:
        return f"{show(low, dimension, system)} to {show(high, dimension, system)}"
    first, last = math.floor(ends[0] + 1e-6) * step, math.ceil(ends[1] - 1e-6) * step
    return _joined(f"{_figures(first, step)} to {_figures(last, step)}", scale.word)
