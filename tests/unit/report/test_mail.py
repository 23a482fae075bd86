"""A paper as the text of an e-mail: the same sentences and figures as on the paper, as plain lines."""

from __future__ import annotations

import re
from datetime import date

import pytest
from demo_pianos import EVALUATED, content_of, grids

from valuation.language import LANGUAGES, speaking
from valuation.report.document import Points, Words
from valuation.report.mail import WIDTH, as_mail
from valuation.report.wishes import Wishes

IN_TIME = date(2026, 4, 1)


def flat(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", EVALUATED)
def test_every_figure_and_sentence_of_the_quotation_is_in_its_mail(name, language):
    with speaking(language):
        content = content_of(name, "quotation")
        text = flat(as_mail(content, to="Nele Köhler", by="Till Marbach").text)
    said = [fact for _, fact in content.facts]
    for grid in grids(content).values():
        cells = [row[: len(grid.head) - (grid.style in ("answers", "ticks"))] for row in grid.rows]
        said += [line for row in cells for cell in row for line in cell.split("\n")]
    for block in (block for section in content.sections for block in section.blocks):
        said += block.items if isinstance(block, Points) else (block.text,) if isinstance(block, Words) else ()
    assert [words for words in said if flat(words) not in text] == []


def test_it_can_be_read_by_any_program_for_mail_and_orders_nothing():
    wishes = Wishes(finish="finish_new")
    content = content_of("6_heirloom", "quotation", "partial_repair", wishes=wishes, written_on=IN_TIME)
    mail = as_mail(content, to="Nele Köhler", by="Till Marbach")
    assert mail.subject == "Quotation · Grandmother Wilma's upright"
    assert mail.text.startswith("Dear Nele Köhler,\n")
    assert max(map(len, mail.text.splitlines())) <= WIDTH
    assert "Nothing is signed or ordered by this mail." in flat(mail.text)
    assert not re.search("[|#*□_]|Your answer, signed", mail.text)
    total = grids(content)["Lines of the quotation, in EUR"].rows[-1][1]
    assert f"In all: {total}" in mail.text
    assert mail.text.rstrip().endswith("workshop@steinbrueck.example")


def test_a_mail_to_nobody_by_name_still_greets():
    assert as_mail(content_of("6_heirloom", "summary")).text.startswith("Good day,")
