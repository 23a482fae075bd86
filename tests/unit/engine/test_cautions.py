"""Which cautions are told, and in which order: of one fault the gravest, and first what forbids any tuning."""

from __future__ import annotations

import pytest
from random_visits import ON

from valuation.engine.appraise import appraise
from valuation.facts.visit import Finding, Piano, Visit
from valuation.rules import load_tables


@pytest.fixture(scope="module")
def told():
    tables = load_tables()
    crack = Finding(check="plate_crack", grade="severe")
    loose = Finding(check="bass_bridge_split", grade="severe")
    visit = Visit(title="both", on=ON, piano=Piano(kind="upright", year=1930), findings=(loose, crack))
    return appraise(visit, tables, on=ON, draws=1024, turns=False).cautions


def test_of_one_fault_only_the_gravest_caution_speaks(told):
    assert [caution.caution for caution in told if caution.fault == "plate_crack"] == ["plate_cracked"]


def test_what_forbids_any_tuning_stands_before_what_only_forbids_raising_it(told):
    stops = [caution.fault for caution in told if caution.rank == "stop"]
    assert stops.index("plate_crack") < stops.index("bass_cap_split")


def test_stops_stand_before_warnings_and_those_before_notes(told):
    ranks = [("stop", "warn", "note").index(caution.rank) for caution in told]
    assert ranks == sorted(ranks)
    assert set(ranks) == {0, 1, 2}
