"""A version of a way as the client wants it holds for any piano and any choices; `tests.endurance` tries 300."""

from __future__ import annotations

import numpy as np
import pytest
from demo_pianos import study_of
from their_versions import check_papers, check_versions, random_case

from valuation.engine.study import decide_at
from valuation.report.wishes import Wishes, with_wish
from valuation.rules import load_tables

TABLES = load_tables()


@pytest.mark.parametrize("seed", range(12))
def test_any_version_adds_up_names_its_faults_and_holds_the_wishes(seed):
    case = random_case(TABLES, np.random.default_rng(seed))
    assert check_versions(*case)
    check_papers(*case)


def test_the_paper_of_a_version_says_what_the_page_says():
    study = study_of("6_heirloom")
    wishes = with_wish(Wishes(finish="finish_new"), "left_original", ["dampers"])
    assert check_papers(study, decide_at(study), wishes) == 3


def test_what_bars_a_lesser_remedy_leaves_the_greater_one_its_fault():
    study = study_of("2_parlour_upright")
    wishes = with_wish(Wishes(), "left_original", ["hammers"])
    check_versions(study, decide_at(study), wishes)
