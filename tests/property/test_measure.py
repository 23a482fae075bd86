"""What must hold of every measurement, whatever the numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from valuation.measure.bearing import angle_from_gauge, bearing_from_heights, board_load, down_force
from valuation.measure.board import read_board
from valuation.measure.crown import (
    RibbedBoard,
    bending_of_ribbed_panel,
    crown_of,
    crown_over_year,
    curvature_of,
)
from valuation.measure.limits import require_between
from valuation.measure.pin_sections import loose_by_section, torque_by_section
from valuation.measure.pins import loose_in_all, more_pins_to_settle
from valuation.measure.restringing import added_tension_share, raise_pitch, scale_limits
from valuation.measure.scale import Scale, jump_ratio, scale_figures, total_pull
from valuation.measure.seasons import block_over_year, board_over_year, crack_over_year, hold_humidity
from valuation.measure.strings import inharmonicity, key_frequency, string_mass, tension
from valuation.measure.wire import GAUGES, breaking_load, gauge_diameter, least_strength, parse_wire_size
from valuation.measure.wood import Climate, humidity_for, moisture, movement


def whatever(*strategies):
    """Hypothesis's `given` without its time limit: the first call imports SciPy, and CI shares its cores."""
    return lambda test: settings(deadline=None)(given(*strategies)(test))


keys = st.integers(1, 88)
lengths = st.floats(50, 2000)
wires = st.floats(0.7, 1.7)
cents = st.floats(-400, 400)
humidities = st.floats(1, 90)
rooms = st.floats(0, 40)
moistures = st.floats(0, 30)
angles = st.floats(-5, 5)
coefficients = st.floats(0.001, 0.005)


@st.composite
def climates(draw):
    return Climate(humidity=draw(humidities), temperature_c=draw(rooms))


@st.composite
def counts(draw, largest=60):
    in_all = draw(st.integers(1, largest))
    tried = draw(st.integers(1, in_all))
    return draw(st.integers(0, tried)), tried, in_all


@st.composite
def scales(draw):
    key = sorted(draw(st.sets(keys, min_size=1, max_size=12)))
    n = len(key)
    core = draw(st.lists(wires, min_size=n, max_size=n))
    wound = draw(st.lists(st.sampled_from([0.0, 1.5, 2.5]), min_size=n, max_size=n))
    # Lengths that keep the stress near that of a piano, so that tensions stay possible.
    stretch = draw(st.lists(st.floats(0.5, 1.1), min_size=n, max_size=n))
    outside = np.where((np.array(wound) > 0) & (np.array(key) <= 40), np.array(core) * wound, 0)
    usual = 170_000 / key_frequency(np.array(key)) / np.sqrt(string_mass(core, outside) / string_mass(core))
    return Scale(
        key=key,
        length_mm=np.clip(usual * stretch, 45, 1400),
        core_mm=core,
        outside_mm=outside,
        strings=draw(st.lists(st.integers(1, 3), min_size=n, max_size=n)),
    )


# --- limits


@whatever(st.floats(-10, 10), st.floats(-5, 5))
def test_a_limit_lets_through_what_is_inside_and_nothing_else(value, low):
    high = low + 1
    if low <= value <= high:
        assert require_between(value, low, high, what="it") == value
    else:
        with pytest.raises(ValueError, match="it must be between"):
            require_between(value, low, high, what="it")


# --- strings


@whatever(st.sampled_from(list(GAUGES)), st.data())
def test_a_gauge_and_its_size_name_the_same_wire(gauges, data):
    number = data.draw(st.sampled_from(list(GAUGES[gauges])))
    size = gauge_diameter(number, gauges)
    assert parse_wire_size(f"#{number:g}", gauges) == size
    assert parse_wire_size(f"{size:.4f} mm", gauges) == pytest.approx(size, abs=5e-5)


@whatever(st.sampled_from(list(GAUGES)))
def test_a_higher_gauge_is_thicker(gauges):
    sizes = [GAUGES[gauges][number] for number in sorted(GAUGES[gauges])]
    assert sizes == sorted(set(sizes))


@whatever(wires, wires)
def test_thicker_wire_is_weaker_for_its_size_and_stronger_in_all(one, other):
    assume(abs(one - other) > 1e-6)
    thin, thick = sorted([one, other])
    assert least_strength(thin) > least_strength(thick)
    assert breaking_load(thin) < breaking_load(thick)


@whatever(keys, st.floats(400, 460))
def test_twelve_keys_are_an_octave(key, a4):
    assume(key <= 76)
    assert key_frequency(key + 12, a4) == pytest.approx(2 * key_frequency(key, a4), rel=1e-12)


@whatever(keys, lengths, wires, st.floats(1.2, 4))
def test_pitch_comes_back_from_tension(key, length, core, ratio):
    frequency, mass = key_frequency(key), string_mass(core, core * ratio if core * ratio <= 12 else 0)
    pull = tension(frequency, length, mass)
    assert math.sqrt(pull / mass) / (2 * length / 1000) == pytest.approx(frequency, rel=1e-12)


@whatever(wires, st.floats(0.1, 5), st.floats(0.1, 5))
def test_more_winding_is_more_mass(core, more, still_more):
    assert string_mass(core) < string_mass(core, core + more) < string_mass(core, core + more + still_more)


@whatever(keys, st.floats(60, 900), wires)
def test_inharmonicity_is_the_same_from_tension_and_from_pitch(key, length, core):
    # B = pi^2 (E/rho) d^2 / (64 L^4 f^2) for plain wire: no tension in it.
    frequency = float(key_frequency(key))
    pull = tension(frequency, length, string_mass(core))
    assume(10 <= pull <= 5000)
    d, span = core / 1000, length / 1000
    by_pitch = math.pi**2 * 25.5e6 * d**2 / (64 * span**4 * frequency**2)
    assert inharmonicity(core, length, pull) == pytest.approx(by_pitch, rel=1e-9)


@whatever(scales())
def test_the_order_and_number_of_keys_entered_changes_no_string(scale):
    whole = scale_figures(scale)
    for i in range(len(scale.key)):
        alone = scale_figures(
            Scale(
                key=scale.key[[i]],
                length_mm=scale.length_mm[[i]],
                core_mm=scale.core_mm[[i]],
                outside_mm=scale.outside_mm[[i]],
                strings=scale.strings[[i]],
            )
        )
        assert alone.tension_n[0] == whole.tension_n[i]
        assert alone.share[0] == whole.share[i]
        assert alone.inharmonicity[0] == whole.inharmonicity[i]


@whatever(scales(), st.floats(-300, 200))
def test_pitch_moves_every_share_by_the_same_factor(scale, up):
    one, other = scale_figures(scale), scale_figures(scale, a4_hz=440 * 2 ** (up / 1200))
    assert other.share / one.share == pytest.approx(1 + added_tension_share(up), rel=1e-9)


@whatever(cents, cents)
def test_two_raises_are_one(first, second):
    both = (1 + added_tension_share(first)) * (1 + added_tension_share(second))
    assert both == pytest.approx(1 + added_tension_share(first + second), rel=1e-12)


@whatever(scales(), st.floats(0, 150), st.floats(0, 50), st.floats(0.5, 1), st.floats(0.2, 0.9))
def test_a_raise_adds_what_lowering_takes_and_a_weaker_wire_is_never_better(scale, flat, over, kept, limit):
    figures = scale_figures(scale)
    lift = raise_pitch(figures, flat, overpull_cents=over, strength_kept=kept, highest_share=limit)
    now = figures.tension_n / (1 + lift.added_share)
    assert ((figures.tension_n - now) * scale.strings).sum() == pytest.approx(lift.added_in_all_n, rel=1e-9, abs=1e-9)
    assert lift.added_in_all_n <= total_pull(figures) * (1 + 1e-12)
    weaker = raise_pitch(figures, flat, overpull_cents=over, strength_kept=kept * 0.9, highest_share=limit)
    assert set(lift.keys_over) <= set(weaker.keys_over)


@whatever(
    st.floats(-0.3, 0.3), st.floats(-1, 1), st.floats(0.2, 5), st.lists(st.integers(1, 9), min_size=8, max_size=8)
)
def test_a_jump_is_found_over_any_trend_and_any_gaps(slope, start, ratio, gaps):
    key = np.cumsum(gaps)
    first = int(key[4])
    values = np.exp(start + slope * key / 10) * np.where(key >= first, ratio, 1)
    assert jump_ratio(key, values, first) == pytest.approx(ratio, rel=1e-6)


@whatever(scales(), st.floats(0.15, 0.4), st.floats(0.05, 0.5))
def test_wider_limits_never_put_more_keys_out_of_reach(scale, low, width):
    figures = scale_figures(scale)
    wire = {"thinnest_mm": 0.7, "thickest_mm": 1.7}
    tight = scale_limits(figures, lowest_share=low, highest_share=low + width, **wire)
    loose = scale_limits(figures, lowest_share=low * 0.9, highest_share=low + 1.1 * width, **wire)
    assert set(loose.overstrained) <= set(tight.overstrained)
    assert set(loose.slack) <= set(tight.slack)
    assert not set(tight.slack) & set(tight.overstrained)


# --- bearing and crown


@whatever(st.floats(-2, 2), st.floats(20, 100), st.floats(20, 100))
def test_heights_come_back_from_the_bend(rise, front, rear):
    bearing = bearing_from_heights(rise, front_mm=front, rear_mm=rear)
    assert front * math.sin(math.radians(bearing.front_deg)) == pytest.approx(rise, abs=1e-9)


@whatever(angles, st.floats(20, 40), st.floats(5, 30))
def test_a_gauge_reading_comes_back_from_its_angle(angle, half_span, width):
    gap = (half_span - width / 2) * math.sin(math.radians(angle) / 2)
    assert angle_from_gauge(gap, half_span_mm=half_span, bridge_width_mm=width) == pytest.approx(angle, abs=1e-9)


@whatever(st.floats(10, 2000), angles, angles)
def test_how_the_bend_is_shared_hardly_matters(pull, front, rear):
    by_parts = pull * (math.sin(math.radians(front)) + math.sin(math.radians(rear)))
    assume(front * rear >= 0 and abs(front + rear) <= 5)
    assert down_force(pull, front + rear) == pytest.approx(by_parts, rel=1.1e-3, abs=1e-9)


@whatever(st.floats(10, 2000), angles)
def test_down_force_turns_its_sign_with_the_bend(pull, angle):
    assert down_force(pull, -angle) == -down_force(pull, angle)


@whatever(st.lists(angles, min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_the_order_of_readings_changes_no_load(readings, random):
    shuffled = random.sample(readings, len(readings))
    one, other = (
        board_load({"bass": given}, tension_n={"bass": 700}, strings={"bass": 40}) for given in (readings, shuffled)
    )
    assert one.down_force_n == pytest.approx(other.down_force_n, abs=1e-9)
    (section,) = one.sections
    assert section.least_deg <= section.mean_deg + 1e-12
    assert section.mean_deg <= section.greatest_deg + 1e-12


@whatever(st.floats(-10, 10), angles)
def test_turning_the_board_over_turns_the_reading_over(crown, angle):
    over = {"risen": "reversed", "reversed": "risen", "flat": "flat"}
    reading = read_board(crown, angle, crown_within_mm=0.5, angle_within_deg=0.1)
    assert read_board(-crown, angle, crown_within_mm=0.5, angle_within_deg=0.1).shape == over[reading.shape]


@whatever(st.floats(-20, 20), st.floats(200, 1500))
def test_crown_comes_back_from_its_curvature(crown, rib):
    assert crown_of(curvature_of(crown, rib), rib) == pytest.approx(crown, abs=1e-9)


@whatever(st.floats(-0.02, 0.02), st.floats(4, 15), st.floats(4, 40), st.floats(0.05, 20))
def test_panel_and_rib_changing_places_bend_alike(strain, panel, rib, n):
    one = bending_of_ribbed_panel(strain, panel_mm=panel, rib_mm=rib, stiffness_ratio=n)
    other = bending_of_ribbed_panel(strain, panel_mm=rib if rib <= 30 else panel, rib_mm=panel, stiffness_ratio=1 / n)
    assume(rib <= 30)
    assert one == pytest.approx(other, rel=1e-9, abs=1e-15)


@whatever(st.floats(0, 6), climates(), st.floats(1, 60), st.floats(1, 60))
def test_a_drier_season_never_leaves_more_crown(crown, now, one, other):
    board = RibbedBoard(
        crown_mm=crown, rib_length_mm=900, rib_height_mm=22, panel_mm=9, coefficient=0.00148, stiffness_ratio=0.4
    )
    drier, damper = (Climate(humidity=h, temperature_c=now.temperature_c) for h in sorted([one, other]))
    in_drier = crown_over_year(board, now=now, dry=drier, wet=now)
    in_damper = crown_over_year(board, now=now, dry=damper, wet=now)
    assert in_drier.dry_at_least_mm <= in_damper.dry_at_least_mm + 1e-12 <= crown + 2e-12


# --- wood


@whatever(humidities, humidities, rooms)
def test_damper_air_is_wetter_wood(one, other, room):
    assume(abs(one - other) > 1e-6)
    dry, wet = sorted([one, other])
    assert moisture(dry, room) < moisture(wet, room)


@whatever(st.floats(5, 90), rooms, st.floats(0.5, 15))
def test_warmer_air_of_the_same_humidity_is_hardly_wetter_wood(humidity, room, warmer):
    # True of the table from 40 °F up in every column; below, two or three columns stand still.
    assert moisture(humidity, room + warmer) <= moisture(humidity, room) + 0.05


@whatever(humidities, rooms)
def test_humidity_comes_back_from_moisture(humidity, room):
    assert humidity_for(float(moisture(humidity, room)), room) == pytest.approx(humidity, abs=1e-6)


@whatever(st.floats(1, 2000), coefficients, moistures, moistures, moistures)
def test_there_and_back_is_no_movement_and_steps_add_up(size, coefficient, a, b, c):
    assert movement(size, coefficient, a, b) == -movement(size, coefficient, b, a)
    steps = movement(size, coefficient, a, b) + movement(size, coefficient, b, c)
    assert steps == pytest.approx(movement(size, coefficient, a, c), abs=1e-9)


@whatever(st.floats(1, 2000), coefficients, climates(), climates())
def test_a_board_twice_as_wide_moves_twice_as_far(size, coefficient, dry, wet):
    one = board_over_year(size, coefficient, dry=dry, wet=wet)
    two = board_over_year(2 * size, coefficient, dry=dry, wet=wet)
    assert two.movement_mm == pytest.approx(2 * one.movement_mm)


@whatever(st.floats(0, 5), st.floats(10, 500), coefficients, climates(), climates(), climates())
def test_a_crack_lies_between_its_bounds(width, panel, coefficient, now, dry, wet):
    crack = crack_over_year(width, panel, coefficient, now=now, dry=dry, wet=wet)
    assert 0 <= crack.wet_at_least_mm <= width <= crack.dry_at_most_mm


@whatever(st.floats(6, 8), st.floats(50, 300), coefficients, climates(), climates())
def test_pin_and_block_move_in_proportion(pin, block, coefficient, now, dry):
    year = block_over_year(pin, block, coefficient, now=now, dry=dry)
    assert year.fit_dry_mm / pin == pytest.approx(year.size_dry_mm / block)


@whatever(rooms, humidities, humidities, humidities, humidities, st.floats(0, 10))
def test_holding_tighter_never_leaves_more_swing(room, dry, wet, one, other, wider):
    year = [Climate(humidity=h, temperature_c=room) for h in (dry, wet)]
    low, high = sorted([one, other])
    tight = hold_humidity(*year, held_low=low, held_high=high)
    loose = hold_humidity(*year, held_low=max(0, low - wider), held_high=min(95, high + wider))
    assert tight.swing_held <= loose.swing_held + 1e-12 <= loose.swing + 2e-12


# --- pins


@whatever(counts())
def test_every_interval_holds_what_was_found(count):
    bad, tried, in_all = count
    found = loose_in_all(bad, tried, in_all)
    assert bad <= found.low <= found.high <= in_all - tried + bad
    assert found.low <= found.at_most <= found.high


@whatever(counts())
def test_loose_and_tight_are_mirrors(count):
    bad, tried, in_all = count
    loose, tight = loose_in_all(bad, tried, in_all), loose_in_all(tried - bad, tried, in_all)
    assert (loose.low, loose.high) == (in_all - tight.high, in_all - tight.low)


@whatever(counts(), st.floats(0.6, 0.98))
def test_more_confidence_is_never_a_narrower_range(count, confidence):
    bad, tried, in_all = count
    one, other = (loose_in_all(bad, tried, in_all, c) for c in (confidence, confidence + 0.01))
    assert other.low <= one.low <= one.high <= other.high


@whatever(counts())
def test_one_more_loose_pin_never_makes_the_field_look_better(count):
    bad, tried, in_all = count
    assume(bad < tried)
    one, other = loose_in_all(bad, tried, in_all), loose_in_all(bad + 1, tried, in_all)
    assert one.low <= other.low
    assert one.high <= other.high


@whatever(counts())
def test_with_every_pin_tried_nothing_is_left_open(count):
    bad, tried, _ = count
    found = loose_in_all(bad, tried, tried)
    assert found.low == found.high == found.at_most == bad


@whatever(counts(largest=40), st.floats(0.02, 0.9))
def test_trying_more_settles_it_in_the_end(count, limit):
    bad, tried, in_all = count
    assert 0 <= more_pins_to_settle(bad, tried, in_all, limit) <= in_all - tried


@whatever(st.lists(st.integers(1, 12), min_size=2, max_size=5), st.data())
def test_sections_are_compared_whatever_their_order(tried, data):
    names = [f"section {i}" for i in range(len(tried))]
    bad = [data.draw(st.integers(0, n)) for n in tried]
    one = loose_by_section(dict(zip(names, bad, strict=True)), dict(zip(names, tried, strict=True)))
    other = loose_by_section(
        dict(zip(names[::-1], bad[::-1], strict=True)), dict(zip(names[::-1], tried[::-1], strict=True))
    )
    assert {found.section: found for found in one} == {found.section: found for found in other}
    assert all(0 < found.chance <= 1 for found in one)


@whatever(
    st.lists(st.lists(st.integers(20, 140), min_size=2, max_size=8), min_size=2, max_size=4),
    st.sampled_from([0.1129848, 1.0, 8.0]),
)
def test_units_of_torque_change_no_chance(sections, factor):
    given_in = {f"section {i}": readings for i, readings in enumerate(sections)}
    other = {name: [factor * reading for reading in readings] for name, readings in given_in.items()}
    one, two = (torque_by_section(t, rng=np.random.default_rng(7), shuffles=99) for t in (given_in, other))
    assert [found.chance for found in one] == [found.chance for found in two]
    assert [found.here * factor for found in one] == pytest.approx([found.here for found in two])
