"""The printed inspection form: what stands on it, and in which order."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from printed import plain, read_back

from valuation.cli import main
from valuation.engine.rows import ACCESSES, Tables
from valuation.language import speaking
from valuation.report.inspection_form import form_order, inspection_form
from valuation.service import load_shop
from valuation.service.papers import print_form

KINDS = ("upright", "grand")


@pytest.fixture(scope="module")
def shop() -> Tables:
    return load_shop()


@pytest.mark.parametrize("kind", KINDS)
def test_every_check_that_is_written_down_stands_on_the_form_once(shop: Tables, kind: str) -> None:
    form = inspection_form(shop, kind)
    printed = [check.check for section in form.sections for check in section.checks]
    asked = [row.id for row in shop.of_kind("checks", kind).values() if not row.readings_of]
    assert sorted(printed) == sorted(asked)
    assert printed == [row.id for row in form_order(shop, kind)]


@pytest.mark.parametrize("kind", KINDS)
def test_the_numbers_run_from_one_in_the_order_of_the_form(shop: Tables, kind: str) -> None:
    numbers = [check.number for section in inspection_form(shop, kind).sections for check in section.checks]
    assert numbers == list(range(1, len(numbers) + 1))


@pytest.mark.parametrize("kind", KINDS)
def test_the_quick_look_comes_first_and_the_rest_in_the_order_of_the_walk(shop: Tables, kind: str) -> None:
    order = form_order(shop, kind)
    quick = sum(row.quick for row in order)
    assert quick
    assert all(row.quick for row in order[:quick])
    walked = [ACCESSES.index(row.access) for row in order[quick:]]
    assert walked == sorted(walked)


def test_the_words_to_tick_are_those_of_the_check_with_what_each_looks_like(shop: Tables) -> None:
    form = inspection_form(shop, "upright")
    plate = next(c for section in form.sections for c in section.checks if c.check == "plate_crack")
    assert plate.boxes[2] == ("edge crack", "one lug or screw ear, off the load")


def test_a_caution_says_from_which_answer_it_holds(shop: Tables) -> None:
    form = inspection_form(shop, "upright")
    numbers = {c.check: c.number for section in form.sections for c in section.checks}
    calls = [when for when, text in form.cautions if "iron plate shows a crack" in text]
    assert calls == [f"{numbers['plate_crack']}, 'cracked'"]
    # the fall of a section is worked out from the pitch readings, and is looked up there
    cut = next(row.cut_marked for row in shop.of_kind("checks", "upright").values() if row.id == "pitch_spread")
    assert f"{numbers['pitch_level']}, from {cut:.0f} cents on" in [when for when, _ in form.cautions]


@pytest.mark.parametrize(("system", "unit"), [("metric", "N·m"), ("imperial", "in-lb")])
def test_fields_are_in_the_units_of_the_shop(shop: Tables, system: str, unit: str) -> None:
    form = inspection_form(shop, "grand", system)
    pins = next(c for section in form.sections for c in section.checks if c.check == "pin_torque")
    assert pins.unit == unit
    assert [name for name, _ in pins.rows] == ["bass", "tenor", "treble"]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (216, 279))])
def test_the_form_is_tagged_pages_holding_every_question_ten_to_a_page(
    shop: Tables, kind: str, paper: str, size: tuple[int, int]
) -> None:
    printed = read_back(print_form(shop, kind, paper=paper))
    assert 10 * printed.pages <= len(form_order(shop, kind))
    assert printed.size_mm == size
    assert printed.marked
    assert printed.language == "en"
    assert printed.tags["/Table"] >= 5
    assert all(printed.fonts.values())
    assert printed.fonts
    for row in form_order(shop, kind):
        assert plain(row.name) in printed.text
        assert plain(row.how) in printed.text
    assert shop.hash[:8] in printed.text


def test_the_same_form_has_the_same_bytes(shop: Tables) -> None:
    assert print_form(shop, "upright") == print_form(shop, "upright")


def test_the_form_speaks_the_language_asked_for(shop: Tables) -> None:
    with speaking("de"):
        printed = read_back(print_form(shop, "upright"))
    assert printed.language == "de"


def test_the_command_writes_the_form(tmp_path) -> None:
    out = tmp_path / "form.pdf"
    done = CliRunner().invoke(main, ["form", "--kind", "grand", "--paper", "letter", "--units", "imperial", str(out)])
    assert done.exit_code == 0, done.output
    assert "Inspection of a grand piano" in read_back(out.read_bytes()).text


def test_a_folder_that_is_not_there_is_told_in_one_line(tmp_path) -> None:
    done = CliRunner().invoke(main, ["form", str(tmp_path / "nowhere" / "form.pdf")])
    assert done.exit_code == 2
    assert done.output.count("\n") == 1
    assert "there is no folder" in done.output


def test_a_paper_that_there_is_not_is_refused_by_name(shop: Tables) -> None:
    with pytest.raises(ValueError, match="'a5'; write a4 or letter"):
        print_form(shop, "upright", paper="a5")
