"""One paper: its number, its time, and what is wrong with one that was made up."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from valuation.record import Paper, why_not_paper

PAPER = Paper(
    id="a" * 32, visit="7c1e04" + "0" * 26, number=3, what="evaluation", language="en", size="a4", units="metric",
    made_at=datetime(2026, 12, 1, 10, tzinfo=UTC), made_by="Anna", made_with="0.1.0", written_on=date(2026, 12, 1),
    priced_on=date(2026, 11, 1), seed=0, draws=8192, tables_hash="b" * 64, visit_text="{}", given={}, figures={},
    appraisal_hash="c" * 64, photos=["d" * 64], pdf_hash="e" * 64,
)  # fmt: skip


def test_a_sound_paper_has_nothing_wrong_with_it_and_bears_its_number():
    assert why_not_paper(PAPER) == ""
    assert PAPER.printed_number == "7c1e04-3"
    assert PAPER.photos == ("d" * 64,)


def test_its_time_is_kept_in_utc_whatever_zone_it_was_made_in():
    noon = datetime(2026, 12, 1, 12, tzinfo=timezone(timedelta(hours=2)))
    assert replace(PAPER, made_at=noon).made_at == PAPER.made_at
    assert str(replace(PAPER, made_at=noon).made_at.tzinfo) == "UTC"
    with pytest.raises(ValueError, match="must know its zone"):
        replace(PAPER, made_at=datetime(2026, 12, 1))  # noqa: DTZ001  (that it has none is the point)


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"id": "A" * 32}, "an id is not"),
        ({"visit": "../" + "a" * 29}, "an id is not"),
        ({"tables_hash": "b" * 63}, "a hash is not"),
        ({"sales_hash": "x"}, "a hash is not"),
        ({"photos": ("x",)}, "a hash is not"),
        ({"what": ""}, "not a plain word"),
        ({"option": "a b"}, "not a plain word"),
        ({"number": 0}, "not a number of a paper"),
        ({"seed": -1}, "whole numbers from 0"),
        ({"draws": 2**63}, "whole numbers from 0"),
        ({"made_by": "a\nb"}, "line break"),
        ({"made_with": "x" * 201}, "more than 200 letters"),
    ],
)
def test_what_no_store_would_hold_is_told(wrong, told):
    assert told in why_not_paper(replace(PAPER, **wrong))
