"""The commands that write papers."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image
from printed import read_back

from valuation.cli import main
from valuation.service.papers import WRITTEN

ROOT = Path(__file__).parents[2]
HEIRLOOM = str(ROOT / "data_demo" / "visits" / "6_heirloom.toml")
SHOP = str(ROOT / "data_demo" / "shop.toml")


def run(*words: str):
    return CliRunner().invoke(main, ["evaluate", HEIRLOOM, "--draws", "1024", *words])


@pytest.mark.parametrize("what", WRITTEN)
def test_each_paper_is_written(tmp_path: Path, what: str) -> None:
    out = tmp_path / f"{what}.pdf"
    done = run("--out", str(out), "--what", what, "--shop", SHOP, "--written-on", "2026-06-10")
    assert done.exit_code == 0, done.output
    assert "Steinbrück & Daughter" in read_back(out.read_bytes()).text


def test_photos_pins_reasons_and_choices_come_into_the_paper(tmp_path: Path) -> None:
    picture = tmp_path / "front.jpg"
    made = io.BytesIO()
    Image.new("RGB", (40, 30), "brown").save(made, "JPEG")
    picture.write_bytes(made.getvalue())
    out = tmp_path / "e.pdf"
    done = run(
        "--out", str(out), "--photo", f"{picture}=By the window", "--photo", f"hammer_groove:{picture}=Deep grooves",
        "--level", "hammers=replace", "--because", "hammers=wanted new", "--choice", "finish=finish_kept",
        "--number", "7, version 3", "--units", "imperial", "--paper", "letter",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    printed = read_back(out.read_bytes())
    for said in ("By the window", "Deep grooves", "hammers, replace: changed by hand: wanted new",
                 "The finish of the case kept as it is", "7, version 3", "in-lb"):  # fmt: skip
        assert said in printed.text
    assert {"By the window", "Deep grooves"} <= set(printed.alternatives)
    assert printed.size_mm == (216, 279)


def test_a_quotation_is_for_the_option_named(tmp_path: Path) -> None:
    out = tmp_path / "q.pdf"
    assert run("--out", str(out), "--what", "quotation", "--option", "rebuild").exit_code == 0
    assert "The work: Rebuild it" in read_back(out.read_bytes()).text


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--because", "hammers=so"), "--because: 'hammers' is not set by --level; set it, or leave the reason out"),
        (("--choice", "finish"), "--choice: 'finish' has no answer; write it like finish=finish_kept"),
        (("--choice", "finish=gold"), "'gold' is not a choice of finish; write one of finish_kept"),
        (("--choice", "colour=red"), "'colour' is not asked; write one of finish, sheen"),
        (("--photo", "nowhere.jpg"), "nowhere.jpg: the file is missing; check its name"),
        (("--shop", "nowhere.toml"), "nowhere.toml"),
        (("--level", "hammer=repair"), "'hammer' is not a part of this piano"),
    ],
)
def test_what_can_not_be_used_is_told_in_a_line_and_nothing_is_written(
    tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    out = tmp_path / "e.pdf"
    done = run("--out", str(out), *words)
    assert done.exit_code == 2
    assert told in done.output
    assert not out.exists()


def test_an_option_that_this_piano_has_not_is_told(tmp_path: Path) -> None:
    pins = [word for part in ("strings", "hammers", "pinblock") for word in ("--level", f"{part}=keep")]
    done = run("--out", str(tmp_path / "q.pdf"), "--what", "quotation", "--option", "rebuild", *pins)
    assert done.exit_code == 2
    assert "no work to quote for 'rebuild'" in done.output
