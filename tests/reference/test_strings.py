"""Strings against printed values. Each names its source; the tolerance is half of its last printed digit."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from valuation.facts.units import INCH_MM, POUND_KG, STANDARD_GRAVITY
from valuation.measure.restringing import added_tension_share, raise_pitch, scale_limits
from valuation.measure.scale import TONNE_N, Scale, jump_ratio, scale_breaks, scale_figures, total_pull
from valuation.measure.strings import (
    STEEL_DENSITY,
    inharmonicity,
    key_frequency,
    string_mass,
    tension,
)
from valuation.measure.wire import (
    GAUGES,
    breaking_load,
    gauge_diameter,
    least_strength,
    parse_wire_size,
)

LBF = POUND_KG * STANDARD_GRAVITY
ONE_STRING = {"key": [64], "length_mm": [181.0], "core_mm": [0.925], "outside_mm": [0.0], "strings": [3]}


@pytest.mark.parametrize(
    ("key", "hertz"), [(1, 27.5), (40, 261.6256), (49, 440), (52, 523.2511), (64, 1046.502), (88, 4186.009)]
)
def test_keys_have_the_pitch_of_the_standard(key, hertz):
    # ISO 16:1975 fixes A4; the others are the usual table of equal temperament, to its last digit.
    assert key_frequency(key) == pytest.approx(hertz, abs=5e-4 if hertz > 1000 else 5e-5)


# American whole numbers: Shigley, "Mechanical Engineering Design", table A-28, music wire [in]. From memory.
SHIGLEY_A28 = {12: 0.029, 13: 0.031, 14: 0.033, 15: 0.035, 16: 0.037, 17: 0.039, 18: 0.041, 19: 0.043, 20: 0.045,
               21: 0.047, 22: 0.049, 23: 0.051}  # fmt: skip
# European numbers: common practice [mm].
EUROPEAN = {12: 0.725, 13: 0.775, 14: 0.825, 15: 0.875, 16: 0.925, 17: 0.975, 18: 1.025, 19: 1.075, 20: 1.125,
            21: 1.175, 22: 1.225, 23: 1.300, 23.5: 1.350, 24: 1.400, 24.5: 1.450, 25: 1.500, 26: 1.600}  # fmt: skip


@pytest.mark.parametrize(("number", "inches"), SHIGLEY_A28.items())
def test_american_gauges_are_those_of_the_handbook(number, inches):
    assert gauge_diameter(number, "american") == pytest.approx(inches * INCH_MM, abs=1e-4)


@pytest.mark.parametrize(("number", "millimetres"), EUROPEAN.items())
def test_european_gauges_are_those_in_use(number, millimetres):
    assert gauge_diameter(number, "european") == pytest.approx(millimetres, abs=5e-4)


def test_half_gauges_lie_half_way():
    assert gauge_diameter(13.5, "american") == pytest.approx(0.032 * INCH_MM, abs=1e-4)
    assert gauge_diameter(12.5, "european") == pytest.approx(0.750, abs=5e-4)


def test_the_same_number_is_another_wire_elsewhere():
    american, european = (gauge_diameter(13, gauges) for gauges in GAUGES)
    assert (american / european) ** 2 - 1 == pytest.approx(0.032, abs=5e-4)  # 0.787 against 0.775 mm


def test_wire_may_be_written_as_gauge_or_size():
    assert parse_wire_size("17.5", "european") == gauge_diameter(17.5, "european")
    assert parse_wire_size(" # 17 ", "american") == gauge_diameter(17, "american")
    assert parse_wire_size("1.05 mm", "american") == 1.05


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: gauge_diameter(24, "american"), "thicker and odd wire has to be measured"),
        (lambda: gauge_diameter(13.25, "european"), "no european gauge 13.25"),
        (lambda: gauge_diameter(13, "imperial"), "use american or european"),
        (lambda: parse_wire_size("thick", "american"), "is not a number"),
        (lambda: least_strength(0.05), "wire diameter must be between 0.38 and 3.1 mm, not 0.05"),
        (lambda: key_frequency(89), "key must be between 1 and 88, not 89"),
        (lambda: key_frequency(49, a4_hz=44), "pitch of A4"),
        (lambda: string_mass(31), "diameter of the wire must be between 0.4 and 3 mm, not 31"),
        (lambda: string_mass(1.0, 0.9), "a winding must be thicker than its core"),
        (lambda: tension(440, 40, np.nan) and tension(440, 18.1, 0.006), "speaking length"),
        (lambda: inharmonicity(1.0, 620, 0), "tension of a string"),
        (lambda: added_tension_share(1300), "rise in pitch"),
    ],
)
def test_what_is_not_possible_is_refused_with_a_sentence(call, message):
    with pytest.raises(ValueError, match=message):
        call()


@pytest.mark.parametrize(("density", "pounds"), [(7850, 170.2), (7900, 171.3)])
def test_tension_is_that_of_a_worked_example(density, pounds):
    # Common practice, worked by a string maker: key 64, 18.1 cm, 0.925 mm, pounds-force.
    mass = string_mass(0.925) * density / STEEL_DENSITY
    assert tension(key_frequency(64), 181, mass) / LBF == pytest.approx(pounds, abs=0.05)


def test_tension_agrees_with_the_workshop_formula_in_inches_and_pounds():
    # Common practice: (f L d / 20833)^2 lbf, inches and thousandths; the constant's last digit is 1 in 20833, and it
    # stands for wire of 7838 kg/m3.
    shop = (440 * 16 * 40 / 20833) ** 2
    ours = tension(440, 16 * INCH_MM, string_mass(0.040 * INCH_MM) * 7838 / STEEL_DENSITY) / LBF
    assert ours == pytest.approx(shop, rel=2 * 0.5 / 20833 + 0.5 / 7838)


def test_a_winding_adds_what_its_turns_weigh():
    # By hand: a metre of core 1.0 mm wound with wire of 0.5 mm has 2000 turns of length pi * 1.5 mm.
    copper = 2000 * np.pi * 1.5e-3 * (np.pi / 4 * 0.5e-3**2) * 8960
    assert string_mass(1.0, 2.0) - string_mass(1.0) == pytest.approx(copper, rel=1e-12)


def test_a_winding_agrees_with_the_workshop_factor():
    # Common practice: 1 + 0.89 (D^2/d^2 - 1); copper wire is given as 8890 to 8960 kg/m3, 0.8 % apart.
    factor = (string_mass(1.0, 2.0) / string_mass(1.0) - 1) / 3
    assert factor == pytest.approx(0.89, abs=0.005 + 0.008 * 0.89)


# Diameter [in/1000], least tensile strength [ksi]: ASTM A228/A228M, from memory; agrees with a reprint of it.
A228_MINIMUM = np.array([
    (15, 365), (16, 362), (18, 356), (20, 350), (22, 345), (24, 341), (26, 337), (28, 333), (30, 330), (32, 327),
    (34, 324), (36, 321), (38, 318), (40, 315), (42, 313), (45, 309), (48, 306), (51, 303), (55, 300), (59, 296),
    (63, 293), (67, 290), (72, 287), (76, 284), (80, 282), (85, 279), (90, 276), (95, 274), (100, 271), (102, 270),
    (107, 268), (110, 267), (112, 266), (121, 263),
])  # fmt: skip
KSI_MPA = 6.894757  # NIST SP 811, 2008, appendix B.8


def test_the_law_keeps_to_the_standards_side_of_caution_for_every_wire_in_a_piano():
    diameter = np.linspace(0.4, 3.0, 2001)
    inches, ksi = A228_MINIMUM.T
    over = least_strength(diameter) / np.interp(diameter, inches / 1000 * INCH_MM, ksi * KSI_MPA) - 1
    assert (over <= 0).all()
    assert (over > -0.0125).all()


def test_the_law_is_under_that_of_a_handbook():
    # Shigley, table 10-4: 2211 MPa mm^m, m = 0.145, fitted over all sizes of spring wire.
    diameter = np.linspace(0.7, 1.7, 101)
    under = 1 - least_strength(diameter) / (2211 / diameter**0.145)
    assert (under > 0.01).all()
    assert (under < 0.03).all()


@pytest.mark.parametrize(("gauge", "broke_at_lbf"), [(13, 290), (13.5, 303), (14, 355), (16, 398), (18, 487)])
def test_piano_wire_pulled_apart_held_more_than_the_minimum(gauge, broke_at_lbf):
    # Common practice: a laboratory's breaking loads [lbf]; they stand 16 to 29 % over the least that is promised.
    ratio = broke_at_lbf * LBF / breaking_load(gauge_diameter(gauge, "american"))
    assert 1.155 < ratio < 1.295


def test_inharmonicity_has_the_published_constant():
    # Young, J. Acoust. Soc. Am. 24 (1952) 267: cents(n) = 3.4e13 n^2 d^2 / (f^2 l^4), centimetres.
    frequency, diameter_cm, length_cm = 261.63, 0.1, 62.0
    pull = tension(frequency, 10 * length_cm, string_mass(10 * diameter_cm))
    cents_over_n2 = 600 / np.log(2) * inharmonicity(10 * diameter_cm, 10 * length_cm, pull)
    assert cents_over_n2 * frequency**2 * length_cm**4 / diameter_cm**2 == pytest.approx(3.4e13, abs=0.05e13)


def test_the_partials_of_a_real_string_follow_the_definition():
    # Published partials of A4 on a grand [Hz]; a university's teaching page. One pitch and one B must bring all of them
    # within half their last digit and three times the scatter of such measurements (0.07 cents), and that B must be
    # near the one published in another definition, 7.5145e-4 (from f1 and linear, 1.3 % apart).
    hertz = np.array([440.0, 880.9, 1323.9, 1769.8, 2219.7, 2674.6, 3135.4, 3603.1])
    number = np.arange(1, 9)
    cents = 1200 * np.log2(hertz / number / hertz[0])
    half_digit = 1200 / np.log(2) * 0.05 / hertz

    def misfit(b: float) -> np.ndarray:
        left = cents - 600 * np.log2((1 + b * number**2) / (1 + b))
        return left - np.average(left, weights=half_digit**-2.0)

    def weighed(b: float) -> float:
        return float(((misfit(b) / half_digit) ** 2).sum())

    best = minimize_scalar(weighed, bounds=(1e-5, 1e-2), method="bounded", options={"xatol": 1e-10}).x
    assert (abs(misfit(best)) < half_digit + 3 * 0.07).all()
    assert best == pytest.approx(7.5145e-4, rel=0.02)


@pytest.mark.parametrize(("cents", "percent"), [(100, 12.246), (50, 5.946), (25, 2.930)])
def test_raising_pitch_adds_the_tension_of_the_square(cents, percent):
    # Closed form: 2^(cents/600) - 1, to the printed digit.
    assert 100 * added_tension_share(cents) == pytest.approx(percent, abs=5e-4)


def test_one_percent_of_pitch_is_two_of_tension_and_not_the_reverse():
    cents = 1200 * np.log2(1.01)
    assert added_tension_share(cents) == pytest.approx(1.01**2 - 1, rel=1e-12)


def test_an_older_pitch_is_a_small_matter():
    # A4 = 435 lies 19.8 cents below 440: 2.3 % of the pull, some 0.4 t of a whole piano's 18 (by hand).
    figures = scale_figures(Scale(**ONE_STRING), a4_hz=440)
    old = scale_figures(Scale(**ONE_STRING), a4_hz=435)
    assert float(figures.tension_n[0] / old.tension_n[0] - 1) == pytest.approx(0.023, abs=5e-4)
    assert 18 * (1 - float(old.tension_n[0] / figures.tension_n[0])) == pytest.approx(0.4, abs=0.05)


def test_the_whole_pull_is_that_of_a_worked_example():
    # Common practice: 160 lbf by 225 strings is 36,000 lbf, 18 short tons of 907.185 kg (NIST SP 811).
    figures = scale_figures(Scale(**ONE_STRING))
    by_160 = total_pull(figures, strings_in_all=225) * 160 * LBF / float(figures.tension_n[0])
    assert by_160 / LBF == pytest.approx(36_000, rel=1e-12)
    assert by_160 / TONNE_N / 0.90718474 == pytest.approx(18, abs=1e-9)
    assert total_pull(figures) == pytest.approx(3 * float(figures.tension_n[0]))


def two_sections() -> Scale:
    """Eight plain keys; from key 44 on the lengths are a tenth too short, the wire is the same."""
    key = np.arange(40, 48)
    length = 620 * 2 ** (-(key - 40) / 14) * np.where(key >= 44, 0.9, 1.0)
    return Scale(key=key, length_mm=length, core_mm=[1.0] * 8, outside_mm=[0] * 8, strings=[3] * 8)


def test_a_break_is_found_as_it_was_made():
    # By hand: a length times 0.9 gives tension and share times 0.9^2 and inharmonicity over 0.9^4.
    (found,) = scale_breaks(scale_figures(two_sections()), [44])
    assert (found.below, found.above) == (43, 44)
    assert found.tension_ratio == pytest.approx(0.9**2, rel=1e-9)
    assert found.share_ratio == pytest.approx(0.9**2, rel=1e-9)
    assert found.inharmonicity_ratio == pytest.approx(0.9**-4, rel=1e-9)
    assert found.left_by_lengths == pytest.approx(0.9**-6, rel=1e-9)


def test_new_wire_can_even_the_tension_but_not_the_lengths():
    # The wire above the break made thicker by 1/0.9 evens the tension; what is left is what was said to be left.
    scale = two_sections()
    (before,) = scale_breaks(scale_figures(scale), [44])
    wire = np.where(scale.key >= 44, 1 / 0.9, 1.0)
    restrung = Scale(key=scale.key, length_mm=scale.length_mm, core_mm=wire, outside_mm=[0] * 8, strings=[3] * 8)
    (after,) = scale_breaks(scale_figures(restrung), [44])
    assert after.tension_ratio == pytest.approx(1, rel=1e-9)
    assert after.inharmonicity_ratio == pytest.approx(before.left_by_lengths, rel=1e-9)


def test_a_jump_is_read_half_way_between_the_two_keys_at_the_break():
    # By hand: flat below at 1; above a line that rises by a factor of 2 a key from 4 at key 12. Half way, at 11, it
    # would stand at 2.
    assert jump_ratio([9, 10, 12, 13], [1, 1, 4, 8], 12) == pytest.approx(2, rel=1e-12)


def test_only_the_nearest_keys_show_the_trend():
    key = np.arange(1, 11)
    values = np.where(key >= 6, 3.0, 1.0)
    values[[0, 1, 2, 7, 8, 9]] = 50.0
    assert jump_ratio(key, values, 6, neighbours=2) == pytest.approx(3, rel=1e-12)


def test_a_wound_side_is_not_said_to_be_left_by_lengths():
    scale = two_sections()
    wound = np.where(scale.key < 44, 1.6, 0)
    mixed = Scale(key=scale.key, length_mm=scale.length_mm, core_mm=[1.0] * 8, outside_mm=wound, strings=[2] * 8)
    assert scale_breaks(scale_figures(mixed), [44])[0].left_by_lengths is None


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: jump_ratio([1, 2, 3], [1, 1, 1], 2), "at least two keys entered below"),
        (lambda: jump_ratio([1, 2, 3, 4], [1, 1, 0, 1], 3), "above zero"),
        (lambda: Scale(**ONE_STRING | {"key": [64, 65]}), "one length, wire, winding"),
        (lambda: Scale(**ONE_STRING | {"key": [64.5]}), "whole numbers"),
        (lambda: Scale(**{name: values * 2 for name, values in ONE_STRING.items()}), "rising order"),
        (lambda: total_pull(scale_figures(Scale(**ONE_STRING)), 2), "number of strings in all"),
    ],
)
def test_a_scale_that_is_not_one_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_a_pitch_raise_says_what_is_added_and_who_is_over():
    # By hand: raised 100 cents to a share s, with 12 cents over it, wire at four fifths of its strength.
    figures = scale_figures(two_sections())
    lift = raise_pitch(figures, 100, overpull_cents=12, strength_kept=0.8, highest_share=0.45)
    added = figures.tension_n * (1 - 2 ** (-100 / 600))
    assert lift.greatest_share == pytest.approx(figures.share * 2 ** (12 / 600) / 0.8, rel=1e-12)
    assert lift.added_in_all_n == pytest.approx(3 * added.sum(), rel=1e-12)
    assert lift.keys_over == tuple(figures.scale.key[lift.greatest_share > 0.45])
    assert 0 < len(lift.keys_over) < 8


def test_a_string_that_is_sharp_now_is_at_its_sharpest_now():
    figures = scale_figures(Scale(**ONE_STRING))
    lift = raise_pitch(figures, -30, overpull_cents=0, strength_kept=1, highest_share=1)
    assert lift.greatest_share == pytest.approx(figures.share * 2 ** (30 / 600))
    assert lift.added_in_all_n < 0


def test_stress_of_plain_wire_is_a_matter_of_length_alone():
    # Any wire between the two gives a share between those two; so out of reach means out of reach.
    scale = two_sections()
    shares = [
        scale_figures(
            Scale(key=scale.key, length_mm=scale.length_mm, core_mm=[d] * 8, outside_mm=[0] * 8, strings=[3] * 8)
        ).share
        for d in (0.9, 1.1)
    ]
    figures = scale_figures(scale)
    low, high = float(np.median(shares[1])), float(np.median(shares[1])) + 0.02
    limits = scale_limits(figures, lowest_share=low, highest_share=high, thinnest_mm=0.9, thickest_mm=1.1)
    assert limits.slack == tuple(scale.key[shares[1] < low])
    assert limits.overstrained == tuple(scale.key[shares[0] > high])
    assert limits.slack
    assert limits.overstrained


def test_a_wound_string_is_never_too_slack_since_a_winding_adds_mass():
    scale = Scale(key=[10], length_mm=[1100], core_mm=[1.4], outside_mm=[3.4], strings=[2])
    limits = scale_limits(scale_figures(scale), lowest_share=0.59, highest_share=0.6, thinnest_mm=0.7, thickest_mm=1.6)
    assert limits.slack == ()


def test_limits_that_fall_are_refused():
    figures = scale_figures(Scale(**ONE_STRING))
    with pytest.raises(ValueError, match="limits must rise"):
        scale_limits(figures, lowest_share=0.7, highest_share=0.5, thinnest_mm=0.8, thickest_mm=1.0)
