"""Reading and showing quantities: `hydro.quantities.parsing` with its table and its display."""

import math
import re
import subprocess
import sys

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.quantities import parsing as units
from hydro.quantities.parsing import DIMENSIONS, SYSTEMS, UnitProblem, convert, read, read_product, show, show_band, unit_name
from hydro.quantities.tape import rounded_band, tape
from hydro.quantities.unit_table import UNITS, find_unit, spoken, words_for

PINT_WORDS = {
    "in": "inch", "ft": "foot", "mm2": "mm**2", "cm2": "cm**2", "m2": "m**2", "sq in": "inch**2", "sq ft": "foot**2",
    "L": "liter", "m3": "m**3", "US gal": "US_liquid_gallon", "imp gal": "imperial_gallon", "cu in": "inch**3",
    "cu ft": "foot**3", "lph": "liter/hour", "lpm": "liter/minute", "US gph": "US_liquid_gallon/hour",
    "US gpm": "US_liquid_gallon/minute", "imp gph": "imperial_gallon/hour", "imp gpm": "imperial_gallon/minute",
    "h": "hour", "days": "day", "%": "percent", "t": "metric_ton", "°C": "degC", "°F": "degF", "ppt": "permille",
}
"""How pint writes the units of the table that it writes differently."""
NOT_IN_PINT = {"psu": 35.16504 / 35}
"""Factor of what pint does not know: the reference composition of TEOS-10, in g/kg for practical salinity 1."""


def si_factor(unit):
    """Return factor and offset to SI of a unit of the table, by pint alone."""
    registry = pint.get_application_registry()
    word = unit.words[0]
    in_pint, si = PINT_WORDS.get(word, word), spoken(unit.dimension).si
    zero, one = (registry.Quantity(number, in_pint).to(si).magnitude for number in (0.0, 1.0))
    return one - zero, zero


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.words[0])
def test_every_factor_is_that_of_pint(unit):
    """Every unit of the table converts as pint converts it."""
    if unit.words[0] in NOT_IN_PINT:
        assert unit.factor == NOT_IN_PINT[unit.words[0]]
        return
    factor, offset = si_factor(unit)
    assert unit.factor == pytest.approx(factor, rel=1e-12)
    assert unit.offset == pytest.approx(offset, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(("word", "in_pint"), [
    ("L/h", "liter/hour"), ("US gal/h", "US_liquid_gallon/hour"), ("imp gal per minute", "imperial_gallon/minute"),
    ("m3/h", "m**3/hour"), ("ft/s", "foot/second"), ("kg/m3", "kg/m**3"), ("lb/cu ft", "pound/foot**3"),
    ("g/kg", "g/kg"),
    ("per hour", "1/hour"), ("x/h", "1/hour"), ("times an hour", "1/hour"), ("1/day", "1/day"),
])
def test_a_unit_per_another_is_that_of_pint(word, in_pint):
    """A unit written as one per another converts as pint converts it."""
    unit = find_unit(word)
    amount = pint.get_application_registry().Quantity(1.0, in_pint).to(spoken(unit.dimension).si)
    assert unit.factor == pytest.approx(amount.magnitude, rel=1e-12)


def test_no_word_stands_for_two_units():
    """Every word of the table finds the unit it is written beside."""
    assert all(find_unit(word) is unit for unit in UNITS for word in unit.words)


@pytest.mark.parametrize(("text", "dimension", "low", "middle", "high"), [
    ("12 cm", "length", 0.12, 0.12, 0.12), ("12cm", "length", 0.12, 0.12, 0.12), ("29 CM", "length", 0.29, 0.29, 0.29),
    ("1-1/2 in", "length", 0.0381, 0.0381, 0.0381), ("1 1/2 in", "length", 0.0381, 0.0381, 0.0381),
    ("1½″", "length", 0.0381, 0.0381, 0.0381), ("3/4 in", "length", 0.01905, 0.01905, 0.01905),
    ('1/2"', "length", 0.0127, 0.0127, 0.0127), ("6 ft 2 in", "length", 1.8796, 1.8796, 1.8796),
    ("6' 2\"", "length", 1.8796, 1.8796, 1.8796), ("-6 ft 2 in", "length", -1.8796, -1.8796, -1.8796),
    ("2 min 5 s", "time", 125, 125, 125), ("-3 mm", "length", -0.003, -0.003, -0.003),
    ("about 160 cm", "length", 1.44, 1.6, 1.76), ("~160 cm", "length", 1.44, 1.6, 1.76),
    ("About -10 cm", "length", -0.11, -0.1, -0.09), ("about 25 °C", "temperature", 296.15, 298.15, 300.15),
    ("160 cm +- 5 cm", "length", 1.55, 1.6, 1.65), ("160 +- 5 cm", "length", 1.55, 1.6, 1.65),
    ("160±5 cm", "length", 1.55, 1.6, 1.65), ("160 cm +- 50 mm", "length", 1.55, 1.6, 1.65),
    ("about 160 cm +- 5 cm", "length", 1.55, 1.6, 1.65), ("10 L +- 5 %", "volume", 0.0095, 0.010, 0.0105),
    ("150..170 cm", "length", 1.5, 1.6, 1.7), ("150 cm .. 1.7 m", "length", 1.5, 1.6, 1.7),
    ("10 to 12 s", "time", 10, 11, 12), ("-2..2 cm", "length", -0.02, 0, 0.02),
    ("25 °C +- 1 °C", "temperature", 297.15, 298.15, 299.15), ("77 F", "temperature", 298.15, 298.15, 298.15),
    ("298.15 K", "temperature", 298.15, 298.15, 298.15), ("30 %", "share", 0.3, 0.3, 0.3),
    ("30 +- 5 %", "share", 0.25, 0.3, 0.35), ("3", "number", 3, 3, 3), ("2 +- 10 %", "number", 1.8, 2, 2.2),
    ("3600 L/h", "flow", 1e-3, 1e-3, 1e-3), ("3.6 m³/h", "flow", 1e-3, 1e-3, 1e-3),
    ("5 per hour", "turnover", *[5 / 3600] * 3),
    ("5x per hour", "turnover", *[5 / 3600] * 3), ("5 times per hour", "turnover", *[5 / 3600] * 3),
    ("5 /h", "turnover", *[5 / 3600] * 3), ("35 g/kg", "salinity", 35, 35, 35), ("3 yard", "length", *[2.7432] * 3),
    ("36 mile/hour", "speed", *[16.09344] * 3),
])
def test_a_quantity_is_read_with_its_band(text, dimension, low, middle, high):
    """A written quantity becomes the SI value and the band that its words say (arithmetic from the definitions)."""
    uncertain = read(text, dimension)
    assert (uncertain.low, uncertain.middle, uncertain.high) == pytest.approx((low, middle, high), rel=1e-12, abs=1e-15)


def test_a_plain_quantity_is_exact_and_free_of_binary_dust():
    """A quantity without a band is exact, and '29 cm' is the float 0.29 itself."""
    assert read("29 cm", "length").is_exact
    assert read("29 cm", "length").middle == 0.29


@pytest.mark.parametrize(("text", "dimension", "found", "expected", "near"), [
    ("5", "length", "no unit", "a length with its unit, such as 12 cm or 5 in", ""),
    ("30 L", "length", "'30 L' is a volume", "a length", ""), ("3 cm", "number", "is a length", "a plain number", ""),
    ("5 L/m", "flow", "is an area", "a flow", ""), ("5 ampere", "length", "is not a length", "a length", ""),
    ("30 gal", "volume", "which gallon", "US gal or imp gal", "US gal"),
    ("800 gph", "flow", "which gallon", "US gph or imp gph", "US gph"),
    ("5 gallons per minute", "flow", "which gallon", "US gph", "US gallons per minute"),
    ("2 quarts", "volume", "which measure", "US or imp", "US quarts"),
    ("5 cn", "length", "unknown unit 'cn'", "a length", "cm"),
    ("5 litrs", "volume", "unknown unit", "a volume", "litres"),
    ("1,5 cm", "length", "a comma in the number '1,5'", "a point before decimals", "1.5"),
    ("1,500 L", "volume", "a comma", "no mark between thousands", ""),
    ("1 000 L", "volume", "not one number", "1500", ""),
    ("1.000.000 L", "volume", "not one number", "1500", ""), ("", "length", "nothing is written", "a length", ""),
    ("nan cm", "length", "no number", "a length", ""), ("inf", "number", "no number", "a plain number", ""),
    ("1e999 cm", "length", "sensible size", "a length", ""), ("1e308 kWh", "energy", "sensible size", "an energy", ""),
    ("1/0 in", "length", "sensible size", "a length", ""), ("--5 cm", "length", "no number", "a length", ""),
    ("١٢ cm", "length", "no number", "a length", ""),
    ("170..150 cm", "length", "runs backwards", "lower end first", ""),
    ("5 cm +- -1 cm", "length", "runs backwards", "lower end first", ""),
    ("1..2..3 cm", "length", "two bands", "one band", ""),
    ("-300 °C", "temperature", "below absolute zero", "a temperature", ""),
    ("25 °C +- 5 %", "temperature", "band in %", "in degrees", ""),
    ("2 in 6 ft", "length", "from a large unit", "6 ft 2 in", ""),
    ("5 ft 14 in", "length", "from a large unit", "6 ft 2 in", ""),
    ("5 m^9^9^9^9", "length", "unknown unit", "a length", ""),
    ("9**9**9**9 m", "length", "unknown unit", "a length", ""),
    ("7" * 5000, "length", "a text of 5000 characters", "a length", ""),
])
def test_what_cannot_be_read_is_refused_with_reason_and_remedy(text, dimension, found, expected, near):
    """A text that cannot be read beyond doubt is refused with what stands there, what is expected and what is near."""
    with pytest.raises(UnitProblem) as caught:
        read(text, dimension)
    assert found in caught.value.found
    assert expected in caught.value.expected
    assert caught.value.nearest == near
    assert len(str(caught.value)) < 300


def test_examples_and_gallons_follow_the_reader():
    """The examples in a message and the gallon that is offered first are those of the reader's system."""
    with pytest.raises(UnitProblem, match=re.escape("such as 5 in or 12 cm")):
        read("5", "length", "US")
    with pytest.raises(UnitProblem, match="did you mean 'imp gal'"):
        read("5 gal", "volume", "imperial")


@pytest.mark.parametrize(("text", "middles"), [
    ("197 x 99 x 78 cm", (1.97, 0.99, 0.78)), ("1 m x 50 cm x 40 cm", (1, 0.5, 0.4)), ("72×24×24 in",
    (1.8288, 0.6096, 0.6096)),
    ("60 cm", (0.6,)), ("6 ft x 24 x 24 in", (1.8288, 0.6096, 0.6096)), ("1-1/2 x 2 in", (0.0381, 0.0508)),
])
def test_a_product_shares_its_unit_from_right_to_left(text, middles):
    """A side without a unit takes that of the next side that has one, and one with a unit keeps its own."""
    sides = read_product(text)
    assert tuple(side.middle for side in sides) == pytest.approx(middles, rel=1e-12)
    assert all(side.is_exact for side in sides)


def test_a_band_in_a_product_holds_for_every_side():
    """'about' before a product and '+-' behind it give every side a band; a side's own range stays its own."""
    assert [s.low for s in read_product("about 60 x 40 x 35 cm")] == pytest.approx([0.54, 0.36, 0.315])
    assert [s.high for s in read_product("60 x 40 x 35 cm +- 1 cm")] == pytest.approx([0.61, 0.41, 0.36])
    assert [s.high for s in read_product("60 cm x 40 cm +- 5 %")] == pytest.approx([0.63, 0.42])
    assert [(s.low, s.high) for s in read_product("58..62 x 40 cm +- 1 cm")] == [(0.58, 0.62), (0.39, 0.41)]


@pytest.mark.parametrize("text", ["60 x 40", "60 x 40 +- 2 %", "60 x x 40 cm", "60 x 40 x 5 L", "x", "60 cm x"])
def test_a_product_that_is_not_one_is_refused(text):
    """A product without a unit, with a gap, or of mixed dimensions is refused."""
    with pytest.raises(UnitProblem):
        read_product(text)


PIECES = st.sampled_from(["about ", "+-", "..", " to ", " x ", "%", "cm", "US gal", "gal", "/", "per ",
"'", '"', "°C", "1/", "e9",
                          "-", ".", ",", "½", "²", "\x00", "٣", "^9", "**", " ", "h", "nan", "7", "12.5", "0"])


@settings(max_examples=300, deadline=None, derandomize=True)
@given(text=st.lists(PIECES, max_size=9).map("".join) | st.text(max_size=30), dimension=st.sampled_from(DIMENSIONS))
def test_any_text_is_read_or_refused(text, dimension):
    """Whatever is written, reading gives finite values in order or refuses it: no other error leaves it."""
    for reader in (lambda: (read(text, dimension),), lambda: read_product(text, dimension)):
        try:
            roughs = reader()
        except UnitProblem:
            continue
        assert all(math.isfinite(r.low) and r.low <= r.middle <= r.high for r in roughs)


@pytest.mark.parametrize(("value", "dimension", "metric", "us", "imperial"), [
    (0.205, "length", "205 mm", "8.1 in", "8.1 in"), (1.57, "length", "1.57 m", "61.8 in", "61.8 in"),
    (0.0034, "length", "3.4 mm", "0.13 in", "0.13 in"), (0.9996, "length", "1 m", "39.4 in", "39.4 in"),
    (3.8, "length", "3.8 m", "12.5 ft", "12.5 ft"), (-0.0123, "length", "-12 mm", "-0.48 in", "-0.48 in"),
    (-1e-9, "length", "0 mm", "0 in", "0 in"), (0.1234, "volume", "123 L", "32.6 US gal", "27.1 imp gal"),
    (5030.4 / 3.6e6, "flow", "5030 L/h", "1330 US gph", "1110 imp gph"), (70, "power", "70 W", "70 W", "70 W"),
    (298.15, "temperature", "25 °C", "77 °F", "25 °C"), (0.6213, "speed", "0.62 m/s", "2 ft/s", "2 ft/s"),
    (5.3 / 3600, "turnover", "5.3 per hour", "5.3 per hour", "5.3 per hour"), (8, "time", "8 s", "8 s", "8 s"),
    (125.3, "time", "2 min 5 s", "2 min 5 s", "2 min 5 s"), (59.7, "time", "1 min", "1 min", "1 min"),
    (2830, "time", "47 min", "47 min", "47 min"), (12240, "time", "3.4 h", "3.4 h", "3.4 h"),
    (1500, "pressure", "1.5 kPa", "0.218 psi", "0.218 psi"), (0.6, "area", "0.6 m²", "6.46 sq ft", "6.46 sq ft"),
    (0.345, "share", "34 %", "34 %", "34 %"), (20, "mass", "20 kg", "44.1 lb", "44.1 lb"),
    (35, "salinity", *["35 g/kg"] * 3),
    (math.inf, "time", *["no limit"] * 3), (math.nan, "flow", *["unknown"] * 3),
    (0.0, "flow", "0 L/h", "0 US gph", "0 imp gph"),
])
def test_a_value_is_shown_rounded_for_a_tape(value, dimension, metric, us, imperial):
    """A value is shown in each system's unit, rounded as the house does (figures by hand from the definitions)."""
    assert [show(value, dimension, system) for system in SYSTEMS] == [metric, us, imperial]


@pytest.mark.parametrize(("low", "high", "dimension", "system", "shown"), [
    (10.2, 11.8, "time", "metric", "10 to 12 s"), (2675 / 3.6e6, 3558 / 3.6e6, "flow", "metric", "2670 to 3560 L/h"),
    (0.2051, 0.2049, "length", "metric", "205 mm"), (-0.005, 0.003, "length", "metric", "-5 to 3 mm"),
    (0.95, 1.2, "length", "metric", "0.95 to 1.2 m"), (0.2, 0.3, "length", "US", "7.8 to 11.9 in"),
    (297.15, 299.15, "temperature", "metric", "24 to 26 °C"), (0, 0, "flow", "metric", "0 L/h"),
    (1, math.inf, "time", "metric", "1 s to no limit"), (9.0, 720.0, "time", "metric", "9 s to 12 min"),
])
def test_a_band_is_shown_with_one_unit(low, high, dimension, system, shown):
    """A band is shown with its unit once, in order, as one figure where both ends round to the same; a time that would be 0 min
    keeps its own unit.
    """
    assert show_band(low, high, dimension, system) == shown


@settings(max_examples=150, deadline=None, derandomize=True)
@given(ends=st.tuples(*[st.floats(0.001, 80.0)] * 2).map(sorted), dimension=st.sampled_from(["length", "volume",
"speed"]),
       system=st.sampled_from(SYSTEMS))
def test_a_shown_band_contains_the_band(ends, dimension, system):
    """A band that is shown as two figures, read back, contains the band that was meant."""
    shown = show_band(*ends, dimension, system)
    if " to " in shown:
        again = read(shown, dimension)
        assert again.low <= ends[0] * (1 + 1e-6)
        assert again.high >= ends[1] * (1 - 1e-6)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_a_table_number_reads_back(dimension, system):
    """The number and unit that a table shows, read again, give the value they came from."""
    text = f"{convert(301.25, dimension, system)!r} {unit_name(dimension, system)}"
    assert read(text, dimension).middle == pytest.approx(301.25)


def test_digits_asked_for_are_given():
    """`digits` sets the significant digits, and an unknown system or dimension is an error."""
    assert show(1.2345, "length", digits=2) == "1.2 m"
    assert show(0.0012345, "flow", digits=4) == "4444 L/h"
    with pytest.raises(ValueError, match="metric, US, imperial"):
        show(1, "length", "cubits")
    with pytest.raises(KeyError):
        show(1, "colour")


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_a_pint_quantity_is_in_si(dimension):
    """An SI value as a pint quantity is that value in SI units; every dimension has words for units."""
    made = units.quantity(12.5, dimension)
    assert float(made.to(spoken(dimension).si).magnitude) == float(made.magnitude) == pytest.approx(12.5)
    assert words_for(dimension) or dimension == "number"


@pytest.mark.parametrize(("word", "words", "near"), [
    ("elbw", ("elbow", "valve"), "elbow"), ("ELBOW", ("valve", "elbow"), "elbow"), ("banana", ("elbow", "valve"), ""),
    ("", ("elbow",), ""), ("cn", ("in", "cm"), "cm"), ("e" * 10**6, ("elbow",), ""),
])
def test_the_nearest_word_is_found(word, words, near):
    """The nearest word is found whatever the case, none where nothing is near."""
    assert units.nearest(word, words) == near


def test_ordinary_values_do_without_pint():
    """Importing units, catalogue and water, reading ordinary values and showing them leaves pint unimported."""
    program = ("import sys; from hydro import catalog; from hydro.quantities import formatting, parsing, water;"
               "parsing.read('about 12 cm', 'length');"
               "parsing.read('1330 US gph', 'flow'); parsing.read_product('6 x 2 ft'); formatting.show_band(1, 2, 'flow', 'US');"
               "catalog.find_pipe('40 PN10'); water.water_properties(298.15, 35);"
               "print([m for m in ('pint', 'numpy', 'scipy', 'fluids', 'gsw', 'iapws') if m in sys.modules])")
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("value", [1e300, -1e300, 1e12, -1e-300, -0.0, -1e-9])
@pytest.mark.parametrize("system", ["metric", "US", "imperial"])
def test_no_figure_is_endless_or_minus_nought(value, system):
    """No value is shown with hundreds of digits or as '-0', in any dimension, on a tape or with a band."""
    for dimension in DIMENSIONS:
        for text in (show(value, dimension, system), show_band(value, value + abs(value), dimension, system),
                     tape(value, system), *rounded_band((value, value, value + abs(value)), dimension, system)):
            assert len(text) < 40
            assert not re.search(r"(?<![0-9.])-0(\.0+)?(?![0-9.])", text), text
