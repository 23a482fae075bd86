"""What a finger meets of the drawing at the width of a phone."""

from __future__ import annotations

from itertools import cycle

import pytest

from tests.browser.drawn import widest_circles
from valuation.drawing import OPTIONAL, PART_STATES, draw, drawn_parts
from valuation.language import LANGUAGES, say, speaking
from valuation.service import load_shop

ON_ITS_PART = """() => [...document.querySelectorAll('svg.piano .words')].filter(words => {
  const plate = words.querySelector('rect').getBoundingClientRect();
  const hit = document.elementFromPoint(plate.x + plate.width / 2, plate.y + plate.height / 2);
  return hit?.closest('[data-part]')?.dataset.part !== words.dataset.of;
}).map(words => words.dataset.of)"""

OVER_EACH_OTHER = """() => {
  const plates = [...document.querySelectorAll('svg.piano .words')].map(words => ({of: words.dataset.of,
    box: words.querySelector('rect').getBoundingClientRect()}));
  return plates.flatMap((one, i) => plates.slice(i + 1).filter(two => one.box.left < two.box.right - 1 &&
    two.box.left < one.box.right - 1 && one.box.top < two.box.bottom - 1 && two.box.top < one.box.bottom - 1)
    .map(two => `${one.of} and ${two.of}`));
}"""

OUTSIDE_ITS_PLATE = """() => [...document.querySelectorAll('svg.piano .words')].filter(words => {
  const plate = words.querySelector('rect').getBoundingClientRect();
  return [...words.querySelectorAll('text')].some(text => {
    const box = text.getBoundingClientRect();
    return box.left < plate.left - 2 || box.right > plate.right + 2;
  });
}).map(words => words.dataset.of)"""


@pytest.fixture
def phone(browser):
    page = browser.new_page(viewport={"width": 390, "height": 844})
    yield page
    page.close()


def show(page, kind: str, *, turn: int = 0) -> None:
    names = {part.id: say(part.called or part.name) for part in load_shop().parts}
    kinds = cycle([*PART_STATES[turn:], *PART_STATES[:turn]])
    drawing = draw(kind, dict(zip(drawn_parts(kind), kinds, strict=False)), names=names)
    page.set_content(f'<body style="margin:0">{drawing}</body>')


@pytest.mark.parametrize("kind", ["upright", "grand"])
def test_every_part_holds_a_circle_of_32_pixels(phone, kind):
    show(phone, kind)
    found = widest_circles(phone)
    assert set(found) == set(drawn_parts(kind))
    assert {part: size for part, size in found.items() if size < 32} == {}


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", ["upright", "grand"])
def test_every_name_lies_on_its_part_within_its_plate_and_over_no_other(phone, kind, language):
    with speaking(language):
        for turn in range(0, len(PART_STATES), 2):
            show(phone, kind, turn=turn)
            assert phone.evaluate(ON_ITS_PART) == []
            assert phone.evaluate(OVER_EACH_OTHER) == []
            assert phone.evaluate(OUTSIDE_ITS_PLATE) == []
    assert "player" in OPTIONAL
