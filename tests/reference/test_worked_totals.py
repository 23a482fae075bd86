"""Hours of whole jobs against totals worked by hand from the same figures, every shared step counted once.

The totals are the shop's own estimate, printed as whole hours with a half cut off; hence at most half an hour more.
The closure below is written apart from the one in the core, on purpose.
"""

from __future__ import annotations

import pytest

from valuation.core.work import workshop_for
from valuation.engine.rows import OperationRow, Tables
from valuation.rules import load_tables

UPRIGHT = {
    "restring", "block_oversize_pins", "action_rebuilt", "new_hammers", "damper_felts", "keys_rebushed",
    "pedals_quieted",
}  # fmt: skip
UPRIGHT_BLOCK = UPRIGHT - {"block_oversize_pins"} | {"new_block"}
GRAND = {
    "new_block", "board_shimmed", "restring", "damper_felts", "new_hammers", "action_rebuilt", "keys_renewed",
    "pedals_quieted",
}  # fmt: skip
GRAND_BOARD = GRAND - {"board_shimmed"} | {"new_soundboard"}
KEEP_PLAYABLE = {"block_thin_glue", "hammers_reshaped", "straps_and_springs", "pedals_quieted"}

JOBS = [
    ("upright", UPRIGHT, 138),
    ("upright", UPRIGHT_BLOCK, 202),
    ("upright", UPRIGHT_BLOCK | {"refinish"}, 267),
    ("grand", GRAND, 208),
    ("grand", GRAND_BOARD, 328),
    ("grand", GRAND_BOARD | {"refinish"}, 428),
    ("upright", KEEP_PLAYABLE, 18),
]
ACCESS_ONCE = {"case_stripped", "clean_out", "strings_off", "to_workshop"}


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


def job(rows: dict[str, OperationRow], chosen: set[str]) -> list[str]:
    """Return the operations of a job: what is chosen and all it brings, each once, less what others cover."""
    brought: list[str] = []
    waiting = sorted(chosen)
    while waiting:
        name = waiting.pop()
        if name not in brought:
            brought.append(name)
            waiting += [*rows[name].needs, *rows[name].followed_by]
    needless = {other for name in brought for other in rows[name].covers}
    return [name for name in brought if name not in needless]


def hours(rows: dict[str, OperationRow], names: list[str]) -> float:
    return sum(rows[name].hours_likely for name in names)


@pytest.mark.parametrize(("kind", "chosen", "worked"), JOBS)
def test_a_whole_job_takes_the_hours_worked_by_hand(tables, kind, chosen, worked):
    rows = tables.of_kind("operations", kind)
    assert worked <= hours(rows, job(rows, chosen)) <= worked + 0.5


@pytest.mark.parametrize(("kind", "chosen", "worked"), JOBS)
def test_the_core_comes_to_the_same_operations(tables, kind, chosen, worked):
    parts = tuple(part for part in tables.parts if part.present == "always")
    shop = workshop_for(tables, kind, parts)
    together = shop.together(shop.index[name] for name in chosen)
    names = {row.id for row, brought in zip(shop.operations, together, strict=True) if brought}
    assert names == set(job(tables.of_kind("operations", kind), chosen))


@pytest.mark.parametrize(("kind", "chosen", "worked"), JOBS)
def test_adding_up_each_operation_by_itself_counts_shared_steps_again(tables, kind, chosen, worked):
    rows = tables.of_kind("operations", kind)
    one_by_one = sum(hours(rows, job(rows, {name})) for name in chosen)
    assert one_by_one > worked + 1


@pytest.mark.parametrize(("kind", "chosen", "worked"), JOBS[:-1])
def test_the_steps_of_access_stand_once_in_a_rebuild(tables, kind, chosen, worked):
    rows = tables.of_kind("operations", kind)
    names = job(rows, chosen)
    asked_for = [name for name in names for need in rows[name].needs if need == "strings_off"]
    assert len(asked_for) >= 2
    assert set(names) >= ACCESS_ONCE
    assert all(names.count(name) == 1 for name in names)
    assert not {"action_out", "keys_out", "tension_down", "action_to_workshop"} & set(names)


def test_two_jobs_that_share_the_way_in_cost_less_together(tables):
    rows = tables.of_kind("operations", "grand")
    block, board = (hours(rows, job(rows, {name})) for name in ("new_block", "board_shimmed"))
    both = hours(rows, job(rows, {"new_block", "board_shimmed"}))
    # The block alone; then only the cracks and the varnish more.
    assert both == pytest.approx(block + rows["board_shimmed"].hours_likely + rows["board_refinish"].hours_likely)
    assert both < block + board - 40


def test_moving_takes_no_hours_of_the_shop_but_bought_in_carriage(tables):
    for kind in ("upright", "grand"):
        move = tables.of_kind("operations", kind)["to_workshop"]
        assert (move.hours_low, move.hours_likely, move.hours_high) == (0, 0, 0)
        assert 0 < move.outside_low < move.outside_likely < move.outside_high
