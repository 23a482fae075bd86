"""A version of a way as the client wants it holds for any piano and any choices; `tests.endurance` tries 300."""

from __future__ import annotations

import numpy as np
import pytest
from their_versions import check_versions, random_case

from valuation.rules import load_tables

TABLES = load_tables()


@pytest.mark.parametrize("seed", range(12))
def test_any_version_adds_up_names_its_faults_and_holds_the_wishes(seed):
    assert check_versions(*random_case(TABLES, np.random.default_rng(seed)))
