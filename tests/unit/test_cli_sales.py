"""The shop's own sales by the command line: checked, shown, written out, and used for a verdict."""

from __future__ import annotations

import json
import re
import shutil
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from data_demo.sales.make_sales import TODAY, draw_market
from tests.price_worlds import World, draw_world
from valuation import service
from valuation.cli import main
from valuation.engine.rows import STATES
from valuation.errors import UserError
from valuation.facts.visit import Piano
from valuation.report.trace import rows_behind
from valuation.rules import PACKAGED
from valuation.sales import cells_of, compare, read_sales, write_sales
from valuation.service.bands import put_rescaled
from valuation.service.sales import DEMO, check_row, fit_kind, look_at_market, make_book, open_sales
from valuation.service.shop_tables import history
from valuation.service.visits import open_shop

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
def test_the_verdict_with_a_file_of_sales_is_that_of_the_same_prices_given_directly(tables, book, visit_file):
    visit = service.read_visit_file(visit_file, tables, NOW)
    sold = fit_kind(book, tables, visit.piano.kind, visit.on).prices_by_state(visit.piano)
    direct = service.appraise(visit, tables, on=visit.on, draws=1024, sold=sold)
    result = run("appraise", visit_file, "--json", "--sales", DEMO, *FAST)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == service.to_json(direct)
    assert result.stdout != run("appraise", visit_file, "--json", *FAST).stdout


def test_the_day_that_was_asked_for_is_the_day_of_the_prices(tables, book):
    visit = service.read_visit_file(UPRIGHT, tables, NOW)
    early = date(2026, 1, 15)
    sold = fit_kind(book, tables, "upright", early).prices_by_state(visit.piano)
    direct = service.appraise(visit, tables, on=early, draws=1024, sold=sold)
    result = run("appraise", UPRIGHT, "--json", "--sales", DEMO, "--on", early, *FAST)
    assert result.stdout == service.to_json(direct)


@pytest.mark.parametrize(
    ("count", "kind", "told"),
    [
        (23, "upright", "You have 23 sales of uprights: prices start from your table of price bands"),
        (1, "upright", "from 10 sales on it is held to them."),
        (9, "grand", "You have 0 sales of uprights: your table of price bands speaks alone."),
    ],
)
def test_the_page_says_what_prices_rest_on(tmp_path, count, kind, told):
    path = few(tmp_path / "ours.csv", count, kind)
    page = " ".join(run("appraise", UPRIGHT, "--sales", path, "--on", "2026-05-20", *FAST).stdout.split())
    assert told in page
    assert "your table of price bands" not in run("appraise", UPRIGHT, *FAST).stdout


def test_the_first_sale_moves_the_value_already(tmp_path):
    path = few(tmp_path / "ours.csv", 1)
    result = run("appraise", UPRIGHT, "--sales", path, "--on", "2026-05-20", "--json", *FAST)
    by_table = run("appraise", UPRIGHT, "--on", "2026-05-20", "--json", *FAST)
    assert json.loads(result.stdout)["value_now"] != json.loads(by_table.stdout)["value_now"]


def at_half_the_truth(path: Path, tables) -> Path:
    write_sales(draw_world(World(level=2.0), tables, "upright", 25, 3).sales, path)
    return path


def test_a_table_at_half_the_truth_is_told_and_offered_moved(tables, tmp_path):
    path = at_half_the_truth(tmp_path / "ours.csv", tables)
    page = " ".join(run("sales", "show", path, "--piano", UPRIGHT, "--on", "2026-05-20").stdout.split())
    assert re.search(r"Your table looks (1\.[89]|2\.[0-2]) times too low \(\d\.\d to \d\.\d\)\.", page)
    out = tmp_path / "bands.csv"
    result = run("sales", "bands", path, out, "--kind", "upright", "--on", "2026-05-20")
    assert result.exit_code == 0
    assert "times too low" in result.stdout
    folder = tmp_path / "tables"
    shutil.copytree(PACKAGED, folder, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(out, folder)
    moved = service.load_shop(folder)  # it loads, and what it says is found right
    for before, after in zip(tables.bands, moved.bands, strict=True):
        factor = after.sound / before.sound
        assert factor == pytest.approx(2, rel=0.25) if before.kind == "upright" else factor == 1
        assert (after.spread, after.source, after.valid_from) == (before.spread, before.source, before.valid_from)
    again = run("sales", "show", path, "--piano", UPRIGHT, "--on", "2026-05-20", "--tables", folder).stdout
    assert "the table as a whole may be right" in " ".join(again.split())


def test_a_moved_table_is_put_in_force_and_the_one_before_is_kept(tables, tmp_path):
    sales = open_sales(at_half_the_truth(tmp_path / "ours.csv", tables), tables, NOW)[0]
    model = fit_kind(sales, tables, "upright", TODAY)
    at = datetime(2026, 11, 1, 9, 0, tzinfo=UTC)
    with closing(open_shop({"VALUATION_DATA": str(tmp_path / "store")}, at.date(), with_demo=False)) as shop:
        seen = shop.tables_in_force(at.date())
        put_rescaled(shop.store, seen, model, today=at.date(), who="Anna", why="moved", now=at)
        assert shop.tables(at.date()).bands[0].sound > 1.5 * tables.bands[0].sound
        assert [change.why for change in history(shop.store)][1:] == ["moved"]
        with pytest.raises(UserError, match="Anna put other tables in force meanwhile"):
            put_rescaled(shop.store, seen, model, today=at.date(), who="Bo", why="moved", now=at)


def test_bands_are_not_moved_without_a_sale_of_the_kind(tmp_path):
    path = few(tmp_path / "ours.csv", 3, "grand")
    (line,) = refused(run("sales", "bands", path, tmp_path / "b.csv", "--kind", "upright", "--on", "2026-05-20"))
    assert line == "bands.csv: there is no sale of uprights to tell the level of prices by"
    assert not (tmp_path / "b.csv").exists()


def test_sales_told_twice_are_named_where_they_count(tmp_path):
    sales = draw_market(3, 12, "upright")
    write_sales([*sales, replace(sales[4], id="again")], tmp_path / "ours.csv")
    page = " ".join(
        run("sales", "show", tmp_path / "ours.csv", "--piano", UPRIGHT, "--on", "2026-05-20").stdout.split()
    )
    assert f"'again' looks like the same piano as '{sales[4].id}' told twice; both count" in page


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
        (("sales", "bands", DEMO, "b.txt", "--kind", "upright"), "b.txt: the table is written as .csv"),
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
    written = read_sales(out, tables, today=NOW).sales
    assert written == read_sales(nasty, tables, today=NOW).sales
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
    assert "(BewG § 9; ErbStG § 12)" in page
    assert "replacement value: what it costs" in page
    assert "ask: a publicly appointed and sworn expert" in page
    assert "price_index.csv:" in page
    assert "sold by a dealer" in page


@pytest.mark.parametrize("state", STATES)
def test_the_piano_is_compared_in_the_state_that_was_asked_for(state):
    page = run("sales", "show", DEMO, "--piano", UPRIGHT, "--state", state).stdout
    assert f"brought to the piano as {state}\n" in page
    assert f"{state} (compared as)" in page


def test_the_values_are_those_of_the_appraisal_with_these_prices(tables, book):
    visit = service.read_visit_file(UPRIGHT, tables, NOW)
    model = fit_kind(book, tables, "upright", visit.on)
    sold = model.prices_by_state(visit.piano)
    study = service.study_of(visit, tables, on=visit.on, draws=1024, sold=sold)
    found = service.report(study)
    market = look_at_market(model, study)
    by_name = {value.of: value for value in market.values}
    assert by_name["as it stands"].amount == found.value_now
    assert by_name["rebuild"].amount == found.option("rebuild").value_after
    another, row = by_name["replacement"].amount, study.market.replacement
    assert another.likely == pytest.approx(study.market.size_factor * row.price_likely)  # of the size of this one
    assert another.high / another.low == pytest.approx(row.price_high / row.price_low, rel=0.02)
    assert by_name["disposal"].amount.likely == -row.haul_away
    assert {value.on for value in market.values} == {visit.on}


def test_features_of_build_move_the_prices_by_state_as_they_move_the_appraisal(tables, book):
    visit = service.read_visit_file(GRAND, tables, NOW)
    feature = next(row for row in tables.features if row.value_factor != 1)
    visit = replace(visit, piano=replace(visit.piano, features=(feature.id,)), finished_value=None)
    model = fit_kind(book, tables, "grand", visit.on)
    study = service.study_of(visit, tables, on=visit.on, draws=1024, sold=model.prices_by_state(visit.piano))
    market = look_at_market(model, study)
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
    model = fit_kind(sales, tables, "upright", TODAY)
    grid = compare(model, Piano(kind="upright", size_mm=size, year=year, tier=tier), state)
    assert grid.comparables
    for one in grid.comparables:
        assert one.adjusted == one.sale.price + sum(adjustment.money for adjustment in one.adjustments)


def test_a_row_of_the_tables_or_a_sale_behind_a_reason_is_found(tables, book):
    visit = service.read_visit_file(GRAND, tables, NOW)
    sold = fit_kind(book, tables, "grand", visit.on).prices_by_state(visit.piano)
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
