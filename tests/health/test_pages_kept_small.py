"""Pages stay small, and rest on nothing of the framework that is its own affair."""

from __future__ import annotations

import ast
from pathlib import Path

from valuation.screens.page_list import PAGES

ROOT = Path(__file__).parents[2]
MOST_LINES = 120
PUBLIC = {"streamlit", "streamlit.delta_generator", "streamlit.errors"}


def imported(path: Path) -> set[str]:
    """Modules of the framework that a file imports."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        names += [node.module or ""] if isinstance(node, ast.ImportFrom) and not node.level else []
        found |= {name for name in names if name.partition(".")[0] == "streamlit"}
    return found


def test_every_page_has_fewer_lines_than_a_reader_can_hold():
    long = {page: len((ROOT / page).read_text(encoding="utf-8").splitlines()) for page in PAGES}
    assert {page: lines for page, lines in long.items() if lines >= MOST_LINES} == {}


def test_nothing_private_of_the_framework_is_imported():
    files = [ROOT / "app.py", *(ROOT / "valuation").rglob("*.py")]
    assert len(files) > 100
    assert {str(path): own for path in files if (own := imported(path) - PUBLIC)} == {}
