"""One word for one thing: those that gave way, listed here with what stands for them, come back nowhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GAVE_WAY = {
    r"thought": "expected, or the prior",
    r"straighten\w*": "linearise",
    r"undominated": "frontier",
    r"believed": "the prior",
    r"pinned(?!=)|unpin": "a level set by hand",  # a column of a table may be pinned=True
}
"""Word, within names too, and what is said in its place; see 'Words' in DEVELOPERS.md."""


def texts() -> list[Path]:
    code = [*(ROOT / "valuation").rglob("*.py"), ROOT / "app.py"]
    return [*code, *(ROOT / "valuation" / "manual").glob("*.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"]


@pytest.mark.parametrize(("word", "instead"), GAVE_WAY.items())
def test_a_word_that_gave_way_is_found_nowhere(word: str, instead: str):
    found = re.compile(rf"(?<![a-z]){word}(?![a-z])", re.IGNORECASE)
    where = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in texts()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if found.search(line)
    ]
    assert not where, f"say {instead}"


def test_every_word_of_the_list_is_used():
    words = re.findall(r"^\| ([a-z, ]+) \|", section_of_words(), re.MULTILINE)
    code = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "valuation").rglob("*.py"))
    assert words
    for word in (one for cell in words if cell != "word" for one in cell.split(", ")):
        assert re.search(rf"(?<![a-z]){word}", code), word


def section_of_words() -> str:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    return text.partition("## Words\n")[2].partition("\n## ")[0]
