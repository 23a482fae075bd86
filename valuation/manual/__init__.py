"""The manual: one short chapter a file beside this one, in Markdown, shown by the command `help`.

May import: nothing of this tool. Never: figures of its own; what a chapter shows is held against the code by
`tests/health/test_documents.py`.
"""

from __future__ import annotations

from pathlib import Path

_FOLDER = Path(__file__).parent


def chapters() -> dict[str, str]:
    """Return the title of each chapter by its name, in the order in which they are listed.

    Examples
    --------
    >>> chapters()["visit"]
    'A visit file'
    """
    titles = {path.stem: path.read_text(encoding="utf-8").partition("\n")[0] for path in _FOLDER.glob("*.md")}
    return {name: title.removeprefix("# ") for name, title in sorted(titles.items())}


def chapter(name: str) -> str:
    """Return the text of one chapter.

    Parameters
    ----------
    name : str
        One of `chapters`.
    """
    return (_FOLDER / f"{name}.md").read_text(encoding="utf-8")
