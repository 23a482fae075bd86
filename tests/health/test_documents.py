"""The documents against the code: what they show runs, what they list exists, what exists is listed."""

from __future__ import annotations

import csv
import json
import os
import re
import shlex
import subprocess
import sys
from dataclasses import fields
from datetime import date
from pathlib import Path

import click
import pytest

from tests.documents import DEVELOPERS, EXAMPLE, GENERATED, MANUAL, MORE, README, ROOT, documents, run, without_hash
from valuation.batch.flat_visit import known_columns
from valuation.batch.results import COLUMNS
from valuation.cli import main
from valuation.engine.appraised_work import OptionResult
from valuation.engine.decision import OPTIONS
from valuation.facts.columns import columns_of
from valuation.facts.declared import MOST_PIECES
from valuation.facts.units import FACTORS
from valuation.facts.visit import Client, Piano, Visit
from valuation.files.visit_file import parse_visit
from valuation.rules import ROW_CLASSES, load_tables
from valuation.sales.sale import Sale
from valuation.screens.page_list import PAGES
from valuation.service.workbook import LEDGER_SHEETS
from valuation.store.schema import VIEWS

FENCE = re.compile(r"^( *)```(\w*)\n(.*?)^\1```", re.DOTALL | re.MULTILINE)
CHAPTERS = sorted(MANUAL.glob("*.md"))


def text_of(chapter: str) -> str:
    return (MANUAL / f"{chapter}.md").read_text(encoding="utf-8")


def section(text: str, heading: str) -> str:
    """Return what stands under one heading, up to the next."""
    return re.split(r"^#+ ", text.partition(f"# {heading}\n")[2], maxsplit=1, flags=re.MULTILINE)[0]


def first_cells(text: str) -> list[str]:
    """Return all that stands in backticks in the first column of a table."""
    cells = re.findall(r"^\| (`[^|]*?) \|", text, re.MULTILINE)
    return [name for cell in cells for name in re.findall(r"`([^`]+)`", cell)]


# What they show


@pytest.mark.parametrize("path", documents(), ids=lambda path: path.stem)
def test_an_example_prints_what_is_shown(path: Path):
    for command, shown in EXAMPLE.findall(path.read_text(encoding="utf-8")):
        printed = without_hash(run(command))
        shown = without_hash(shown)
        if shown.endswith(MORE):
            assert printed.startswith(shown.removesuffix(MORE)), command
        else:
            assert printed == shown, command


def test_there_are_worked_examples():
    assert EXAMPLE.search(README.read_text(encoding="utf-8"))
    assert EXAMPLE.search(text_of("measure"))
    assert EXAMPLE.search(text_of("sales"))


@pytest.mark.parametrize("path", [README, *CHAPTERS], ids=lambda path: path.stem)
def test_every_command_runs_as_it_stands(path: Path, tmp_path: Path):
    for folder in ("valuation", "data_demo"):
        (tmp_path / folder).symlink_to(ROOT / folder)
    for _, language, block in FENCE.findall(path.read_text(encoding="utf-8")):
        for line in block.splitlines() if not language else ():
            if line.startswith((".venv/bin/python -m valuation ", "cp ", "sed ")):
                words = [sys.executable if word == ".venv/bin/python" else word for word in shlex.split(line)]
                done = subprocess.run(
                    words,
                    cwd=tmp_path,
                    env=os.environ | {"VALUATION_DATA": str(tmp_path / "data")},
                    capture_output=True,
                    text=True,
                    check=False,
                )
                assert done.returncode == 0, (line, done.stderr)


def test_the_example_of_a_visit_file_can_be_read():
    block = next(block for _, language, block in FENCE.findall(text_of("visit")) if language == "toml")
    visit = parse_visit(block, "visit.md", load_tables(), today=date(2026, 6, 1))
    assert visit.client.to_have == 500
    found = {finding.check: finding for finding in visit.findings}
    assert found["plate_crack"].grade == "none"
    assert found["hammer_groove"].readings[0].value == 1.8
    assert [reading.key for reading in found["unison_spread"].readings] == [37, 40, 52]
    assert found["damper_felt"].note == "only in the treble"
    assert found["board_crown"].cannot_see


def test_the_example_of_a_spreadsheet_can_be_appraised(tmp_path: Path):
    block = next(block for _, _, block in FENCE.findall(text_of("batch")) if block.startswith("title,"))
    (tmp_path / "school.csv").write_text(block, encoding="utf-8")
    run(f"python -m valuation batch {tmp_path}/school.csv --out {tmp_path}/out.csv --draws 1024")
    rows = list(csv.DictReader((tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()))
    assert [(row["title"], row["problems"]) for row in rows] == [("Room 3", "")]


# What they list


@pytest.mark.parametrize("chapter", GENERATED)
def test_a_chapter_that_comes_from_the_code_is_up_to_date(chapter: str):
    assert text_of(chapter) == GENERATED[chapter](), "run .venv/bin/python -m tests.documents"


def test_every_table_is_described_and_no_other():
    listed = first_cells(section(text_of("tables"), "Which table does what"))
    assert sorted(listed) == sorted(ROW_CLASSES)


def test_every_key_of_a_visit_file_is_described_and_no_other():
    listed = first_cells(section(text_of("visit"), "Its keys"))
    known = {key for keys in known_columns(load_tables()).values() for key in keys}
    known = {re.sub(r"^piano\.renewed\..*", "piano.renewed.PART", key) for key in known}
    known = {re.sub(r"^findings\..*", "findings.CHECK", key) for key in known}
    assert set(listed) == known
    assert len(listed) == len(set(listed))
    named = {"piano.size_mm": "piano.size", "on": "date", "piano.renewed": "piano.renewed.PART"}
    held = {f"piano.{field.name}" for field in fields(Piano)} | {f"client.{field.name}" for field in fields(Client)}
    sections = {"piano", "client", "finished_value", "findings", "taken_over"}
    held |= {field.name for field in fields(Visit)} - sections
    assert {named.get(key, key) for key in held} <= set(listed)


def test_what_may_stand_beside_a_finding_is_described():
    beside = section(text_of("visit"), "A finding")
    of_a_check = {key.partition(".")[2] for key in known_columns(load_tables()) if key.startswith("pin_torque.")}
    for key in {*of_a_check, "sections", "readings", "value"}:
        assert f"`{key}`" in beside, key
    assert f"up to {MOST_PIECES}" in beside


def test_every_unit_is_described():
    rows = re.findall(r"^\| (.+?) \| (.+?) \|$", section(text_of("visit"), "A finding").partition("stored as")[2], re.M)
    listed = {}
    for stored, written in rows:
        for unit in re.findall(r"`([^`]+)`", stored):
            listed[unit] = set(re.findall(r"`([^`]+)`", written)) or {unit}
    assert listed == {stored: set(written) for stored, written in FACTORS.items()}


def test_every_column_of_a_batch_is_described_in_its_order():
    listed = first_cells(section(text_of("batch"), "A row of the result"))
    figures = [name for name in listed if name.startswith("OPTION_")]
    for option in OPTIONS:
        assert {name.replace("OPTION", option) for name in figures} <= set(COLUMNS)
    plain = [name for name in listed if not name.startswith("OPTION_")]
    assert plain == [name for name in COLUMNS if not name.startswith(tuple(f"{option}_" for option in OPTIONS))]
    assert len(COLUMNS) == len(plain) + len(figures) * len(OPTIONS)


def test_every_key_of_the_json_is_described_and_no_other():
    printed = json.loads(run("python -m valuation appraise data_demo/visits/2_parlour_upright.toml --json"))
    assert set(first_cells(section(text_of("json"), "The answer as JSON"))) == set(printed)
    listed = first_cells(section(text_of("json"), "An option"))
    assert set(listed) == {field.name for field in fields(OptionResult)} == set(printed["options"]["keep"])


def test_every_column_of_sales_and_of_the_view_is_described_in_its_order():
    assert first_cells(text_of("sales"))[: len(columns_of(Sale))] == list(columns_of(Sale))
    selected = VIEWS["evaluations"].partition("SELECT")[2].partition("FROM")[0]
    names = [re.search(r"(\w+)\s*$", column)[1] for column in re.split(r",\s*(?![^()]*\))", selected)]
    assert [name for name in first_cells(text_of("jobs")) if " " not in name] == [*names, *LEDGER_SHEETS]


def commands_of(group: click.Group, before: str = "") -> dict[str, click.Command]:
    """Return every command by its words."""
    found = {}
    for name, command in group.commands.items():
        words = f"{before}{name}"
        found |= commands_of(command, f"{words} ") if isinstance(command, click.Group) else {words: command}
    return found


def test_every_command_is_described_and_every_option_exists():
    commands = commands_of(main)
    told = first_cells(section(text_of("commands"), "The command line"))
    listed = {" ".join(re.match(r"[a-z -]+(?=$| )", cell)[0].split()) for cell in told if not cell.startswith("--")}
    assert {name for name in listed if not name.startswith("-")} == set(commands)
    options = {option for command in commands.values() for item in command.params for option in item.opts}
    for path in [README, *CHAPTERS]:
        for option in re.findall(r"(?<![\w-])--[a-z][a-z-]*(?![\w.-])", path.read_text(encoding="utf-8")):
            assert option in options | {"--help"}, (path.name, option)


def test_every_variable_of_the_environment_is_described():
    code = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "valuation").rglob("*.py"))
    assert set(first_cells(text_of("environment"))) == set(re.findall(r"\b(?:VALUATION_[A-Z]+|DATABASE_URL)\b", code))


def test_every_page_is_described_in_its_order():
    rows = re.findall(r"^\| ([A-Z][^|]+?) \|", text_of("pages"), re.MULTILINE)
    assert [name for row in rows for name in row.split(", ")] == list(PAGES.values())


def test_every_room_and_every_module_that_is_named_is_there():
    text = DEVELOPERS.read_text(encoding="utf-8")
    rooms = {path.parent.name for path in (ROOT / "valuation").glob("*/__init__.py")}
    assert rooms == {name for name in first_cells(section(text, "The rooms")) if name not in ("tables", "locale")}
    for name in first_cells(section(text, "The engine, step by step")):
        module = ROOT / "valuation" / "engine" / name
        assert module.is_dir() or module.with_suffix(".py").exists(), name


# How they hang together


def test_every_path_in_the_documents_exists():
    for path in documents():
        text = path.read_text(encoding="utf-8")
        for named in re.findall(r"\b((?:tests|valuation|data_demo)/[\w/.]+\.(?:py|toml|csv|md))\b", text):
            assert (ROOT / named).exists(), (path.name, named)


def test_every_link_leads_somewhere_and_every_chapter_is_led_to():
    led_to = set()
    for path in documents():
        for link in re.findall(r"\]\(([^)]+)\)", path.read_text(encoding="utf-8")):
            assert (path.parent / link).is_file(), (path.name, link)
            led_to.add((path.parent / link).resolve())
    assert set(CHAPTERS) <= led_to


def test_the_documents_are_short():
    assert README.stat().st_size <= 9_000
    assert DEVELOPERS.stat().st_size <= 14_000
    for path in CHAPTERS:
        assert path.stem in GENERATED or path.stat().st_size <= 7_000, path.name


def test_every_test_file_is_collected():
    for path in (ROOT / "tests").rglob("*.py"):
        if "benchmark" in path.parts or path.name.startswith(("test_", "conftest")):
            continue
        assert not re.search(r"^(?:    )?def test_", path.read_text(encoding="utf-8"), re.MULTILINE), path


def test_only_what_belongs_there_stands_at_the_top():
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if tracked.returncode:
        return  # not a checkout: nothing to hold the list against
    top = {line.split("/")[0] for line in tracked.stdout.splitlines()}
    wanted = {"README.md", "DEVELOPERS.md", "requirements.txt", "app.py", "valuation", "data_demo", "tests"}
    assert {name for name in top if not name.startswith(".")} == wanted


def test_no_module_has_grown_past_what_can_be_read_at_once():
    for path in {*(ROOT / "valuation").rglob("*.py")} | {ROOT / "app.py"}:
        assert len(path.read_text(encoding="utf-8").splitlines()) <= 400, path
