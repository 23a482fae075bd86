"""Papers of a visit: kept under their numbers, given back as they were, made again, held against today's tables."""

from __future__ import annotations

import csv
import re
import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from hashlib import sha256
from pathlib import Path

import pytest
from made_photos import made_photo
from printed import plain, read_back
from sqlalchemy import func, select, text, update

from valuation import service
from valuation.engine.rows import Tables
from valuation.errors import StoreError, UserError
from valuation.facts.prices import PricesByState
from valuation.report.words import verdict_sentence
from valuation.rules.load import PACKAGED
from valuation.service.moved import paper_today
from valuation.service.papers import WRITTEN
from valuation.service.visits import Shop
from valuation.service.written import (
    BySales,
    Paper,
    Wanted,
    fetch_paper,
    list_papers,
    make_paper,
    paper_again,
    paper_mail,
    shop_facts,
)
from valuation.store import entries, schema

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA = {"who": "Anna", "device": "tablet", "now": NOW}
LINDNER = "2_parlour_upright"

Make = Callable[..., Paper]


@pytest.fixture
def piano(shop: Shop, tables: Tables) -> str:
    """Id of the visit to the Lindners' upright, entered as one's own."""
    return entered(shop, LINDNER, tables)


def entered(shop: Shop, name: str, tables: Tables) -> str:
    path = next(path for _, path in service.demo_visits() if path.stem == name)
    return shop.import_visit(service.read_visit_file(path, tables, TODAY), **ANNA)


@pytest.fixture
def make(shop: Shop, piano: str, tables: Tables) -> Make:
    """Make a paper about it; what isn't said is as usual."""
    count = iter(range(1, 1000))

    def make(what: str = "summary", *, visit: str = piano, request: str = "", **how: object) -> Paper:
        wanted = Wanted(what=what, **{name: how.pop(name) for name in list(how) if name in Wanted.__slots__})
        told = {"who": "Anna", "now": NOW, "today": TODAY} | how
        return make_paper(shop, visit, wanted, tables, request=request or f"{next(count):032x}", **told)

    return make


def put(shop: Shop, visit: str, **values: object) -> None:
    """Enter values; ``__`` stands for the point in a field's name."""
    for name, value in values.items():
        shop.put(visit, name.replace("__", "."), value, **ANNA)


def words_of(shop: Shop, paper: Paper) -> str:
    return read_back(fetch_paper(shop, paper.id)).text


# --- kept


@pytest.mark.parametrize("what", WRITTEN)
def test_every_paper_is_kept_with_what_it_was_made_from_and_made_again_byte_for_byte(shop, piano, make, tables, what):
    paper = make(what, language="de", size="letter", units="imperial")
    pdf = fetch_paper(shop, paper.id)
    assert sha256(pdf).hexdigest() == paper.pdf_hash
    assert read_back(pdf).size_mm == (216, 279)
    assert read_back(pdf).language == "de"
    again = paper_again(shop, paper.id)
    assert again.pdf == pdf
    assert (again.same, again.same_figures, again.lost_photos) == (True, True, ())
    assert list_papers(shop, piano) == [paper]
    assert (paper.made_by, paper.made_at, paper.written_on, paper.priced_on) == ("Anna", NOW, TODAY, date(2026, 2, 12))
    assert (paper.tables_hash, paper.seed, paper.draws) == (tables.hash, 0, 8192)


def test_an_evaluation_holds_the_verdict_its_number_and_who_asked(shop, piano, make, tables):
    visit = shop.open_visit(piano, tables).visit
    found = service.appraise(visit, tables, on=visit.on)
    paper = make("evaluation")
    told = words_of(shop, paper)
    assert plain(verdict_sentence(found)) in told
    assert f"{piano[:6]}-1" == paper.printed_number
    assert paper.printed_number in told
    assert visit.client.name in told
    assert paper.figures["verdict"] == found.verdict == "retire"
    assert paper.appraisal_hash == sha256(service.to_json(found).encode()).hexdigest()


def test_numbers_count_up_for_each_visit_and_older_papers_stay_as_they_were(shop, piano, make, tables):
    first = make()
    before = fetch_paper(shop, first.id)
    put(shop, piano, finding__plate_crack={"grade": "failed"}, piano__maker="Changed")
    second, other = make(), make(visit=entered(shop, "7_well_kept_upright", tables))
    assert [first.number, second.number, other.number] == [1, 2, 1]
    assert [paper.id for paper in list_papers(shop, piano)] == [first.id, second.id]
    assert fetch_paper(shop, first.id) == before
    assert paper_again(shop, first.id).pdf == before
    assert "Changed" in words_of(shop, second)
    assert "Changed" not in words_of(shop, first)


def test_the_same_request_twice_is_one_paper_whatever_is_asked_the_second_time(shop, piano, make):
    one = make(request="a" * 32)
    two = make("letter", request="a" * 32, who="Bo")
    assert one == two
    assert list_papers(shop, piano) == [one]


def test_clicks_at_the_same_time_make_one_paper(shop, piano, make):
    made = at_once([lambda: make(request="a" * 32)] * 4)
    assert len({paper.id for paper in made}) == 1
    assert [paper.number for paper in list_papers(shop, piano)] == [1]


def test_papers_made_at_the_same_time_get_numbers_of_their_own(shop, piano, make):
    made = at_once([make] * 4)
    assert sorted(paper.number for paper in made) == [1, 2, 3, 4]
    for paper in list_papers(shop, piano):
        assert paper.printed_number in words_of(shop, paper)


def at_once(doings: list[Callable[[], Paper]]) -> list[Paper]:
    start, made, faults = threading.Barrier(len(doings)), [], []

    def do(doing: Callable[[], Paper]) -> None:
        start.wait()
        try:
            made.append(doing())
        except Exception as fault:  # noqa: BLE001  (whatever it is, it is shown below)
            faults.append(fault)

    threads = [threading.Thread(target=do, args=(doing,)) for doing in doings]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    return made


def test_the_tables_are_kept_once_for_all_papers_that_were_made_with_them(shop, make):
    for what in WRITTEN:
        make(what)
    with shop.store.reading() as connection:
        assert connection.execute(select(func.count()).select_from(schema.tables_version)).scalar() == 1


def test_what_was_removed_with_the_demo_takes_its_papers_along_and_no_others(shop, piano, make):
    shop.load_demo()
    invented = next(card.id for card in shop.list_visits(demo=True)[0])
    gone, stays = make(visit=invented), make()
    shop.remove_demo()
    assert list_papers(shop, piano) == [stays]
    with pytest.raises(StoreError, match="there is no such paper"):
        fetch_paper(shop, gone.id)


# --- what goes in


def test_pins_reasons_and_wishes_stand_in_the_evaluation(shop, piano, make):
    put(
        shop, piano, pin__hammers="replace", reason__hammers="the sound is to be softer", pin__nothing="replace",
        wish__family=3, wish__looks=1, wish__lettering="lettering_kept", wish__colour="walnut",
        wish__left_original=["plate", "unheard_of"], wish__leaning="keep", wish__questions="What of the stool?",
        wish__of_tomorrow=5,
    )  # fmt: skip
    paper = make("evaluation")
    told = words_of(shop, paper)
    for said in (
        "replace: changed by hand: the sound is to be softer",
        "To have it matters a lot",
        "The name on it the old letters stay",
        "Colour of a new finish walnut",
        "To be left as it is plate",
        "Leaning today Keep it as it is",
        "What of the stool?",
    ):
        assert said in told, said
    assert "How it looks matters" not in told
    assert paper.given["pins"] == {"hammers": "replace"}
    assert paper_again(shop, paper.id).same


def test_what_a_person_set_and_took_back_is_in_no_paper(shop, piano, make):
    put(shop, piano, pin__hammers="replace", reason__hammers="because")
    put(shop, piano, pin__hammers=None)
    assert make().given["reasons"] == make().given["pins"] == {}


def test_the_settings_of_the_shop_stand_at_its_head(shop, make):
    shop.set_setting("shop.name", "Workshop of *No* $1 <One>")
    shop.set_setting("shop.address", "Mill Lane 4\nAuerwald")
    with shop.store.writing() as connection:  # past the gate, as an older version would
        entries.set_setting(connection, "shop.contact", 7)
    shop.set_setting("shop.second_opinion", "the guild of somewhere")
    told = words_of(shop, make())
    assert "Workshop of *No* $1 <One>" in told
    assert "Mill Lane 4" in told
    assert shop_facts(shop).reach == ()
    assert "the guild of somewhere" in words_of(shop, make("evaluation"))


def test_an_invented_visit_comes_from_the_invented_workshop_until_the_shop_has_a_name(shop):
    assert "(invented)" in shop_facts(shop, demo=True).name
    german = shop_facts(shop, demo=True, spoken="de")
    assert "(erfunden)" in german.name
    assert "gesetzlichen Rechte" in german.warranty
    assert german.address[0] == shop_facts(shop, demo=True).address[0]
    assert shop_facts(shop).name == ""
    shop.set_setting("shop.name", "Ours")
    assert shop_facts(shop, demo=True).name == "Ours"


def test_photos_go_in_with_their_captions_and_a_lost_one_is_said_to_be_lost(shop, piano, make, tables):
    looked_at = {finding.check for finding in shop.open_visit(piano, tables).visit.findings}
    not_looked_at = next(row.id for row in tables.of_kind("checks", "upright").values() if row.id not in looked_at)
    for seed, check in enumerate([not_looked_at, "", "plate_crack"]):
        shop.add_photo(piano, made_photo(seed=seed), name="x.jpg", check=check, caption=f"Caption {seed}", **ANNA)
    hashes = [photo.hash for photo in shop.open_visit(piano, tables).photos]
    paper = make("evaluation")
    assert paper.photos == tuple(hashes)
    told = words_of(shop, paper)
    assert all(f"Caption {seed}" in told for seed in range(3))
    assert "can't be read" not in told
    assert paper_again(shop, paper.id).same
    assert make("evaluation", photos=(hashes[1],)).photos == (hashes[1],)
    assert make("summary").photos == tuple(hashes)  # the sheet numbers them on the drawing
    assert make("letter").photos == ()
    shop.photo_path(hashes[0]).unlink()
    again = paper_again(shop, paper.id)
    assert (again.same, again.same_figures, again.lost_photos) == (False, True, (hashes[0],))
    assert "can't be read" in words_of(shop, make("evaluation"))


def test_the_evaluation_says_what_the_books_know_of_the_piano_before(shop, piano, make, tables):
    def told(words: str) -> bool:
        """Tell whether words stand in the evaluation made now, wherever its lines break."""
        text = words_of(shop, make("evaluation"))
        return tight(f"before the visit: {words}") in tight(text)

    assert told("its books could not be searched, since the number of the piano is not known.")
    put(shop, piano, piano__serial="4711")
    assert told("none that its books know of. They were searched for this number.")
    first = make("evaluation")
    earlier = entered(shop, LINDNER, tables)
    put(shop, earlier, date="2019-05-02", piano__serial="4711")
    other = entered(shop, LINDNER, tables)
    put(shop, other, date="2018-05-02", piano__serial="another")
    assert told("looked at on 2 May 2019, no work noted.")
    put(shop, earlier, job__done__tune__a={"hours": 2})
    assert told("looked at on 2 May 2019, then done: ")
    assert paper_again(shop, first.id).same, "what was known then stays with it"


def tight(text: str) -> str:
    return "".join(text.split()).replace("-", "")


def test_a_paper_is_also_the_text_of_a_mail_with_the_same_total(shop, piano, make):
    put(shop, piano, client__name="Nele Köhler")
    paper = make("quotation", option="rebuild", language="de")
    mail = paper_mail(shop, paper.id)
    total = re.search(r"(?:Dieser Preis steht fest|Das war der Preis): ([\d.,]+ EUR)", words_of(shop, paper))
    assert total
    assert total[1] in mail.text
    assert mail.subject.startswith("Angebot · ")


ANY_WORDS = [
    '*bold* _it_ #import "x" $5 @ref \\ <script>alert(1)</script> [a](b) `c`',
    "🎹 pianos 🎶 for 👨‍👩‍👧",
    "שלום וברכה, 123",
    "lines\nand\nlines\n" * 20,
    "W" * 3000,
    "a letter of no script \ufffe and a mark alone \u0301",
    "x" * 10_000,
]


@pytest.mark.parametrize("words", ANY_WORDS, ids=range(len(ANY_WORDS)))
def test_any_words_at_all_are_kept_printed_and_made_again(shop, piano, make, words):
    one_line = " ".join(words.split())[:250]
    put(
        shop, piano, story=words, title=one_line, client__wishes=words, wish__questions=words, pin__hammers="replace",
        reason__hammers=words, finding__hammer_groove={"readings": [{"value": 2.6}], "note": words},
    )  # fmt: skip
    shop.set_setting("shop.name", words[:300])
    paper = make("evaluation", who=words)
    assert paper_again(shop, paper.id).same
    assert read_back(fetch_paper(shop, paper.id)).pages < 40


def test_prices_from_sales_are_kept_with_the_paper(shop, make):
    sold = PricesByState(
        prices=(9000.0, 6000.0, 3000.0, 1000.0), spread=1.5, basis="sales", sales_used=40, table_weight=0.1,
        rows=("bands.csv:2", "sale one"),
    )  # fmt: skip
    rows = (("4 May 2026", "upright, 128 cm, sold privately", "2,000", "5%", "2,100"),)
    by_sales = BySales(sold=sold, hash="b" * 64, words="Forty sales of somewhere.", comparables=rows)
    paper = make("evaluation", by_sales=by_sales)
    assert (paper.sales_hash, paper_again(shop, paper.id).same) == ("b" * 64, True)
    assert "Forty sales of somewhere." in words_of(shop, paper)
    assert "upright, 128 cm, sold privately" in words_of(shop, paper)
    assert "The nearest sales, brought to this piano" in words_of(shop, paper)
    assert paper.figures != make("evaluation").figures


# --- refused


def test_a_way_without_work_is_not_quoted_and_nothing_is_kept(shop, piano, make):
    with pytest.raises(UserError, match=r"There is no work in 'retire', so there is nothing to quote\. Choose rebuild"):
        make("quotation", option="retire")
    assert list_papers(shop, piano) == []


def test_a_quotation_is_for_the_way_asked_for_and_its_sum_stands_in_it(shop, make):
    paper = make("quotation", option="partial_repair")
    assert paper.option == "partial_repair"
    # the lines are shown in whole money, and add up to what is signed
    total = re.search(r"In all ([\d,]+\.\d\d)", words_of(shop, paper))
    assert float(total[1].replace(",", "")) == pytest.approx(
        paper.figures["options"]["partial_repair"]["fixed_price"], abs=20
    )
    assert make("quotation").option != ""


def test_where_no_way_has_any_work_nothing_can_be_quoted(shop, piano, make, monkeypatch):
    monkeypatch.setattr("valuation.service.paper_parts.report", _without_lines(service.report))
    with pytest.raises(UserError, match="There is no work in any of the ways forward"):
        make("quotation")


def _without_lines(report: Callable) -> Callable:
    def without(*told: object):
        found = report(*told)
        return replace(found, options=tuple(replace(option, lines=()) for option in found.options))

    return without


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"request": "x"}, "an id is not 32 hexadecimal digits"),
        ({"visit": "f" * 32}, "there is no visit"),
    ],
)
def test_what_cant_be_kept_is_refused_in_words(shop, piano, make, wrong, told):
    with pytest.raises(StoreError, match=told):
        make(**wrong)
    assert list_papers(shop, piano) == []


def test_a_file_that_was_changed_from_outside_is_not_given_out(shop, make):
    paper = make()
    with shop.store.writing() as connection:
        connection.execute(update(schema.paper).values(pdf=b"%PDF-another"))
    with pytest.raises(StoreError, match=f"paper {paper.printed_number} is damaged"):
        fetch_paper(shop, paper.id)


def test_tables_that_are_damaged_are_told(shop, make):
    paper = make()
    with shop.store.writing() as connection:
        connection.execute(text("UPDATE tables_version SET files = :junk"), {"junk": b"PK junk"})
    with pytest.raises(UserError, match="are damaged; take them from a backup"):
        paper_again(shop, paper.id)


# --- with today's tables


@pytest.fixture
def own_tables(tmp_path: Path) -> Path:
    """The shop's own copy of the packaged tables."""
    folder = tmp_path / "own"
    folder.mkdir()
    for path in PACKAGED.iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    return folder


def change(path: Path, key: str, **cells: object) -> None:
    """Change cells of the rows whose first cell is this."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        if next(iter(row.values())) == key:
            row |= {column: str(cell) for column, cell in cells.items()}
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def test_with_the_same_tables_on_the_same_day_nothing_has_moved(shop, make, tables):
    paper = make()
    told = paper_today(shop, paper.id, tables, today=paper.priced_on)
    assert (told.moved.turned, told.moved.figures, told.same_tables, told.rows) == (False, (), True, ())
    assert (told.set_aside, told.levels_gone, told.changed_since, told.fault) == ({}, (), (), "")
    assert told.moved.sentence == "The verdict is the same: 'Retire'."


def test_a_dearer_hour_moves_the_prices_and_is_named_before_what_bears_on_nothing(shop, make, own_tables):
    paper = make()
    before = fetch_paper(shop, paper.id)
    change(own_tables / "rates.csv", "workshop", per_hour=99)
    change(own_tables / "stages.csv", "asked", note="another note")
    today = service.load_shop(own_tables)
    told = paper_today(shop, paper.id, today, today=paper.priced_on)
    assert not told.same_tables
    rate = [row for row in told.rows if row.file == "rates.csv"]
    assert [(row.name, row.how, row.bears) for row in rate] == [("workshop", "changed", True)] * 2
    assert rate[1].cells == (("per_hour", "68", "99"),)
    assert [row.file for row in told.rows][-1] == "stages.csv"
    price = next(figure for figure in told.moved.figures if figure.name == "Rebuild: price")
    assert price.by.startswith("+")
    assert list_papers(shop, paper.visit) == [paper]
    assert fetch_paper(shop, paper.id) == before
    assert paper_again(shop, paper.id).same


def test_another_piano_that_costs_a_fortune_turns_the_verdict(shop, make, own_tables):
    paper = make()
    for tier in ("upright", "grand"):
        change(own_tables / "replacements.csv", tier, price_low=90_000, price_likely=95_000, price_high=99_000)
    told = paper_today(shop, paper.id, service.load_shop(own_tables), today=paper.priced_on)
    assert told.moved.turned
    assert told.moved.sentence.startswith("The verdict turns: it was 'Retire', it is '")


def test_what_was_entered_since_is_named_and_left_out_of_the_comparison(shop, piano, make, tables):
    paper = make()
    put(shop, piano, finding__plate_crack={"grade": "failed"}, piano__maker="Found inside")
    told = paper_today(shop, paper.id, tables, today=paper.priced_on)
    assert told.moved.figures == ()
    assert set(told.changed_since) == {"finding.plate_crack", "piano.maker"}


def test_what_todays_tables_dont_know_is_set_aside_and_told(shop, piano, make, tables, own_tables):
    put(shop, piano, pin__hammers="replace")
    paper = make()
    lines = (own_tables / "checks.csv").read_text(encoding="utf-8").splitlines()
    finding = next(name.removeprefix("finding.") for name in shop.open_visit(piano, tables).heads if "groove" in name)
    (own_tables / "checks.csv").write_text(
        "\n".join(line for line in lines if not line.startswith(f"{finding},")) + "\n", encoding="utf-8"
    )
    told = paper_today(shop, paper.id, service.load_shop(own_tables), today=paper.priced_on)
    assert set(told.set_aside) == {f"finding.{finding}"}
    # an upright's and a grand's
    assert [row.how for row in told.rows if row.file == "checks.csv"] == ["gone", "gone"]


def test_figures_of_a_paper_whose_tables_cant_be_read_any_more_are_compared_all_the_same(shop, make, tables):
    paper = make()
    with shop.store.writing() as connection:
        connection.execute(text("UPDATE tables_version SET files = :junk"), {"junk": b"PK junk"})
    other = replace(tables, hash="e" * 64)
    told = paper_today(shop, paper.id, other, today=paper.priced_on)
    assert "are damaged" in told.fault
    assert told.moved.figures == ()
