"""Water properties against two general-purpose libraries over the whole range, and the pipe catalogue."""

import doctest
import importlib
import math

import gsw
import iapws
import pytest

from hydro.catalog import THICKER_WALL, find_pipe, pipe_sizes
from hydro.quantities.parsing import UnitProblem
from hydro.quantities.water import water_properties

TEMPERATURES = (0.5, 5, 10, 15, 20, 25, 30, 35, 40)
SALINITIES = (0, 5, 10, 20, 30, 35, 40, 42)


@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_fresh_water_is_that_of_iapws(celsius):
    """Fresh density is within 0.005 kg/m3 of the IAPWS releases, viscosity 0.02 %, vapour pressure 0.01 %."""
    fresh = water_properties(celsius + 273.15)
    release = iapws.IAPWS95(T=celsius + 273.15, P=0.101325)
    assert fresh.density == pytest.approx(release.rho, abs=0.005)
    assert fresh.viscosity == pytest.approx(release.mu, rel=2e-4)
    assert fresh.vapour_pressure == pytest.approx(iapws.IAPWS97(T=celsius + 273.15, x=0).P * 1e6, rel=1e-4)


@pytest.mark.parametrize("salinity", SALINITIES)
@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_sea_density_is_that_of_teos(celsius, salinity):
    """Density is within 0.012 kg/m3 of TEOS-10 at every temperature and salinity of the range."""
    assert water_properties(celsius + 273.15, salinity).density == pytest.approx(
        gsw.rho_t_exact(salinity, celsius, 0), abs=0.012)


@pytest.mark.parametrize("salinity", SALINITIES)
@pytest.mark.parametrize("celsius", [10, 25, 40])
def test_sea_vapour_pressure_is_that_of_teos(celsius, salinity):
    """Salt lowers the vapour pressure as the chemical potential of TEOS-10 says, within 0.05 %."""
    kelvin = celsius + 273.15
    lowered = 1000 * (gsw.chem_potential_water_t_exact(salinity, celsius, 0)
                      - gsw.chem_potential_water_t_exact(0, celsius, 0))  # J/kg
    expected = math.exp(lowered / (461.52364 * kelvin))  # gas constant of water: TEOS-10 manual, from memory
    assert water_properties(kelvin, salinity).vapour_pressure / water_properties(kelvin).vapour_pressure == pytest.approx(
        expected, rel=5e-4
    )


def test_kinematic_viscosity_is_viscosity_by_density():
    """Kinematic viscosity is dynamic viscosity divided by density, and the record keeps what it was asked for."""
    sea = water_properties(299.15, 34.0)
    assert sea.kinematic_viscosity == sea.viscosity / sea.density
    assert (sea.temperature, sea.salinity) == (299.15, 34.0)


@pytest.mark.parametrize(("kelvin", "salinity", "words"), [
    (272.0, 0, "0 to 40 °C"), (313.2, 0, "0 to 40 °C"), (math.nan, 0, "0 to 40 °C"), (298.15, -1, "0 to 42 g/kg"),
    (298.15, 43, "0 to 42 g/kg"), (298.15, math.nan, "0 to 42 g/kg"),
])
def test_outside_the_range_is_refused(kelvin, salinity, words):
    """A temperature or salinity outside the range of the sources is refused with the range."""
    with pytest.raises(ValueError, match=words):
        water_properties(kelvin, salinity)


@pytest.mark.parametrize("words", [
    "1-1/2 in sch 40", "1.5 in sch40", '1 1/2" schedule 40', "1½″ Sch. 40", "1.50 IN SCH 40", "1-1/2inch sch40"])
def test_a_pipe_is_found_however_it_is_written(words):
    """An inch size is found by any usual way of writing its fraction, its inch sign and its schedule."""
    assert find_pipe(words) is pipe_sizes()["1-1/2 in sch 40"]


@pytest.mark.parametrize("words", ["40 PN10", "40 pn10", "40PN 10", " 40  mm PN10 ", "d40 PN10"])
def test_a_metric_pipe_is_found_however_it_is_written(words):
    """A metric size is found whatever its case and spaces."""
    assert find_pipe(words).words == "40 PN10"


def test_every_size_is_found_under_its_own_words():
    """Each row of the catalogue is found by the words it is listed under, and no two rows answer to one spelling."""
    assert all(find_pipe(words) is size for words, size in pipe_sizes().items())
    assert len(pipe_sizes()) == 56


@pytest.mark.parametrize(("words", "near"), [
    ("40 PN12", "40 PN10"), ("33 pn10", "32 PN10"), ("1.05 in sch 40", "1 in sch 40"), ("banana", ""),
    ("", ""), ("9" * 10**5, "")])
def test_an_unknown_pipe_is_refused_with_the_nearest(words, near):
    """A size that is not in the catalogue is refused with the nearest one, in a short message."""
    with pytest.raises(UnitProblem, match="no pipe size") as caught:
        find_pipe(words)
    assert caught.value.nearest == near
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize("size", pipe_sizes().values(), ids=lambda size: size.words)
def test_a_bore_is_a_band_below_the_minimum_wall(size):
    """A bore is the outside less two walls, its band goes down by the thicker wall, and its source is named."""
    uncertain = size.bore_rough()
    assert uncertain.high == size.bore == pytest.approx(size.outside - 2 * size.wall)
    assert uncertain.high - uncertain.low == pytest.approx(2 * THICKER_WALL)
    assert uncertain.low < uncertain.middle < uncertain.high
    assert size.standard in uncertain.source
    assert size.standing in ("read", "from memory")
    assert 0.03 < size.wall / size.outside < 0.2  # a pressure pipe, neither foil nor rod: catches a slipped column


@pytest.mark.parametrize("module", ["hydro.quantities.water", "hydro.catalog"])
def test_the_examples_in_the_docstrings_run(module):
    """The examples in the docstrings give what they say."""
    result = doctest.testmod(importlib.import_module(module))
    assert result.attempted > 0
    assert result.failed == 0
