"""What is said at run time and stands in no catalogue: a message that nobody marked, or a table's new words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from gettext import GNUTranslations

import pytest

from valuation import language


class _Listening:
    """A catalogue that notes what it is asked for and doesn't hold."""

    def __init__(self, catalogue: GNUTranslations, untold: set[str]) -> None:
        self._catalogue, self._untold = catalogue, untold

    def gettext(self, message: str) -> str:
        if message not in self._catalogue._catalog and (message, 0) not in self._catalogue._catalog:
            self._untold.add(message)
        return self._catalogue.gettext(message)

    def ngettext(self, one: str, many: str, count: int) -> str:
        if (one, 0) not in self._catalogue._catalog:
            self._untold.add(one)
        return self._catalogue.ngettext(one, many, count)


@contextmanager
def listening(chosen: str) -> Iterator[set[str]]:
    """Speak a language; yield what is said in it meanwhile, in any thread, and stands in no catalogue."""
    untold: set[str] = set()
    catalogue = _Listening(language._catalogue(chosen), untold)
    with pytest.MonkeyPatch.context() as patch, language.speaking(chosen):
        patch.setattr(language, "_catalogue", lambda _: catalogue)
        yield untold


_SAME_EVERYWHERE = re.compile(
    r"N·m|in-lb|kgf·cm|mm|g|s|%|\w+_\w+|[\w.]+\.(csv|toml)(:\d+)?"  # units, keys of the tables, places in files
    r"|.*\b(CFR|NIOSH|MMWR|ISO|CITES|c\. \d+|20\d\d/C \d+)\b.*"  # publications keep their titles
    r"|(\w+ § \d+\w*(; |$))+"  # and statutes, where nothing but their paragraphs is named
)


def worth_telling(untold: set[str]) -> list[str]:
    """Return those of the messages that another language would say otherwise."""
    return sorted(message for message in untold if not _SAME_EVERYWHERE.fullmatch(message))
