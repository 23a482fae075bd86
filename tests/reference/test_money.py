"""Money, years, units and spreads against printed tables and other people's programs; each names its source."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import numpy_financial as npf
import pint
import pytest
from scipy import stats

from valuation.engine.draws import BaseNumbers
from valuation.engine.evidence import sampled_share
from valuation.engine.money import log_spread
from valuation.engine.outlook import survival
from valuation.engine.rows import CheckRow, Tables
from valuation.engine.stakes import capital_recovery, replacement_cost_per_year
from valuation.engine.study import Study, study_of
from valuation.facts.units import FACTORS, IN_LB_NM, UnitError, convert, parse_quantity
from valuation.facts.visit import Reading
from valuation.files import visit_values
from valuation.files.visit_file import read_visit
from valuation.jobs.expected import expected_hours
from valuation.rules import load_tables

DEMO = Path(__file__).parents[2] / "data_demo" / "visits"

# --- capital recovery and equivalent annual cost

# Rate, years, factor (A/P, i, n), half of its last digit. Discrete compound interest tables, as in Newnan, Eschenbach
# and Lavelle, Engineering Economic Analysis, appendix C; 8 % from memory.
PRINTED_FACTORS = [
    (0.0025, 5, 0.20150, 5e-6),
    (0.0025, 10, 0.10138, 5e-6),
    (0.0025, 25, 0.04131, 5e-6),
    (0.35, 1, 1.3500, 5e-5),
    (0.35, 5, 0.4505, 5e-5),
    (0.35, 10, 0.3683, 5e-5),
    (0.35, 20, 0.3509, 5e-5),
    (0.15, 3, 0.4380, 5e-5),
    (0.15, 2, 0.6151, 5e-5),
    (0.08, 5, 0.2505, 5e-5),
    (0.08, 10, 0.1490, 5e-5),
    (0.08, 20, 0.1019, 5e-5),
    (0.05, 10, 0.1295, 5e-5),
]


@pytest.mark.parametrize(("rate", "years", "printed", "half_digit"), PRINTED_FACTORS)
def test_capital_recovery_is_the_printed_factor(rate, years, printed, half_digit):
    assert capital_recovery(rate, years) == pytest.approx(printed, abs=half_digit)
    assert capital_recovery(rate, years) == pytest.approx(-npf.pmt(rate, years, 1), rel=1e-12)


def test_capital_recovery_without_interest_is_an_even_share():
    assert capital_recovery(0, 8) == pytest.approx(-npf.pmt(0, 8, 1))
    assert capital_recovery(1e-9, 8) == pytest.approx(1 / 8)


# First cost, cost a year, salvage, rate, years; printed equivalent annual cost. Worked problems of engineering
# economics. The first two are worked with factors of four digits, so they can be off by half a digit times the sums.
EQUIVALENT_ANNUAL_COSTS = [
    (20_000, 8_500, 5_000, 0.15, 3, 15_820, 25_000 * 5e-5),
    (15_000, 7_000, 3_000, 0.15, 2, 14_831.2, 18_000 * 5e-5),
    (30_000, 16_000, 2_000, 0.15, 12, 21_465.46, 0.005),
]


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


@pytest.fixture(scope="module")
def grand(tables) -> Study:
    visit = read_visit(DEMO / "1_fine_old_grand.toml", tables, today=date(2026, 12, 31))
    return study_of(visit, tables, on=visit.on)


@pytest.mark.parametrize(("first", "yearly", "salvage", "rate", "years", "printed", "within"), EQUIVALENT_ANNUAL_COSTS)
def test_the_replacements_cost_of_a_year_is_the_equivalent_annual_cost(
    grand, first, yearly, salvage, rate, years, printed, within
):
    # A price falls to its salvage by the cost of selling alone.
    stakes = replace(
        grand.figures.stakes, horizon=years, discount=rate, value_loss=0.0, selling_cost=1 - salvage / first
    )
    row = replace(grand.market.replacement, price_likely=float(first))
    market = replace(grand.market, replacement=row, replacement_spread=0.0, size_factor=1.0)
    assert replacement_cost_per_year(stakes, market) + yearly == pytest.approx(printed, abs=within)


# --- three points and their spread


@pytest.mark.parametrize(("low", "likely", "high"), [(16, 22, 32), (5, 7, 10), (8, 10, 24), (30, 45, 80), (0, 3, 8)])
def test_three_points_are_read_as_one_in_ten_and_nine_in_ten_of_a_lognormal(low, likely, high):
    # SciPy's lognormal with the likely figure as its median.
    law = stats.lognorm(s=log_spread(low, likely, high), scale=likely)
    assert law.median() == pytest.approx(likely)
    tenth, ninth = law.ppf([0.1, 0.9])
    if low == 0:
        assert ninth == pytest.approx(high)
    else:
        # The two points lie as far apart, in proportion, as the table's; evenly about the likely one.
        assert ninth / tenth == pytest.approx(high / low)
    if low * high == likely**2:
        assert (tenth, ninth) == pytest.approx((low, high))


def test_points_that_lie_evenly_are_met_exactly():
    law = stats.lognorm(s=log_spread(8, 12, 18), scale=12)
    assert law.ppf([0.1, 0.9]) == pytest.approx([8, 18])


# Activities (a, m, b) with the mean and standard deviation printed beside them; a worked example of the programme
# evaluation and review technique. Malcolm, Roseboom, Clark and Fazar, Operations Research 7 (1959) 646: mean
# (a + 4m + b) / 6, standard deviation (b - a) / 6.
PERT = [((4, 8, 13), 8.17, 1.50), ((1, 10, 17), 9.67, 2.67), ((6, 10, 13), 9.83, 1.17), ((7, 7, 12), 7.83, 0.83)]


@pytest.mark.parametrize(("points", "mean", "sd"), PERT)
def test_reading_the_points_as_limits_would_give_a_far_narrower_band(points, mean, sd):
    low, likely, high = points
    assert (low + 4 * likely + high) / 6 == pytest.approx(mean, abs=0.005)
    assert (high - low) / 6 == pytest.approx(sd, abs=0.005)
    ours = stats.lognorm(s=log_spread(low, likely, high), scale=likely)
    # Low and high are not limits to those who write them down: the spread is about twice as wide.
    assert ours.std() > 1.5 * sd


def test_expected_hours_and_amounts_are_the_means_of_those_lognormals(grand):
    prices, piano = grand.prices, grand.visit.piano
    by_piece = {cure.operation for cure in grand.tables.cures if cure.piece_likely > 0}
    for name, row in grand.catalogue.operations.items():
        if name in by_piece:
            continue
        price = prices.operations[name]
        spread = math.hypot(price.own_spread, prices.job_spread)
        likely = expected_hours(grand.tables, piano.kind, piano.features, name).likely
        hours = stats.lognorm(s=max(spread, 1e-12), scale=max(likely, 1e-12)).mean()
        assert price.labour == pytest.approx(price.rate * hours, rel=1e-9, abs=1e-6)
        # As wide as the table says, and never narrower than whole jobs run over.
        table = log_spread(row.hours_low, row.hours_likely, row.hours_high)
        assert spread == pytest.approx(max(table, prices.job_spread))


# --- units

# NIST Special Publication 811 (2008), appendix B.8: factor, half of its last digit. From memory.
NIST = [("in-lb", "N.m", 0.1129848, 5e-8), ("in", "mm", 25.4, 0), ("ft", "mm", 304.8, 0), ("oz", "g", 28.34952, 5e-6)]
PINT = {
    "N.m": "newton * meter", "in-lb": "force_pound * inch", "kgf.cm": "force_kilogram * centimeter",
    "mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch", "ft": "foot", "g": "gram", "kg": "kilogram",
    "oz": "ounce", "s": "second", "deg": "degree", "%": "percent", "count": "dimensionless",
    "swings": "dimensionless", "cents": "dimensionless",
}  # fmt: skip


@pytest.mark.parametrize(("written", "stored", "factor", "half_digit"), NIST)
def test_units_are_those_of_the_standard(written, stored, factor, half_digit):
    assert convert(1, written, stored) == pytest.approx(factor, abs=half_digit or 1e-12)


@pytest.mark.parametrize(("in_lb", "newton_metres"), [(30, 3.390), (50, 5.649), (80, 9.039), (120, 13.558)])
def test_pin_torque_is_that_of_the_standard(in_lb, newton_metres):
    assert in_lb * IN_LB_NM == pytest.approx(newton_metres, abs=5e-4)


def test_units_are_those_of_pint():
    units = pint.UnitRegistry()
    for stored, written in FACTORS.items():
        for unit, factor in written.items():
            theirs = units.Quantity(1, PINT[unit]).to(PINT[stored]).magnitude
            assert factor == pytest.approx(theirs, rel=1e-12), (unit, stored)


FOOT = 304.8


@pytest.mark.parametrize(
    ("text", "stored", "amount"),
    [
        ("5' 6\"", "mm", 5.5 * FOOT),
        ("5'6\"", "mm", 5.5 * FOOT),
        ("5'-6\"", "mm", 5.5 * FOOT),
        ("5’ 6”", "mm", 5.5 * FOOT),
        ("5′ 6″", "mm", 5.5 * FOOT),
        ("5' 6", "mm", 5.5 * FOOT),
        ("5 ft 6 in", "mm", 5.5 * FOOT),
        ("5ft 6in.", "mm", 5.5 * FOOT),
        ("5 feet 6 1/2 inches", "mm", 5.5 * FOOT + 12.7),
        ("5' 6-1/2\"", "mm", 5.5 * FOOT + 12.7),
        ("-5' 6\"", "mm", -5.5 * FOOT),
        ("6 ft", "mm", 6 * FOOT),
        ("6.5'", "mm", 6.5 * FOOT),
        ("1-1/2 in", "mm", 38.1),
        ("1 - 1/2 in", "mm", 38.1),
        ("1½ in", "mm", 38.1),
        ('⅜"', "mm", 9.525),
        ("1 1/2", "mm", 1.5),
        ("-1/8 in", "mm", -3.175),
        ("−0.5 in", "mm", -12.7),
        ("80 in lbs", "N.m", 80 * 0.1129848),
        ("80 in.-lbs.", "N.m", 80 * 0.1129848),
        ("80 in-lbs", "N.m", 80 * 0.1129848),
        ("80 inch pounds", "N.m", 80 * 0.1129848),
        ("80 lbf·in", "N.m", 80 * 0.1129848),
        ("9 N-m", "N.m", 9),
        ("9 N·m", "N.m", 9),
        ("9 Nm", "N.m", 9),
        ("9 n*m", "N.m", 9),
        ("92 kgf cm", "N.m", 92 * 0.0980665),
        ("3 degrees", "deg", 3),
    ],
)
def test_units_are_read_as_people_write_them(text, stored, amount):
    assert parse_quantity(text, stored) == pytest.approx(amount, rel=1e-6)
    assert visit_values.read_quantity(text, stored, -1e6, 1e6) == pytest.approx(amount, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "stored", "told"),
    [
        ("5' 13\"", "mm", "is not feet and inches; write it as 5 ft 6 in, the inches below 12"),
        ("5 ft 6 mm", "mm", "is not feet and inches"),
        ("5 ft 6 in", "N.m", "is not a unit for this; write N.m or in-lb or kgf.cm"),
        ("5' x", "mm", "is not a number"),
        ("1-3/2 in", "mm", "has a fraction of 1 or more after a whole number"),
        ("1-2 in", "mm", "is not a number"),
        ("1/0 in", "mm", "divides by zero"),
        ("80 lbs", "N.m", "'lbs' is not a unit for this"),
        ("1,5 in", "mm", "has a comma"),
        ("", "mm", "is not a number"),
        ("--5 mm", "mm", "is not a number"),
        ("5 6", "mm", "is not a number"),
    ],
)
def test_what_is_no_quantity_says_how_to_write_one(text, stored, told):
    with pytest.raises(UnitError, match=re.escape(told)):
        parse_quantity(text, stored)


def test_a_range_is_told_in_the_unit_that_was_written():
    with pytest.raises(visit_values.AnswerError, match=r"out of range; write 1 to 78.74 in$"):
        visit_values.read_quantity("9' 2\"", "mm", 25.4, 2000)


# --- loose pins from a sample

LOOSE = CheckRow(
    id="loose", kinds="both", reads="f", name="", how="", why="", access="lid", must="no", quick=True, minutes=1.0,
    sureness="s", answer="readings", unit="%", better="low", cut_slight=2.0, cut_marked=8.0, cut_severe=25.0,
    summary="share_below", readings_of="torque", limit=3.4, of_all=224, source="test",
)  # fmt: skip


def shares(row: CheckRow, bad: int, tried: int) -> np.ndarray:
    readings = (Reading(value=3.0),) * bad + (Reading(value=9.0),) * (tried - bad)
    return sampled_share(row, readings)


@pytest.mark.parametrize("bad", [0, 1, 3, 12, 24])
@pytest.mark.parametrize("tried", [24, 60, 224])
def test_loose_pins_speak_for_each_severity_as_the_hypergeometric_law_says(bad, tried):
    # SciPy's hypergeometric law: how likely so many loose ones are, on average over all that a severity may mean.
    in_all = np.arange(225)
    chance = stats.hypergeom.pmf(bad, 224, in_all, tried)
    grade = np.searchsorted([2, 8, 25], 100 * in_all / 224, side="right")
    theirs = np.array([chance[grade == g].mean() for g in range(4)])
    assert shares(LOOSE, bad, tried) == pytest.approx(theirs / theirs.sum(), abs=1e-12)


def test_firm_pins_speak_for_none_the_more_the_more_are_tried():
    seen = [shares(LOOSE, 0, tried) for tried in (1, 6, 24, 60, 224)]
    assert all((np.diff(fit) < 0).all() for fit in seen[:-1])
    assert (np.diff([fit[0] for fit in seen]) > 0).all()
    assert seen[-1] == pytest.approx([1, 0, 0, 0])


# Bad of 24 tried among 224; 95 % range of the bad in all, two-sided. Worked from the hypergeometric law.
@pytest.mark.parametrize(("bad", "low", "high"), [(0, 0, 30), (1, 1, 45), (2, 3, 58), (3, 7, 70), (6, 24, 102)])
def test_the_exact_range_of_a_finite_lot_fits_best(bad, low, high):
    cuts = {"cut_slight": 100 * low / 224 - 1e-9, "cut_marked": 100 * (high + 0.5) / 224, "cut_severe": 100.0}
    below, within, above, _ = shares(replace(LOOSE, **cuts), bad, 24)
    assert within > 5 * max(below, above)


# Bad, tried, Clopper-Pearson 95 %. Newcombe, Statistics in Medicine 17 (1998) 857, table I; from memory.
@pytest.mark.parametrize(
    ("bad", "tried", "low", "high"),
    [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0, 0.1684), (1, 29, 0.0009, 0.1776)],
)
def test_in_a_large_lot_the_clopper_pearson_range_fits_best(bad, tried, low, high):
    large = replace(LOOSE, of_all=1000, cut_slight=100 * low, cut_marked=100 * high, cut_severe=100.0)
    below, within, above, _ = shares(large, bad, tried)
    assert within > 5 * max(below, above)


# --- wear and base numbers


@pytest.mark.parametrize("shape", [1.0, 2.5, 4.0])
@pytest.mark.parametrize("median", [5.0, 20.0, 60.0])
def test_parts_wear_out_by_the_law_of_weibull(shape, median):
    # SciPy's Weibull law, scaled so that half still serve after the median.
    years = np.linspace(0, 80, 41)
    law = stats.weibull_min(c=shape, scale=median / math.log(2) ** (1 / shape))
    assert survival(years, np.array(median), shape) == pytest.approx(law.sf(years), abs=1e-12)
    assert survival(np.array(median), np.array(median), shape) == pytest.approx(0.5)


def test_a_failed_part_serves_no_year():
    assert (survival(np.array([0.5, 10.0]), np.array(0.0), 3.0) == 0).all()


@pytest.mark.parametrize("n", [1024, 8192])
@pytest.mark.parametrize("seed", [0, 7])
def test_base_numbers_are_the_even_points_of_a_normal_law_in_every_dimension(n, seed):
    # SciPy's normal law; single precision.
    base = np.stack([BaseNumbers(n, seed).normals(d) for d in range(1, 112)])
    theirs = stats.norm.ppf((np.arange(n) + 0.5) / n)
    assert np.abs(np.sort(base, axis=1) - theirs).max() < 1e-6


def test_the_weightiest_base_numbers_do_not_run_together():
    # History, job, market and the states of all parts.
    base = np.stack([BaseNumbers(8192, 0).normals(d) for d in range(21)]).astype(float)
    together = np.corrcoef(base) - np.eye(21)
    assert np.abs(together).max() < 0.1
