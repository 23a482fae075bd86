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
