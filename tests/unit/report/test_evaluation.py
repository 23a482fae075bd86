"""What the written evaluation says: everything that such a paper owes its reader, and nothing twice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from demo_pianos import NAMES, WRITTEN_ON, appraisal_of, content_of, grids, study_of

from valuation.core.visit import Client
from valuation.report.document import Document, Hundreds, Ranges, Readings, as_text, to_plain
from valuation.report.evaluation import evaluation
from valuation.report.evaluation_ways import ORDER, in_order, name_of, quote_of, shares_of_100, years_said
from valuation.report.format import exact, money_range, of_100
from valuation.report.occasion import Occasion, SetByHand


def blocks(document: Document, kind: type) -> list:
    return [b for section in document.sections for b in section.blocks if isinstance(b, kind)]


@pytest.mark.parametrize("name", NAMES)
def test_it_states_what_a_report_on_personal_property_has_to_state(name: str) -> None:
    study, text = study_of(name), as_text(content_of(name))
    visit = study.visit
    for stated in (
        visit.client.name,
        visit.client.purpose,
        visit.piano.maker,
        visit.place,
        "fair market value",
        "willing buyer and a willing seller",
        "26 CFR 1.170A-1(c)(2)",
        "Values as of",
        "10 June 2026",
        "not a certified appraisal",
        "No certification is given",
        "also sells the work",
        "Others who can be asked",
        "It may not be used for tax, insurance",
        "Prices and values hold until 9 August 2026",
        study.tables.hash[:16],
    ):
        assert stated in text


@pytest.mark.parametrize("name", NAMES)
def test_the_way_without_work_stands_first_wherever_ways_stand(name: str) -> None:
    document = content_of(name)
    told = grids(document)
    side = told["The ways forward, side by side"]
    assert side.head[1] == "Keep as it is"
    assert told["What each way costs, and for how long it is good"].rows[0][0] == "Keep as it is"
    assert blocks(document, Hundreds)[0].counts[0][0] == "Keep as it is"
    assert [o.option for o in in_order(appraisal_of(name))] == sorted(
        (o.option for o in appraisal_of(name).options), key=ORDER.index
    )


@pytest.mark.parametrize("name", NAMES)
def test_every_way_is_told_in_every_row(name: str) -> None:
    side = grids(content_of(name))["The ways forward, side by side"]
    for row in side.rows:
        assert len(row) == len(appraisal_of(name).options) + 1
        assert all(cell.strip() for cell in row)


@pytest.mark.parametrize("name", NAMES)
def test_years_of_good_service_stand_beside_every_price(name: str) -> None:
    document = content_of(name)
    for bar, option in zip(_prices(document).bars, in_order(appraisal_of(name)), strict=True):
        assert years_said(option) in bar.said
        assert money_range(option.price) in bar.said
    in_short = grids(document)["What each way costs, and for how long it is good"]
    assert [row[2] for row in in_short.rows] == [years_said(o) for o in in_order(appraisal_of(name))]


def _prices(document: Document) -> Ranges:
    return next(chart for chart in blocks(document, Ranges) if chart.title.startswith("Price in"))


@pytest.mark.parametrize("name", NAMES)
def test_the_shown_lines_add_up_to_the_shown_total(name: str) -> None:
    grid = grids(content_of(name))[f"The work line by line, in {appraisal_of(name).currency}"]
    labels = [row[0] for row in grid.rows]
    for column in range(1, len(grid.head)):
        figures = [row[column] for row in grid.rows]
        end = labels.index("Hours")
        lines = [int(figure.replace(",", "")) for figure in figures[:end] if figure != "–"]
        before, tax, total = (int(figures[end + i].replace(",", "")) for i in (1, 2, 3))
        assert sum(lines) == before
        assert before + tax == total


@pytest.mark.parametrize("name", NAMES)
def test_the_quoted_total_is_the_total_of_its_lines(name: str) -> None:
    side = grids(content_of(name))["The ways forward, side by side"]
    prices = next(row for row in side.rows if row[0] == "Price")
    for option, told in zip(in_order(appraisal_of(name)), prices[1:], strict=True):
        if option.lines and option.option != "retire":
            total = quote_of(option, appraisal_of(name), study_of(name).tables).total
            assert told == f"{money_range(option.price)}; quoted at {exact(total)}"


@pytest.mark.parametrize("name", NAMES)
def test_counts_of_100_share_one_hundred(name: str) -> None:
    counts = blocks(content_of(name), Hundreds)[0].counts
    assert sum(count for _, count, _ in counts) == 100
    assert [said for _, _, said in counts] == [of_100(o.chance_best) for o in in_order(appraisal_of(name))]


def test_counts_that_can_not_all_be_rounded_still_add_to_100() -> None:
    assert shares_of_100([1 / 3, 1 / 3, 1 / 3]) == [34, 33, 33]
    assert shares_of_100([0.999, 0.001]) == [100, 0]


@pytest.mark.parametrize("name", NAMES)
def test_charts_show_the_numbers_of_the_appraisal(name: str) -> None:
    found, document = appraisal_of(name), content_of(name)
    for bar, option in zip(_prices(document).bars, in_order(found), strict=True):
        assert (bar.low, bar.at, bar.high) == (option.price.low, option.expected_price, option.price.high)
        assert bar.chosen == (option.option == found.verdict)
    condition = next(chart for chart in blocks(document, Ranges) if chart.title.startswith("Condition"))
    scores = {bar.name: (bar.low, bar.at, bar.high) for bar in condition.bars}
    pinblock = next(part for part in found.parts if part.part == "pinblock")
    assert scores["pinblock and tuning pins"] == (pinblock.low, pinblock.score, pinblock.high)


@pytest.mark.parametrize("name", NAMES)
def test_every_reading_is_drawn(name: str) -> None:
    drawn = sorted(v for chart in blocks(content_of(name), Readings) for _, row in chart.rows for v in row)
    taken = sorted(r.value for f in study_of(name).visit.findings if len(f.readings) > 1 for r in f.readings)
    assert drawn == taken


@pytest.mark.parametrize("name", NAMES)
def test_checks_made_hidden_and_not_made_add_up_to_all_of_them(name: str) -> None:
    grid = grids(content_of(name))["Checks by where they are made"]
    made, hidden, missing = ([int(cell) for cell in row[1:]] for row in grid.rows)
    visit = study_of(name).visit
    assert made[-1] == sum(not f.cannot_see for f in visit.findings)
    assert hidden[-1] == sum(f.cannot_see for f in visit.findings)
    for counts in (made, hidden, missing):
        assert sum(counts[:-1]) == counts[-1]


def test_what_nobody_looked_at_is_named_and_never_told_as_good() -> None:
    text = as_text(content_of("5_hardly_looked_at"))
    assert "Nobody has looked at: soundboard with ribs, bass bridge" in text
    assert "Looked for, but could not be seen: where the loose pins are" in text
    assert "Soundboard with ribs | not looked at; likeliest serviceable (36 of 100) | nothing was looked at" in text
    assert "11 parts that are left alone were not looked at: any may give out sooner than it seems." in text


def test_a_stop_rule_comes_before_the_verdict() -> None:
    text = as_text(content_of("4_cracked_plate"))
    assert text.index("Do not tune or raise the pitch: the iron plate") < text.index("Retire it and find")


def test_every_finding_stands_on_the_paper_with_its_note() -> None:
    text = as_text(content_of("1_fine_old_grand"))
    names = {row.id: row.name for row in study_of("1_fine_old_grand").tables.of_kind("checks", "grand").values()}
    for finding in study_of("1_fine_old_grand").visit.findings:
        assert f"{names[finding.check]}: " in text
        assert finding.note in text


def test_units_are_those_asked_for() -> None:
    metric, imperial = (as_text(content_of("1_fine_old_grand", system=s)) for s in ("metric", "imperial"))
    assert "Torque of the pins: 3.62 N·m" in metric
    assert "192 cm" in metric
    assert "19 °C" in metric
    assert "Torque of the pins: 32 in-lb" in imperial
    assert "6 ft 4 in" in imperial
    assert "66 °F" in imperial
    assert "N·m" not in imperial


def test_a_level_set_by_hand_is_marked_with_the_reason_given() -> None:
    text = as_text(
        content_of(
            "1_fine_old_grand",
            set_by_hand=[
                SetByHand(part="hammers", level="repair", reason="she likes the old sound"),
                SetByHand(part="keys", level="keep"),
            ],
        )
    )
    assert "Hammers: set to 'repair' by hand. Reason given: she likes the old sound" in text
    assert "Keys: set to 'keep' by hand. Reason given: none" in text


def test_what_the_client_has_chosen_is_told() -> None:
    text = as_text(content_of("6_heirloom", choices=[("Finish", "kept as it is")]))
    assert "- Finish: kept as it is" in text


def test_a_use_that_needs_an_appraiser_is_refused_on_the_first_page() -> None:
    text = as_text(content_of("7_well_kept_upright", intended_use="insurance"))
    assert "A value for insurance must come from a qualified, licensed appraiser" in text


def test_each_value_says_its_kind_and_day() -> None:
    grid = next(g for caption, g in grids(content_of("1_fine_old_grand")).items() if caption.startswith("Values in"))
    assert "10\u00a0March\u00a02026" in grid.caption
    assert [(row[0], row[1]) for row in grid.rows] == [
        ("The piano as it stands", "Fair market value"),
        ("The piano after: partial repair", "Fair market value"),
        ("The piano after: rebuild", "Fair market value"),
        ("A comparable sound instrument, delivered and tuned", "Replacement value"),
        ("Having it taken away and disposed of", "Salvage and disposal"),
    ]


def test_block_and_board_are_priced_beforehand_where_the_plan_leaves_them() -> None:
    grid = grids(content_of("6_heirloom"))["Further work beside the plan, in EUR with tax"]
    beside_repair = {row[0] for row in grid.rows if row[2] == "partial repair"}
    assert {"Pinblock and tuning pins", "Soundboard with ribs"} <= beside_repair


def test_invented_prices_are_called_so_on_every_paper() -> None:
    for what in ("evaluation", "summary", "quotation", "letter"):
        assert "invented prices" in as_text(content_of("6_heirloom", what))


def test_a_visit_of_which_nearly_nothing_is_known_can_be_told() -> None:
    study = study_of("5_hardly_looked_at")
    bare = replace(
        study.visit,
        technician="",
        place="",
        story="",
        client=Client(),
        findings=(),
        piano=replace(study.visit.piano, maker="", year=None, size_mm=None),
    )
    text = as_text(evaluation(bare, appraisal_of("5_hardly_looked_at"), study.tables, Occasion(written_on=WRITTEN_ON)))
    assert "0 checks of 75 were made" in text
    assert "Serial number: not known" in text
    assert "{" not in text


@pytest.mark.parametrize("name", NAMES)
def test_no_sentence_keeps_a_brace_that_a_figure_should_have_filled(name: str) -> None:
    document = content_of(name)
    assert "{" not in as_text(document)
    assert document.page.count("{") == 2  # filled in by the layout, page by page


def test_a_block_says_what_it_is() -> None:
    plain = to_plain(content_of("1_fine_old_grand"))
    assert plain["sections"][0]["blocks"][0]["block"] == "verdict"


def test_figures_hold_for_as_long_as_the_shop_says() -> None:
    day = WRITTEN_ON + timedelta(days=study_of("1_fine_old_grand").tables.settings.quote_days)
    assert day == date(2026, 8, 9)


def test_the_names_of_ways_are_told_apart() -> None:
    for name in NAMES:
        names = [name_of(option) for option in appraisal_of(name).options]
        assert len(set(names)) == len(names)
