"""The pages in German, as Streamlit's own test runner sees them: no English is left, and nothing else changes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from demo_shop import go, opened, start
from streamlit.testing.v1 import AppTest

from valuation.language import speaking
from valuation.screens import shop
from valuation.screens.frame import PAGES
from valuation.service import demo_visits, load_shop, read_visit_file

ENGLISH = re.compile(
    r"\b(the|of|and|is|are|isn't|not|with|without|for|from|what|this|that|it|its|by|to|you|your|which|where|when|than|"
    r"only|every|all|can|can't|may|be|been|has|have|nobody|looked|unless|one|each|none|no|yes|as|at|on|how|why|who|"
    r"before|after|into|out|their|they|there|here|low|high|high|price|years|sales|made|worn|sound|failed|grand|upright)\b",
    re.IGNORECASE,
)
"""Words that English can't do without and that German hasn't."""

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
    book = load_shop()
    visits = [read_visit_file(path, book, shop.today()) for _, path in demo_visits()]
    kept = {"visit", "upright", "grand"}
    return sorted((w for visit in visits for w in own_words(visit) if w not in kept), key=len, reverse=True)


def english_in(texts: list[str]) -> list[str]:
    left = []
    own = written()
    for text in texts:
        rest = text
        for words in own:
            rest = rest.replace(words, "")
        rest = re.sub(r"[\w/]+\.(csv|toml|xlsx)\S*|\b\w*_\w+\b", "", rest)
        if hits := ENGLISH.findall(rest):
            left.append(f"{hits}: {text[:160]}")
    return left


def german(number: int) -> AppTest:
    page = opened(start(), number)
    assert not page.exception
    return page


@pytest.mark.parametrize("number", [1, 3])
def test_no_english_is_left_on_any_page(number):
    page = german(number)
    left = {}
    for path in PAGES:
        go(page, Path(path).stem)
        texts = shown(page)
        # a row of a table stands there as it is in its file, and a folder as it is called
        texts = [text for text in texts if not text.lstrip().startswith(("Zeile", "Die Daten liegen in"))]
        if english := english_in(texts):
            left[Path(path).stem] = english
    assert not left, "\n".join(f"{name}\n  " + "\n  ".join(found) for name, found in left.items())
