"""Words in the language of whoever reads them: gettext catalogues, one for each language, written as text.

Every sentence that a person may read goes through `say` or `say_many`, in English and whole, with names in braces
where figures go. What stands in a list to be said another time is marked by `later`; the words of the shop's tables are
said by the content of their cell. English needs no catalogue. The language holds for the thread or session that chose
it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from gettext import GNUTranslations, NullTranslations
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from babel import Locale

ENGLISH = "en"

LANGUAGES = {ENGLISH: "English", "de": "Deutsch"}
"""Languages that there are, each by its own name."""

CATALOGUES = Path(__file__).with_name("locale")
"""Holds ``LANGUAGE/LC_MESSAGES/valuation.po``."""


class Local(NamedTuple):
    """How the shop's country says and writes what is told in its own language.

    Attributes
    ----------
    words : tuple of (str, str)
        Words of this tool's sentences, each with what the trade says there.
    writes : str
        ISO 3166 code by which numbers and days are written; empty where nothing is peculiar to a country.
    """

    words: tuple[tuple[str, str], ...] = ()
    writes: str = ""


_ANYWHERE = Local()

_spoken: ContextVar[str] = ContextVar("language", default=ENGLISH)
_local: ContextVar[Local] = ContextVar("local", default=_ANYWHERE)


def say(message: str, **figures: object) -> str:
    """Return a message in the language spoken, with its figures put in.

    Parameters
    ----------
    message : str
        The English text, as it stands in the catalogues; ``{name}`` where a figure goes.
    **figures : object
        What goes there.

    Returns
    -------
    str
        The English text where the catalogue has none.

    Examples
    --------
    >>> say("{count} of {all} checks made", count=3, all=60)
    '3 of 60 checks made'
    """
    text = _as_the_trade_says(_catalogue(_spoken.get()).gettext(message) if message else "", _local.get().words)
    return text.format(**figures) if figures else text


def say_many(one: str, many: str, count: int, **figures: object) -> str:
    """Return one of two messages, by the count; else as `say`, with ``{count}`` put in.

    Examples
    --------
    >>> say_many("{count} check", "{count} checks", 1), say_many("{count} check", "{count} checks", 2)
    ('1 check', '2 checks')
    """
    text = _as_the_trade_says(_catalogue(_spoken.get()).ngettext(one, many, count), _local.get().words)
    return text.format(count=count, **figures)


def later(message: str) -> str:
    """Return a message as it is: it is said another time, and the catalogues have to know it.

    Examples
    --------
    >>> later("not looked at")
    'not looked at'
    """
    return message


def numeral(text: str) -> str:
    """Return a number written the English way with the signs of the language spoken.

    The digits are never touched, so a figure is the same in every language.

    Examples
    --------
    >>> with speaking("de"):
    ...     numeral("-1,234.5")
    '-1.234,5'
    """
    decimal, group = number_signs()
    return text if (decimal, group) == (".", ",") else text.translate({ord("."): decimal, ord(","): group})


def number_signs() -> tuple[str, str]:
    """Return the sign before decimals and the one between thousands."""
    return _signs(_spoken.get(), _local.get().writes)


def language() -> str:
    """Return the language spoken, a key of `LANGUAGES`."""
    return _spoken.get()


def writes() -> str:
    """Return the code of the country whose way of writing holds; empty where none does."""
    return _local.get().writes


def place() -> Locale:
    """Return the language spoken with its country, for what Babel knows of numbers and days."""
    return _place(_spoken.get(), _local.get().writes)


def speak(chosen: str, local: Local = _ANYWHERE) -> None:
    """Speak this language as a country does from now on, in this thread or session.

    Raises
    ------
    ValueError
        If there is no such language.
    """
    _spoken.set(_known(chosen))
    _local.set(local)


@contextmanager
def speaking(chosen: str, local: Local = _ANYWHERE) -> Iterator[None]:
    """Speak this language as a country does for a while, such as for one document."""
    before, local_before = _spoken.set(_known(chosen)), _local.set(local)
    try:
        yield
    finally:
        _spoken.reset(before)
        _local.reset(local_before)


@lru_cache(maxsize=8192)
def _as_the_trade_says(text: str, trade: tuple[tuple[str, str], ...]) -> str:
    """Return a sentence, without its figures yet, in the words of the trade: whole words, or signs within them."""
    for word, here in trade:
        whole = rf"\b{re.escape(word)}\b" if len(word) > 1 else re.escape(word)
        text = re.sub(whole, here.replace("\\", r"\\"), text)
    return text


def _known(chosen: str) -> str:
    if chosen not in LANGUAGES:
        raise ValueError(f"there is no language {chosen!r}; there are {', '.join(LANGUAGES)}")
    return chosen


@cache
def _signs(chosen: str, writes: str) -> tuple[str, str]:
    if chosen == ENGLISH:
        return ".", ","
    symbols = _place(chosen, writes).number_symbols["latn"]
    return symbols["decimal"], symbols["group"]


@cache
def _place(chosen: str, writes: str) -> Locale:
    # here, not above: the English of most places needs none of it
    from babel import Locale, UnknownLocaleError

    try:
        return Locale.parse(f"{chosen}_{writes}" if writes else chosen)
    except UnknownLocaleError:
        return Locale.parse(chosen)


@cache
def _catalogue(chosen: str) -> NullTranslations:
    """Return the catalogue; read from its text, so that nothing compiled has to be kept in step with it."""
    if chosen == ENGLISH:
        return NullTranslations()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    compiled = BytesIO()
    with (CATALOGUES / chosen / "LC_MESSAGES" / "valuation.po").open("rb") as file:
        write_mo(compiled, read_po(file, locale=chosen, abort_invalid=True))
    compiled.seek(0)
    return GNUTranslations(compiled)
