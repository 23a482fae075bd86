"""The pages in German, as Streamlit's own test runner sees them: no English is left, and nothing else changes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from demo_shop import draft, go, inspected, line_of, open_form, opened, start, told, type_in
from stop_words import english_left
from streamlit.testing.v1 import AppTest
from untold import listening, worth_telling

from valuation.language import speaking
from valuation.report.labels import choice_word
from valuation.report.words import verdict_sentence
from valuation.screens import shop
from valuation.screens.page_list import PAGES
from valuation.screens.pins.entry import Asked, row_text, take_cells, take_row
from valuation.service import demo_visits, load_shop, read_visit_file, write_visit_text

KINDS = (
    *("title", "header", "subheader", "markdown", "text", "html", "button", "pills", "text_input", "text_area"),
    *("selectbox", "toggle", "slider", "expander", "download_button", "file_uploader", "plotly_chart", "number_input"),
    *("radio", "checkbox", "segmented_control", "multiselect", "caption", "popover", "date_input"),
)


@pytest.fixture(autouse=True)
def _german_shop(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let the shop be German, and the test runner too: it words the choices of a field by itself."""
    monkeypatch.setenv(shop.LANGUAGE, "de")
    with speaking("de"):
        yield


def shown(page: AppTest) -> list[str]:
    """Everything that a person reads on the page: what is written, labels, choices, hints, what charts say."""
    found = []
    for kind in KINDS:
        for element in page.get(kind):
            chooses = bool(getattr(element, "options", ()))  # what it holds is a key; its options are what is read
            for name in ("label", "placeholder", "help", "alt", *(() if chooses else ("value",))):
                text = getattr(element, name, None)
                found.append(text if isinstance(text, str) else getattr(element.proto, name, ""))
            found += [str(option) for option in getattr(element, "options", ())]
    texts = [
        re.sub(r"<style>.*?</style>|<[^>]+>", " ", text, flags=re.DOTALL) for text in found if isinstance(text, str)
    ]
    return [text.replace("\\", "").replace("\u2060", "") for text in texts if text.strip()]


def own_words(value: object) -> set[str]:
    """The texts that somebody wrote into a visit: they stay as they are in any language."""
    if isinstance(value, str):
        return {value.strip(), " ".join(value.split())} if len(value) > 3 else set()
    if is_dataclass(value):
        return {text for field in fields(value) for text in own_words(getattr(value, field.name))}
    if isinstance(value, dict):
        return {text for one in value.items() for text in own_words(one)}
    if isinstance(value, (tuple, list, set, frozenset)):
        return {text for one in value for text in own_words(one)}
    return set()


def written() -> list[str]:
    """What somebody wrote into the demo shop, in visit files and since, and where it lies, the longest first."""
    book, store = load_shop(), shop.store()
    visits = [read_visit_file(path, book, shop.today()) for _, path in demo_visits()]
    entered = [entry.value for card in store.list_visits(limit=1000)[0] for entry in store.history(card.id)]
    words = own_words(visits) | {words for words in own_words(entered) if " " in words}
    words.add(str(store.store.folder))
    return sorted(words - {"visit", "upright", "grand"}, key=len, reverse=True)


def english_in(texts: list[str]) -> list[str]:
    sources = {part for row in load_shop().laws for part in row.source.split("; ")}  # publications keep their titles
    own = [str(shop.store().store.folder), *written(), *sources]  # the name of a folder is nobody's language
    return [f"{hits}: {text[:160]}" for text in texts if (hits := english_left(text, own))]


def german(number: int) -> AppTest:
    page = opened(start(), number)
    assert not page.exception
    return page


@pytest.mark.parametrize("number", [1, 3])
def test_no_english_is_left_on_any_page(number):
    left = {}
    with listening("de") as untold:
        page = german(number)
        for path in PAGES:
            go(page, Path(path).stem)
            if english := english_in(looked_at(page)):
                left[Path(path).stem] = english
    assert not left, "\n".join(f"{name}\n  " + "\n  ".join(found) for name, found in left.items())
    assert not worth_telling(untold)


def test_no_english_is_left_with_sales_on_the_table():
    with listening("de") as untold:
        page = go(german(3), "market")
        page.pills(key=draft(page).key("sales_from")).set_value("The invented sales").run()
        page.button(key="take_sales").click().run()
        page.toggle(key=draft(page).key("use_sales")).set_value(True).run()
        assert not page.exception
        assert not english_in(looked_at(page))
        assert not english_in(looked_at(go(page, "verdict")))
    assert not worth_telling(untold)


@pytest.mark.parametrize(
    ("subject", "typed"),
    [
        ("Tuning pins", {"pins_bass": "3,1 2,5 6 7", "pins_treble": "5,1 5 6 7"}),
        ("Air and wood", {"dry": "25", "wet": "70,5"}),
        ("Bearing and crown", {"bearing_angle_bass": "0,8 1,1", "crown": "2,5"}),
        ("Strings", {}),
        ("Sound", {}),
    ],
)
def test_no_english_is_left_where_something_is_measured(subject, typed):
    with listening("de") as untold:
        page = go(german(3), "measure")
        page.pills(key=draft(page).key("measured")).set_value(subject).run()
        for name, text in typed.items():
            page.text_input(key=draft(page).key(f"measure_{name}")).set_value(text)
        page.run()
        assert not page.exception
        assert not english_in(looked_at(page))
        assert not typed or "Was es sagt" in told(page)
    assert not worth_telling(untold)


@pytest.mark.parametrize("number", [1, 3])
def test_no_number_has_the_signs_of_english(number):
    page = go(german(number), "work")
    for part in ("hammers", "strings"):
        page.pills(key=draft(page).key(f"pin_{part}")).set_value("replace").run()
    english_signs = re.compile(r"\b[1-9]\d{0,2},\d{3}\b(?!,)|\b\d+\.\d{1,2}\b(?![.\d])")
    for name in ("verdict", "work", "what_if", "condition", "client", "inspect", "check_next"):
        go(page, name)
        for text in looked_at(page):
            days = re.sub(r"\b\d{1,2}\.\d{1,2}\.\d{4}\b|\d{4}-\d\d-\d\d", "", text)
            assert not english_signs.search(days), (name, english_signs.search(days)[0], text[:200])


def looked_at(page: AppTest) -> list[str]:
    """What is read on the page but for a table's row, which stands there as in its file, and where the data lies."""
    return [text for text in shown(page) if not text.lstrip().startswith(("Zeile", "Die Daten liegen in"))]


def begin(page: AppTest) -> AppTest:
    """A visit of its own to an upright."""
    page.button(key="start").click().run()
    page.pills(key="start_kind").set_value("upright").run()
    page.button(key="start_visit").click().run()
    return page


def test_a_choice_typed_by_its_german_word_is_stored_by_its_grade():
    page = type_in(begin(start()), "plate_crack", "geris")
    assert draft(page).finding("plate_crack").grade == "severe"
    check = load_shop().of_kind("checks", "upright")["plate_crack"]
    assert choice_word(check, "severe") == "gerissen"
    assert "Strebe, Flansch, Wirbelfeld, Capo oder Anhangplatte" in told(inspected(page))
    # the visit file that is taken along is the same in any language
    assert f'plate_crack = "{check.choices["severe"]}"' in write_visit_text(draft(page).visit, load_shop())


def test_a_number_typed_with_a_comma_is_taken_with_it_and_stands_with_it():
    page = type_in(begin(start()), "pedal_travel", "3,5 mm")
    assert draft(page).finding("pedal_travel").readings[0].value == 3.5
    open_form(go(page, "verdict"))
    assert page.text_input(key=line_of(page, "pedal_travel")).value == "3,5"


def test_readings_typed_with_commas_are_taken_one_by_one():
    page = type_in(begin(start()), "pin_torque", "6,5 7 49.2:5,25", row="bass")
    readings = draft(page).finding("pin_torque").readings
    assert [reading.value for reading in readings] == [6.5, 7.0, 5.25]
    assert (readings[2].key, readings[2].string) == (49, 2)


def test_a_point_that_could_part_thousands_is_told_and_nothing_is_stored():
    page = type_in(begin(start()), "pedal_travel", "1.250")
    assert draft(page).finding("pedal_travel") is None
    assert "bitte die Zahl ohne Zeichen zwischen den Tausendern schreiben" in told(page)


def test_a_fact_typed_with_a_comma_is_taken_with_it():
    page = go(begin(start()), "piano")
    page.text_input(key=draft(page).key("fact_humidity")).set_value("44,5").run()
    assert draft(page).visit.humidity == 44.5
    go(go(page, "inspect"), "piano")
    assert page.text_input(key=draft(page).key("fact_humidity")).value == "44,5"


def test_the_verdict_is_the_same_whatever_is_spoken(monkeypatch):
    page = german(1)
    found = shop.appraisal_of(draft(page).visit, {}, load_shop())
    assert page.title[0].value.replace("\\", "") == verdict_sentence(found)
    with speaking("en"):
        monkeypatch.setenv(shop.LANGUAGE, "en")
        page = german(1)
        assert page.title[0].value.replace("\\", "") == verdict_sentence(found)
        assert shop.appraisal_of(draft(page).visit, {}, load_shop()) == found


def test_what_the_shop_chose_on_its_page_goes_before_the_environment(monkeypatch):
    monkeypatch.setenv(shop.LANGUAGE, "en")
    with speaking("en"):
        page = go(start(), "shop")
        assert page.title[0].value == "The shop"
    shop.store().set_setting("language", "de")
    assert go(start(), "shop").title[0].value == "Die Werkstatt"


def test_pins_typed_with_commas_stay_as_exact_as_they_were():
    book = load_shop()
    visit = read_visit_file(demo_visits()[0][1], book, shop.today())
    asked = Asked(check=book.of_kind("checks", "grand")["pin_torque"], visit=visit, tables=book, system="metric")
    finding, faults = take_row(None, "bass", "6,5 5,4321", asked)
    assert not faults
    shown = row_text(finding, "bass", asked)
    assert shown == "6,5 5,43"
    again, faults = take_row(finding, "bass", f"{shown} 7", asked)
    assert not faults
    assert [reading.value for reading in again.readings] == [6.5, 5.4321, 7.0]


def test_a_number_of_the_grid_is_taken_as_it_is_even_where_it_looks_like_thousands():
    book = load_shop()
    visit = read_visit_file(demo_visits()[0][1], book, shop.today())
    asked = Asked(check=book.of_kind("checks", "grand")["pin_torque"], visit=visit, tables=book, system="metric")
    finding, faults = take_cells(None, {(49, 2): 1.125}, (28, 48), asked)
    assert not faults
    assert finding.readings[0].value == 1.125
