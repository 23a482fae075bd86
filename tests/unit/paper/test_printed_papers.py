"""The papers as PDF: what a reader, a screen reader and an archive find in them."""

from __future__ import annotations

import io
import re
from datetime import date
from functools import cache

import pytest
from demo_pianos import EVALUATED, NAMES, NOT_YET, WRITTEN_ON, appraisal_of, content_of, demo_shop, study_of
from PIL import Image
from printed import Printed, plain, read_back

from valuation.report.document import Drawing, Grid, Points, WayPicture
from valuation.report.evaluation_ways import way_named
from valuation.report.words import clarity_sentence, verdict_sentence
from valuation.service.paper_parts import OF_A_VERDICT
from valuation.service.papers import WRITTEN, Picture, write_paper


def paper_of(name: str, what: str = "evaluation", **terms) -> bytes:
    given = {"written_on": WRITTEN_ON, "shop": demo_shop(), "number": "2026-014, version 2"} | terms
    return write_paper(what, study_of(name), **given)


@cache
def printed_of(name: str, what: str = "evaluation") -> Printed:
    """Return what is in a paper without anything special about it."""
    return read_back(paper_of(name, what))


def photo(color: str = "brown") -> bytes:
    made = io.BytesIO()
    Image.new("RGB", (80, 60), color).save(made, "JPEG")
    return made.getvalue()


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("what", WRITTEN)
def test_every_paper_is_tagged_titled_and_has_its_fonts(name: str, what: str) -> None:
    if name == NOT_YET and what in OF_A_VERDICT:
        with pytest.raises(ValueError, match="not evaluated yet"):
            paper_of(name, what)
        return
    printed = printed_of(name, what)
    assert printed.marked
    assert printed.language == "en"
    assert study_of(name).visit.title in printed.title
    assert printed.tags["/H1"] == 1 if what != "letter" else printed.tags["/H1"] >= 1
    assert printed.tags["/P"] + printed.tags.get("/LI", 0) > 3
    assert printed.fonts
    assert all(printed.fonts.values())
    assert "pdfuaid:part" in printed.standards
    assert re.search(r"pdfaid:part>2<.*pdfaid:conformance>A<", printed.standards)


@pytest.mark.parametrize("what", ["evaluation", "quotation"])
def test_a_table_is_read_aloud_as_a_table_with_its_headings(what: str) -> None:
    tags = printed_of("1_fine_old_grand", what).tags
    tables = [block for section in content_of("1_fine_old_grand", what).sections for block in section.blocks]
    tables = [block for block in tables if isinstance(block, Grid)]
    assert tables
    assert tags["/Table"] == len(tables)
    rows = sum(len(table.rows) for table in tables)
    columns = sum(sum(bool(cell) for cell in table.head) for table in tables)
    assert tags["/TH"] == columns + sum(not all(table.head) for table in tables) + rows  # a head for every row
    assert tags["/TD"] == sum(len(table.head) * len(table.rows) for table in tables) - rows


def test_the_sheet_is_read_aloud_as_lists_and_its_two_pictures_in_words() -> None:
    content, printed = content_of("1_fine_old_grand", "summary"), printed_of("1_fine_old_grand", "summary")
    blocks = [block for section in content.sections for block in section.blocks]
    [drawing] = [block for block in blocks if isinstance(block, Drawing)]
    [picture] = [block for block in blocks if isinstance(block, WayPicture)]
    listed = [item for block in blocks if isinstance(block, Drawing | Points) for item in block.items]
    assert len(listed) > 1
    assert printed.tags["/LI"] == printed.tags["/Lbl"] == printed.tags["/LBody"] == len(listed)
    assert "/Table" not in printed.tags
    assert printed.tags["/Figure"] == len(printed.alternatives) == 2
    assert drawing.alt in printed.alternatives
    ways = next(alt for alt in printed.alternatives if alt != drawing.alt)
    for way in picture.ways:
        assert all(plain(words) in plain(ways) for words in (way.name, way.pays, way.worth, way.years))


@pytest.mark.parametrize("name", EVALUATED)
def test_the_evaluation_holds_the_verdict_and_how_sure_it_is(name: str) -> None:
    text = printed_of(name).text
    assert plain(verdict_sentence(appraisal_of(name))) in text
    assert plain(clarity_sentence(appraisal_of(name), way_named(appraisal_of(name)))) in text


@pytest.mark.parametrize("name", NAMES)
def test_the_evaluation_is_no_booklet(name: str) -> None:
    assert printed_of(name).pages <= 14


def test_charts_and_photos_are_told_to_those_who_do_not_see_them() -> None:
    pictures = [
        Picture(data=photo(), caption="The whole piano", alt="A black grand by a window"),
        Picture(data=photo("grey"), caption="Second ply open", check="block_underside"),
    ]
    printed = read_back(paper_of("1_fine_old_grand", pictures=pictures))
    assert "A black grand by a window" in printed.alternatives
    assert "Second ply open" in printed.alternatives
    best = f"in {round(100 * appraisal_of('1_fine_old_grand').chance_best['rebuild'])} of 100"
    assert any(best in said for said in printed.alternatives)  # how often each way comes out best
    block = next(part for part in appraisal_of("1_fine_old_grand").parts if part.part == "pinblock")
    scored = f"{block.score:.0f} ({block.low:.0f} to {block.high:.0f})"
    assert any(scored in said for said in printed.alternatives)  # condition of the pinblock
    assert any("tenor: 3.16, 2.03" in said for said in printed.alternatives)  # torque of the pins
    assert "The whole piano" in printed.text


def test_a_photo_that_can_not_be_read_is_said_to_be_so() -> None:
    printed = read_back(paper_of("2_parlour_upright", pictures=[Picture(data=b"no picture", caption="Serial number")]))
    assert "Serial number (the photo can't be read)" in printed.text


@pytest.mark.parametrize("what", WRITTEN)
def test_the_same_visit_gives_the_same_bytes(what: str) -> None:
    pictures = [Picture(data=photo(), caption="The whole piano")]
    first = paper_of("3_school_upright", what, pictures=pictures)
    assert first == paper_of("3_school_upright", what, pictures=pictures)


def test_another_day_gives_another_paper() -> None:
    assert paper_of("3_school_upright") != paper_of("3_school_upright", written_on=date(2026, 6, 11))


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (216, 279))])
def test_a_paper_has_the_size_asked_for(paper: str, size: tuple[int, int]) -> None:
    assert read_back(paper_of("7_well_kept_upright", paper=paper)).size_mm == size


def test_a_paper_that_there_is_not_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="'poem'; write one of evaluation, summary, quotation, letter"):
        paper_of("7_well_kept_upright", "poem")
