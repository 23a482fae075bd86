"""The eight demo visits, each read aloud to a master of the trade (from memory): what he signs of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import appraise
from valuation.files.visit_file import read_visit
from valuation.rules import load_tables

VISITS = Path(__file__).parents[2] / "data_demo" / "visits"
TODAY = date(2026, 11, 30)


@dataclass(frozen=True)
class Signed:
    """The verdict, the hours of its fixed lines, what must and what may not be among them, what is forbidden today."""

    verdict: str
    hours: tuple[float, float] = (0, 400)
    works: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    ready: bool = True


SIGNED = {
    # Nine pins in a row, plies open: a new block; then strings, hammers and dampers are due as well.
    "1_fine_old_grand": Signed(
        "rebuild",
        (150, 250),
        ("new_block", "restring", "new_hammers", "regulate"),
        ("new_soundboard",),
        ("tune", "raise"),
    ),
    # Split block, split bridge, from a cellar: nobody pays 15,000 for what fetches 1,900 in perfect order.
    "2_parlour_upright": Signed("retire", stops=("tune", "raise")),
    # The bass bridge wants a new cap; 4.5 mm of felt under 2.4 mm of groove can't be filed, and new hammers can wait.
    "3_school_upright": Signed(
        "partial_repair", (15, 70), ("recap_bass_bridge",), ("restring", "to_workshop", "hammers_reshaped"), ("raise",)
    ),
    # A cracked frame ends an upright.
    "4_cracked_plate": Signed("retire", stops=("tune", "raise", "move")),
    # Ten minutes with the lid closed are no evaluation.
    "5_hardly_looked_at": Signed("rebuild", ready=False),
    # It stays grandmother's piano: hammers, dampers, straps and bass strings put in order at home and on the bench.
    "6_heirloom": Signed(
        "partial_repair", (50, 80), ("new_hammers", "damper_felts", "bridle_straps_renewed"), ("restring", "refinish")
    ),
    # No piano must be rebuilt because it is sixty.
    "7_well_kept_upright": Signed("keep", (1.5, 3), ("tune",), ("regulate",)),
    # Rust and slack pins under sound wood: strings, pins, hammers and centres, the board left alone.
    "8_concert_society_grand": Signed(
        "rebuild", (90, 160), ("restring", "block_oversize_pins", "new_hammers"), ("new_soundboard", "new_block")
    ),
}


@pytest.fixture(scope="module")
def appraised() -> dict[str, Appraisal]:
    tables = load_tables()
    visits = {name: read_visit(VISITS / f"{name}.toml", tables, today=TODAY) for name in SIGNED}
    return {name: appraise(visit, tables, on=visit.on, draws=1024, turns=False) for name, visit in visits.items()}


def test_every_demo_visit_was_read():
    assert set(SIGNED) == {path.stem for path in VISITS.glob("*.toml")}


@pytest.mark.parametrize("name", SIGNED)
def test_a_master_signs_the_demo(name, appraised):
    signed, found = SIGNED[name], appraised[name]
    lines = found.best.lines
    assert (found.verdict, found.ready) == (signed.verdict, signed.ready)
    assert set(found.stops) == set(signed.stops)
    assert signed.hours[0] <= sum(line.hours for line in lines) <= signed.hours[1]
    operations = {line.operation for line in lines}
    assert set(signed.works) <= operations
    assert not operations & set(signed.never)


@pytest.mark.parametrize("name", SIGNED)
def test_what_is_hardly_likely_frightens_nobody_off(name, appraised):
    """Under one in ten an if-found line costs less than the work itself, or than the piano in perfect order."""
    found = appraised[name]
    at_stake = max(found.value_sound, found.best.fixed_price)
    if found.verdict != "retire":
        for line in found.best.allowances:
            assert line.chance >= 0.1 or line.if_needed < at_stake, line.operation


def test_nothing_is_rebuilt_where_nothing_is_worn(appraised):
    found = appraised["7_well_kept_upright"]
    assert "rebuild" not in {option.option for option in found.options}
    assert [scope.why_not for scope in found.scopes if scope.verdict == "rebuild"] == ["nothing_worn"]
