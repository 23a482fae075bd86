"""What is delivered with the tool: locked as a whole, asked for by name, under licences that a shop can live with."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections import Counter
from importlib.metadata import distribution, packages_distributions
from pathlib import Path

import pytest
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from license_expression import get_spdx_licensing
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.bill_of_materials import ROOT, RUN, TESTS, licence_of, read_lock, wanted_here

LISTS = {RUN: ROOT / ".ci" / "requirements.in", TESTS: ROOT / ".ci" / "requirements-tests.in"}

ALLOWED = {
    *("0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "ISC", "MIT", "MIT-0", "MIT-CMU", "PSF-2.0"),
    "Zlib",
    "MPL-2.0",  # binds changes of its own files alone
    "LGPL-3.0-only",  # psycopg: used as it is, and may be put in another version by whoever runs the tool
}
"""Licences of what the tool is delivered with, by their SPDX identifiers."""


def asked_for(path: Path) -> dict[str, Requirement]:
    lines = (line for line in path.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#"))
    return {canonicalize_name(one.name): one for one in map(Requirement, lines)}


@pytest.mark.parametrize("path", LISTS, ids=["run", "tests"])
def test_every_package_is_locked_at_one_version_with_its_hashes(path):
    locked = read_lock(path)
    assert len(locked) >= 40
    for one in locked:
        assert re.fullmatch(r"==[^*]+", str(one.requirement.specifier)), one.requirement
        assert one.hashes, one.requirement
    assert not [name for name, count in Counter(one.requirement.name for one in locked).items() if count > 1]


@pytest.mark.parametrize("path", LISTS, ids=["run", "tests"])
def test_a_lock_names_no_server_and_no_file(path):
    text = path.read_text(encoding="utf-8")
    assert not re.findall(r"^.*(?:://|--(?:extra-)?index|--find-links|--trusted| @ |^-[a-z]).*$", text, re.MULTILINE)


def test_no_package_is_in_both_locks():
    run, tests = ({one.requirement.name for one in read_lock(path)} for path in (RUN, TESTS))
    assert not run & tests


@pytest.mark.parametrize("path", LISTS, ids=["run", "tests"])
def test_the_lock_is_that_of_its_list(path):
    locked = {canonicalize_name(one.requirement.name): one for one in (*read_lock(RUN), *read_lock(path))}
    for name, one in asked_for(LISTS[path]).items():
        assert name in locked, f"{name} isn't locked; run .ci/lock"
        assert one.specifier == locked[name].requirement.specifier, f"{name} is locked at another; run .ci/lock"


@pytest.mark.parametrize("path", LISTS, ids=["run", "tests"])
def test_the_lock_holds_all_that_its_packages_ask_for(path):
    known = {canonicalize_name(one.requirement.name): one for one in (*read_lock(RUN), *read_lock(path))}
    for one in wanted_here(path):
        for text in distribution(one.requirement.name).requires or ():
            asked = Requirement(text)
            extras = one.requirement.extras or {""}
            if asked.marker is None or any(asked.marker.evaluate({"extra": extra}) for extra in extras):
                found = known.get(canonicalize_name(asked.name))
                assert found is not None, f"{one.requirement.name} asks for {text}; run .ci/lock"
                assert asked.specifier.contains(found.version, prereleases=True), f"{one.requirement.name}: {text}"


@pytest.mark.parametrize(
    ("path", "folders"), [(RUN, ["app.py", "valuation"]), (TESTS, ["tests", "data_demo"])], ids=["run", "tests"]
)
def test_what_is_imported_is_asked_for_by_name(path, folders):
    ours = {"valuation", "tests", "data_demo", "app", *(one.stem for one in (ROOT / "tests").rglob("*"))}
    listed = set(asked_for(LISTS[RUN])) | set(asked_for(LISTS[path]))
    owners = packages_distributions()
    for folder in folders:
        place = ROOT / folder
        for file in sorted(place.rglob("*.py")) if place.is_dir() else [place]:
            for name in imported(file) - ours - set(sys.stdlib_module_names):
                found = {canonicalize_name(owner) for owner in owners.get(name, ())}
                assert found & listed, f"{file.relative_to(ROOT)} imports {name}; name it in {LISTS[path].name}"


def imported(file: Path) -> set[str]:
    """Names of the packages that a file imports anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.partition(".")[0])
    return found


def test_every_licence_of_what_is_delivered_is_one_of_those_looked_at():
    spdx = get_spdx_licensing()
    for one in wanted_here(RUN):
        said = licence_of(distribution(one.requirement.name).metadata)
        licences = spdx.parse(said, validate=True).literals if said else ()
        strange = {str(licence) for licence in licences} - ALLOWED
        assert licences, f"{one.requirement.name} says no licence"
        assert not strange, f"{one.requirement.name} is under {said}: look at it, then allow it or do without"


def test_one_command_writes_the_bill_of_materials(tmp_path):
    out = tmp_path / "bill.json"
    subprocess.run([sys.executable, "-m", "tests.bill_of_materials", out], cwd=ROOT, check=True)
    text = out.read_text(encoding="utf-8")
    assert JsonStrictValidator(SchemaVersion.V1_6).validate_str(text) is None
    for one in wanted_here(RUN):
        assert f'"purl": "pkg:pypi/{canonicalize_name(one.requirement.name)}@{one.version}"' in text
        assert all(content in text for content in one.hashes)
    assert '"expression": "Apache-2.0 OR BSD-3-Clause"' in text
