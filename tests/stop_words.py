"""English that is left in a German text: words that English can't do without and that German hasn't."""

from __future__ import annotations

import re
from collections.abc import Iterable

ENGLISH = re.compile(
    r"\b(the|of|and|is|are|isn't|not|with|without|for|from|what|this|that|it|its|by|to|you|your|which|where|when|than|"
    r"only|every|all|can|can't|may|be|been|has|have|nobody|looked|unless|one|each|none|no|yes|as|at|on|how|why|who|"
    r"before|after|into|out|their|they|there|here|low|high|price|years|sales|made|worn|sound|failed|grand|upright)\b",
    re.IGNORECASE,
)

_NAMES = re.compile(r"[\w/]+\.(csv|toml|xlsx)\S*|\b\w*_\w+\b")
"""Names of files, and keys such as those of the tables."""


def english_left(text: str, own: Iterable[str] = ()) -> list[str]:
    """Return the English words of a text, without what somebody wrote there and without names of files and keys."""
    for words in own:
        text = text.replace(words, "")
    return ENGLISH.findall(_NAMES.sub("", text))
