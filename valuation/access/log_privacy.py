"""What a log may hold of a fault: where in the code it was, never what was in the hands of the code just then."""

from __future__ import annotations

import logging
import traceback
from collections.abc import Callable


def keep_people_out_of_logs() -> None:
    """Let no log of this process tell the words of an exception: they may hold a name, an address, a note."""
    logging.setLogRecordFactory(_without_words(logging.getLogRecordFactory()))


def places_of(error: BaseException) -> str:
    """Return the kind of an exception and of those that led to it, each with its lines of code, without any words."""
    told: list[str] = []
    seen: set[int] = set()
    fault: BaseException | None = error
    while fault is not None and id(fault) not in seen:
        seen.add(id(fault))
        lines = "".join(traceback.format_list(traceback.extract_tb(fault.__traceback__)))
        told.append(f"{lines}{type(fault).__module__}.{type(fault).__qualname__}")
        fault = fault.__cause__ or (None if fault.__suppress_context__ else fault.__context__)
    return "\n\nled to\n\n".join(reversed(told))


def _without_words(make: Callable[..., logging.LogRecord]) -> Callable[..., logging.LogRecord]:
    def record(*args: object, **kwargs: object) -> logging.LogRecord:
        made = make(*args, **kwargs)
        if made.exc_info and made.exc_info[1] is not None:
            made.exc_text = places_of(made.exc_info[1])  # a formatter takes this rather than telling it anew
        if isinstance(made.args, tuple):
            made.args = tuple(type(one).__name__ if isinstance(one, BaseException) else one for one in made.args)
        return made

    return record
