"""Text that somebody wrote, made safe for labels and headings, which Streamlit reads as Markdown.

Where a whole block is somebody's own text, `st.text` shows it as it is and nothing is needed from here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

# A round bracket needs an escape only where it could end a link; elsewhere a screen reader would read it out.
_MARKS = re.compile(r"([\\`*_{}\[\]<>#|~$&^!]|(?<=\])\()")
_LINE_START = re.compile(r"^(\d+)([.)])|^([-+=])")
_WORD_JOINER = "\u2060"
_BECOMES_LINK = re.compile(r"(:(?=[/\w+-])|@|www(?=\.))", re.IGNORECASE)


def bullets(lines: Iterable[str]) -> str:
    """Return lines of Markdown as one list."""
    return "\n".join(f"- {line}" for line in lines)


def md(text: object) -> str:
    r"""Return text that Markdown shows letter for letter: no image, link, formula, colour or symbol comes of it.

    Examples
    --------
    >>> md("![x](y) costs $5 or *less*")
    '\\!\\[x\\]\\(y) costs \\$5 or \\*less\\*'
    """
    line = " ".join(str(text).split())
    line = _MARKS.sub(r"\\\1", line)
    line = _LINE_START.sub(lambda m: f"{m[1]}\\{m[2]}" if m[1] else f"\\{m[3]}", line)
    # Addresses and :names: are looked for in plain text too, after escapes are undone: an unseen joiner parts them.
    return _BECOMES_LINK.sub(rf"\1{_WORD_JOINER}", line)
