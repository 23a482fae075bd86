"""The command `people`, as somebody types it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from zipfile import ZipFile

import pytest
from click.testing import CliRunner, Result

from valuation.cli import main
from valuation.service.first_week import say_where
from valuation.service.visits import open_shop

NAME = "Zarathea Vinterquist"
NOW = datetime(2026, 3, 10, 9, tzinfo=UTC)


@pytest.fixture
def run(tmp_path: Path):
    """Run a command on a shop with one client's visit in it, and the demo."""
    store = {"VALUATION_DATA": str(tmp_path / "here")}

    def run(*words: str, answer: str = "") -> Result:
        return CliRunner().invoke(main, list(words), env=store, input=answer)

    shop = open_shop(store, NOW.date())
    facts = {"piano.kind": "upright", "title": "Parlour", "client.name": NAME, "date": "2020-03-10"}
    shop.start_visit(facts, who="Bo", device="", now=datetime(2020, 3, 10, tzinfo=UTC), visit_id="c" * 32)
    shop.close()
    return run


def test_a_person_is_found_handed_out_corrected_and_forgotten(run, tmp_path):
    found = run("people", "find", "vinterquist")
    assert (
        found.stdout
        == f"{'c' * 32}  Parlour · {NAME} · 2020-03-10 (4 entries, 0 photos, 0 papers)\n    in client.name\n"
    )
    out = run("people", "hand-out", "c" * 32, "--out", str(tmp_path / "yours.zip"))
    assert out.stderr.startswith("1 visits with 4 entries, 0 photos and 0 papers, and 0 kept by law, written: ")
    with ZipFile(tmp_path / "yours.zip") as file:
        assert NAME in file.read("read_me.txt").decode()
    corrected = run("people", "correct", "c" * 32, "client.name", "Zara Winter", "--forget-earlier")
    assert corrected.stdout == "Corrected; 1 earlier entries forgotten.\n"
    assert run("people", "find", "vinterquist").stdout == "Nothing is kept in which all these words stand.\n"
    asked = run("people", "erase", "c" * 32, answer="n\n")
    assert "Zara Winter" in asked.stdout
    assert run("people", "find", "Zara").stdout != "Nothing is kept in which all these words stand.\n"
    run("export", str(tmp_path / "old.zip"))
    gone = run("people", "erase", "c" * 32, "--yes", "--old-copies")
    back = run("import", str(tmp_path / "old.zip"))
    assert "1 visit forgotten, here or there: nothing of them came in.\n" in back.stdout
    assert "1 forgotten; of 0 tax law keeps something.\n" in gone.stdout
    assert run("people", "find", "Zara").stdout == "Nothing is kept in which all these words stand.\n"
    copies = (tmp_path / "here" / "backups").rglob("*.sqlite")
    assert [b"Zara" in path.read_bytes() for path in copies] == [False]


def test_what_is_due_is_listed_and_goes_with_one_command(run, tmp_path):
    assert "Nobody has said in which country the shop works" in run("people", "due").stdout
    shop = open_shop({"VALUATION_DATA": str(tmp_path / "here")}, NOW.date())
    say_where(shop, "de", "de", {}, who="Bo", on=NOW.date(), now=NOW)
    shop.close()
    assert "order: 6 years from the end of the year (law; AO § 147" in run("people", "due").stdout
    assert f"due: {'c' * 32}  Parlour" in run("people", "due").stdout
    gone = run("people", "erase", "--due", "--yes")
    assert gone.stdout.endswith("1 forgotten; of 0 tax law keeps something.\n")
    assert "due: " not in run("people", "due").stdout


def test_a_visit_is_restricted_lifted_and_thrown_away(run):
    assert run("people", "restrict", "c" * 32).stdout == "1 restricted.\n"
    assert "restricted" in run("people", "find", "Parlour").stdout
    assert run("people", "lift", "c" * 32).stdout == "1 in use again.\n"
    assert run("people", "throw-away", "c" * 32, answer="y\n").stdout.endswith("Thrown away.\n")
    assert run("people", "clean").stdout == "0 that tax law keeps no longer, and 0 files nobody speaks of: removed.\n"


@pytest.mark.parametrize("act", [("erase", "--yes"), ("throw-away", "--yes"), ("hand-out", "--out", "x.zip")])
def test_an_id_that_is_none_is_refused(run, act):
    told = run("people", act[0], "7", *act[1:])
    assert (told.exit_code, told.stderr) == (2, "people: 7: there is no such visit; 'people find' lists ids\n")
