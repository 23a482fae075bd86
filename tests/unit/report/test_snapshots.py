"""The evaluations of the demo pianos as text: content, not layout. Read as a client and as a technician.

To take over what has changed on purpose: ``UPDATE_SNAPSHOTS=1 python -m pytest tests/unit/report/test_snapshots.py``.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from demo_pianos import NAMES, content_of, study_of

from valuation.report.document import as_text

KEPT = Path(__file__).parents[2] / "snapshots" / "evaluations"


@pytest.mark.parametrize("name", NAMES)
def test_the_evaluation_says_what_it_said(name: str) -> None:
    hash_ = study_of(name).tables.hash
    text = as_text(content_of(name)).replace(hash_[:16], "(hash)").replace(hash_[:8], "(hash)")
    kept = KEPT / f"{name}.txt"
    if os.environ.get("UPDATE_SNAPSHOTS"):
        kept.write_text(text, encoding="utf-8")
    assert kept.read_text(encoding="utf-8") == text


def test_there_is_no_snapshot_of_a_piano_that_is_gone() -> None:
    assert {path.stem for path in KEPT.glob("*.txt")} == set(NAMES)
