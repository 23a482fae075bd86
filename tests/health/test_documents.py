"""The documents against the code: what they show runs, what they list exists, what exists is listed."""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

from valuation.engine.appraisal import Appraisal, OptionResult
from valuation.facts.visit import Client, Piano

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
EXAMPLE = re.compile(r"```\n\.venv/bin/(python -m valuation appraise [^\n]+)\n```\n\n```text\n(.*?)```", re.DOTALL)


def run(command: str) -> str:
    words = shlex.split(command)
    assert words[0] == "python"
    done = subprocess.run([sys.executable, *words[1:]], cwd=ROOT, capture_output=True, text=True, check=True)
    return done.stdout


def test_the_worked_example_prints_what_the_readme_says():
    command, shown = EXAMPLE.search(README).groups()
    assert run(command) == shown


def test_every_key_of_the_json_is_described():
    printed = json.loads(run("python -m valuation appraise data_demo/visits/2_parlour_upright.toml --json"))
    section = README[README.index("## The JSON contract") : README.index("## What it doesn't do")]
    described = set(re.findall(r"`([a-z_]+)`", section))
    assert set(printed) - described <= {"title"}
    assert {field.name for field in fields(Appraisal)} <= set(printed)
    assert {field.name for field in fields(OptionResult)} <= set(printed["options"]["keep"])


def test_every_key_of_a_visit_file_is_described():
    section = README[README.index("## A visit file") : README.index("## The shop's tables")]
    named = {"on": "date", "name": "client.name"}
    for prefix, row in (("piano", Piano), ("client", Client)):
        for field in fields(row):
            key = field.name.removesuffix("_mm")
            assert f"{prefix}.{key}" in section, named.get(key, key)


def test_every_module_of_the_core_is_listed_for_contributors():
    support = {"__init__", "appraisal", "columns", "errors", "prices", "rows", "units", "visit"}
    modules = {path.stem for path in (ROOT / "valuation" / "core").glob("*.py")} - support
    listed = set(re.findall(r"^\| ((?:`[a-z_]+`(?:, )?)+) \|", DEVELOPERS, re.MULTILINE))
    assert modules <= {name for cell in listed for name in re.findall(r"`([a-z_]+)`", cell)}


def test_every_path_in_the_documents_exists():
    for text in (README, DEVELOPERS):
        for path in re.findall(r"\b((?:tests|valuation|data_demo)/[\w/.]+\.(?:py|toml|csv|md))\b", text):
            assert (ROOT / path).exists(), path


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
    one_class_a_table = ROOT / "valuation" / "core" / "rows.py"  # long because there are many tables
    for path in ({*(ROOT / "valuation").rglob("*.py")} | {ROOT / "app.py"}) - {one_class_a_table}:
        assert len(path.read_text(encoding="utf-8").splitlines()) <= 400, path
