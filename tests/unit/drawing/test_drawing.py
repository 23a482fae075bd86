from __future__ import annotations

import re
from itertools import cycle
from xml.etree import ElementTree

import pytest
import typst

from valuation.drawing import OPTIONAL, PART_STATES, draw, drawn_parts
from valuation.drawing.draw import STATE_WORDS
from valuation.language import LANGUAGES, say, speaking
from valuation.service import load_shop

SVG = "{http://www.w3.org/2000/svg}"
KINDS = ("upright", "grand")
PARTS = load_shop().parts


def called() -> dict[str, str]:
    return {part.id: say(part.called or part.name) for part in PARTS}


def all_states(kind: str) -> dict[str, str]:
    return dict(zip(drawn_parts(kind), cycle(PART_STATES), strict=False))


def read(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text)


def by_part(root: ElementTree.Element) -> dict[str, ElementTree.Element]:
    return {group.get("id"): group for group in root.iter(f"{SVG}g") if group.get("class") == "part"}


@pytest.mark.parametrize("kind", KINDS)
def test_every_part_of_the_tables_is_drawn_once(kind):
    drawn = by_part(read(draw(kind, all_states(kind))))
    assert sorted(drawn) == sorted(part.id for part in PARTS)
    assert sorted(drawn_parts(kind)) == sorted(drawn)


@pytest.mark.parametrize("kind", KINDS)
def test_a_part_that_few_pianos_have_is_drawn_only_where_its_state_is_given(kind):
    assert not set(OPTIONAL) & set(by_part(read(draw(kind, {}))))
    assert "player" in by_part(read(draw(kind, {"player": ""})))


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("kind", KINDS)
def test_no_two_states_look_alike_even_without_colour(kind, dark):
    """Ground and lines in one grey, each state still has a pattern or an outline of its own."""
    text = re.sub(r"#[0-9a-f]{6}\b", "#888888", draw(kind, all_states(kind), dark=dark))
    root = read(text)
    patterns = {
        pattern.get("id"): [ElementTree.tostring(mark, "unicode") for mark in pattern]
        for pattern in root.iter(f"{SVG}pattern")
    }
    looks = {}
    for part, group in by_part(root).items():
        place = group.find(f"{SVG}g")
        fill = place.get("fill")
        pattern = patterns[fill[5:-1]] if fill.startswith("url") else fill
        looks[all_states(kind)[part]] = (str(pattern), place.get("stroke-dasharray"))
    assert len(set(looks.values())) == len(PART_STATES)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_each_state_stands_on_its_part_as_a_word(kind, language):
    with speaking(language):
        root = read(draw(kind, all_states(kind), names=called()))
        for group in root.iter(f"{SVG}g"):
            if group.get("class") == "words":
                part = group.get("data-of")
                words = " ".join(text.text for text in group.iter(f"{SVG}text"))
                state = all_states(kind)[part]
                assert called()[part] in words
                assert not state or say(STATE_WORDS[state]) in words


@pytest.mark.parametrize("kind", KINDS)
def test_names_and_numbers_are_text_and_never_markup(kind):
    text = draw(kind, {}, names={"plate": '<a href="x">&"'}, numbers={"plate": [7]})
    root = read(text)
    assert not list(root.iter(f"{SVG}a"))
    assert "7" in [node.text for node in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("kind", KINDS)
def test_the_picture_is_told_in_a_sentence(kind):
    states = {"plate": "sound", "hammers": "worn", "keys": ""}
    told = read(draw(kind, states, names=called())).get("aria-label")
    assert "iron frame sound" in told
    assert "hammers worn" in told
    assert "not looked at" in told
    assert told.endswith(".")


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("kind", KINDS)
def test_it_stands_alone_without_style_script_or_other_files(kind, dark):
    text = draw(kind, all_states(kind), names=called(), dark=dark)
    assert not re.search(r"style|<script|href|@import|var\(|currentColor", text)
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(ids)


@pytest.mark.parametrize("kind", KINDS)
def test_the_papers_typesetter_draws_it_with_its_words(kind, tmp_path):
    """Without its letters, and without its parts, the picture comes out smaller: typst has set both."""
    full = draw(kind, all_states(kind), names=called())
    bare = re.sub(r"<text.*?</text>", "", full)
    empty = re.sub(r"<g id=.*</g>", "", full)
    drawn = []
    for name, text in (("full", full), ("bare", bare), ("empty", empty)):
        (tmp_path / f"{name}.svg").write_text(text, encoding="utf-8")
        source = tmp_path / f"{name}.typ"
        source.write_text(f'#set page(width: 10cm, height: auto, margin: 0pt)\n#image("{name}.svg", alt: "x")')
        drawn.append(typst.compile(source, root=tmp_path, format="png", ppi=72))
    assert len(drawn[0]) > len(drawn[1]) > len(drawn[2])


@pytest.mark.parametrize("states", [{"wheel": "sound"}, {"plate": "fine"}])
def test_what_it_does_not_know_is_refused(states):
    with pytest.raises(KeyError):
        draw("upright", states)
