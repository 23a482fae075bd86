"""The command line: what it prints, where it prints it, and how it ends."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from valuation import __version__, service
from valuation.cli import main
from valuation.facts.visit import Piano, Visit

ROOT = Path(__file__).parents[2]
UPRIGHT = ROOT / "data_demo" / "visits" / "3_school_upright.toml"
LONG = "x" * 300
FAST = ("--draws", "1024")

BAD_VISIT = """\
title = "x"
date = 2026-05-01
[piano]
kind = "uprite"
[findings]
pin_torque = [4000]
pin_hld = 3
"""


def run(*arguments: object, given: bytes | None = None) -> Result:
    """Run a command in this process; whatever is not a plain end is raised."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments], input=given, catch_exceptions=False)


def refused(result: Result) -> list[str]:
    """Return what was told, after checking that it was told as bad input is."""
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    return result.stderr.splitlines()


@pytest.fixture(scope="module")
def tables():
    return service.load_shop()


@pytest.fixture(scope="module")
def visit(tables):
    return service.read_visit_file(UPRIGHT, tables, date(2026, 12, 1))


def test_a_visit_gives_the_one_page(tables, visit):
    appraisal = service.appraise(visit, tables, on=visit.on, draws=1024)
    result = run("appraise", UPRIGHT, *FAST)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == service.one_page(appraisal, visit, tables)


@pytest.mark.parametrize("path", [path for _, path in service.demo_visits()], ids=lambda path: path.stem)
def test_the_one_page_always_says_what_a_value_here_is_and_is_not(tables, path):
    visit = service.read_visit_file(path, tables, date(2026, 12, 1))
    page = " ".join(service.one_page(service.appraise(visit, tables, on=visit.on, draws=1024), visit, tables).split())
    for row in tables.cautions:
        if row.always and row.rank == "note":
            assert row.text in page, row.id


def test_json_gives_the_contract_for_the_day_draws_and_seed_that_were_asked_for(tables, visit):
    result = run("appraise", UPRIGHT, "--json", "--on", "2026-01-15", "--seed", 7, "--draws", 2048)
    appraisal = service.appraise(visit, tables, on=date(2026, 1, 15), draws=2048, seed=7)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == service.to_json(appraisal)
    whole = json.loads(result.stdout)
    assert (whole["on"], whole["draws"], whole["seed"]) == ("2026-01-15", 2048, 7)


def test_the_day_of_the_visit_counts_where_none_is_asked_for():
    assert json.loads(run("appraise", UPRIGHT, "--json", *FAST).stdout)["on"] == "2026-04-21"


def test_the_same_command_gives_the_same_bytes():
    first, second = (run("appraise", UPRIGHT, "--json", *FAST) for _ in range(2))
    assert first.stdout_bytes == second.stdout_bytes


def test_a_visit_can_come_by_standard_input():
    assert run("appraise", "-", *FAST, given=UPRIGHT.read_bytes()).stdout == run("appraise", UPRIGHT, *FAST).stdout


@pytest.mark.parametrize(
    ("level", "planned"),
    # small repairs alone: where none is likely to be needed, the part is kept
    [("keep", {"keep"}), ("repair", {"keep", "repair"}), ("replace", {"replace"})],
)
def test_a_pin_sets_the_level_of_a_part(level, planned):
    options = json.loads(run("appraise", UPRIGHT, "--json", "--level", f"hammers={level}", *FAST).stdout)["options"]
    assert options["partial_repair"]["plan"]["hammers"] in planned
    assert options["rebuild"]["plan"]["hammers"] in planned


def test_another_folder_of_tables_is_used(tmp_path):
    folder = shutil.copytree(service.PACKAGED, tmp_path / "ours")
    packaged = json.loads(run("appraise", UPRIGHT, "--json", *FAST).stdout)
    assert json.loads(run("appraise", UPRIGHT, "--json", "--tables", folder, *FAST).stdout) == packaged
    settings = folder / "settings.toml"
    settings.write_text(settings.read_text(encoding="utf-8").replace('"EUR"', '"CHF"'), encoding="utf-8")
    changed = json.loads(run("appraise", UPRIGHT, "--json", "--tables", folder, *FAST).stdout)
    assert changed["currency"] == "CHF"
    assert changed["tables_hash"] != packaged["tables_hash"]


def test_every_fault_of_a_visit_has_its_line(tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text(BAD_VISIT)
    lines = refused(run("appraise", path))
    assert [line.partition(": ")[0] for line in lines] == ["bad.toml:4", "bad.toml:6", "bad.toml:7"]
    assert lines[0] == "bad.toml:4: piano.kind: 'uprite' is not a kind of piano; did you mean 'upright'?"
    assert lines[2].startswith("bad.toml:7: findings.pin_hld: 'pin_hld' is not a check; did you mean 'pin_hold'")


def test_faults_of_standard_input_are_told_as_its_own():
    assert refused(run("appraise", "-", given=BAD_VISIT.encode()))[0].startswith("stdin:4: piano.kind: ")
    assert refused(run("appraise", "-", given=b"\xff\xfe")) == ["stdin:1: the file is UTF-16; save it as UTF-8"]
    assert refused(run("appraise", "-", given=b"#" * 1_000_001)) == [
        "stdin: there are more than 1,000,000 bytes; is it the right one?"
    ]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("nowhere.toml",), "nowhere.toml: the file is missing; check its name and its folder"),
        ((UPRIGHT.parent,), "visits: this is a folder; give one visit file in it"),
        ((UPRIGHT, "--tables", "nowhere"), "nowhere: there is no such folder"),
        ((UPRIGHT, "--tables", UPRIGHT), "3_school_upright.toml: there is no such folder"),
        (
            (UPRIGHT, "--on", "1900-01-01"),
            "--on: no material 'carriage_upright' is in force on 1900-01-01; the first day",
        ),
        ((UPRIGHT, "--level", "hamers=keep"), "--level: 'hamers' is not a part of this piano; did you mean 'hammers'"),
        ((UPRIGHT, "--level", "hammers=kep"), "--level: 'kep' is not a level; did you mean 'keep'?"),
        ((UPRIGHT, "--level", "hammers"), "--level: 'hammers' sets no level; write it like hammers=replace"),
        ((UPRIGHT, "--level", "tenor_bridge=keep"), "--level: 'tenor_bridge' is not a part of this piano"),
        ((UPRIGHT, "--level", "keys=keep", "--level", "keys=repair"), "--level: 'keys' is set twice; set it once"),
    ],
)
def test_what_cant_be_used_is_told_in_one_line(arguments, told):
    (line,) = refused(run("appraise", *arguments))
    assert line.startswith(told)


def test_a_pin_to_a_level_that_no_operation_brings_is_told(tables):
    visit = Visit(title="x", on=date(2026, 1, 1), piano=Piano(kind="upright"))
    offered = {(row.part, row.level) for row in tables.of_kind("operations", "upright").values()}
    assert ("tuning", "small") in offered
    assert ("tuning", "large") not in offered
    told = r"^--level: no operation can replace 'tuning' on this upright; write 'keep' or 'repair'$"
    with pytest.raises(service.UserError, match=told):
        service.read_levels(["tuning=replace"], visit, tables)


def test_a_visit_before_the_tables_begin_is_told_at_its_date(tmp_path):
    path = tmp_path / "old.toml"
    path.write_text('title = "x"\ndate = 1995-04-21\n[piano]\nkind = "grand"\n')
    (line,) = refused(run("appraise", path))
    assert line.startswith("old.toml: date: no material 'carriage_grand' is in force on 1995-04-21; the first day")
    assert "is in force on 1995-04-21" in line


@pytest.mark.parametrize(
    "arguments", [("appraise", LONG), ("appraise", UPRIGHT, "--tables", LONG), ("batch", LONG, "--out", "out.csv")]
)
def test_a_name_that_the_system_refuses_is_told(arguments):
    (line,) = refused(run(*arguments))
    assert "File name too long" in line


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--draws", "1000"), "'1000' is not one of '1024', '2048', '4096', '8192', '16384', '32768', '65536'."),
        (("--seed", "-1"), "-1 is not in the range"),
        (("--seed", "x"), "'x' is not a valid integer range"),
        (("--on", "tomorrow"), "'tomorrow' does not match the format '%Y-%m-%d'."),
        (("--drwas", "1024"), "No such option '--drwas'. Did you mean"),
    ],
)
def test_an_option_that_cant_be_right_is_told_with_what_can(arguments, told):
    assert told in refused(run("appraise", UPRIGHT, *arguments))[-1]


def test_sound_tables_are_said_to_be_sound(tables):
    result = run("check-tables")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == f"tables: no faults in {len(tables.lines):,} rows and settings; hash {tables.hash[:8]}\n"


def test_every_fault_of_the_tables_is_told(tmp_path):
    folder = shutil.copytree(service.PACKAGED, tmp_path / "ours")
    for name, before, after in (("sizes.csv", ",grand,", ",grnd,"), ("tiers.csv", ",1,", ",one,")):
        text = (folder / name).read_text(encoding="utf-8")
        (folder / name).write_text(text.replace(before, after, 1), encoding="utf-8")
    lines = refused(run("check-tables", folder))
    assert [line.partition(":")[0] for line in lines] == ["sizes.csv", "tiers.csv"]
    assert "'grnd'" in lines[0]
    assert "'one'" in lines[1]


def test_a_table_changed_on_disk_is_read_anew(tmp_path):
    folder = shutil.copytree(service.PACKAGED, tmp_path / "ours")
    before = service.load_shop(folder)
    assert service.load_shop(folder) is before
    with (folder / "ages.csv").open("a", encoding="utf-8") as file:
        file.write("\n")
    assert service.load_shop(folder) is not before


@pytest.mark.parametrize("command", [None, *main.commands])
def test_help_tells_what_it_is_for_with_an_example(command):
    result = run(*filter(None, [command]), "--help")
    assert result.exit_code == 0
    assert f"\n    python -m valuation {command or 'appraise'}" in result.stdout
    shown = main.commands[command] if command else main
    assert all(parameter.help for parameter in shown.params if isinstance(parameter, click.Option))


def test_the_version_is_told():
    assert run("--version").stdout == f"valuation, version {__version__}\n"


def test_every_demo_piano_has_a_name_and_can_be_read(tables):
    pianos = service.demo_visits()
    assert len(pianos) >= 6
    for name, path in pianos:
        assert name
        visit = service.read_visit_file(path, tables, date(2026, 12, 1))
        assert (
            service.read_visit_text(service.write_visit_text(visit, tables), name, tables, date(2026, 12, 1)) == visit
        )


def in_a_process(*arguments: str, **surroundings: str) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "valuation", *arguments]
    return subprocess.run(command, cwd=ROOT, env=surroundings, capture_output=True, check=False)


def test_the_module_runs_and_writes_utf_8_wherever_it_is(tmp_path):
    path = tmp_path / "visit.toml"
    path.write_text('title = "Flügel in 中央"\ndate = 2026-05-01\n[piano]\nkind = "grand"\n', encoding="utf-8")
    done = in_a_process("appraise", str(path), *FAST, PYTHONIOENCODING="latin-1")
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.decode("utf-8").startswith("Flügel in 中央\n")


def test_the_module_ends_with_2_on_bad_input():
    done = in_a_process("appraise", "nowhere.toml")
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr == b"nowhere.toml: the file is missing; check its name and its folder\n"


def test_a_reader_that_leaves_early_is_no_fault_to_cry_about():
    command = [sys.executable, "-m", "valuation", "appraise", str(UPRIGHT), "--json", *FAST]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        process.stdout.close()
        assert process.stderr.read() == b""
