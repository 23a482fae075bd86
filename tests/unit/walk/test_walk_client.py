"""What the client is made of, and what a device is given to go on alone."""

from __future__ import annotations

import base64
import gzip
import json
import re
from datetime import date
from hashlib import sha256

import pytest

from valuation.engine.rows import KINDS
from valuation.facts.keys import key_number
from valuation.facts.visit import Piano, Visit
from valuation.language import LANGUAGES
from valuation.measure.pin_deal import deal_pins, pins_of, start_of
from valuation.report.checks import checks_of
from valuation.service import load_shop
from valuation.walk.content import all_words, content
from valuation.walk.files import files, version
from valuation.walk.routes import POLICY
from valuation.walk.words import WORDS, client_words

VENDORED = {
    # as published at the npm registry; of preact the line that names its source map is left out
    "vendor/preact.mjs": "225d7a773766e6fb2cfcc45274fe41d2059f5782f3f2c4569aa5132a2d3a2902",
    "vendor/htm.mjs": "ab33dd3f38059b9be4d5f5350128eefb2356639c4e0bbe9d9e8b3ba75847e9e4",
}
"""preact 11.2.0 (MIT), htm 3.1.1 (Apache-2.0)."""

LATER = {"sw.js", "icon.svg", "manifest.webmanifest", "photo.js", "sounds.js", "recorder.js", "tape.js"}
"""Files that are loaded when the first check is there."""

LICENCES = {"preact": "MIT", "htm": "Apache License"}

MOST_GZIPPED = 60_000
"""A phone on a slow line loads no more before the first check [bytes]."""


def visit(kind: str) -> Visit:
    return Visit(title="one", on=date(2026, 5, 4), piano=Piano(kind=kind))


def told(kind: str) -> dict:
    """All that a device has in the end."""
    return content(visit(kind), load_shop(), "de") | {"words": all_words(visit(kind), load_shop())}


@pytest.mark.parametrize("name", VENDORED)
def test_a_library_is_the_very_file_that_was_published(name):
    assert sha256(files()[name].content).hexdigest() == VENDORED[name]


def test_every_library_is_named_here_and_has_its_licence():
    from valuation.walk import files as module

    folder = module._STATIC / "vendor"
    assert {f"vendor/{path.name}" for path in folder.glob("*.mjs")} == set(VENDORED)
    for name, licence in LICENCES.items():
        assert licence in (folder / f"{name}.LICENSE").read_text()


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_all_that_is_loaded_before_the_first_check_is_small(kind, language):
    first = json.dumps(content(visit(kind), load_shop(), language), ensure_ascii=False, separators=(",", ":"))
    other = {*LATER, *(f"words.{name}.json" for name in LANGUAGES)}
    before = set(files()) - other | {f"words.{language}.json"}
    loaded = len(gzip.compress(first.encode())) + sum(len(gzip.compress(files()[name].content)) for name in before)
    assert loaded <= MOST_GZIPPED


def test_the_worker_keeps_every_file_by_its_hash_and_under_one_version():
    worker = files()["sw.js"].content.decode()
    kept = json.loads(re.match(r"const CLIENT = (\{.*\});\n", worker)[1])
    assert kept["version"] == version()
    assert set(kept["files"]) == set(files()) - {"sw.js"}
    for name, integrity in kept["files"].items():
        found = base64.b64encode(sha256(files()[name].content).digest()).decode()
        assert integrity == f"sha256-{found}"


def test_no_file_asks_for_anything_elsewhere():
    for name, file in files().items():
        text = file.content.decode()
        text = re.sub(r"^\s*(//|/?\*).*$", "", text, flags=re.MULTILINE)  # a library's comment may name its home
        addresses = set(re.findall(r"https?://[\w.]+", text)) - {"http://www.w3.org"}
        assert not addresses, name
    assert "unsafe" not in POLICY


def test_the_client_has_a_word_for_all_that_it_says():
    used = set()
    for name in (name for name in files() if name.endswith(".js")):
        text = files()[name].content.decode()
        used |= set(re.findall(r"word\('(\w+)'", text))
    assert used <= set(WORDS)
    spoken = client_words()
    assert set(spoken) == set(LANGUAGES)
    for words in spoken.values():
        assert set(words) == set(WORDS) | {"own_name"}


@pytest.mark.parametrize("kind", KINDS)
def test_every_check_of_the_piano_is_there_with_its_meaning_in_every_language(kind):
    found = told(kind)
    checks = checks_of(visit(kind), load_shop())
    assert [check["id"] for check in found["checks"]] == [check.id for check in checks]
    for language in LANGUAGES:
        words = found["words"][language]["checks"]
        for check in checks:
            said = words[check.id]
            assert said["name"]
            assert said["how"]
            if check.answer == "choice":
                assert all(all(pair) for grade, pair in said["choices"].items() if ":" in getattr(check, grade))
                assert list(said["choices"]) == list(check.choices)
            else:
                assert set(said["units"]) == {"metric", "imperial"}


@pytest.mark.parametrize("kind", KINDS)
def test_every_stop_rule_of_a_check_can_be_told_without_a_network(kind):
    found, tables = told(kind), load_shop()
    reached = {
        caution["id"]
        for check in found["checks"]
        for reading in check["reads"]
        for caution in reading.get("cautions", [])
    }
    faults = {row.reads for row in tables.of_kind("checks", kind).values()}
    wanted = {row.id for row in tables.cautions if row.rank == "stop" and row.fault in faults}
    here = {check.id for check in checks_of(visit(kind), tables)}
    may_be_missed = {
        row.id for row in tables.cautions
        if not any(check.reads == row.fault and (check.id in here or check.readings_of in here)
                   for check in tables.of_kind("checks", kind).values())
    }  # fmt: skip
    assert wanted - may_be_missed <= reached
    for language in LANGUAGES:
        assert reached <= set(found["words"][language]["cautions"])


def test_the_pins_to_try_are_those_that_the_page_deals_along_the_keyboard_twice():
    checks = content(visit("grand"), load_shop(), "en", "one visit")["checks"]
    (pins,) = [check["deal"] for check in checks if "deal" in check]
    places = [(key, string) for key, string, _, _ in pins]
    assert set(places) == set(deal_pins(pins_of(28), 24, start_of("one visit")))
    assert set(places[:12]) == set(deal_pins(pins_of(28), 12, start_of("one visit")))
    assert places == sorted(places[:12]) + sorted(places[12:])
    assert {section for key, _, section, _ in pins if key > 52} == {"treble"}
    assert all(key_number(name) == key for key, _, _, name in pins)


def test_the_words_differ_between_languages():
    found = told("upright")["words"]
    assert found["en"]["checks"]["plate_crack"]["name"] != found["de"]["checks"]["plate_crack"]["name"]
    assert "Stimmstock" in found["de"]["drawing"]


def test_what_a_device_has_of_a_language_is_not_sent_again():
    tables = load_shop()
    first, more, whole = (content(visit("grand"), tables, "de")["words"]["de"], all_words(visit("grand"), tables, "de"),
                          all_words(visit("grand"), tables))  # fmt: skip
    assert set(more["de"]) == {"checks"}
    assert {name: first["checks"][name] | told for name, told in more["de"]["checks"].items()} == whole["de"]["checks"]
    assert more["en"] == whole["en"]


def test_the_client_knows_every_language():
    named = re.search(r"LANGUAGES = \[(.*)\]", files()["opening.js"].content.decode())[1]
    assert set(re.findall(r"'(\w+)'", named)) == set(LANGUAGES)
