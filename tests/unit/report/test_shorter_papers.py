"""The sheet, the quotation and the letter."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from demo_pianos import (
    EVALUATED,
    NOT_YET,
    WRITTEN_ON,
    appraisal_of,
    content_of,
    demo_shop,
    grids,
    occasion_for,
    study_of,
)

from valuation.engine.study import study_of as made_ready
from valuation.facts.words import WAYS
from valuation.report.client_words import of_100, way_name
from valuation.report.document import Drawing, Signatures, WayPicture, as_text
from valuation.report.talk.how_it_is import SHOWN
from valuation.report.wishes import Wishes
from valuation.service.papers import occasion_of, paper_content


@pytest.mark.parametrize("name", EVALUATED)
def test_the_sheet_holds_the_numbered_findings_every_way_and_nothing_to_sign(name: str) -> None:
    document, leaf = content_of(name, "summary"), occasion_for(name).leaf
    blocks = [block for section in document.sections for block in section.blocks]
    found = next(block for block in blocks if isinstance(block, Drawing))
    assert [item[0] for item in found.items] == list(range(1, len(found.items) + 1))
    assert [item[1].partition(". ")[2] for item in found.items] == [seen.text for seen in leaf.how.seen[:SHOWN]]
    assert all(f">{seen.number}</text>" in found.svg for seen in leaf.how.seen[:SHOWN] if seen.part != "whole")
    picture = next(block for block in blocks if isinstance(block, WayPicture))
    assert {way.name for way in picture.ways} | set(leaf.closed) == {way_name(way) for way in WAYS}
    text = as_text(document)
    assert "These figures hold until " in as_text(content_of(name, "summary", written_on=study_of(name).visit.on))
    assert ("These figures held until " in text) == (occasion_for(name).told.holds_until < WRITTEN_ON)
    assert "Nothing is ordered by this sheet." in text
    assert "no certified value" in text
    assert not [block for block in blocks if isinstance(block, Signatures)]
    assert len(leaf.words) <= 10


def test_the_sheet_advises_only_if_asked() -> None:
    quiet, asked = (content_of("6_heirloom", "summary", advice=advice) for advice in (False, True))
    assert "What we would do" not in as_text(quiet)
    assert "## What we would do" in as_text(asked)


def test_their_version_stands_on_the_sheet_with_the_price_of_the_quotation() -> None:
    wishes = Wishes(leaning="partial_repair", finish="finish_new", left_original=("dampers",))
    text = as_text(content_of("6_heirloom", "summary", wishes=wishes))
    quoted = grids(content_of("6_heirloom", "quotation", "partial_repair", wishes=wishes))
    total = quoted["Lines of the quotation, in EUR"].rows[-1][1]
    assert f"The price to sign is {total} EUR." in text
    assert "The finish of the case: new." in text
    assert "At your wish this stays as it is: dampers." in text
    assert "Your version" not in as_text(content_of("6_heirloom", "summary"))


@pytest.mark.parametrize("name", EVALUATED)
def test_a_quotation_adds_up_and_its_tax_is_exact(name: str) -> None:
    rate = Decimal(str(study_of(name).prices.tax.labour))
    for option in appraisal_of(name).options:
        if not option.lines:
            continue
        document = content_of(name, "quotation", option.option, written_on=study_of(name).visit.on)
        grid = grids(document)["Lines of the quotation, in EUR"]
        lines, (before, tax, total) = grid.rows[: -grid.held], grid.rows[-grid.held :]
        assert sum(_figure(row[1]) for row in lines) == _figure(before[1])
        assert _figure(tax[1]) == (_figure(before[1]) * rate).quantize(Decimal("0.01"))
        assert _figure(before[1]) + _figure(tax[1]) == _figure(total[1])
        assert f"In all: {total[1]} EUR, with tax." in as_text(document)


def _figure(text: str) -> Decimal:
    return Decimal(text.replace(",", ""))


@pytest.mark.parametrize("name", EVALUATED)
def test_every_line_says_what_it_is_for_in_plain_words(name: str) -> None:
    plain = {row.plain for row in study_of(name).tables.faults}
    others = {
        "So that what we may find can be put right.",
        "This comes with every job.",
        "This comes with the other work.",
        "Needed for the other work.",
        "You chose this.",
    }
    for option in appraisal_of(name).options:
        if option.lines:
            grid = grids(content_of(name, "quotation", option.option))["Lines of the quotation, in EUR"]
            for row in grid.rows[: -grid.held]:
                answers = row[0].split("\n")[2]
                assert answers in others or any(answers.startswith(sentence) for sentence in plain), answers


@pytest.mark.parametrize("name", EVALUATED)
def test_what_may_be_found_has_its_count_its_price_and_its_own_answer_and_the_most_is_told(name: str) -> None:
    for option in appraisal_of(name).options:
        if not option.allowances:
            continue
        document = content_of(name, "quotation", option.option, written_on=study_of(name).visit.on)
        grid = grids(document)["Done only if it is found; prices in EUR, with tax"]
        rest = grids(document).get("Small or unlikely, done only if it is found; prices in EUR, with tax")
        lines = [*(row for row in grid.rows[:-1] if row[2]), *(rest.rows if rest else ())]
        assert len(lines) == len(option.allowances)
        assert all(row[4] == "□ yes  □ no" for row in grid.rows[:-1]), "what is small may have one answer together"
        for row, allowance in zip(lines, option.allowances, strict=True):
            assert row[1].split("\n")[0].endswith(".")
            assert int(row[2]) == of_100(allowance.chance)
            assert abs(float(_figure(row[3])) - allowance.if_needed) <= 1.8  # half a unit of three amounts, a cent
            assert row[4] == "□ yes  □ no"
        assert grid.style == "answers"
        most = _figure(grid.rows[-1][3])
        large: dict[str, Decimal] = {}
        small = Decimal(0)
        for row, allowance in zip(lines, option.allowances, strict=True):
            if allowance.large:
                large[allowance.part] = max(large.get(allowance.part, Decimal(0)), _figure(row[3]))
            else:
                small += _figure(row[3])
        assert most == small + sum(large.values())
        total = _figure(grids(document)["Lines of the quotation, in EUR"].rows[-1][1])
        assert f"The most that it can come to: {total + most:,.2f} EUR" in as_text(document)


def test_a_quotation_is_for_the_verdict_where_it_has_work_and_else_for_the_best_that_has() -> None:
    assert "The work: Rebuild it" in as_text(content_of("1_fine_old_grand", "quotation"))
    assert "The work: Keep it as it is" in as_text(content_of("2_parlour_upright", "quotation"))


def test_a_quotation_has_a_last_day_its_terms_and_places_to_accept_it() -> None:
    document = content_of("6_heirloom", "quotation", written_on=date(2026, 4, 1))
    text = as_text(document)
    for said in (
        "Holds until: 26 May 2026. Until then we are bound by it.",
        "How long: About 65 hours of work.",
        "Carrying: The piano stays with you.",
        "Tunings: Tuning it after the work is in the price.",
        "Warranty: Two years on the work",
        "Payment: A third is paid when the work is ordered",
        "The visit: The visit costs 90 EUR",
        "Changes: Only what stands in the lines is meant.",
        "I accept: Repair part of it",
    ):
        assert said in text
    signed = [b for section in document.sections for b in section.blocks if isinstance(b, Signatures)]
    assert [len(block.places) for block in signed] == [2]


def test_a_quotation_past_its_last_day_says_so_and_has_no_place_to_sign() -> None:
    document = content_of("6_heirloom", "quotation", written_on=date(2026, 6, 10))
    text = as_text(document)
    assert "Its figures held until 26 May 2026. They must be reckoned anew before anybody signs" in text
    assert "I accept" not in text
    assert "yes" not in {cell for grid in grids(document).values() for row in grid.rows for cell in row[4:]}
    assert not [b for section in document.sections for b in section.blocks if isinstance(b, Signatures)]


def test_a_quotation_is_never_older_than_its_visit() -> None:
    with pytest.raises(ValueError, match="the quotation is of 2026-03-01, the visit of 2026-03-27"):
        content_of("6_heirloom", "quotation", written_on=date(2026, 3, 1))


def test_what_the_client_chose_is_in_the_work_and_in_the_price() -> None:
    plain = content_of("6_heirloom", "quotation")
    chosen = content_of("6_heirloom", "quotation", wishes=Wishes(finish="finish_new"))
    before, after = (grids(d)["Lines of the quotation, in EUR"].rows for d in (plain, chosen))
    study = study_of("6_heirloom")
    price = study.prices.operations["refinish"].taxed(study.prices.tax).amount
    assert any(row[0].startswith("Case refinished") for row in after)
    assert "The finish of the case: new." in as_text(chosen)
    assert float(_figure(after[-1][1]) - _figure(before[-1][1])) >= 0.6 * price


@pytest.mark.parametrize("what", ["quotation", "letter"])
def test_there_is_no_quotation_and_no_letter_before_there_is_a_verdict(what: str) -> None:
    with pytest.raises(ValueError, match="not evaluated yet"):
        content_of(NOT_YET, what)


def test_a_quotation_says_which_one_it_replaces() -> None:
    text = as_text(content_of("6_heirloom", "quotation", replaces="2026-013", written_on=date(2026, 4, 1)))
    assert "Replaces: 2026-013" in text
    assert "It replaces: our quotation 2026-013, which no longer holds." in text


def test_there_is_no_quotation_for_what_has_no_work() -> None:
    with pytest.raises(ValueError, match="no work to quote for 'retire'; write one of"):
        content_of("2_parlour_upright", "quotation", "retire")


def test_the_letter_says_kindly_what_can_be_kept_and_where_it_can_go() -> None:
    text = as_text(content_of("2_parlour_upright", "letter"))
    for said in (
        "Dear Familie Lindner,",
        "You asked us what can become of it if it does not stay with you.",
        "We are sorry: we do not advise spending money on this piano.",
        "The wood that holds the tuning pins is split.",
        "We do not think so.",
        "Even free of charge nobody has to take it.",
        "These take old pianos near us: the youth music room at Niederlenne",
        "They may have to pay for disposal later.",
        "That costs about 260 EUR.",
        "A photo of it in its place",
        "The stool, its papers and the number inside belong to the piano.",
        "Leave carrying it to people who move pianos.",
        "Please do not take it apart",
        "To keep it for love is a good reason.",
        "Good years: 20.",
    ):
        assert said in text, said


@pytest.mark.parametrize("name", EVALUATED)
def test_no_letter_says_what_would_hurt_or_what_nobody_said(name: str) -> None:
    text = as_text(content_of(name, "letter"))
    for never in ("worthless", "last journey", "for good", "Nothing is left", "You told us that you want to part"):
        assert never not in text
    assert ("Leave them on the keys" in text) == ("ivory_tops" in study_of(name).visit.piano.features)


def test_the_letter_advises_against_work_only_where_that_is_the_verdict() -> None:
    for name in EVALUATED:
        text = as_text(content_of(name, "letter"))
        assert ("we do not advise spending money" in text) == (appraisal_of(name).verdict == "retire")


def test_the_letter_names_the_law_where_the_piano_has_ivory() -> None:
    text = as_text(content_of("1_fine_old_grand", "letter"))
    assert "Reg (EC) 338/97" in text  # the shop works in Germany
    assert "never legal advice" in text
    assert "Ivory Act" not in text
    assert "protected" not in as_text(content_of("2_parlour_upright", "letter"))


def test_a_letter_to_nobody_by_name_still_greets() -> None:
    study = study_of("2_parlour_upright")
    occasion = occasion_of(study, written_on=WRITTEN_ON, shop=demo_shop())
    nameless = made_ready(replace(study.visit, client=replace(study.visit.client, name="")), study.tables, on=study.on)
    text = as_text(paper_content("letter", nameless, appraisal_of("2_parlour_upright"), occasion))
    assert "Good day," in text
