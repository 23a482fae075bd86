"""Papers with any text in them: made, tagged, printed as text, within their margins."""

from __future__ import annotations

import io
from dataclasses import replace
from unittest import mock

import numpy as np
import pytest
import typst
from demo_pianos import WRITTEN_ON, appraisal_of, study_of
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from PIL import Image
from printed import plain, read_back

from valuation.engine.study import study_of as made_ready
from valuation.paper import typeset
from valuation.paper.plain_text import printable
from valuation.report.document import Document, Facts, Points, Section, Words
from valuation.report.occasion import Shop
from valuation.report.words import verdict_sentence
from valuation.service.papers import WRITTEN, print_paper, write_paper

PIANO = "6_heirloom"
SLOW = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])

MARKUP = '*bold* _it_ $x^2$ #import "/etc/passwd": * <b>x</b> @ref `code` \\ [a](http://b) = head // no {x} %s ~ --'
NASTY = (
    MARKUP,
    "👍🏽 👨‍👩‍👧 🎹🇩🇪 ❤️ 漢字 한국어 שלום (a) 1, مرحبا! हिन्दी ไทย ᚠ 𝔘",
    "a\x00b\x1b[31m\x85\u2028\u202egnp\u202c\ufeff\ud800\ue000\U0010ffff",
    "W" * 2000,
    "漢" * 500 + "ש" * 500,
    "Z" + "\u0301" * 200,
    "word " * 2000,
    "\n".join(map(str, range(200))),
    "[" * 300 + "\\" * 300 + '"' * 300,
)
LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZäöüßéøłжω0123456789.,;:!?()*_#$<>@\\[]{}=+-/%&'\"`~^| "


def paper_with(text: str) -> Document:
    return Document(
        language="en",
        shop=(text,),
        title="Evaluation",
        subtitle=text,
        running=text[:60],
        facts=(("For", text),),
        sections=(
            Section(
                title=text[:200],
                blocks=(
                    Words(text=text),
                    Words(text=text, style="quote"),
                    Points(items=(text,)),
                    Facts(rows=(("Maker", text),)),
                ),
            ),
        ),
        foot=text[:60],
        page="Page {page} of {pages}",
    )


@given(st.text(max_size=300))
@example(NASTY[2])
@SLOW
def test_any_text_gives_a_tagged_paper(text: str) -> None:
    pdf = print_paper("evaluation", paper_with(text), made_on=WRITTEN_ON)
    printed = read_back(pdf)
    assert printed.marked
    assert pdf == print_paper("evaluation", paper_with(text), made_on=WRITTEN_ON)


@given(st.text(alphabet=LETTERS, min_size=1, max_size=200))
@example(MARKUP)
@SLOW
def test_what_was_written_is_printed_letter_by_letter(text: str) -> None:
    text = "«" + text + "»"
    printed = read_back(print_paper("evaluation", paper_with(text), made_on=WRITTEN_ON))
    assert without_blanks(text) in without_blanks(printed.text)


def without_blanks(text: str) -> str:
    """Return a text as it can be looked for: lines break anywhere, and words at their hyphens."""
    return "".join(plain(text).split()).replace("-", "")


@given(st.text(max_size=400))
@SLOW
def test_made_fit_once_it_is_fit(text: str) -> None:
    assert printable(printable(text)) == printable(text)


@pytest.mark.parametrize("text", NASTY)
@pytest.mark.parametrize("what", WRITTEN)
def test_a_visit_with_any_words_in_it_gives_every_paper_and_nothing_leaves_the_margins(text: str, what: str) -> None:
    visit = study_of(PIANO).visit
    noted = tuple(replace(finding, note=text) for finding in visit.findings)
    told = replace(
        visit,
        title=text,
        technician=text,
        place=text,
        story=text,
        findings=noted,
        piano=replace(visit.piano, maker=text, serial=text, finish=text),
        client=replace(visit.client, name=text, purpose=text, wishes=text),
    )
    study = made_ready(told, study_of(PIANO).tables, on=visit.on)
    with (
        mock.patch.object(typst, "compile", as_pictures),
        mock.patch.object(typeset, "with_row_heads", lambda made: made),
    ):
        pages = write_paper(what, study, written_on=WRITTEN_ON, shop=Shop(name=text, town=text), number=text)
    for page in pages:
        ink = np.asarray(Image.open(io.BytesIO(page)).convert("L")) < 200
        edge = PPI * 80 // 254  # 8 mm, on a page that lies on its side too
        assert not ink[:, :edge].any()
        assert not ink[:, -edge:].any()
        assert not ink[:edge].any()
        assert not ink[-edge:].any()


def as_pictures(*args, **terms) -> list[bytes]:
    """Compile as usual, so that what must not be in a PDF is told, and return the pages as pictures."""
    compiled(*args, **terms)
    made = compiled(*args, **(terms | {"format": "png", "ppi": PPI, "pdf_standards": []}))
    return made if isinstance(made, list) else [made]


compiled = typst.compile
PPI = 40


def test_the_verdict_is_printed_whatever_else_is() -> None:
    found = appraisal_of(PIANO)
    printed = read_back(write_paper("evaluation", study_of(PIANO), written_on=WRITTEN_ON))
    assert verdict_sentence(found) in printed.text
