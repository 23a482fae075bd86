"""The shop's own sales by the command line: checked, shown, written out, and used for a verdict."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from data_demo.sales.make_sales import TODAY, draw_market
from valuation import service
from valuation.cli import main
from valuation.engine.rows import STATES
from valuation.facts.visit import Piano, Range
from valuation.report.trace import rows_behind
from valuation.report.words import weight_sentence
from valuation.sales import cells_of, compare, require_sales, write_sales
from valuation.service.sales import DEMO, check_row, fit_kind, look_at_market, make_book, open_sales

ROOT = Path(__file__).parents[2]
VISITS = ROOT / "data_demo" / "visits"
UPRIGHT, GRAND = VISITS / "3_school_upright.toml", VISITS / "1_fine_old_grand.toml"
FAST = ("--draws", "1024")
NOW = date(2026, 11, 1)


def run(*arguments: object) -> Result:
    """Run a command in this process; whatever is not a plain end is raised."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments], catch_exceptions=False)


def refused(result: Result) -> list[str]:
    """Return what was told, after checking that it was told as bad input is."""
    assert (result.exit_code, result.stdout) == (2, "")
    return result.stderr.splitlines()


@pytest.fixture(scope="module")
def tables():
    return service.load_shop()


@pytest.fixture(scope="module")
def book(tables):
    return open_sales(DEMO, tables, NOW)[0]


@pytest.fixture
def faulty(tmp_path) -> Path:
    """The invented sales with two bad cells, on lines 3 and 5."""
    lines = DEMO.read_text(encoding="utf-8").splitlines()
    lines[2] = lines[2].replace(",private,", ",garage,")
    lines[4] = lines[4].replace(",EUR,", ",GBP,")
    path = tmp_path / "ours.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def few(path: Path, count: int, kind: str = "upright") -> Path:
    write_sales(draw_market(3, count, kind), path)
    return path


@pytest.mark.parametrize("visit_file", [UPRIGHT, GRAND], ids=["upright", "grand"])
@pytest.mark.parametrize("curved", [False, True], ids=["straight", "curved"])
def test_the_verdict_with_a_file_of_sales_is_that_of_the_same_prices_given_directly(tables, book, visit_file, curved):
    visit = service.read_visit_file(visit_file, tables, NOW)
    sold = fit_kind(book, tables, visit.piano.kind, visit.on, curved=curved).model.prices_by_state(visit.piano)
    direct = service.appraise(visit, tables, on=visit.on, draws=1024, sold=sold)
    result = run("appraise", visit_file, "--json", "--sales", DEMO, *FAST, *(["--curved"] if curved else []))
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == service.to_json(direct)
    assert result.stdout != run("appraise", visit_file, "--json", *FAST).stdout


def test_the_day_that_was_asked_for_is_the_day_of_the_prices(tables, book):
    visit = service.read_visit_file(UPRIGHT, tables, NOW)
    early = date(2026, 1, 15)
    sold = fit_kind(book, tables, "upright", early).model.prices_by_state(visit.piano)
    direct = service.appraise(visit, tables, on=early, draws=1024, sold=sold)
    result = run("appraise", UPRIGHT, "--json", "--sales", DEMO, "--on", early, *FAST)
    assert result.stdout == service.to_json(direct)


def test_the_page_says_how_loudly_table_and_sales_speak(tmp_path):
    path = few(tmp_path / "ours.csv", 23)
    page = " ".join(run("appraise", UPRIGHT, "--sales", path, "--on", "2026-05-20", *FAST).stdout.split())
    # 6 / (6 + 23) is 21 of 100
    assert (
        "Your table counts as 6 sales, you have 23 sales of uprights: 21 of 100 of the weight is the table's." in page
    )
    assert "Your table counts" not in run("appraise", UPRIGHT, *FAST).stdout


def test_too_few_sales_leave_the_verdict_as_the_table_has_it(tmp_path):
    path = few(tmp_path / "ours.csv", 9)
    result = run("appraise", UPRIGHT, "--sales", path, "--on", "2026-05-20", "--json", *FAST)
    by_table = run("appraise", UPRIGHT, "--on", "2026-05-20", "--json", *FAST)
    with_sales, alone = json.loads(result.stdout), json.loads(by_table.stdout)
    assert [with_sales[key] for key in ("verdict", "gap", "value_now")] == [
        alone[key] for key in ("verdict", "gap", "value_now")
    ]
    page = " ".join(run("appraise", UPRIGHT, "--sales", path, "--on", "2026-05-20", *FAST).stdout.split())
    assert "You have 9 sales of uprights; from 10 on they speak too." in page


@pytest.mark.parametrize(
    ("sales", "basis", "said"),
    [
        (1, "band table", "You have 1 sale of a grand; from 10 on they speak too."),
        (23, "blend", "you have 23 sales of grands: 21 of 100 of the weight is the table's."),
        (180, "sales", "you have 180 sales of grands: what they tell counts, the table hardly any more (3 of 100)."),
    ],
)
def test_the_weight_is_said_in_a_sentence(sales, basis, said):
    assert said in weight_sentence("grand", sales=sales, sales_wanted=10, table_counts_as=6, basis=basis)


@pytest.mark.parametrize("command", [("appraise", UPRIGHT, "--sales"), ("sales", "show", "--piano", UPRIGHT)])
def test_every_fault_of_the_sales_is_told_and_good_rows_count_only_if_the_person_says_so(faulty, command):
    lines = refused(run(*command, faulty))
    assert [line.partition(": '")[0] for line in lines] == ["ours.csv:3: sale_kind", "ours.csv:5: currency"]
    result = run(*command, faulty, "--keep-good")
    assert result.exit_code == 0
    assert result.stderr.splitlines() == [*lines, "ours.csv: 178 sales without fault are used"]
    assert result.stdout


def test_check_tells_faults_and_how_many_rows_are_good(faulty):
    lines = refused(run("sales", "check", faulty))
    assert lines[0] == "ours.csv: the 178 rows without fault can be used with --keep-good"
    assert len(lines) == 3


def test_check_of_a_sound_file_counts_sales_and_tells_likely_duplicates(tmp_path):
    result = run("sales", "check", DEMO)
    assert (result.exit_code, result.stderr) == (0, "")
    assert "sales.csv: no faults in 180 sales (87 grands, 93 uprights)\n" in result.stdout
    assert "Price index: 9 days." in result.stdout
    twice = tmp_path / "ours.csv"
    line = DEMO.read_text(encoding="utf-8").splitlines()[5]
    name = line.partition(",")[0]
    twice.write_text(DEMO.read_text(encoding="utf-8") + line.replace(name, "again") + "\n", encoding="utf-8")
    told = run("sales", "check", twice).stdout
    assert f"ours.csv: line 182: 'again' looks like the same piano as '{name}' told twice" in told
    assert "Price index: none beside it." in told


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("sales", "check", "nowhere.csv"), "nowhere.csv: the file is missing"),
        (("sales", "check", UPRIGHT), "3_school_upright.toml: the file is neither .csv nor .xlsx"),
        (("sales", "show", DEMO, "--piano", "nowhere.toml"), "nowhere.toml: the file is missing"),
        (("sales", "show", DEMO, "--piano", UPRIGHT, "--on", "1900-01-01"), "--on: no price band "),
        (("sales", "export", DEMO, "ours.ods"), "ours.ods: sales are written as .csv or .xlsx"),
        (("sales", "export", DEMO, DEMO), "sales.csv: this would replace what is to be read"),
        (("appraise", UPRIGHT, "--keep-good"), "--keep-good: it goes with --sales FILE"),
        (("appraise", UPRIGHT, "--curved"), "--curved: it goes with --sales FILE"),
    ],
)
def test_what_cant_be_used_is_told_in_one_line(arguments, told):
    (line,) = refused(run(*arguments))
    assert line.startswith(told)


def test_a_faulty_price_index_beside_the_sales_is_told(tmp_path):
    path = few(tmp_path / "ours.csv", 12)
    (tmp_path / "price_index.csv").write_text("on,upright,grand,source,note\n2020-01-01,x,1,invented,\n")
    (line,) = refused(run("sales", "check", path))
    assert line.startswith("price_index.csv:2: upright: 'x' is not a number")


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_what_is_exported_reads_back_the_same_and_holds_no_live_formula(tables, book, tmp_path, suffix):
    nasty = tmp_path / "ours.csv"
    text = DEMO.read_text(encoding="utf-8")
    nasty.write_text(text.replace(",invented,\n", ",invented,'=1+1\n", 1), encoding="utf-8")
    out = tmp_path / f"out{suffix}"
    result = run("sales", "export", nasty, out)
    assert (result.exit_code, result.stdout) == (0, "")
    written = require_sales(out, tables, today=NOW).sales
    assert written == require_sales(nasty, tables, today=NOW).sales
    assert "=1+1" in {sale.note for sale in written}
    if suffix == ".xlsx":
        cells = [cell for row in openpyxl.load_workbook(out).active.iter_rows() for cell in row]
        assert not [cell for cell in cells if cell.data_type == "f"]
    else:
        assert ",=1+1" not in out.read_text(encoding="utf-8")


def shown_grid(page: str) -> dict[str, list[str]]:
    """Return the grid of a shown page: name of the row to its cells, one for each sale."""
    block = page[page.index("Adjusted for") :].partition("\n\n")[0]
    header, *rows = block.splitlines()
    ends = [found.end() for found in re.finditer(r"\S+", header)][2:]
    starts = [max(len(row.partition("  ")[0]) for row in rows), *ends[:-1]]
    return {row[: starts[0]].strip(): [row[a:b].strip() for a, b in zip(starts, ends, strict=True)] for row in rows}


@pytest.mark.parametrize("visit_file", [UPRIGHT, GRAND], ids=["upright", "grand"])
def test_the_shown_price_and_adjustments_of_each_sale_add_up_to_the_last_digit(visit_file):
    result = run("sales", "show", DEMO, "--piano", visit_file)
    assert (result.exit_code, result.stderr) == (0, "")
    grid = shown_grid(result.stdout)
    names = [name for name in grid if name not in ("adjusted", "adjusted by, in all")]
    sums = [sum(float(grid[name][i].replace(",", "") or 0) for name in names) for i in range(len(grid["price"]))]
    assert sums == [float(cell.replace(",", "")) for cell in grid["adjusted"]]
    assert 5 <= len(sums) <= 7
    assert len(names) > 2


def test_the_shown_page_names_kinds_of_value_with_their_published_source(tables):
    page = " ".join(run("sales", "show", DEMO, "--piano", UPRIGHT).stdout.split())
    assert "(26 CFR 1.170A-1(c)(2))" in page
    assert "replacement value: what it costs" in page
    assert "a qualified, licensed appraiser is needed" in page
    assert "price_index.csv:" in page
    assert "sold by a dealer" in page


@pytest.mark.parametrize("state", STATES)
def test_the_piano_is_compared_in_the_state_that_was_asked_for(state):
    page = run("sales", "show", DEMO, "--piano", UPRIGHT, "--state", state).stdout
    assert f"brought to the piano as {state}\n" in page
    assert f"{state} (compared as)" in page


def test_the_values_are_those_of_the_appraisal_with_these_prices(tables, book):
    visit = service.read_visit_file(UPRIGHT, tables, NOW)
    fit = fit_kind(book, tables, "upright", visit.on)
    sold = fit.model.prices_by_state(visit.piano)
    study = service.study_of(visit, tables, on=visit.on, draws=1024, sold=sold)
    found = service.report(study)
    market = look_at_market(fit, study)
    by_name = {value.of: value for value in market.values}
    assert by_name["as it stands"].amount == found.value_now
    assert by_name["rebuild"].amount == found.option("rebuild").value_after
    replacement = study.market.replacement
    assert by_name["replacement"].amount == Range(
        low=replacement.price_low, likely=replacement.price_likely, high=replacement.price_high
    )
    assert by_name["disposal"].amount.likely == -replacement.haul_away
    assert {value.on for value in market.values} == {visit.on}


def test_features_of_build_move_the_prices_by_state_as_they_move_the_appraisal(tables, book):
    visit = service.read_visit_file(GRAND, tables, NOW)
    feature = next(row for row in tables.features if row.value_factor != 1)
    visit = replace(visit, piano=replace(visit.piano, features=(feature.id,)), finished_value=None)
    fit = fit_kind(book, tables, "grand", visit.on)
    study = service.study_of(visit, tables, on=visit.on, draws=1024, sold=fit.model.prices_by_state(visit.piano))
    market = look_at_market(fit, study)
    for state, price in zip(STATES, market.sold.prices, strict=True):
        assert market.by_state[state].likely == pytest.approx(price * feature.value_factor, rel=1e-12)
    assert study.market.sound == pytest.approx(market.by_state["sound"].likely, rel=1e-12)


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    count=st.integers(1, 60),
    state=st.sampled_from(STATES),
    size=st.one_of(st.none(), st.floats(900, 1500)),
    year=st.one_of(st.none(), st.integers(1850, 2020)),
    tier=st.sampled_from(["", "plain", "ordinary", "good", "high", "finest"]),
)
def test_an_adjusted_price_is_the_price_and_its_adjustments_whatever_the_sales(seed, count, state, size, year, tier):
    tables = service.load_shop()
    sales = make_book("x.csv", draw_market(seed, count, "upright"), open_sales(DEMO, tables, NOW)[0].index)
    model = fit_kind(sales, tables, "upright", TODAY).model
    grid = compare(model, Piano(kind="upright", size_mm=size, year=year, tier=tier), state)
    assert grid.comparables
    for one in grid.comparables:
        assert one.adjusted == one.sale.price + sum(adjustment.money for adjustment in one.adjustments)


def test_a_row_of_the_tables_or_a_sale_behind_a_reason_is_found(tables, book):
    visit = service.read_visit_file(GRAND, tables, NOW)
    sold = fit_kind(book, tables, "grand", visit.on).model.prices_by_state(visit.piano)
    found = service.appraise(visit, tables, on=visit.on, draws=1024, sold=sold)
    rows = next(reason.rows for reason in found.reasons if reason.code == "value_kept")
    assert [row for row in rows if row.startswith("sale demo_")]
    (band,) = rows_behind(rows, tables, "grand", visit.on)
    assert f"{band.file}:{band.line}" == rows[0]
    assert band.name.startswith("grand / ")


def test_a_typed_sale_is_checked_by_the_reader_of_files(tables, book):
    sale = book.sales[7]
    others = [one for one in book.sales if one is not sale]
    assert check_row(cells_of(sale), others, tables, NOW) == (sale, (), ())
    wrong = cells_of(sale) | {"price": "1,200", "sold_on": "4.5.2026", "id": others[0].id}
    found, faults, _ = check_row(wrong, others, tables, NOW)
    assert found is None
    assert [fault.partition(":")[0] for fault in faults] == ["price", "sold_on"]
    found, faults, _ = check_row(cells_of(sale) | {"id": others[0].id}, others, tables, NOW)
    assert found is None
    assert faults[0].startswith(f"id: '{others[0].id}' stands on line 2 already")


def test_a_sale_typed_twice_is_told(tables, book):
    sale = book.sales[7]
    found, faults, duplicates = check_row(cells_of(sale) | {"id": "again"}, book.sales, tables, NOW)
    assert found.id == "again"
    assert not faults
    assert [(one.first, one.second) for one in duplicates] == [(sale.id, "again")]


@settings(max_examples=40, deadline=None)
@given(st.dictionaries(st.sampled_from(["id", "price", "note", "sold_on", "finish"]), st.text(max_size=30)))
def test_whatever_is_typed_gives_a_sale_or_a_fault(cells):
    tables = service.load_shop()
    (sale,) = draw_market(1, 1)
    found, faults, _ = check_row(cells_of(sale) | cells, [], tables, NOW)
    assert (found is None) == bool(faults)
