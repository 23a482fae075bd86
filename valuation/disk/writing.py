"""The one writer of files: a temporary file beside the one that is wanted, synced, then put in its place.

So a file is there whole or not at all, whenever the power goes or the disk is full, and what stood there before stays
until then.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from valuation.disk.faults import why_not_written
from valuation.errors import Problem, UserError

UNFINISHED = ".unfinished"
"""Ending of a file that is still being written; one that is found later belongs to a program that was killed."""


def require_place(
    path: Path, endings: Sequence[str], what: str, *, inputs: Iterable[Path] = (), may_replace: bool = True
) -> None:
    """Refuse a place where a command may not write; asked before anything is read or worked out.

    Parameters
    ----------
    path : Path
        The file that is wanted.
    endings : sequence of str
        Those that it may have, in small letters with their point.
    what : str
        What is written there, with its verb, such as ``papers are``.
    inputs : iterable of Path
        What the same command reads: files, and folders for the files in them. Under another name, through a link or
        as a second name of one file, they are found too. Looked through only where there is a file to be replaced.
    may_replace : bool
        Whether the command says that an existing file is replaced.

    Raises
    ------
    UserError
        If it may not; says what to name instead.
    """
    try:
        if fault := _why_not_here(path, endings, what, inputs, may_replace):
            raise UserError([Problem(path.name or str(path), 0, "", fault)])
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        why = why_not_written(error) if isinstance(error, OSError) else f"it is no name of a file ({error})"
        raise UserError([Problem(path.name, 0, "", why)]) from None


def _why_not_here(path: Path, endings: Sequence[str], what: str, inputs: Iterable[Path], may_replace: bool) -> str:
    real = path.resolve()
    listed = " or ".join(filter(None, (", ".join(endings[:-1]), endings[-1])))
    if path.is_dir():
        return f"this is a folder; name a file in it that ends in {listed}"
    if path.suffix.lower() not in endings or real.suffix.lower() not in endings:
        return f"{what} written as {listed}; give it such an ending"
    if not real.parent.is_dir():
        return f"there is no folder '{path.parent}'; make it first"
    if not real.exists():
        return ""
    there = real.stat()
    if not stat.S_ISREG(there.st_mode):
        return "this is no ordinary file; name one on the disk"
    if any(os.path.samestat(there, other) for other in _stats(inputs)):
        return "this would replace what is to be read; name another file"
    if not may_replace:
        return "there is such a file already; name another one, or say --replace"
    return ""


def _stats(inputs: Iterable[Path]) -> Iterator[os.stat_result]:
    for path in inputs:
        for file in (path, *path.iterdir()) if path.is_dir() else (path,):
            with suppress(OSError, ValueError):  # what is missing or no name is told by whoever reads it
                yield file.stat()


@contextmanager
def put_in_place(path: Path) -> Iterator[Path]:
    """Give the name of a temporary file to be written; when the block ends well, it stands in the place of `path`.

    Parameters
    ----------
    path : Path
        What it becomes. A link stays one: what it leads to is replaced. The rights of an existing file stay.

    Yields
    ------
    Path
        Not there yet, in the same folder.

    Raises
    ------
    OSError
        If the disk refuses. Whatever else the block raises goes through; nothing is left behind either way.
    """
    real = path.resolve()
    unfinished = real.with_name(f".{os.urandom(8).hex()}{UNFINISHED}")  # short: the name itself may be a long one
    try:
        yield unfinished
        with suppress(FileNotFoundError):
            unfinished.chmod(stat.S_IMODE(real.stat().st_mode))
        _sync(unfinished)
        unfinished.replace(real)
    finally:
        with suppress(OSError):
            unfinished.unlink()
    if os.name == "posix":  # elsewhere a folder can't be opened
        _sync(real.parent)


@contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """Give the name of a temporary file as `put_in_place` does, and tell what the disk refuses.

    Raises
    ------
    UserError
        If the disk refuses; in one sentence, with nothing left behind.
    """
    try:
        with put_in_place(path) as unfinished:
            yield unfinished
    except BrokenPipeError:
        raise  # of whoever reads what the block prints
    except OSError as error:
        raise UserError([Problem(path.name, 0, "", why_not_written(error))]) from None


def write_whole(path: Path, content: bytes) -> None:
    """Write a file as `new_file` does."""
    with new_file(path) as unfinished, unfinished.open("xb") as file:
        file.write(content)


def write_folder(folder: Path, files: Mapping[str, bytes], what: str) -> None:
    """Write files into a folder, which is made where it isn't there: all of them, or none where the disk refuses.

    Raises
    ------
    UserError
        If the folder or one of the files may not be there; see `require_place`.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        why = why_not_written(error) if isinstance(error, OSError) else f"it is no name of a folder ({error})"
        raise UserError([Problem(folder.name, 0, "", why)]) from None
    for name in files:
        require_place(folder / name, (Path(name).suffix,), what)
    with ExitStack() as stack:
        for name, content in files.items():
            stack.enter_context(new_file(folder / name)).write_bytes(content)


def _sync(path: Path) -> None:
    """Let what was written reach the disk itself."""
    place = os.open(path, os.O_RDONLY)
    try:
        os.fsync(place)
    finally:
        os.close(place)
