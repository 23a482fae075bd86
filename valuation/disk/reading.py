"""The one reader of files: looks at what a name leads to, and how large it is, before it reads."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from valuation.disk.faults import why_not_read
from valuation.errors import Problem, UserError

NO_FILE = "this is no ordinary file but a device, a pipe or the like; give a file on the disk"


@contextmanager
def open_to_read(path: Path, most_bytes: int) -> Iterator[BinaryIO]:
    """Give a file that is open to be read.

    Parameters
    ----------
    path : Path
        The file; links are followed.
    most_bytes : int
        A larger one is refused unread [bytes].

    Raises
    ------
    UserError
        If it is no file on the disk, too large, or can't be opened; says what to do.
    """
    try:
        # without waiting: a pipe nobody writes to would never open
        place = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except (OSError, ValueError) as error:
        raise _fault(path, why_not_read(error)) from None
    try:
        about = os.fstat(place)
        if stat.S_ISDIR(about.st_mode):
            raise _fault(path, "this is a folder; name a file in it")
        if not stat.S_ISREG(about.st_mode):
            raise _fault(path, NO_FILE)
        if about.st_size > most_bytes:
            raise _fault(path, _too_large(most_bytes))
    except BaseException:
        os.close(place)
        raise
    with open(place, "rb") as file:  # noqa: PTH123  (a file that is open already)
        yield file


def read_at_most(path: Path, most_bytes: int) -> bytes:
    """Return what is in a file; as `open_to_read`, also where it grows too large while it is read."""
    with open_to_read(path, most_bytes) as file:
        try:
            content = file.read(most_bytes + 1)
        except OSError as error:
            raise _fault(path, why_not_read(error)) from None
    if len(content) > most_bytes:
        raise _fault(path, _too_large(most_bytes))
    return content


def _too_large(most_bytes: int) -> str:
    return f"the file is larger than {most_bytes:,} bytes; is it the right one?"


def _fault(path: Path, message: str) -> UserError:
    return UserError([Problem(path.name or str(path), 0, "", message)])
