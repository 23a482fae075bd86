"""The structure of every printed paper, held against published rules with tools that did not make it.

ISO 14289-1 (PDF/UA-1) by the checkpoints of the Matterhorn Protocol 1.1 (PDF Association, 2021), whose numbers stand at
each test (from memory); read with poppler's `pdfinfo` and `pdffonts`, and with pypdf where poppler doesn't show it.
"""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Callable, Iterator
from functools import cache
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from shutil import which
from typing import Any

import pytest
from demo_pianos import NAMES, WRITTEN_ON, demo_shop, study_of
from made_photos import made_photo
from pypdf import PdfReader
from pypdf.generic import ContentStream

from valuation.language import LANGUAGES, speaking
from valuation.report.document import Document
from valuation.service import load_shop
from valuation.service.papers import WRITTEN, Picture, print_form, told_with_photos, write_paper

FORM = "form"
PAPERS = [(what, language) for what in (*WRITTEN, FORM) for language in LANGUAGES]
STANDARD = frozenset(
    (
        *("Document", "Part", "Sect", "Div", "Span", "P", "H1", "H2", "H3", "H4", "L", "LI", "Lbl", "LBody"),
        *("Table", "THead", "TBody", "TFoot", "TR", "TH", "TD", "Figure", "Caption", "Link", "Note", "Quote"),
    )
)
"""Tags of ISO 32000-1, 14.8.4, as far as papers may use them."""

TEXT_OPERATORS = {b"Tj", b"TJ", b"'", b'"'}
every_paper = pytest.mark.parametrize(("what", "language"), PAPERS)


def told(what: str) -> Document:
    return told_with_photos(what, study_of(NAMES[0]), written_on=WRITTEN_ON, shop=demo_shop(), number="1")[0]


@cache
def made(what: str, language: str) -> bytes:
    """Return a paper, with a photo where it takes one."""
    with speaking(language):
        if what == FORM:
            return print_form(load_shop(), "grand")
        pictures = [Picture(data=made_photo(), caption="The whole piano", alt="A black grand by a window")]
        return write_paper(
            what, study_of(NAMES[0]), written_on=WRITTEN_ON, shop=demo_shop(), number="1", pictures=pictures
        )


@pytest.fixture
def poppler(tmp_path: Path) -> Callable[..., str]:
    """Run one of poppler's tools on a paper and return what it prints; skipped where it is missing, but not in CI."""

    def run(tool: str, pdf: bytes, *options: str) -> str:
        if which(tool) is None:
            reason = f"{tool} is missing; install it (on Debian: apt-get install poppler-utils)"
            if os.environ.get("CI"):
                pytest.fail(reason)
            pytest.skip(reason)
        (tmp_path / "paper.pdf").write_bytes(pdf)
        done = subprocess.run([tool, *options, tmp_path / "paper.pdf"], capture_output=True, check=True)
        return done.stdout.decode(errors="replace")  # it prints titles as they are stored, which may be UTF-16

    return run


def elements(node: Any) -> Iterator[Any]:
    """Yield every element of the structure, from the top down, in the order in which it is read."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for child in node:
            yield from elements(child)
    elif isinstance(node, dict):
        if "/S" in node:
            yield node
        if "/K" in node:
            yield from elements(node["/K"])


def structure(pdf: bytes) -> list[Any]:
    return list(elements(PdfReader(BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"]["/K"]))


@every_paper
def test_it_is_tagged_titled_open_to_readers_and_says_its_language(poppler, what, language):
    """Checkpoints 06 (title), 07 (title shown), 11 (language), 26 (no lock)."""
    told = dict(re.findall(r"^([\w ]+): +(.*)$", poppler("pdfinfo", made(what, language)), re.MULTILINE))
    assert told["Tagged"] == "yes"
    assert (told["Encrypted"], told["JavaScript"]) == ("no", "no")
    root = PdfReader(BytesIO(made(what, language))).trailer["/Root"]
    assert root["/Lang"] == language
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712  pypdf has a class of its own for it
    assert told["Title"]
    assert f">{told['Title']}</rdf:li>" in root["/Metadata"].get_object().get_data().decode().replace("&apos;", "'")


@every_paper
def test_headings_begin_at_the_first_level_and_skip_none(poppler, what, language):
    """Checkpoint 14."""
    told = poppler("pdfinfo", made(what, language), "-struct")
    levels = [int(level) for level in re.findall(r"^ *H(\d)\b", told, re.MULTILINE)]
    assert len(levels) >= 2
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


@every_paper
def test_every_font_is_embedded_and_its_letters_can_be_copied(poppler, what, language):
    """Checkpoints 31 (embedded) and 10 (mapped to Unicode)."""
    lines = poppler("pdffonts", made(what, language)).splitlines()[2:]
    assert lines
    for line in lines:
        embedded, _, unicode = line.split()[-5:-2]
        assert (embedded, unicode) == ("yes", "yes"), line


@every_paper
def test_all_that_is_written_is_either_tagged_or_marked_as_ornament(what, language):
    """Checkpoint 01."""
    reader = PdfReader(BytesIO(made(what, language)))
    written = 0
    for page in reader.pages:
        open_marks: list[bool] = []
        for operands, operator in ContentStream(page.get_contents(), reader).operations:
            if operator in (b"BMC", b"BDC"):
                told = operands[1] if len(operands) > 1 else {}
                open_marks.append(operands[0] == "/Artifact" or (isinstance(told, dict) and "/MCID" in told))
            elif operator == b"EMC":
                open_marks.pop()
            elif operator in TEXT_OPERATORS:
                written += 1
                assert any(open_marks)
        assert open_marks == []
    assert written > 50


@every_paper
def test_every_figure_says_what_it_shows(what, language):
    """Checkpoint 13."""
    figures = [element for element in structure(made(what, language)) if element["/S"] in ("/Figure", "/Formula")]
    assert len(figures) >= {"evaluation": 5}.get(what, 0)
    assert all(len(str(figure.get("/Alt", ""))) > 5 for figure in figures)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_chart_is_read_with_its_title_first(language):
    alts = [str(element["/Alt"]) for element in structure(made("evaluation", language)) if "/Alt" in element]
    titles = {"en": ("Condition by component", "Price in EUR"), "de": ("Zustand nach", "Preis in EUR")}[language]
    for title in titles:
        assert any(alt.startswith(title) for alt in alts), title


@every_paper
def test_every_table_has_named_columns_and_rows_of_one_length(what, language):
    """Checkpoint 15: header cells with a scope, and a regular grid."""
    for table in (element for element in structure(made(what, language)) if element["/S"] == "/Table"):
        rows = [list(elements(row["/K"])) for row in elements(table["/K"]) if row["/S"] == "/TR"]
        cells = [[cell for cell in row if cell["/S"] in ("/TH", "/TD")] for row in rows]
        heads = [cell for cell in cells[0] if cell["/S"] == "/TH"]
        assert heads
        assert all(_attribute(head, "/Scope") == "/Column" for head in heads)
        for row in cells[1:]:  # what a row is about is read out before each of its cells
            assert [_attribute(cell, "/Scope") for cell in row if cell["/S"] == "/TH"] == ["/Row"]
            assert not any(_attribute(cell, "/Headers") for cell in row)
        assert len({sum(int(_attribute(cell, "/ColSpan") or 1) for cell in row) for row in cells}) == 1


def _attribute(element: Any, name: str) -> Any:
    """Return an attribute of an element, which may have one set of them or several."""
    attributes = element.get("/A", {})
    attributes = attributes.get_object()
    sets = attributes if isinstance(attributes, list) else [attributes]
    return next((one.get_object()[name] for one in sets if name in one.get_object()), None)


@every_paper
def test_lists_are_lists_and_tags_are_of_the_standard(what, language):
    """Checkpoints 16 (lists) and 02 (tags of one's own are mapped to those of the standard)."""
    root = PdfReader(BytesIO(made(what, language))).trailer["/Root"]["/StructTreeRoot"]
    mapped = {key.strip("/"): str(value).strip("/") for key, value in root.get("/RoleMap", {}).items()}
    for element in elements(root["/K"]):
        name = str(element["/S"]).strip("/")
        assert name in STANDARD or mapped.get(name) in STANDARD, name
        if name == "L":
            inside = {str(child.get_object()["/S"]) for child in element["/K"]}
            assert inside <= {"/LI", "/L", "/Caption"}


@every_paper
def test_text_comes_out_in_the_order_in_which_it_is_read(what, language):
    """Checkpoint 09 (order): the headings as pypdf's plain extraction meets them are those of the structure."""
    if what == FORM:
        pytest.skip("a form is filled in, station by station, not read from end to end")
    with speaking(language):
        content = told(what)
    text = "".join("".join(page.extract_text() for page in PdfReader(BytesIO(made(what, language))).pages).split())
    titles = ["".join(title.split()) for section in content.sections if (title := section.title)]
    assert len(titles) > 3
    at = 0
    for title in titles:
        at = text.find(title, at)
        assert at >= 0, title
        at += len(title)
