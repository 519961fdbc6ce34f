"""Values, draws and statistics against the world.

JCGM 101:2008 is quoted from memory throughout; the additive model and the comparison loss have
closed forms, which are worked out here and agree with the printed tables.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from SALib.analyze import sobol
from SALib.sample import sobol as sobol_sample
from SALib.test_functions import Ishigami, Sobol_G
from scipy import stats

from drybuild.values import (
    Draws,
    chance,
    dash_bores,
    deviation,
    interval,
    mean,
    parse_value,
    quantiles,
    shares,
    shares_many,
    shortest_interval,
    to_unit,
    unit_of,
)
from drybuild.values.draws import SLOTS, sobol_integers

MANY = Draws(2**20)
"""About the 10^6 trials of the printed tables."""
JCGM = "JCGM 101:2008, {}, from memory"


def drawn(text, slot, *, group="inputs", draws=MANY):
    """A column of the one group that a worked example uses, so that its slots fill evenly."""
    return parse_value(text, "number").column(draws, group, slot)


# JCGM 101, 9.2: Y = X1 + X2 + X3 + X4 ------------------------------------------------------


@pytest.mark.authority
def test_additive_normal(against):
    y = sum(drawn("0 ± 2", i) for i in range(4))
    against("drybuild.values.statistics.interval", got=interval(y), expected=(-3.92, 3.92),
            abs=0.005, source=JCGM.format("9.2.2, table 2"))
    against("drybuild.values.statistics.deviation", got=deviation(y), expected=2.00, abs=0.005,
            source=JCGM.format("9.2.2, table 2"))


def _rectangles(draws, widths):
    return sum(drawn(f"{-w * math.sqrt(3):.12f} to {w * math.sqrt(3):.12f}", i,
                     draws=draws) for i, w in enumerate(widths))


@pytest.mark.authority
def test_additive_rectangular(against):
    y = _rectangles(MANY, (1, 1, 1, 1))
    against("drybuild.values.statistics.interval", got=interval(y), expected=(-3.88, 3.88),
            abs=0.005, source=JCGM.format("9.2.3, table 3"))


@pytest.mark.textbook
def test_additive_rectangular_in_closed_form(against):
    # tail of the sum of four uniforms on (-1, 1): P(S > 4 - t) = t^4 / (4! 2^4), t <= 2
    t = (0.025 * 384.0) ** 0.25
    end = math.sqrt(3.0) * (4.0 - t)
    assert end == pytest.approx(2 * math.sqrt(3) * (2 - (3 / 5) ** 0.25))
    got = interval(_rectangles(MANY, (1, 1, 1, 1)))
    against("drybuild.values.value.Value.column", got=got, expected=(-end, end), abs=0.01,
            source="Irwin-Hall distribution, worked in the test",
            note="tolerance: standard error of a 97.5 % quantile at 2^20 draws, twice")


@pytest.mark.authority
def test_additive_rectangular_of_unequal_width(against):
    y = _rectangles(MANY, (1, 1, 1, 10))
    against("drybuild.values.statistics.interval", got=interval(y), expected=(-17.0, 17.0),
            abs=0.05, source=JCGM.format("9.2.4, table 4"))
    against("drybuild.values.statistics.deviation", got=deviation(y), expected=10.1, abs=0.05,
            source=JCGM.format("9.2.4, table 4"))


# JCGM 101, 9.3: mass calibration -------------------------------------------------------------


def _mass_calibration(draws):
    """Deviation (mg) of a mass from 100 g; masses in mg, densities in kg/m3."""
    reference = drawn("100000.000 ± 0.100", 0, draws=draws)
    added = drawn("1.234 ± 0.040", 1, draws=draws)
    air = drawn("1.10 to 1.30", 2, draws=draws)
    density_w = drawn("7000 to 9000", 3, draws=draws)
    density_r = drawn("7950 to 8050", 4, draws=draws)
    buoyancy = 1.0 + (air - 1.2) * (1.0 / density_w - 1.0 / density_r)
    return (reference + added) * buoyancy - 100000.0


@pytest.mark.authority
def test_mass_calibration(against):
    y = _mass_calibration(MANY)
    against("drybuild.values.statistics.shortest_interval", got=shortest_interval(y),
            expected=(1.0834, 1.3825), abs=0.003, source=JCGM.format("9.3, table 6"),
            note="the shortest interval of a flat-topped curve: its ends wander by 0.003")
    against("drybuild.values.statistics.mean", got=mean(y), expected=1.2341, abs=5e-4,
            source=JCGM.format("9.3, table 6"))
    against("drybuild.values.statistics.deviation", got=deviation(y), expected=0.0754, abs=5e-4,
            source=JCGM.format("9.3, table 6"))


@pytest.mark.authority
def test_mass_calibration_at_the_usual_number_of_draws(against):
    y = _mass_calibration(Draws())
    # standard error of a deviation at n draws: u / sqrt(2 n); three of them
    against("drybuild.values.statistics.deviation", got=deviation(y), expected=0.0754,
            abs=3 * 0.0754 / math.sqrt(2 * 4096), source=JCGM.format("9.3, table 6"))


# JCGM 101, 9.4: comparison loss, Y = X1^2 + X2^2 ---------------------------------------------

LOSS = {  # x1: (mean, u, low, high) in 1e-6, shortest 95 % interval
    0.000: (50, 50, 0, 150),
    0.010: (150, 112, 0, 367),
    0.050: (2551, 502, 1590, 3543),
}


def _loss(x1, draws=MANY, correlation=0.0):
    z1, z2 = draws.normal("loss", 0), draws.normal("loss", 1)
    re = x1 + 0.005 * z1
    im = 0.005 * (correlation * z1 + math.sqrt(1 - correlation**2) * z2)
    return (re**2 + im**2) * 1e6


@pytest.mark.authority
@pytest.mark.parametrize("x1", LOSS)
def test_comparison_loss_without_correlation(against, x1):
    y = _loss(x1)
    expected = LOSS[x1]
    # the least length is flat in where it starts: ends of two runs differ by 1 % of it
    against("drybuild.values.statistics.shortest_interval", got=shortest_interval(y),
            expected=expected[2:], abs=max(0.5, 0.01 * (expected[3] - expected[2])),
            source=JCGM.format("9.4.2.2, tables 7 and 8"))
    against("drybuild.values.statistics.mean", got=mean(y), expected=expected[0], abs=1.0,
            note="rounding 0.5, and 0.5 of the printed trials' own standard error",
            source=JCGM.format("9.4.2.2, tables 7 and 8"))
    against("drybuild.values.statistics.deviation", got=deviation(y), expected=expected[1],
            abs=0.5, source=JCGM.format("9.4.2.2, tables 7 and 8"))


@pytest.mark.authority
@pytest.mark.parametrize(("x1", "expected"), [(0.0, (50, 67, 0, 185)), (0.01, (150, 121, 13, 398)),
                                              (0.05, (2551, 505, 1628, 3555))])
def test_comparison_loss_with_correlation(against, x1, expected):
    y = _loss(x1, correlation=0.9)
    against("drybuild.values.statistics.shortest_interval", got=shortest_interval(y),
            expected=expected[2:], abs=max(1.0, 0.01 * (expected[3] - expected[2])),
            source=JCGM.format("9.4.3.2, tables 9 and 10"))
    against("drybuild.values.statistics.deviation", got=deviation(y), expected=expected[1],
            abs=0.5, source=JCGM.format("9.4.3.2, tables 9 and 10"))


@pytest.mark.textbook
def test_comparison_loss_at_zero_is_exponential(against):
    # the sum of two squared normals is exponential of mean 2 sigma^2
    rule = np.array([0.025, 0.5, 0.975])
    against("drybuild.values.statistics.quantiles", got=quantiles(_loss(0.0), rule),
            expected=-50.0 * np.log1p(-rule), rel=0.02,
            source="chi-squared of two degrees of freedom, closed form",
            note="standard error of the 2.5 % quantile at 2^20 draws is 0.6 %")


@pytest.mark.cross_model
@pytest.mark.parametrize("x1", [0.01, 0.05])
def test_comparison_loss_is_noncentral_chi_squared(against, x1):
    law = stats.ncx2(2, (x1 / 0.005) ** 2, scale=25.0)
    rule = (0.025, 0.5, 0.975)
    against("drybuild.values.statistics.quantiles", got=quantiles(_loss(x1), rule),
            expected=law.ppf(rule), rel=0.02, source="scipy.stats.ncx2")


# Readings, tails -------------------------------------------------------------------------------


@pytest.mark.cross_model
def test_repeated_readings_are_a_scaled_t(against):
    readings = [61.0, 62.5, 62.0, 61.0, 61.8]
    value = parse_value([f"{r} mm" for r in readings], "length")
    law = stats.t(4, loc=np.mean(readings) / 1e3,
                  scale=np.std(readings, ddof=1) / math.sqrt(5) / 1e3)
    rule = np.array([0.025, 0.2, 0.5, 0.8, 0.975])
    against("drybuild.values.parse.parse_value", got=[value.quantile(p) for p in rule],
            expected=law.ppf(rule), rel=1e-9, source="JCGM 101:2008, 6.4.9, with scipy.stats.t")
    got = quantiles(value.column(MANY, "readings"), rule)
    against("drybuild.values.value.Value.column", got=(got - value.centre) / value.centre,
            expected=(law.ppf(rule) - value.centre) / value.centre, abs=2e-4,
            source="JCGM 101:2008, 6.4.9, with scipy.stats.t")


@pytest.mark.textbook
def test_standard_uncertainty_of_repeated_readings(against):
    # JCGM 101, 6.4.9.4: u = sqrt((n-1)/(n-3)) s / sqrt(n)
    value = parse_value(["10.0 mm", "10.4 mm", "9.8 mm", "10.1 mm", "10.2 mm", "9.9 mm", "10.3 mm",
                         "10.1 mm"], "length")
    s = np.std([10.0, 10.4, 9.8, 10.1, 10.2, 9.9, 10.3, 10.1], ddof=1) / 1e3
    against("drybuild.values.value.Value.column", got=deviation(value.column(MANY, "u8")),
            expected=math.sqrt(7 / 5) * s / math.sqrt(8), rel=0.02,
            source="JCGM 101:2008, 6.4.9.4, formula from memory")


@pytest.mark.authority
def test_a_half_width_is_two_standard_uncertainties(against):
    column = parse_value("62 ± 2 mm", "length").column(MANY, "k2")
    against("drybuild.values.statistics.deviation", got=deviation(column), expected=1e-3, rel=1e-3,
            source="JCGM 100:2008 (GUM), 6.2 and G.1.3: k = 2 for about 95 %, from memory")


# Draws -----------------------------------------------------------------------------------------


@pytest.mark.cross_model
def test_sobol_integers_bit_for_bit(against):
    engine = stats.qmc.Sobol(SLOTS, scramble=False, bits=32)
    expected = (engine.random(4096) * 2.0**32).T
    got = np.array([sobol_integers(4096, slot) for slot in range(SLOTS)])
    against("drybuild.values.draws.sobol_integers", got=got, expected=expected, abs=0.5,
            source="scipy.stats.qmc.Sobol, Joe and Kuo's direction numbers", note="bit for bit")


@pytest.mark.cross_model
def test_points_of_a_group_fill_a_plane_as_sobol_points_do(against):
    draws = Draws(1024)
    points = np.array([draws.unit("plane", k) for k in range(4)]).T
    ours = stats.qmc.discrepancy(points, method="CD")
    rng = np.random.default_rng(1)
    theirs = [stats.qmc.discrepancy(stats.qmc.Sobol(4, scramble=True, rng=rng).random(1024),
                                    method="CD") for _ in range(40)]
    random = stats.qmc.discrepancy(rng.random((1024, 4)), method="CD")
    assert ours < random / 5
    against("drybuild.values.draws.owen_scramble", got=ours, expected=float(np.mean(theirs)),
            abs=4 * float(np.std(theirs)), source="scipy.stats.qmc.Sobol scrambled, 40 seeds",
            note="within four standard deviations of its own scatter")


# Shares ----------------------------------------------------------------------------------------

SAMPLING = 1 / math.sqrt(4096)
"""What 4096 draws can tell: the tolerance of every share below."""


def _ishigami(draws):
    u = np.array([draws.unit("ishigami", k) for k in range(3)])
    z = np.array([draws.normal("ishigami", k) for k in range(3)])
    x = math.pi * (2 * u - 1)
    y = np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])
    np.testing.assert_allclose(y, Ishigami.evaluate(x.T, A=7, B=0.1))
    return y, z


@pytest.mark.textbook
def test_ishigami(against):
    y, z = _ishigami(Draws())
    found = shares(y, z, degree=10, pair_degree=4, basis="legendre")
    a, b = 7.0, 0.1
    v1 = 0.5 * (1 + b * math.pi**4 / 5) ** 2
    v2 = a**2 / 8
    v13 = b**2 * math.pi**8 * (1 / 18 - 1 / 50)
    v = v1 + v2 + v13
    source = "Ishigami and Homma (1990), closed form for a = 7, b = 0.1"
    against("drybuild.values.effects.shares", got=found.main, expected=[v1 / v, v2 / v, 0.0],
            abs=SAMPLING, source=source + ": first order")
    against("drybuild.values.effects.shares", got=found.total,
            expected=[(v1 + v13) / v, v2 / v, v13 / v], abs=SAMPLING, source=source + ": total")


@pytest.mark.textbook
def test_g_function(against):
    a = np.array([0, 1, 4.5, 9, 99, 99, 99, 99])
    draws = Draws()
    u = np.array([draws.unit("g", k) for k in range(8)])
    z = np.array([draws.normal("g", k) for k in range(8)])
    y = np.prod((np.abs(4 * u - 2) + a[:, None]) / (1 + a[:, None]), axis=0)
    single = 1 / (3 * (1 + a) ** 2)
    all_of_it = np.prod(1 + single) - 1
    found = shares(y, z, degree=12, pair_degree=6, basis="legendre")
    source = "Sobol's g-function (Saltelli and Sobol 1995), closed form"
    against("drybuild.values.effects.shares", got=found.main, expected=single / all_of_it,
            abs=SAMPLING, source=source + ": first order")
    against("drybuild.values.effects.shares", got=found.total,
            expected=single * np.prod(1 + single) / (1 + single) / all_of_it, abs=SAMPLING,
            source=source + ": total")


@pytest.mark.cross_model
def test_g_function_as_the_library_has_it(against):
    a = [0, 1, 4.5, 9, 99, 99, 99, 99]
    draws = Draws()
    u = np.array([draws.unit("g", k) for k in range(8)])
    z = np.array([draws.normal("g", k) for k in range(8)])
    found = shares(Sobol_G.evaluate(u.T, a=np.array(a)), z, degree=12, basis="legendre")
    against("drybuild.values.effects.shares", got=found.main,
            expected=Sobol_G.sensitivity_index(np.array(a)), abs=SAMPLING, source="SALib Sobol_G")


@pytest.mark.textbook
def test_a_sum_of_bells_shares_by_variance(against):
    draws = Draws()
    sizes = np.array([3.0, 2.0, 1.0, 0.5, 0.0])
    z = np.array([draws.normal(f"bell{k}") for k in range(5)])
    against("drybuild.values.effects.shares_many", got=shares_many(sizes @ z, z)[0],
            expected=sizes**2 / (sizes**2).sum(), abs=2 * SAMPLING,
            source="variance of a sum of independent quantities (JCGM 100:2008, 5.1.2)",
            note="each column's chance correlation with the largest counts twice")


def _mixed(z):
    return np.exp(0.4 * z[0]) + 0.3 * z[1] ** 2 + 0.2 * z[2] + 0.2 * z[0] * z[2]


@pytest.mark.cross_model
def test_shares_against_an_estimator_of_another_kind(against):
    draws = Draws()
    z = np.array([draws.normal(f"mixed{k}") for k in range(3)])
    problem = {"num_vars": 3, "names": ["a", "b", "c"], "bounds": [[0, 1]] * 3,
               "dists": ["norm"] * 3}
    points = sobol_sample.sample(problem, 4096, calc_second_order=False, seed=1)
    theirs = sobol.analyze(problem, _mixed(points.T), calc_second_order=False, seed=1)
    against("drybuild.values.effects.shares_many", got=shares_many(_mixed(z), z)[0],
            expected=theirs["S1"], abs=2 * SAMPLING, source="SALib.analyze.sobol",
            note="two estimators, each with its own sampling error")
    against("drybuild.values.effects.shares", got=shares(_mixed(z), z).total,
            expected=theirs["ST"], abs=2 * SAMPLING, source="SALib.analyze.sobol: total")


@pytest.mark.textbook
def test_chance_of_a_bell(against):
    x = Draws().normal("chance")
    against("drybuild.values.statistics.chance", got=[chance(x + k) for k in (-1.0, 0.0, 1.645)],
            expected=[0.15866, 0.5, 0.95], abs=1 / 4096 + 5e-5,
            source="table of the normal distribution", note="one draw of 4096, and the rounding")


# Units ----------------------------------------------------------------------------------------

EXACT = [  # (unit, kind, SI); exact by definition, NIST SP 811 (2008) appendix B, from memory
    ("in", "length", 0.0254), ("ft", "length", 0.3048), ("mi", "distance", 1609.344),
    ("thou", "length", 2.54e-5), ("lb", "mass", 0.45359237), ("oz", "mass", 0.028349523125),
    ("tonne", "mass", 1000.0), ("lbf", "force", 4.4482216152605), ("kgf", "force", 9.80665),
    ("mph", "speed", 0.44704), ("km/h", "speed", 1 / 3.6), ("atm absolute", "pressure_absolute",
                                                            101325.0),
    ("US gal", "volume", 3.785411784e-3), ("imperial gal", "volume", 4.54609e-3),
    ("g", "acceleration", 9.80665), ("BTU/lb", "heating_value", 2326.0),
    ("rpm", "rotation_speed", math.pi / 30), ("deg", "angle", math.pi / 180),
    ("min", "angle", math.pi / 10800), ("A·h", "charge", 3600.0),
]
ROUNDED = [  # seven figures, as printed there
    ("psi", "pressure_difference", 6894.757), ("inHg", "pressure_difference", 3386.389),
    ("inH2O", "pressure_difference", 249.0889), ("mmHg", "pressure_difference", 133.3224),
    ("kgf/cm2", "pressure_difference", 98066.50), ("hp", "power", 745.6999),
    ("PS", "power", 735.4988), ("lbf·ft", "torque", 1.355818), ("lbf·in", "torque", 0.1129848),
    ("lb/in", "spring_rate", 175.1268), ("lb/h", "flow_mass", 1.259979e-4),
    ("cfm", "flow_volume", 4.719474e-4), ("lb/ft3", "density", 16.01846),
    ("lb·ft2", "inertia", 0.04214011), ("short ton", "mass", 907.1847),
    ("ft·lbf", "energy", 1.355818), ("lb/hp·h", "specific_fuel", 1.689659e-7),
    ("L/h", "flow_volume", 2.777778e-7), ("cc/min", "flow_volume", 1.666667e-8),
]


@pytest.mark.authority
def test_units_that_are_exact(against):
    got = [unit_of(unit, kind).to_si(1.0) for unit, kind, _ in EXACT]
    against("drybuild.values.units.unit_of", got=got, expected=[si for *_, si in EXACT], rel=1e-14,
            source="NIST SP 811 (2008), appendix B.8, exact factors, from memory",
            note="tolerance: double precision")


@pytest.mark.authority
def test_units_that_are_printed_rounded(against):
    got = [unit_of(unit, kind).to_si(1.0) for unit, kind, _ in ROUNDED]
    against("drybuild.values.units.unit_of", got=got, expected=[si for *_, si in ROUNDED],
            rel=5e-7, source="NIST SP 811 (2008), appendix B.8, seven figures, from memory")


@pytest.mark.authority
def test_the_two_horsepowers_in_full(against):
    against("drybuild.values.units.unit_of",
            got=[unit_of("hp", "power").factor, unit_of("PS", "power").factor],
            expected=[550 * 0.3048 * 0.45359237 * 9.80665, 75 * 9.80665], rel=1e-14,
            source="definitions: 550 ft·lbf/s; 75 kgf·m/s (DIN 66036, from memory)")


@pytest.mark.authority
def test_temperatures(against):
    got = [parse_value(t, "temperature").centre for t in ("0 °C", "32 °F", "212 °F", "-40 °F",
                                                         "-40 °C")]
    against("drybuild.values.units.unit_of", got=got, expected=[273.15, 273.15, 373.15, 233.15,
                                                                233.15], abs=1e-9,
            source="ITS-90, and the Fahrenheit scale's two fixed points as commonly defined")


@pytest.mark.textbook
def test_miles_per_gallon_count_upside_down(against):
    got = [to_unit("fuel_use", parse_value(t, "fuel_use").centre, "L/100 km")
           for t in ("30 mpg US", "30 mpg imperial", "12 km/L")]
    # 100 km at 30 miles a gallon: 100/1.609344/30 gallons
    expected = [100 / 1.609344 / 30 * 3.785411784, 100 / 1.609344 / 30 * 4.54609, 100 / 12]
    against("drybuild.values.units.unit_of", got=got, expected=expected, rel=1e-12,
            source="worked in the test from the exact definitions")


@pytest.mark.practice
def test_bores_of_dash_sizes(against):
    got = [dash_bores(n)["100R5 or PTFE (100R14) hose"] * 1e3 for n in (4, 6, 8, 10, 16)]
    against("drybuild.values.dash.dash_bores", got=got, expected=[4.8, 7.9, 10.3, 12.7, 22.2],
            abs=0.05, source="hose trade tables after SAE J517 100R5, mm, from memory")
