"""Wood against printed values. Each names its source; the tolerance is half of its last printed digit."""

from __future__ import annotations

import numpy as np
import pytest

from valuation.measure.seasons import block_over_year, board_over_year, crack_over_year, hold_humidity
from valuation.measure.wood import COEFFICIENTS, Climate, humidity_for, moisture, movement

HUMIDITIES = np.arange(5, 100, 5)

# Wood Handbook (FPL-GTR-190, 2010), table 4-2, relative humidity 5 to 95 % in steps of 5; by °F. From memory.
TABLE_4_2 = {
    30: "1.4 2.6 3.7 4.6 5.5 6.3 7.1 7.9 8.7 9.5 10.4 11.3 12.4 13.5 14.9 16.5 18.5 21.0 24.3",
    40: "1.4 2.6 3.7 4.6 5.5 6.3 7.1 7.9 8.7 9.5 10.4 11.3 12.3 13.5 14.9 16.5 18.5 21.0 24.3",
    50: "1.4 2.6 3.6 4.6 5.5 6.3 7.1 7.9 8.7 9.5 10.3 11.2 12.3 13.4 14.8 16.4 18.4 20.9 24.3",
    60: "1.3 2.5 3.6 4.6 5.4 6.2 7.0 7.8 8.6 9.4 10.2 11.1 12.1 13.3 14.6 16.2 18.2 20.7 24.1",
    70: "1.3 2.5 3.5 4.5 5.4 6.2 6.9 7.7 8.5 9.2 10.1 11.0 12.0 13.1 14.4 16.0 17.9 20.5 23.9",
    80: "1.3 2.4 3.5 4.4 5.3 6.1 6.8 7.6 8.3 9.1 9.9 10.8 11.7 12.9 14.2 15.7 17.7 20.2 23.6",
    90: "1.2 2.3 3.4 4.3 5.1 5.9 6.7 7.4 8.1 8.9 9.7 10.5 11.5 12.6 13.9 15.4 17.3 19.8 23.3",
    100: "1.2 2.3 3.3 4.2 5.0 5.8 6.5 7.2 7.9 8.7 9.5 10.3 11.2 12.3 13.6 15.1 17.0 19.5 22.9",
    110: "1.1 2.2 3.2 4.0 4.9 5.6 6.3 7.0 7.7 8.4 9.2 10.0 11.0 12.0 13.2 14.7 16.6 19.1 22.4",
    120: "1.1 2.1 3.0 3.9 4.7 5.4 6.1 6.8 7.5 8.2 8.9 9.7 10.6 11.7 12.9 14.4 16.2 18.6 22.0",
    130: "1.0 2.0 2.9 3.7 4.5 5.2 5.9 6.6 7.2 7.9 8.7 9.4 10.3 11.3 12.5 14.0 15.8 18.2 21.5",
    140: "0.9 1.9 2.8 3.6 4.3 5.0 5.7 6.3 7.0 7.7 8.4 9.1 10.0 11.0 12.1 13.6 15.3 17.7 21.0",
}
# Half the last digit, and what the rounding of the coefficients moves: the Handbook's forms in °C and °F part by 0.013.
TABLE_TOLERANCE = 0.05 + 0.013


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def air(humidity: float, temperature_c: float = 21.0) -> Climate:
    return Climate(humidity=humidity, temperature_c=temperature_c)


@pytest.mark.parametrize("fahrenheit", TABLE_4_2)
def test_moisture_is_that_of_the_table(fahrenheit):
    printed = np.array(TABLE_4_2[fahrenheit].split(), dtype=float)
    assert moisture(HUMIDITIES, celsius(fahrenheit)) == pytest.approx(printed, abs=TABLE_TOLERANCE)


@pytest.mark.parametrize(("fahrenheit", "humidity", "printed"), [(70, 40, 7.7), (75, 60, 10.9), (140, 55, 8.4)])
def test_moisture_is_that_of_values_quoted_elsewhere(fahrenheit, humidity, printed):
    # A university's forestry leaflet, and two other printings of the equation's values.
    assert moisture(humidity, celsius(fahrenheit)) == pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize(("humidity", "percent"), [(30, 6), (50, 9), (65, 12), (80, 16)])
def test_moisture_follows_the_rule_of_thumb(humidity, percent):
    assert moisture(humidity, celsius(70)) == pytest.approx(percent, abs=0.5)  # common practice, near 70 °F


def test_fahrenheit_taken_for_celsius_is_refused():
    # Were it let through, 70 would give 5.9 % instead of 7.7.
    with pytest.raises(ValueError, match=r"temperature must be between -1\.2 and 60 °C, not 70"):
        moisture(40, 70)


# Wood Handbook: shrinkage from green to dry [%] of table 4-3 (radial, tangential), fibre saturation at 30 %. Maple and
# the spruces from memory.
SHRINKAGE = {
    "hard maple": (4.8, 9.9),
    "american beech": (5.5, 11.9),
    "yellow poplar": (4.6, 8.2),
    "sitka spruce": (4.3, 7.5),
    "red spruce": (3.8, 7.8),
}


@pytest.mark.parametrize("wood", SHRINKAGE)
def test_coefficients_follow_from_the_shrinkage_table(wood):
    # Each is the secant of the shrinkage at 10 %: 1 / (30 * 100 / S - 30 + 10), to its last printed digit.
    expected = [round(1 / (3000 / shrinkage - 20), 5) for shrinkage in SHRINKAGE[wood]]
    assert list(COEFFICIENTS[wood]) == expected


def test_movement_is_that_of_a_worked_example():
    # A woodworking magazine's example, the Handbook's coefficient: 8 in of flat-sawn red alder, 6 %; 0.1248 in.
    assert movement(8, 0.0026, 6, 12) == pytest.approx(0.1248, abs=5e-5)


def test_a_spruce_board_over_a_hard_year():
    # By hand from the equation: 25 to 70 % at 21 °C is 5.36 to 13.09 %; 100 mm move 1.144 mm, 1400 mm 16.0 mm.
    year = board_over_year(100, COEFFICIENTS["sitka spruce"][0], dry=air(25), wet=air(70))
    assert year.movement_mm == pytest.approx(1.144, abs=5e-4)
    assert not year.is_published_range
    wide = board_over_year(1400, COEFFICIENTS["sitka spruce"][0], dry=air(35), wet=air(70))
    assert wide.is_published_range


def test_a_crack_is_bounded_by_free_wood():
    # By hand: 150 mm of Sitka spruce, 4 % of moisture: 0.89 mm.
    dry = humidity_for(6, 21)
    now = humidity_for(10, 21)
    crack = crack_over_year(0.4, 150, 0.00148, now=air(now), dry=air(dry), wet=air(now))
    assert crack.dry_at_most_mm - 0.4 == pytest.approx(0.89, abs=0.005)
    assert crack.wet_at_least_mm == pytest.approx(0.4, abs=1e-6)


def test_a_wide_crack_in_a_narrow_panel_never_closes():
    crack = crack_over_year(6, 100, 0.00148, now=air(50), dry=air(30), wet=air(90))
    assert crack.wet_at_least_mm > 0


def test_seasons_the_wrong_way_round_bound_nothing_falsely():
    crack = crack_over_year(0.4, 150, 0.00148, now=air(50), dry=air(80), wet=air(20))
    assert (crack.dry_at_most_mm, crack.wet_at_least_mm) == (0.4, 0.4)


def test_a_block_read_in_the_wet_season_is_flattered():
    # By hand: 7.1 mm pins in maple, tangential; 65 to 25 % at 21 °C is 11.96 to 5.36 %, 0.165 mm of grip.
    block = block_over_year(7.1, 200, COEFFICIENTS["hard maple"][1], now=air(65), dry=air(25))
    change = float(moisture(25, 21) - moisture(65, 21))
    assert block.fit_dry_mm == pytest.approx(7.1 * 0.00353 * change)
    assert block.fit_dry_mm == pytest.approx(-0.165, abs=5e-4)
    assert block.size_dry_mm == pytest.approx(200 * 0.00353 * change)


def test_holding_the_humidity_takes_away_its_share_of_movement():
    control = hold_humidity(air(25), air(70), held_low=40, held_high=50)
    assert control.swing == pytest.approx(13.09 - 5.36, abs=0.01)
    assert control.swing_held == pytest.approx(float(moisture(50, 21) - moisture(40, 21)))
    assert control.share_left == pytest.approx(control.swing_held / control.swing)
    steady = hold_humidity(air(45), air(45), held_low=40, held_high=50)
    assert (steady.swing, steady.share_left) == (0, 1)


def test_no_air_brings_wood_to_where_only_water_does():
    assert humidity_for(29, 21) is None
    assert humidity_for(0, 21) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: moisture(96, 21), "relative humidity must be between 0 and 95 %, not 96"),
        (lambda: moisture(float("nan"), 21), "relative humidity"),
        (lambda: humidity_for(31, 21), "moisture of wood"),
        (lambda: movement(100, 0.148, 6, 8), "coefficient of movement"),
        (lambda: movement(-1, 0.00148, 6, 8), "size across the grain"),
        (lambda: movement(100, 0.00148, 6, 80), "moisture of wood"),
        (lambda: crack_over_year(30, 100, 0.00148, now=air(50), dry=air(30), wet=air(90)), "width of a crack"),
        (lambda: crack_over_year(1, 0, 0.00148, now=air(50), dry=air(30), wet=air(90)), "width of wood"),
        (lambda: block_over_year(71, 200, 0.00353, now=air(50), dry=air(30)), "tuning pin"),
        (lambda: block_over_year(7, 2000, 0.00353, now=air(50), dry=air(30)), "size of the block"),
        (lambda: hold_humidity(air(25), air(70), held_low=50, held_high=40), "from a lower to a higher limit"),
    ],
)
def test_what_is_not_possible_is_refused_with_a_sentence(call, message):
    with pytest.raises(ValueError, match=message):
        call()
