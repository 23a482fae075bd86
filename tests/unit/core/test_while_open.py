"""What a further treatment adds to a plan, against the whole appraisal made anew with that part pinned."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from valuation.core.while_open import while_it_is_open
from valuation.engine.appraise import appraise
from valuation.engine.study import Study
from valuation.rules import load_tables
from valuation.files.visit_file import read_visit

TABLES = load_tables()
GRAND = Path(__file__).parents[3] / "data_demo" / "visits" / "1_fine_old_grand.toml"


@pytest.fixture(scope="module")
def study() -> Study:
    visit = read_visit(GRAND, TABLES, today=date(2026, 12, 31))
    return Study(visit, TABLES, on=visit.on, draws=1024)


def test_a_new_soundboard_adds_less_while_the_plate_is_out_than_alone(study):
    found = {further.operation: further for further in while_it_is_open(study, study.decide(), "rebuild")}
    board = found["new_soundboard"]
    shared = ("plate_out", "strings_off", "restring", "chip_and_tune", "to_workshop")
    lines = {line.operation: line for line in appraise(study.visit, TABLES, on=study.on).option("rebuild").lines}
    saved = sum(lines[operation].amount for operation in shared) * (1 + TABLES.settings.tax)
    assert 0 < board.adds < board.alone - saved + 1


def test_what_it_adds_is_the_price_of_the_plan_that_holds_it(study):
    decision = study.decide()
    plan = decision.actions["rebuild"].plan
    for further in while_it_is_open(study, decision, "rebuild"):
        choice = next(
            c
            for c, made in enumerate(study.shop.choices)
            if made.operation >= 0 and study.shop.operations[made.operation].id == further.operation
        )
        changed = study.shop.with_choices(plan[None], np.array([choice]), study.rules.forced)[0]
        price = decision.ways.price.of(decision.expected.means(changed))[0]
        assert further.adds == pytest.approx(price - decision.prices["rebuild"])


def test_nothing_better_than_the_plan_is_left_over(study):
    for option in ("rebuild", "partial_repair"):
        for further in while_it_is_open(study, study.decide(), option):
            if option == "rebuild":
                assert further.net <= 1e-6, further.operation
