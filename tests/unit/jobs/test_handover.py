"""The last check before a piano goes home."""

from __future__ import annotations

import pytest

from valuation.facts.units import IN_LB_NM
from valuation.jobs.handover import Place, check_handover
from valuation.rules import load_tables


def standards(tables, kind: str = "upright"):
    return list(tables.of_kind("handover", kind).values())


def dips(value: float = 10.0, **odd: float) -> dict[Place, float]:
    readings = {Place(key=key): value for key in range(1, 89)}
    return readings | {Place(key=int(key.removeprefix("k"))): number for key, number in odd.items()}


def one(checked, name: str):
    return next(c for c in checked if c.standard.id == name)


def test_every_miss_is_listed_by_note_with_how_far_it_is_off(small_tables):
    checked = check_handover(standards(small_tables), {"key_dip": dips(k40=9.1, k41=11.5)}, done=())
    dip = one(checked, "key_dip")
    assert [(m.place.note, m.way, m.value) for m in dip.misses] == [
        ("C4", "below", 9.1),
        ("C4", "uneven", 9.1),
        ("C#4", "above", 11.5),
        ("C#4", "uneven", 11.5),
    ]
    assert dip.misses[0].by == pytest.approx(0.4)
    assert (dip.misses[1].limit, dip.misses[1].by) == (10, pytest.approx(0.6))
    assert dip.result == "missed"


def test_a_limit_itself_is_within(small_tables):
    assert one(check_handover(standards(small_tables), {"key_dip": dips(9.5)}, done=()), "key_dip").result == "within"


def test_an_even_taper_along_the_keyboard_is_no_miss(small_tables):
    lift = {Place(key=key): 5 + 0.05 * key for key in range(1, 67)}
    assert one(check_handover(standards(small_tables), {"damper_lift": lift}, done=()), "damper_lift").misses == ()


def test_what_nobody_measured_is_listed_and_never_within(small_tables):
    few = {place: value for place, value in dips().items() if place.key not in (3, 88)}
    dip = one(check_handover(standards(small_tables), {"key_dip": few}, done=()), "key_dip")
    assert ([p.note for p in dip.not_measured], dip.result) == (["B0", "C8"], "not_in_full")
    nothing = one(check_handover(standards(small_tables), {}, done=()), "key_dip")
    assert (nothing.measured, len(nothing.not_measured), nothing.result) == (0, 88, "not_in_full")


def test_a_key_without_a_damper_need_not_be_measured(small_tables):
    lift = {Place(key=key): 5.0 for key in range(1, 61)}
    args = {"done": (), "absent": {"damper_lift": range(61, 67)}}
    assert one(check_handover(standards(small_tables), {"damper_lift": lift}, **args), "damper_lift").result == "within"


def test_a_piano_of_85_keys_is_not_asked_for_88(small_tables):
    readings = {place: value for place, value in dips().items() if place.key <= 85}
    absent = {"key_dip": (86, 87, 88)}
    checked = check_handover(standards(small_tables), {"key_dip": readings}, done=(), absent=absent)
    assert one(checked, "key_dip").result == "within"


def test_the_torque_of_new_pins_is_asked_for_only_after_new_pins(small_tables):
    rows = standards(small_tables)
    assert "pin_torque" not in [c.standard.id for c in check_handover(rows, {}, done=("tune",))]
    assert "pin_torque" in [c.standard.id for c in check_handover(rows, {}, done=("new_block", "tune"))]


def test_one_pin_of_a_key_is_enough(small_tables):
    torque = {Place(key=1, string=1): 12.0, Place(key=2, string=1): 12.0}
    args = {"done": ("new_block",), "absent": {"pin_torque": range(3, 89)}}
    assert one(check_handover(standards(small_tables), {"pin_torque": torque}, **args), "pin_torque").result == "within"


def test_before_and_after_stand_side_by_side(small_tables):
    before = {"key_dip": {Place(key=2): 8.5, Place(key=1): 9.0}}
    after = {"key_dip": {Place(key=2): 10.0, Place(key=3): 10.1}}
    dip = one(check_handover(standards(small_tables), after, before=before, done=()), "key_dip")
    assert [(b.place.key, b.before, b.after) for b in dip.beside] == [(1, 9.0, None), (2, 8.5, 10.0), (3, None, 10.1)]


def test_what_was_measured_before_never_counts_as_measured_now(small_tables):
    dip = one(check_handover(standards(small_tables), {}, before={"key_dip": dips()}, done=()), "key_dip")
    assert dip.result == "not_in_full"


@pytest.mark.parametrize("in_lb", [100, 120])
def test_100_and_120_inch_pounds_are_both_within_the_packaged_standard(in_lb):
    rows = standards(load_tables())
    torque = {Place(key=key, string=1): in_lb * IN_LB_NM for key in range(1, 89)}
    assert one(check_handover(rows, {"pin_torque": torque}, done=("new_block",)), "pin_torque").result == "within"


@pytest.mark.parametrize(
    ("after", "message"),
    [
        ({"key_dipp": {}}, "'key_dipp' is not a standard for this kind of piano"),
        ({"key_dip": {Place(key=40): float("nan")}}, "key_dip at C4: nan is not a reading"),
        ({"key_dip": {Place(key=40, string=2): 10.0}}, "key_dip at C4: it is taken once for each note"),
        ({"pin_torque": {Place(key=40): 10.0}}, "pin_torque at C4: it is taken once for each pin; say which string"),
    ],
)
def test_readings_that_can_not_be_are_told_with_their_place(small_tables, after, message):
    with pytest.raises(ValueError, match=message):
        check_handover(standards(small_tables), after, done=("new_block",))


@pytest.mark.parametrize("place", [{"key": 0}, {"key": 89}, {"key": 4, "string": 5}])
def test_a_place_that_is_not_on_the_piano_is_refused(place):
    with pytest.raises(ValueError, match="keys are 1 to 88"):
        Place(**place)
