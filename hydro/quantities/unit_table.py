"""The units of the trade, as a table: word -> dimension, factor and offset to SI.

Definitions (exact, from memory): inch 25.4 mm, US gallon 231 cubic inches, imperial gallon 4.54609 L (UK Weights and
Measures Act 1985), pound 0.45359237 kg, standard gravity 9.80665 m/s2 (in psi). Practical salinity 35 is 35.16504 g/kg
(TEOS-10 reference composition). A test holds every factor against pint. Reading is in `hydro.quantities.parsing`, showing in
`hydro.quantities.formatting`.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass

INCH, POUND, GRAVITY = 0.0254, 0.45359237, 9.80665
FOOT, US_GALLON, IMPERIAL_GALLON = 12 * INCH, 231 * INCH**3, 4.54609e-3


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: SI value = factor x number + offset. `words[0]` is how it is written to people."""

    dimension: str
    factor: float
    words: tuple[str, ...]
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Dimension:
    """How a dimension is spoken of: a noun, its SI unit in pint's words, and an example for metric, US and imperial."""

    noun: str
    si: str
    metric: str
    us: str
    imperial: str


_SPOKEN = {
    "length": Dimension("a length", "m", "12 cm", "5 in", "5 in"),
    "area": Dimension("an area", "m**2", "0.6 m2", "6 sq ft", "6 sq ft"),
    "volume": Dimension("a volume", "m**3", "40 L", "10 US gal", "9 imp gal"),
    "flow": Dimension("a flow", "m**3/s", "3000 L/h", "800 US gph", "650 imp gph"),
    "power": Dimension("a power", "W", "70 W", "70 W", "70 W"),
    "temperature": Dimension("a temperature", "K", "25 °C", "77 °F", "25 °C"),
    "time": Dimension("a time", "s", "8 s", "2 min", "8 s"),
    "pressure": Dimension("a pressure", "Pa", "15 kPa", "2 psi", "2 psi"),
    "speed": Dimension("a speed", "m/s", "0.5 m/s", "2 ft/s", "2 ft/s"),
    "number": Dimension("a plain number", "", "2", "2", "2"),
    "share": Dimension("a share", "", "30 %", "30 %", "30 %"),
    "energy": Dimension("an energy", "J", "1.5 kWh", "1.5 kWh", "1.5 kWh"),
    "mass": Dimension("a weight", "kg", "20 kg", "45 lb", "45 lb"),
    "density": Dimension("a density", "kg/m**3", "1025 kg/m3", "64 lb/ft3", "64 lb/ft3"),
    "turnover": Dimension("a turnover", "1/s", "5 per hour", "5 per hour", "5 per hour"),
    "salinity": Dimension("a salinity", "g/kg", "35 g/kg", "35 ppt", "35 ppt"),
}
DIMENSIONS: tuple[str, ...] = tuple(_SPOKEN)
"""Names of the dimensions. All values are in plain SI units, but 'salinity' is in g/kg."""

_ROWS: tuple[tuple[str, float, str], ...] = (
    ("length", 1e-3, "mm|millimetre|millimetres|millimeter|millimeters"),
    ("length", 1e-2, "cm|centimetre|centimetres|centimeter|centimeters"),
    ("length", 1.0, "m|metre|metres|meter|meters"),
    ("length", INCH, "in|inch|inches|\"|''"),
    ("length", FOOT, "ft|foot|feet|'"),
    ("area", 1e-6, "mm2|sq mm|square millimetres|square millimeters"),
    ("area", 1e-4, "cm2|sq cm|square centimetres|square centimeters"),
    ("area", 1.0, "m2|sq m|square metre|square metres|square meter|square meters"),
    ("area", INCH**2, "sq in|in2|square inch|square inches"),
    ("area", FOOT**2, "sq ft|ft2|square foot|square feet"),
    ("volume", 1e-3, "L|litre|litres|liter|liters|ltr|dm3"),
    ("volume", 1e-6, "ml|millilitre|millilitres|milliliter|milliliters|cc|cm3"),
    ("volume", 1.0, "m3|cubic metre|cubic metres|cubic meter|cubic meters"),
    ("volume", US_GALLON, "US gal|US gals|US gallon|US gallons|gal US|gals US|gallon US|gallons US"),
    ("volume", IMPERIAL_GALLON, "imp gal|imp gals|imp gallon|imp gallons|imperial gal|imperial gallon|imperial gallons|"
                                "UK gal|UK gals|UK gallon|UK gallons|gal imp|gallons imp|gal UK|gallons UK"),
    ("volume", INCH**3, "cu in|in3|cubic in|cubic inch|cubic inches"),
    ("volume", FOOT**3, "cu ft|ft3|cubic ft|cubic foot|cubic feet"),
    ("flow", 1e-3 / 3600, "lph"),
    ("flow", 1e-3 / 60, "lpm"),
    ("flow", US_GALLON / 3600, "US gph|gph US"),
    ("flow", US_GALLON / 60, "US gpm|gpm US"),
    ("flow", IMPERIAL_GALLON / 3600, "imp gph|imperial gph|UK gph|gph imp|gph UK"),
    ("flow", IMPERIAL_GALLON / 60, "imp gpm|imperial gpm|UK gpm|gpm imp|gpm UK"),
    ("power", 1.0, "W|watt|watts"),
    ("power", 1e3, "kW|kilowatt|kilowatts"),
    ("time", 1.0, "s|sec|secs|second|seconds"),
    ("time", 60.0, "min|mins|minute|minutes"),
    ("time", 3600.0, "h|hr|hrs|hour|hours"),
    ("time", 86400.0, "days|day|d"),
    ("pressure", 1.0, "Pa|pascal"),
    ("pressure", 1e2, "mbar|hPa"),
    ("pressure", 1e3, "kPa"),
    ("pressure", 1e5, "bar"),
    ("pressure", POUND * GRAVITY / INCH**2, "psi"),
    ("share", 0.01, "%|percent|per cent"),
    ("energy", 1.0, "J|joule|joules"),
    ("energy", 3600.0, "Wh"),
    ("energy", 3.6e6, "kWh"),
    ("mass", 1e-3, "g|gram|grams"),
    ("mass", 1.0, "kg|kilogram|kilograms"),
    ("mass", 1e3, "t|tonne|tonnes"),
    ("mass", POUND, "lb|lbs|pound|pounds"),
    ("mass", POUND / 16, "oz|ounce|ounces"),
    ("salinity", 1.0, "ppt|‰"),
    ("salinity", 35.16504 / 35, "psu"),
)
_PAIRS = {("volume", "time"): ("flow", 1.0), ("length", "time"): ("speed", 1.0), ("mass", "volume"): ("density", 1.0),
          ("", "time"): ("turnover", 1.0), ("mass", "mass"): ("salinity", 1e3)}
_USUAL_PAIRS = ("L/h", "L/min", "L/s", "m3/h", "m3/s", "m/s", "ft/s", "kg/m3", "lb/ft3", "g/kg", "per hour", "per day")
_AMBIGUOUS = re.compile(r"(?:gals?|gallons?|gph|gpm|gpd|qts?|quarts?|pts?|pints?|fl\.?oz|cups?)(?:/.*)?")
_LIKE = str.maketrans({"²": "2", "³": "3", "″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "−": "-", "–": "-",
                       "\u00a0": " ", "\u202f": " ", "⁄": "/", "º": "°", "℃": "°C", "℉": "°F",
                       "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"})


def spoken(dimension: str) -> Dimension:
    """Return how a dimension is spoken of; KeyError for a name that is not in `DIMENSIONS`."""
    return _SPOKEN[dimension]


def with_plain_signs(text: str) -> str:
    """Return the text with typographic signs (², ½, ″, no-break space) as their keyboard forms."""
    return text.translate(_LIKE).strip()


def _key(word: str) -> str:
    with_slash = re.sub(r"(?:^|\s+)per\s+|\s+an?\s+(?=hour|day|min)", "/", with_plain_signs(word))
    return re.sub(r"[\s.()_^-]", "", with_slash).casefold()


UNITS: tuple[Unit, ...] = (
    *(Unit(dimension, factor, tuple(words.split("|"))) for dimension, factor, words in _ROWS),
    Unit("temperature", 1.0, ("°C", "C", "degC", "deg C", "celsius"), 273.15),
    Unit("temperature", 5 / 9, ("°F", "F", "degF", "deg F", "fahrenheit"), 273.15 - 32 * 5 / 9),
    Unit("temperature", 1.0, ("K", "kelvin")),
)
_BY_KEY = {_key(word): unit for unit in UNITS for word in unit.words}


def find_unit(word: str) -> Unit | None:
    """Return the unit for a word of the trade or one word per another ('L/h', 'per hour'), else None."""
    key = _key(word)
    if key in _BY_KEY:
        return _BY_KEY[key]
    above, slash, below = key.partition("/")
    over = None if above in ("", "1", "x", "times") else _BY_KEY.get(above)
    under = _BY_KEY.get(below)
    if not slash or under is None or (over is None and above not in ("", "1", "x", "times")):
        return None
    dimension, scale = _PAIRS.get((over.dimension if over else "", under.dimension), ("", 0.0))
    return Unit(dimension, scale * (over.factor if over else 1.0) / under.factor, (word,)) if dimension else None


def asks_which(word: str) -> bool:
    """Whether the word is a gallon (quart, pint, cup, fluid ounce) that does not say whether it is US or imperial."""
    return _AMBIGUOUS.fullmatch(_key(word)) is not None


def words_for(dimension: str) -> tuple[str, ...]:
    """Return every word for the units of a dimension, and the usual ones with a slash."""
    pairs = [(word, find_unit(word)) for word in _USUAL_PAIRS]
    return (*(word for unit in UNITS if unit.dimension == dimension for word in unit.words),
            *(word for word, unit in pairs if unit and unit.dimension == dimension))


def nearest(word: str, words: Iterable[str]) -> str:
    """Return the closest of the words, whatever their case; '' if none is near (ratio under 0.6, short words 0.5)."""
    sought = word.strip().casefold()[:60]
    best, best_rank = "", (0.6 if len(sought) > 3 else 0.5, False)
    for candidate in words:
        folded = candidate.casefold()
        rank = (difflib.SequenceMatcher(None, sought, folded).ratio(), folded[:1] == sought[:1])
        if rank > best_rank or (rank == best_rank and not best):
            best, best_rank = candidate, rank
    return best if sought else ""
