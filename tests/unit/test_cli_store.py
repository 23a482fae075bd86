"""The commands `export` and `import`."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from valuation import service
from valuation.cli import main


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Run a command with the store in a folder of its own, 'here' if not said otherwise."""
    monkeypatch.delenv("DATABASE_URL", raising=False)

    def run(*words: str, store: str = "here") -> Result:
        return CliRunner().invoke(main, list(words), env={"VALUATION_DATA": str(tmp_path / store)})

    return run


def test_a_shop_goes_out_and_into_another_store_without_a_demo_of_its_own(run, tmp_path):
    out = run("export", str(tmp_path / "shop.zip"))
    assert out.exit_code == 0
    assert out.stderr.startswith(f"{len(service.demo_visits())} visits with ")
    assert out.stderr.endswith(f" entries, 0 papers and 0 photos written: {tmp_path / 'shop.zip'}\n")
    taken = run("import", str(tmp_path / "shop.zip"), store="there")
    assert taken.stdout.startswith(
        f"Visits: {len(service.demo_visits())} new, 0 merged, 0 with nothing new.\nEntries: "
    )
    again = run("import", str(tmp_path / "shop.zip"), store="there")
    assert f"Visits: 0 new, 0 merged, {len(service.demo_visits())} with nothing new." in again.stdout


def test_a_file_that_is_no_export_is_refused_in_one_line(run, tmp_path):
    (tmp_path / "letter.zip").write_text("Dear Sirs")
    taken = run("import", str(tmp_path / "letter.zip"))
    assert (taken.exit_code, taken.stdout) == (2, "")
    assert taken.stderr == "letter.zip: it is no zip file, or it is cut off; use another copy\n"


def test_another_ending_is_refused(run, tmp_path):
    out = run("export", str(tmp_path / "shop.rar"))
    assert (out.exit_code, out.stderr) == (2, "shop.rar: the shop is written as .zip; give it such an ending\n")
    assert not (tmp_path / "here").exists()


def test_a_folder_that_cant_be_made_is_told(run, tmp_path):
    (tmp_path / "here").write_text("in the way")
    out = run("export", str(tmp_path / "shop.zip"))
    assert (out.exit_code, out.stderr) == (
        2,
        "here: it can't be opened; see that the folder is there and that this user may write it\n",
    )


WORDS = "five words drawn by dice"


def test_a_locked_shop_goes_out_and_in_by_its_passphrase_only(run, tmp_path, monkeypatch):
    file = tmp_path / "shop.locked"
    assert run("export", str(file)).stderr == "shop.locked: the shop is written as .zip; give it such an ending\n"
    monkeypatch.setenv("VALUATION_PASSPHRASE", "short")
    assert "the passphrase is too short" in run("export", str(file), "--lock").stderr
    assert not file.exists()
    monkeypatch.setenv("VALUATION_PASSPHRASE", WORDS)
    assert run("export", str(file), "--lock").exit_code == 0
    assert b"manifest.json" not in file.read_bytes()
    monkeypatch.setenv("VALUATION_PASSPHRASE", WORDS + "!")
    refused = run("import", str(file), store="there")
    assert (refused.exit_code, refused.stderr) == (
        2,
        "shop.locked: the passphrase is another, or the file was changed or cut off; nothing was taken in\n",
    )
    monkeypatch.delenv("VALUATION_PASSPHRASE")
    taken = CliRunner().invoke(
        main, ["import", str(file)], env={"VALUATION_DATA": str(tmp_path / "there")}, input=f"{WORDS}\n"
    )
    assert f"Visits: {len(service.demo_visits())} new" in taken.stdout
    assert WORDS not in taken.output


def test_copies_are_made_proven_and_brought_back_with_counts(run, tmp_path):
    run("export", str(tmp_path / "shop.zip"))
    made = run("backup")
    assert made.stdout.startswith("Copy 2 made and checked: entry ")
    assert f"visit {len(service.demo_visits())}, photos 0" in made.stdout
    database = tmp_path / "here" / "valuation.sqlite"
    database.write_bytes(b"spoilt" * 1000)
    assert run("backup").stderr.startswith("valuation.sqlite: the database is damaged. Stop the program and run")
    back = run("restore")
    assert back.stdout.startswith("Copy 2 is back: of ")
    assert f"visit {len(service.demo_visits())}\n" in back.stdout
    assert (tmp_path / "here" / "replaced" / "000001" / "valuation.sqlite").read_bytes() == b"spoilt" * 1000
    assert run("verify").exit_code == 0
    copy = tmp_path / "here" / "backups" / "000002" / "valuation.sqlite"
    copy.write_bytes(copy.read_bytes()[:-1])
    proven = run("verify")
    assert proven.exit_code == 1
    assert "copy 2: NOT SOUND: valuation.sqlite is missing or damaged\n" in proven.stdout
    assert run("restore").stderr.endswith("backups: there is no sound copy; nothing was changed\n")
    assert run("restore", "7").stderr == "backups: there is no copy 7; 'verify' lists those that are there\n"
