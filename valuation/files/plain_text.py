"""A file's bytes into text: UTF-8 without byte-order mark and without control characters, nothing else."""

from __future__ import annotations

import codecs
import re
from pathlib import Path

from valuation.disk import read_at_most
from valuation.errors import Problem, UserError
from valuation.language import say

_OTHER_ENCODINGS = {
    codecs.BOM_UTF32_LE: "UTF-32",
    codecs.BOM_UTF32_BE: "UTF-32",
    codecs.BOM_UTF16_LE: "UTF-16",
    codecs.BOM_UTF16_BE: "UTF-16",
}
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


def read_text(path: Path, *, most_bytes: int) -> tuple[str, list[Problem]]:
    """Read a text file; where it can't be used the text is empty and the problems say why.

    Parameters
    ----------
    path : Path
        The file.
    most_bytes : int
        A larger file is refused unread [bytes].

    Returns
    -------
    text : str
        The text, without a byte-order mark.
    problems : list of Problem
        What is wrong with the file as a file.
    """
    try:
        return decode_text(read_at_most(path, most_bytes), path.name)
    except UserError as error:
        return "", list(error.problems)


def decode_text(data: bytes, name: str) -> tuple[str, list[Problem]]:
    """Decode the bytes of a file called `name`; returns as `read_text` does."""
    for mark, encoding in _OTHER_ENCODINGS.items():
        if data.startswith(mark):
            return "", [Problem(name, 1, "", say("the file is {encoding}; save it as UTF-8", encoding=encoding))]
    problems = []
    if data.startswith(codecs.BOM_UTF8):
        data = data.removeprefix(codecs.BOM_UTF8)
        problems.append(
            Problem(name, 1, "", say("the file starts with a byte-order mark; save as UTF-8 without byte-order mark"))
        )
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        what = say("byte {byte} (hexadecimal) is not UTF-8; save the file as UTF-8", byte=f"{data[error.start]:02X}")
        return "", [*problems, Problem(name, line, "", what)]
    if control := _CONTROL.search(text):
        line = text.count("\n", 0, control.start()) + 1
        what = say("a NUL") if control[0] == "\0" else say("the control character {code}",
                                                           code=f"U+{ord(control[0]):04X}")  # fmt: skip
        return "", [
            *problems,
            Problem(
                name, line, "", say("{what} stands in the text; delete it, or save the file as text again", what=what)
            ),
        ]
    if not text.strip():
        problems.append(Problem(name, 0, "", say("the file is empty")))
    return text, problems
