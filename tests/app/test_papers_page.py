"""The page 'Papers': made, kept, listed, made again and held against today's tables, as a person does it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from demo_shop import draft, go, opened, start, told
from printed import plain, read_back
from streamlit.testing.v1 import AppTest

from valuation.errors import StoreError
from valuation.report.words import verdict_sentence
from valuation.screens import shop
from valuation.service import PACKAGED, appraise, load_shop
from valuation.service.visits import Shop
from valuation.service.written import Paper, fetch_paper, list_papers

RETIRES, KEEPS_PHOTOS = 2, 3
"""Numbers of invented pianos: one whose verdict is to retire it, one of the music school."""


@pytest.fixture
def page() -> AppTest:
    """The page of a piano whose verdict is to retire it, with nothing made yet."""
    return go(opened(start(), RETIRES), "papers")


def choose(page: AppTest, name: str, word: str) -> AppTest:
    page.pills(key=draft(page).key(f"paper_{name}")).set_value(word).run()
    assert not page.exception
    return page


def make(page: AppTest) -> AppTest:
    making(page).click().run()
    assert not page.exception
    return page


def making(page: AppTest):
    return next(button for button in page.button if (button.key or "").startswith("make_"))


def kept(page: AppTest) -> list[Paper]:
    return list_papers(shop.store(), draft(page).visit_id)


def words_of(paper: Paper) -> str:
    return read_back(fetch_paper(shop.store(), paper.id)).text


def downloads(page: AppTest) -> list[str]:
    return [button.proto.label for button in page.get("download_button")]


def test_a_paper_is_made_kept_and_handed_out_under_its_number(page):
    assert "None yet." in told(page)
    page.session_state["who"] = "Edda Rehlau"
    make(page)
    (paper,) = kept(page)
    found = appraise(draft(page).visit, load_shop(), on=draft(page).visit.on)
    assert plain(verdict_sentence(found)) in words_of(paper)
    assert f"No. {paper.printed_number} is made and kept: Written evaluation." in told(page)
    assert downloads(page) == [f"Download No. {paper.printed_number}"] * 2 + ["Download the form"]
    assert "by Edda Rehlau · English · A4 · mm and N·m" in told(page)
    assert "It said: Retire. Nothing that it rests on has changed since." in told(page)
    page.run()
    assert "is made and kept" in told(page)
    assert kept(page) == [paper]
    choose(page, "what", "letter")
    assert "is made and kept" not in told(page)


def test_the_words_size_and_units_chosen_are_those_of_the_paper_and_of_the_next_one(page):
    for name, word in (("what", "letter"), ("language", "de"), ("size", "letter"), ("units", "imperial")):
        choose(page, name, word)
    make(page)
    (paper,) = kept(page)
    printed = read_back(fetch_paper(shop.store(), paper.id))
    assert (printed.language, printed.size_mm) == ("de", (216, 279))
    go(go(page, "verdict"), "papers")
    chosen = {name: page.pills(key=draft(page).key(f"paper_{name}")).value for name in ("language", "size", "units")}
    assert chosen == {"language": "de", "size": "letter", "units": "imperial"}


def test_clicking_twice_on_the_same_button_makes_one_paper(page):
    button = making(page)
    make(page)
    button.click().run()
    assert [paper.number for paper in kept(page)] == [1]
    make(page)
    assert [paper.number for paper in kept(page)] == [1, 2]


def test_a_way_without_work_is_refused_in_a_sentence_and_one_with_work_is_quoted(page):
    choose(page, "what", "quotation")
    choose(page, "option", "retire")
    assert "There is no work in 'retire', so there is nothing to quote. Choose" in told(page)
    assert not [button for button in page.button if (button.key or "").startswith("make_")]
    choose(page, "option", "rebuild")
    make(page)
    assert kept(page)[0].option == "rebuild"
    assert "Quotation, rebuild" in told(page)


def test_the_quotation_is_for_the_verdicts_work_to_begin_with():
    page = go(opened(start(), KEEPS_PHOTOS), "papers")
    choose(page, "what", "quotation")
    assert page.pills(key=draft(page).key("paper_option")).value == "partial_repair"


def test_the_photos_chosen_go_in_and_the_others_dont(page):
    from made_photos import made_photo

    for seed in range(14):
        shop.store().add_photo(
            draft(page).visit_id, made_photo(size=(60, 40), seed=seed), name="x.jpg", check="plate_crack",
            caption=f"Shot *{seed}*", who="", device="", now=shop.now(),
        )  # fmt: skip
    page.run()
    field = page.pills(key=draft(page).key("paper_photos_14"))
    assert len(field.value) == 12
    assert "1: Shot \\*0\\*" in field.options
    field.set_value(field.value[:2]).run()
    make(page)
    (paper,) = kept(page)
    assert [photo.hash for photo in draft(page).recorded.photos[:2]] == list(paper.photos)
    assert "Shot *1*" in words_of(paper)
    assert "Shot *2*" not in words_of(paper)


def test_what_the_client_said_and_what_was_set_by_hand_stands_in_it(page):
    draft(page).keep("wish.questions", "What of the *stool*?")
    draft(page).keep("pin.hammers", "replace")
    draft(page).keep("reason.hammers", "for the sound")
    make(page)
    text = words_of(kept(page)[0])
    assert "What of the *stool*?" in text
    assert "changed by hand: for the sound" in text


def test_a_paper_tells_when_the_visit_has_changed_since(page):
    make(page)
    draft(page).keep("piano.maker", "Found inside")
    page.run()
    assert "The visit or the tables have changed since." in told(page)
    page.toggle(key=draft(page).key(f"today_{kept(page)[0].id[:12]}")).set_value(True).run()
    assert "Entered since then, and not in this comparison: Maker, as written on it." in told(page)


def test_made_again_it_is_the_same_and_nothing_is_added(page):
    make(page)
    paper = kept(page)[0]
    page.button(key=draft(page).key(f"again_{paper.id[:12]}")).click().run()
    assert "Made again: the same, byte for byte." in told(page)
    assert kept(page) == [paper]


def test_a_paper_can_be_copied_as_the_text_of_a_mail(page):
    make(page)
    paper = kept(page)[0]
    page.toggle(key=draft(page).key(f"mail_{paper.id[:12]}")).set_value(True).run()
    assert not page.exception
    subject, text = (block.value for block in page.code[-2:])
    assert "\n" not in subject
    assert text.startswith(("Dear ", "Good day,"))
    assert "Nothing is signed or ordered by this" in text


def test_todays_tables_show_what_moved_and_which_rows_did_it(page, tmp_path, monkeypatch):
    make(page)
    own = tmp_path / "own"
    shutil.copytree(PACKAGED, own)
    rates = (own / "rates.csv").read_text(encoding="utf-8")
    (own / "rates.csv").write_text(rates.replace(",68,2026", ",99,2026"), encoding="utf-8")
    monkeypatch.setenv(shop.TABLES_FOLDER, str(own))
    page.run()
    paper = kept(page)[0]
    page.toggle(key=draft(page).key(f"today_{paper.id[:12]}")).set_value(True).run()
    assert not page.exception
    text = told(page)
    assert "The verdict is the same: 'Retire'." in text
    assert "Rebuild: price" in text
    assert "rates.csv: workshop" in text
    assert "per_hour" in text
    assert "The visit or the tables have changed since." in text
    assert kept(page) == [paper]


def test_the_papers_name_the_workshop_or_the_page_says_that_they_dont(page):
    assert "bear no name of a workshop" not in told(page)  # the demo has an invented one
    visit = shop.store().start_visit({"piano.kind": "grand"}, who="", device="", now=shop.now())
    mine = go(start(visit=visit), "papers")
    assert "The papers bear no name of a workshop yet." in told(mine)
    shop.store().set_setting("shop.name", "Ours & <Theirs>")
    mine.run()
    assert "bear no name of a workshop" not in told(mine)
    make(mine)
    assert "Ours & <Theirs>" in words_of(kept(mine)[0])


def test_a_piano_of_which_nothing_is_known_gets_a_paper_without_verdict_price_or_place_to_sign():
    start()  # opens the store
    visit = shop.store().start_visit({"piano.kind": "upright"}, who="", device="", now=shop.now())
    page = go(start(visit=visit), "papers")
    for what in ("evaluation", "summary"):
        make(choose(page, "what", what))
    assert [paper.what for paper in kept(page)] == ["evaluation", "summary"]
    assert told(page).count("It said: not evaluated yet.") == 2
    for paper in kept(page):
        text = words_of(paper)
        assert "Not evaluated yet" in text
        assert "EUR" not in text
        assert "ignature" not in text
    for what in ("quotation", "letter"):
        choose(page, "what", what)
        assert "The piano is not evaluated yet." in told(page)
        assert not [button for button in page.button if (button.key or "").startswith("make_")]


def test_what_is_not_saved_yet_holds_a_paper_back(page, monkeypatch):
    def full(*_: object, **__: object) -> None:
        raise StoreError([])

    with monkeypatch.context() as broken:
        broken.setattr(Shop, "put", full)
        draft(page).keep("piano.maker", "Not stored")
        page.run()
    assert "Something that was entered is not saved yet." in told(page)
    assert not [button for button in page.button if (button.key or "").startswith("make_")]


def test_a_store_that_takes_nothing_is_told_and_nothing_is_kept(page, monkeypatch):
    from valuation.errors import Problem
    from valuation.store import papers

    def full(*_: object) -> None:
        raise StoreError([Problem("valuation.sqlite", 0, "", "the disk is full; nothing was saved")])

    with monkeypatch.context() as broken:
        broken.setattr(papers, "keep", full)
        make(page)
    assert "the disk is full; nothing was saved" in told(page)
    assert kept(page) == []
    make(page)
    assert len(kept(page)) == 1


def test_older_papers_are_folded_away_until_they_are_asked_for(page):
    choose(page, "what", "summary")
    for _ in range(9):
        make(page)
    page.run()
    assert "9 papers about this piano." in told(page)
    assert len(page.subheader) == 8
    page.toggle(key=draft(page).key("all_papers")).set_value(True).run()
    assert len(page.subheader) == 9
    assert kept(page)[0].printed_number in page.subheader[-1].value


def test_the_talk_ends_with_a_sheet_to_take_home(page):
    go(page, "client")
    page.button(key="step_stand").click().run()
    make(page)
    (paper,) = kept(page)
    assert (paper.what, read_back(fetch_paper(shop.store(), paper.id)).pages) == ("summary", 2)
    assert f"Download No. {paper.printed_number}" in downloads(page)


def test_the_verdict_leads_to_the_papers(page):
    go(page, "verdict")
    page.pills(key=draft(page).key("more")).set_value("limits").run()
    page.button(key="to_papers").click().run()
    assert page.title[0].value == "Papers"


def test_the_shops_page_takes_all_that_stands_on_a_paper(page):
    draft(page).keep("date", shop.today().isoformat())  # what has expired can't be signed, and bears no terms
    go(page, "shop")
    for name in ("name", "address", "contact", "town", "fee", "second_opinion", "terms"):
        page.text_input(key=f"set_shop_{name}").set_value(f"My {name}").run()
    make(choose(go(page, "papers"), "what", "quotation"))
    assert "My name" in words_of(kept(page)[0])
    assert "My terms" in words_of(kept(page)[0])
    make(choose(page, "what", "letter"))
    assert "My town" in words_of(kept(page)[1])


def test_paths_of_nobodys_machine_stand_in_a_kept_paper(page):
    make(page)
    paper = kept(page)[0]
    assert str(Path.cwd()) not in repr(paper.given) + paper.visit_text
