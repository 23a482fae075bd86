"""The summary, the quotation and the letter."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from demo_pianos import NAMES, WRITTEN_ON, appraisal_of, content_of, demo_shop, grids, study_of

from valuation.engine.study import Study
from valuation.report.document import Signatures, as_text
from valuation.report.words import verdict_sentence
from valuation.service.papers import occasion_of, paper_content


@pytest.mark.parametrize("name", NAMES)
def test_the_summary_holds_the_verdict_what_is_not_known_and_two_signatures(name: str) -> None:
    document = content_of(name, "summary")
    text = as_text(document)
    assert verdict_sentence(appraisal_of(name)) in text
    unseen = [part.name for part in appraisal_of(name).parts if part.component and not part.looked_at]
    assert ("Nobody has looked at: " in text) == bool(unseen)
    assert "These figures hold until " in text
    assert "They order nothing." in text
    signed = [b for section in document.sections for b in section.blocks if isinstance(b, Signatures)]
    assert [len(block.places) for block in signed] == [2]


@pytest.mark.parametrize("name", NAMES)
def test_a_quotation_adds_up_column_by_column_and_line_by_line(name: str) -> None:
    for option in appraisal_of(name).options:
        if not option.lines:
            continue
        document = content_of(name, "quotation", option.option)
        grid = grids(document)["Lines of the quotation, in EUR"]
        rows = {row[0].split("\n")[0]: row for row in grid.rows}
        lines = grid.rows[: grid.strong[0]]
        for column in range(2, 6):
            assert sum(_figure(row[column]) for row in lines) == _figure(rows["All lines"][column])
        for row in lines:
            assert sum(map(_figure, row[2:5])) == _figure(row[5])
        held = _figure(grid.rows[grid.strong[0] + 1][5]) if "Held" in grid.rows[grid.strong[0] + 1][0] else 0
        before = _figure(rows["Before tax"][5])
        assert _figure(rows["All lines"][5]) + held == before
        total = before + _figure(rows["Tax, 19%"][5])
        assert total == _figure(rows["In all"][5])
        assert f"{total:,} EUR in all, tax included" in as_text(document)


def _figure(text: str) -> int:
    return int(text.replace(",", ""))


def test_a_quotation_is_for_the_verdict_where_it_has_work_and_else_for_the_best_that_has() -> None:
    assert "The work: Rebuild it" in as_text(content_of("1_fine_old_grand", "quotation"))
    assert "The work: Keep it as it is" in as_text(content_of("2_parlour_upright", "quotation"))


def test_a_quotation_has_a_last_day_and_a_line_to_accept_it() -> None:
    text = as_text(content_of("6_heirloom", "quotation", written_on=date(2026, 4, 1)))
    assert "This quotation holds until 26 May 2026." in text
    assert "Holds until: 26 May 2026" in text
    assert "Accepted: Repair part of it" in text
    assert "A third is paid when the work is ordered" in text


def test_what_may_turn_up_is_named_and_priced_before_it_is_accepted() -> None:
    text = as_text(content_of("6_heirloom", "quotation"))
    assert "Action | Worse than it looks. | in 33 of 100 cases, then about 6,550 EUR more" in text
    assert "nothing of it is begun without your word in writing" in text
    assert text.index("Action | Worse than it looks.") < text.index("Accepted:")


def test_a_quotation_written_after_its_last_day_says_so() -> None:
    text = as_text(content_of("6_heirloom", "quotation", written_on=date(2026, 6, 10)))
    assert "Its figures held until 26 May 2026: they must be reckoned anew before anybody signs." in text


def test_there_is_no_quotation_for_what_has_no_work() -> None:
    with pytest.raises(ValueError, match="no work to quote for 'retire'; write one of"):
        content_of("2_parlour_upright", "quotation", "retire")


def test_the_letter_says_kindly_what_can_be_kept_and_where_it_can_go() -> None:
    text = as_text(content_of("2_parlour_upright", "letter"))
    for said in (
        "Dear Familie Lindner,",
        "work on it does not pay. We live by such work, and still advise against it.",
        "Failed: bass bridge and pinblock.",
        "A photo of it in its place",
        "That costs about 260 EUR.",
        "ask the authority where you live",
        "An upright tips backward easily and weighs up to 450 kg.",
        "Please do not take it apart",
        "To keep it for love is a good reason.",
        "For tax, insurance or court you need a licensed appraiser.",
        "Good years: 12 to 27.",
    ):
        assert said in text


def test_the_letter_advises_to_part_only_where_that_is_the_verdict() -> None:
    for name in NAMES:
        text = as_text(content_of(name, "letter"))
        assert ("does not pay" in text) == (appraisal_of(name).verdict == "retire")


def test_the_letter_names_the_law_where_the_piano_has_ivory() -> None:
    text = as_text(content_of("1_fine_old_grand", "letter"))
    assert "Ivory Act 2018" in text
    assert "50 CFR 17.40(e)" in text
    assert "Ivory Act" not in as_text(content_of("2_parlour_upright", "letter"))


def test_a_letter_to_nobody_by_name_still_greets() -> None:
    study = study_of("2_parlour_upright")
    occasion = occasion_of(study, written_on=WRITTEN_ON, shop=demo_shop())
    nameless = Study(replace(study.visit, client=replace(study.visit.client, name="")), study.tables, on=study.on)
    text = as_text(paper_content("letter", nameless, appraisal_of("2_parlour_upright"), occasion))
    assert "Good day," in text
