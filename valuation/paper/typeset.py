"""From data and a template to a tagged PDF: PDF/UA-1 and PDF/A-2a, the same bytes for the same data and day."""

from __future__ import annotations

import ast
import json
import re
import shutil
from collections.abc import Mapping
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from valuation.paper.plain_text import latin_only, printable, throughout, without
from valuation.paper.row_heads import with_row_heads

LARGE = "_large"
"""Ends the name of a size of paper where the print is large."""

PAPERS = ("a4", "letter", "a4_large", "letter_large")
"""Sizes of paper that there are, and the same in large print."""

_LARGER = "1.5"
"""Letters in large print: 18 points where they are 12 else."""

HERE = Path(__file__).parent
_CANNOT_SHOW = re.compile(
    r'the text `"(.*?)"` could not be displayed|contains the (?:disallowed )?codepoint `"(.*?)"`', re.DOTALL
)
_TRIES = 3


def typeset(
    template: str, data: Any, *, paper: str, made_on: date | None = None, pictures: Mapping[str, bytes] | None = None
) -> bytes:
    """Return a document as PDF.

    Parameters
    ----------
    template : str
        Name of a template beside this file, without its ending.
    data : dict or list
        What it prints; every text in it is printed as text. Must hold 'language' and 'title'.
    paper : str
        One of `PAPERS`.
    made_on : date, optional
        Day the file says it was made on; left out, the first day of computer time, for papers that have no day.
    pictures : mapping of str to bytes, optional
        Name, with the ending of its format, to the picture; the template knows them by ``pictures/NAME``.

    Raises
    ------
    ValueError
        If there is no such paper.
    """
    if paper not in PAPERS:
        raise ValueError(f"there is no paper {paper!r}; write {' or '.join(PAPERS)}")
    day = (
        datetime(made_on.year, made_on.month, made_on.day, tzinfo=UTC) if made_on else datetime(1970, 1, 1, tzinfo=UTC)
    )
    data = throughout(data, printable)
    if not pictures:
        return _compile(HERE, template, data, paper, day)
    with TemporaryDirectory() as folder:
        root = Path(folder)
        for layout in HERE.glob("*.typ"):
            shutil.copy(layout, root)
        (root / "pictures").mkdir()
        for name, picture in pictures.items():
            (root / "pictures" / Path(name).name).write_bytes(picture)
        return _compile(root, template, data, paper, day)


def _compile(root: Path, template: str, data: Any, paper: str, day: datetime) -> bytes:
    """Compile; signs that no font has are put as a box, since a tagged PDF may not hold them."""
    import typst  # here, not above: only paper needs it

    for attempt in range(_TRIES + 1):
        try:
            made = typst.compile(
                str(root / f"{template}.typ"),
                root=str(root),
                font_paths=_fonts(),
                ignore_system_fonts=True,  # the same bytes on every machine
                sys_inputs={
                    "data": json.dumps(data, ensure_ascii=False),
                    "paper": paper.removesuffix(LARGE),
                    "scale": _LARGER if paper.endswith(LARGE) else "1",
                },
                format="pdf",
                pdf_standards=["a-2a", "ua-1"],  # ISO 19005-2 at level A, for keeping; ISO 14289-1, for reading aloud
                timestamp=day,
            )
            return with_row_heads(made)
        except typst.TypstError as error:
            lacking = {_unescaped(a or b) for a, b in _CANNOT_SHOW.findall(error.diagnostic)}
            if not lacking or attempt == _TRIES:
                raise
            data = throughout(data, without(lacking) if attempt + 1 < _TRIES else latin_only)
    raise AssertionError("the last attempt returns or raises")


@cache
def _fonts() -> Any:
    import typst

    return typst.Fonts(include_system_fonts=False, font_paths=[str(HERE / "fonts")])


def _unescaped(text: str) -> str:
    r"""Return a text as it was before typst wrote it into its message: ``\u{1f600}`` and the like put back."""
    text = re.sub(r"\\u\{([0-9a-f]+)\}", lambda match: chr(int(match[1], 16)), text)
    return ast.literal_eval(f'"{text}"') if "\\" in text else text
