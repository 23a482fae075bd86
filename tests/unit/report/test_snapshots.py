"""The papers of the demo pianos as text: content, not layout. Read as a client and as a technician.

To take over what has changed on purpose: ``UPDATE_SNAPSHOTS=1 python -m pytest tests/unit/report/test_snapshots.py``.
"""

from __future__ import annotations

import os
from datetime import timedelta
from pathlib import Path

import pytest
from demo_pianos import NAMES, content_of, study_of

from valuation.language import LANGUAGES, speaking
from valuation.report.document import Document, as_text

KEPT = Path(__file__).parents[2] / "snapshots"
TOLD = [
    *((name, what) for name in (NAMES[0], NAMES[1], NAMES[5]) for what in ("summary", "quotation", "letter")),
    (NAMES[5], "evaluation"),
]
"""What is kept in every language: one that is rebuilt, one that goes, one that is loved."""


def held(kept: Path, name: str, paper: Document) -> None:
    hash_ = study_of(name).tables.hash
    text = as_text(paper).replace(hash_[:16], "(hash)").replace(hash_[:8], "(hash)")
    if os.environ.get("UPDATE_SNAPSHOTS"):
        kept.parent.mkdir(exist_ok=True)
        kept.write_text(text, encoding="utf-8")
    assert kept.read_text(encoding="utf-8") == text


@pytest.mark.parametrize("name", NAMES)
def test_the_evaluation_says_what_it_said(name: str) -> None:
    held(KEPT / "evaluations" / f"{name}.txt", name, content_of(name))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(("name", "what"), TOLD)
def test_each_paper_says_what_it_said_in_each_language(name: str, what: str, language: str) -> None:
    with speaking(language):
        paper = content_of(name, what, written_on=study_of(name).visit.on + timedelta(days=5))
    held(KEPT / "papers" / f"{name}_{what}_{language}.txt", name, paper)


def test_there_is_no_snapshot_of_a_paper_that_is_gone() -> None:
    assert {path.stem for path in (KEPT / "evaluations").glob("*.txt")} == set(NAMES)
    told = {f"{name}_{what}_{language}" for name, what in TOLD for language in LANGUAGES}
    assert {path.stem for path in (KEPT / "papers").glob("*.txt")} == told
