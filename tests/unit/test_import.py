"""What is loaded, and what is not, by those who want only a little."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

import valuation

ROOT = Path(valuation.__file__).parents[1]
HEAVY = {
    "alembic",
    "babel",
    "pandas",
    "sklearn",
    "streamlit",
    "pyarrow",
    "plotly",
    "scipy",
    "openpyxl",
    "PIL",
    "psycopg",
    "sqlalchemy",
    "typst",
}
DEMO_PIANO = "data_demo/visits/3_school_upright.toml"


def loaded_by(code: str) -> set[str]:
    """Return the outermost names of all modules that are loaded once `code` has run in a fresh process."""
    ask = "\nimport json, sys; print(json.dumps(sorted({name.partition('.')[0] for name in sys.modules})))"
    done = subprocess.run([sys.executable, "-c", code + ask], cwd=ROOT, capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1]))


@pytest.mark.parametrize(
    "code",
    [
        "import valuation",
        "from valuation import *",
        "import valuation.cli",
        "import valuation.batch.run",
        f"from valuation.cli import main; main(['appraise', '{DEMO_PIANO}', '--draws', '1024'], standalone_mode=False)",
    ],
)
def test_nothing_heavy_is_loaded(code):
    loaded = loaded_by(code)
    assert "valuation" in loaded
    assert not loaded & HEAVY


def test_a_module_that_is_heavy_would_be_seen():
    assert "pyarrow" in loaded_by("import pyarrow.parquet")


def test_results_in_csv_need_no_pyarrow(tmp_path):
    out = tmp_path / "out.csv"
    batch = f"['batch', '{DEMO_PIANO}', '--out', {str(out)!r}, '--jobs', '1', '--draws', '1024']"
    assert "pyarrow" not in loaded_by(f"from valuation.cli import main; main({batch}, standalone_mode=False)")
    assert out.exists()


def test_an_appraisal_with_sales_loads_what_reads_them():
    show = f"['appraise', '{DEMO_PIANO}', '--draws', '1024', '--sales', 'data_demo/sales/sales.csv']"
    assert "openpyxl" in loaded_by(f"from valuation.cli import main; main({show}, standalone_mode=False)")


def test_importing_the_package_alone_loads_nothing_else():
    assert "numpy" not in loaded_by("import valuation")


def test_every_public_name_is_there():
    for name in valuation.__all__:
        assert getattr(valuation, name).__name__ == name
    assert set(valuation.__all__) >= {
        *("appraise", "Appraisal", "Visit", "Tables", "load_tables", "read_visit", "UserError", "NotInForce"),
    }


def test_another_name_is_not():
    with pytest.raises(AttributeError, match="module 'valuation' has no attribute 'apprais'"):
        _ = valuation.apprais
