"""Water properties and pipe bores against published values, one row a value.

'read' was read in, or produced by, a general-purpose open library or a public page; 'from memory' was not looked up.
Tolerances: what two formulations of one quantity differ by, said at each table.
"""

import pytest
from fluids.piping import nearest_pipe

from hydro.catalog import find_pipe, sizes_of
from hydro.quantities.water import water_properties

pytestmark = pytest.mark.published

FRESH_DENSITY = [  # kg/m3; EOS-80 and the IAPWS formulations differ by up to 0.005
    (10, 999.7015, "IAPWS-IF97 density 10 °C, read"), (15, 999.1011, "IAPWS-IF97 density 15 °C, read"),
    (20, 998.2061, "IAPWS-IF97 density 20 °C, read"), (20, 998.2072, "IAPWS-95 density 20 °C, read"),
    (25, 997.0480, "IAPWS-IF97 density 25 °C, read"), (25, 997.0476, "IAPWS-95 density 25 °C, read"),
    (30, 995.6521, "IAPWS-IF97 density 30 °C, read"),
    (5, 999.96675, "UNESCO 36 (EOS-80) check S 0, 5 °C, from memory"),
    (25, 997.04796, "UNESCO 36 (EOS-80) check S 0, 25 °C, from memory"),
]
FRESH_VISCOSITY = [  # mPa s; Sharqawy's fresh branch differs from R12-08 by up to 0.02 %
    (10, 1.305901, "IAPWS R12-08 viscosity 10 °C, read"), (15, 1.137569, "IAPWS R12-08 viscosity 15 °C, read"),
    (20, 1.001597, "IAPWS R12-08 viscosity 20 °C, read"), (25, 0.890022, "IAPWS R12-08 viscosity 25 °C, read"),
    (30, 0.797222, "IAPWS R12-08 viscosity 30 °C, read"),
    (20, 1.0016, "handbook value of water at 20 °C, from memory"),
]
FRESH_KINEMATIC = [  # mm2/s
    (10, 1.306291, "IAPWS kinematic viscosity 10 °C, read"), (20, 1.003397, "IAPWS kinematic viscosity 20 °C, read"),
    (25, 0.892657, "IAPWS kinematic viscosity 25 °C, read"), (30, 0.800703, "IAPWS kinematic viscosity 30 °C, read"),
]
VAPOUR_PRESSURE = [  # Pa; two IAPWS formulations, 0.01 %
    (20, 2339.2, "IAPWS-IF97 saturation 20 °C, read"), (24, 2985.6, "IAPWS-IF97 saturation 24 °C, read"),
    (25, 3169.7, "IAPWS-IF97 saturation 25 °C, read"), (26, 3363.7, "IAPWS-IF97 saturation 26 °C, read"),
    (28, 3782.8, "IAPWS-IF97 saturation 28 °C, read"),
]
STANDARD_SEA = 35.16504  # g/kg at practical salinity 35
SEA_DENSITY = [  # kg/m3; EOS-80 and TEOS-10 differ by up to 0.012
    (20, STANDARD_SEA, 1024.7660, "TEOS-10 density SP 35, 20 °C, read"),
    (24, STANDARD_SEA, 1023.6442, "TEOS-10 density SP 35, 24 °C, read"),
    (25, STANDARD_SEA, 1023.3436, "TEOS-10 density SP 35, 25 °C, read"),
    (25, 35.0, 1023.2196, "TEOS-10 density 35 g/kg, 25 °C, read"),
    (26, STANDARD_SEA, 1023.0352, "TEOS-10 density SP 35, 26 °C, read"),
    (28, STANDARD_SEA, 1022.3955, "TEOS-10 density SP 35, 28 °C, read"),
    (5, STANDARD_SEA, 1027.67547, "UNESCO 36 (EOS-80) check S 35, 5 °C, from memory"),
    (25, STANDARD_SEA, 1023.34306, "UNESCO 36 (EOS-80) check S 35, 25 °C, from memory"),
]
SEA_VISCOSITY = [  # mPa s; the same formula to its printed figures, others to 1.5 % (the accuracy its authors state)
    (20, 35.0, 1.0766, 1e-4, "Sharqawy 2010 eq. 22, 35 g/kg, 20 °C, from memory"),
    (25, 35.0, 0.9588, 1e-4, "Sharqawy 2010 eq. 22, 35 g/kg, 25 °C, from memory"),
    (30, 35.0, 0.8606, 1e-4, "Sharqawy 2010 eq. 22, 35 g/kg, 30 °C, from memory"),
    (25, 40 * STANDARD_SEA / 35, 0.96541, 0.015, "Millero 1974 check S 40, 25 °C, read"),
    (10, 30 * STANDARD_SEA / 35, 1.383779, 0.015, "Dorsey 1940 table fit S 30, 10 °C, read"),
]
INCHES = {"1/2": 0.5, "3/4": 0.75, "1": 1, "1-1/4": 1.25, "1-1/2": 1.5, "2": 2, "2-1/2": 2.5, "3": 3}
INCH_BORES = [  # mm
    ("1/2", 40, 15.7988), ("3/4", 40, 20.9296), ("1", 40, 26.6446), ("1-1/4", 40, 35.0520), ("1-1/2", 40, 40.8940),
    ("2", 40, 52.5018), ("2-1/2", 40, 62.7126), ("3", 40, 77.9272), ("1/2", 80, 13.8684), ("3/4", 80, 18.8468),
    ("1", 80, 24.3078), ("1-1/4", 80, 32.4612), ("1-1/2", 80, 38.1000), ("2", 80, 49.2506), ("2-1/2", 80, 59.0042),
    ("3", 80, 73.6600),
]
METRIC_BORES = [(25, 22.0), (32, 28.4), (40, 36.2), (50, 45.2), (63, 57.0), (75, 67.8), (90, 81.4), (110, 99.4)]
EN_WALLS = [  # mm
    (32, 10, 1.6), (40, 10, 1.9), (50, 10, 2.4), (63, 10, 3.0), (75, 10, 3.6), (90, 10, 4.3), (110, 10, 4.2), (20, 16, 1.5),
    (25, 16, 1.9), (32, 16, 2.4), (40, 16, 3.0), (50, 16, 3.7), (63, 16, 4.7), (75, 16, 5.6), (90, 16, 6.7), (110, 16, 6.6),
]
CLASS_E = [  # mm: outside, wall
    ("1/2", 21.4, 1.7), ("3/4", 26.7, 1.9), ("1", 33.6, 2.2), ("1-1/4", 42.2, 2.7), ("1-1/2", 48.3, 3.1), ("2", 60.3, 3.9),
    ("3", 88.9, 5.7),
]
WASTE = [  # mm: nominal, outside of solvent weld, of push-fit, least bore
    (32, 36, 34, 31.75), (40, 43, 41, 38.1), (50, 56, 54, 50.8),
]
PN16_WALLS = [(20, 1.5), (25, 1.9), (32, 2.4), (40, 3.0), (50, 3.7), (63, 4.7), (75, 5.6), (90, 6.7), (110, 8.2)]


def rows(table):
    """Return the rows of a table as parameters, with the last column as the name of each."""
    return [pytest.param(*row[:-1], id=row[-1]) for row in table]


@pytest.mark.parametrize(("celsius", "published"), rows(FRESH_DENSITY))
def test_fresh_density(celsius, published):
    """The density of fresh water is the published one within 0.005 kg/m3."""
    assert water_properties(celsius + 273.15).density == pytest.approx(published, abs=0.005)


@pytest.mark.parametrize(("celsius", "published"), rows(FRESH_VISCOSITY))
def test_fresh_viscosity(celsius, published):
    """The dynamic viscosity of fresh water is the published one within 0.02 %."""
    assert water_properties(celsius + 273.15).viscosity * 1e3 == pytest.approx(published, rel=2e-4)


@pytest.mark.parametrize("published", [
    pytest.param(889.735100, id="IAPWS R12-08 viscosity 298.15 K at 998 kg/m3, from memory")])
def test_the_check_point_of_the_viscosity_release(published):
    """The viscosity at 25 °C is the release's check point within 0.05 %, which covers its density of 998 kg/m3."""
    assert water_properties(298.15).viscosity * 1e6 == pytest.approx(published, rel=5e-4)


@pytest.mark.parametrize(("celsius", "published"), rows(FRESH_KINEMATIC))
def test_fresh_kinematic_viscosity(celsius, published):
    """The kinematic viscosity of fresh water is the published one within 0.02 %."""
    assert water_properties(celsius + 273.15).kinematic_viscosity * 1e6 == pytest.approx(published, rel=2e-4)


@pytest.mark.parametrize(("celsius", "published"), rows(VAPOUR_PRESSURE))
def test_fresh_vapour_pressure(celsius, published):
    """The vapour pressure of fresh water is the published one within 0.01 %."""
    assert water_properties(celsius + 273.15).vapour_pressure == pytest.approx(published, rel=1e-4)


@pytest.mark.parametrize(("celsius", "salinity", "published"), rows(SEA_DENSITY))
def test_sea_density(celsius, salinity, published):
    """The density of sea water is the published one within 0.012 kg/m3."""
    assert water_properties(celsius + 273.15, salinity).density == pytest.approx(published, abs=0.012)


@pytest.mark.parametrize(("celsius", "salinity", "published", "tolerance"), rows(SEA_VISCOSITY))
def test_sea_viscosity(celsius, salinity, published, tolerance):
    """The viscosity of sea water is the published one within the tolerance of its row."""
    assert water_properties(celsius + 273.15, salinity).viscosity * 1e3 == pytest.approx(published, rel=tolerance)


@pytest.mark.parametrize(("inches", "schedule", "published"), [
    pytest.param(*row, id=f"ASTM D1785 bore {row[0]} in schedule {row[1]}, read") for row in INCH_BORES])
def test_inch_bores(inches, schedule, published):
    """Bore, outside and wall of an inch pipe are those of ASTM D1785, as printed and as a library has them."""
    size = find_pipe(f"{inches} in sch {schedule}")
    assert size.bore * 1e3 == pytest.approx(published, abs=1e-4)
    _, _, outside, wall = nearest_pipe(NPS=INCHES[inches], schedule=f"{schedule}D1785")
    assert (size.outside, size.wall) == pytest.approx((outside, wall), rel=1e-9)


@pytest.mark.parametrize(("outside", "published"), [
    pytest.param(*row, id=f"DIN 8062 bore {row[0]} mm PN10, read") for row in METRIC_BORES])
def test_metric_bores(outside, published):
    """The bore of a metric PN10 pipe is that of DIN 8062."""
    assert find_pipe(f"{outside} PN10").bore * 1e3 == pytest.approx(published, abs=1e-6)


@pytest.mark.parametrize(("outside", "published"), [
    pytest.param(*row, id=f"DIN 8062 wall {row[0]} mm PN16, read") for row in PN16_WALLS])
def test_metric_walls(outside, published):
    """The wall of a metric PN16 pipe is that of DIN 8062."""
    assert find_pipe(f"{outside} PN16").wall * 1e3 == pytest.approx(published, abs=1e-6)


@pytest.mark.parametrize("published", [pytest.param(3.89, id="ASTM D1785 greatest wall 1 in schedule 40, read")])
def test_the_band_of_a_bore_is_that_of_the_walls(published):
    """The lower end of a bore's band is the bore with the greatest wall of the standard, within 0.05 mm."""
    size = find_pipe("1 in sch 40")
    assert size.bore_rough().low * 1e3 == pytest.approx(size.outside * 1e3 - 2 * published, abs=0.05)


@pytest.mark.parametrize(("outside", "class_", "published"), [
    pytest.param(*row, id=f"EN ISO 1452-2 wall {row[0]} mm PN{row[1]}, from memory") for row in EN_WALLS])
def test_metric_walls_of_the_later_standard(outside, class_, published):
    """Outside and wall of a metric pipe of the later standard are those of EN ISO 1452-2."""
    size = find_pipe(f"{outside} PN{class_} EN ISO 1452-2")
    assert (size.outside * 1e3, size.wall * 1e3) == pytest.approx((outside, published), abs=1e-6)


@pytest.mark.parametrize(("inches", "outside", "wall"), [
    pytest.param(*row, id=f"BS 3505 class E {row[0]} in, from memory") for row in CLASS_E])
def test_british_inch_pipe(inches, outside, wall):
    """Outside and wall of British inch pressure pipe are those of BS 3505 class E."""
    size = find_pipe(f"{inches} in class E")
    assert (size.outside * 1e3, size.wall * 1e3) == pytest.approx((outside, wall), abs=1e-6)


@pytest.mark.parametrize(("nominal", "published"), [
    pytest.param(nominal, least, id=f"BS 5255 least bore {nominal} mm, read") for nominal, _, _, least in WASTE])
def test_least_bores_of_british_waste_pipe(nominal, published):
    """The lower end of the bore of solvent weld waste pipe is the least bore of BS 5255, and no other bore of it is less."""
    band = find_pipe(f"{nominal} solvent waste").bore_rough()
    assert band.low * 1e3 == pytest.approx(published, abs=1e-6)
    assert band.low < band.middle < band.high


@pytest.mark.parametrize(("nominal", "solvent", "push_fit"), [
    pytest.param(*row[:3], id=f"outsides of British waste pipe {row[0]} mm (BS EN 1329-1, push-fit), read") for row in WASTE])
def test_outsides_of_british_waste_pipe(nominal, solvent, push_fit):
    """British waste pipe of one nominal size has two outsides, neither of which is the nominal size."""
    assert find_pipe(f"{nominal} solvent waste").outside * 1e3 == pytest.approx(solvent)
    assert find_pipe(f"{nominal} push-fit waste").outside * 1e3 == pytest.approx(push_fit)


@pytest.mark.parametrize(("nominal", "wall"), [
    pytest.param(nominal, 3.0, id=f"EN 1329-1 wall {nominal} mm, from memory") for nominal in (32, 40, 50)])
def test_metric_waste_pipe(nominal, wall):
    """Metric waste pipe has its nominal size as outside, and the wall of EN 1329-1."""
    size = find_pipe(f"{nominal} EN 1329")
    assert (size.outside * 1e3, size.wall * 1e3) == pytest.approx((nominal, wall), abs=1e-6)


@pytest.mark.parametrize(("series", "standing"), [
    pytest.param(series, standing, id=f"standing of the table of {series}, {standing}") for series, standing in (
        ("PN10", "read"), ("PN16", "read"), ("sch 40", "read"), ("sch 80", "read"), ("PN10 EN", "from memory"),
        ("PN16 EN", "from memory"), ("class E", "from memory"), ("solvent waste", "from memory"),
        ("push-fit waste", "from memory"), ("EN 1329", "from memory"), ("overflow", "from memory"))])
def test_series_say_their_standing(series, standing):
    """What is printed of a bore of a series says whether its table was read."""
    assert {size.bore_rough().source.partition("(")[2].rstrip(")") for size in sizes_of(series)} == {standing}
