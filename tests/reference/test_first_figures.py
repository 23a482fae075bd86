"""The figures that a new shop is asked for first, against reckoning their effect by force on 200 pianos."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from figure_sensitivity import BY_FORCE_SEED, of_one, usual_pianos
from scipy.stats import spearmanr

from valuation.service import load_shop

KEPT = Path(__file__).with_name("figures_by_force.csv")


def by_force() -> dict[tuple[str, str], dict[str, float]]:
    """Return what `python -m tests.figure_sensitivity --by-force 200` wrote."""
    with KEPT.open(encoding="utf-8", newline="") as file:
        return {
            (row["kind"], row["of"]): {name: float(row[name]) for name in ("moves", "turns", "first")}
            for row in csv.DictReader(file)
        }


def test_the_ranking_is_that_of_finding_all_plans_anew_on_200_pianos():
    ranked = {(row.kind, row.of): row.moves for row in load_shop().figures}
    forced = by_force()
    assert len(forced) >= 10
    assert forced.keys() <= ranked.keys()
    assert spearmanr([ranked[of] for of in forced], [row["moves"] for row in forced.values()]).statistic >= 0.9


@pytest.mark.parametrize("place", [0, 3])
def test_what_was_reckoned_by_force_comes_out_again(place):
    tables = load_shop()
    figure, kept = list(by_force().items())[place]
    [visit] = usual_pianos(tables, 1, BY_FORCE_SEED)
    [moved] = of_one(tables, visit, [figure], both=True)
    assert moved.lead == pytest.approx(kept["first"], rel=1e-3, abs=0.05)
