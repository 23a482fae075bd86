"""Copies of the shop's store: whether there is a good one of late, proving them, and bringing one back.

The screens and the command line call this. None of it opens the store: it may be what is damaged.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from valuation.disk.writing import write_whole
from valuation.errors import Problem, StoreError
from valuation.service.store import ShopStore
from valuation.store import copies
from valuation.store import restore as restoring
from valuation.store.connect import from_environment, usual_folder
from valuation.store.copies import Copy
from valuation.store.restore import Proof, RestoreReport

__all__ = [
    *("MOST_DAYS", "BackupState", "Copy", "Proof", "Restored", "ask_for", "asked_for", "carry_out", "list_copies"),
    *("restore", "state", "verify", "withdraw"),
]

_ASKED = "restore-at-start.txt"
"""File in the folder of the store with the number of the copy that is to be brought back when it is next opened."""

MOST_DAYS = 2
"""A newest copy that is older is told on the first page [days]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupState:
    """How it stands with the copies.

    Attributes
    ----------
    newest : Copy or None
        The newest with a day.
    days : int or None
        How old that one is; None where there is none, or its day is yet to come: a clock is or was wrong.
    fault : str
        Why the last one could not be made, empty if it could.
    """

    newest: Copy | None
    days: int | None
    fault: str

    @property
    def late(self) -> bool:
        """Whether somebody must see to it."""
        return bool(self.fault) or self.days is None or self.days > MOST_DAYS


def state(shop: ShopStore, today: date) -> BackupState:
    """Return how it stands with the copies of an open shop."""
    dated = [copy for copy in copies.copies(shop.store.folder) if copy.day is not None]
    newest = dated[-1] if dated else None
    days = (today - newest.day).days if newest and newest.day else -1
    return BackupState(newest=newest, days=days if days >= 0 else None, fault=shop.backup_fault)


def folder_of(environ: Mapping[str, str]) -> Path:
    """Return the folder of the shop's store."""
    return from_environment(dict(environ))[1] or usual_folder()


def list_copies(folder: Path) -> list[Copy]:
    """Return the copies that say what they hold, the newest first; what they say is not checked."""
    return copies.copies(folder)[::-1]


def verify(folder: Path, number: int | None = None) -> list[Proof]:
    """Read copies from end to end: one, or all, the newest first.

    Raises
    ------
    StoreError
        If there is no copy of that number.
    """
    wanted = [copy for copy in list_copies(folder) if number in (None, copy.number)]
    if number is not None and not wanted:
        raise copies.no_copy(number)
    return [restoring.prove(folder, copy) for copy in wanted]


def unreadable(folder: Path) -> list[int]:
    """Return the numbers of the copies that can't even say what they hold."""
    there = {copy.number for copy in copies.copies(folder)}
    return [number for number in copies.numbers(folder) if number not in there]


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """What was brought back, and how many visits of it were forgotten again."""

    report: RestoreReport
    forgotten: int
    traces: str


def restore(environ: Mapping[str, str], number: int | None, today: date) -> Restored:
    """Bring a copy back in the place of the store, and forget again whom it brought back.

    Parameters
    ----------
    environ : mapping
        As for `open_shop`.
    number : int or None
        Which copy; the newest sound one if None.

    Raises
    ------
    StoreError
        As `valuation.store.restore.restore` says.
    """
    url, _ = from_environment(dict(environ))
    report = restoring.restore(url, folder_of(environ), number)
    shop = ShopStore.opened(environ)
    try:
        return Restored(report=report, forgotten=shop.forget_again(today), traces=shop.traces)
    finally:
        shop.close()


def ask_for(folder: Path, number: int) -> None:
    """Ask for a copy to be brought back when the shop is next opened: nobody may use the store meanwhile.

    Raises
    ------
    StoreError
        If there is no such copy, or it isn't sound.
    """
    (proof,) = verify(folder, number)
    if proof.faults:
        raise StoreError([Problem(copies.BACKUPS, 0, "", f"copy {number}: {fault}") for fault in proof.faults])
    write_whole(folder / _ASKED, f"{number}\n".encode())


def asked_for(folder: Path) -> int | None:
    """Return the number of the copy that is to be brought back at the next start; None if none is."""
    try:
        return int((folder / _ASKED).read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None


def withdraw(folder: Path) -> None:
    """Take back what was asked for."""
    (folder / _ASKED).unlink(missing_ok=True)


def carry_out(environ: Mapping[str, str], today: date) -> Restored | StoreError | None:
    """Bring back the copy that was asked for, before the shop is opened; None where none was.

    What was asked for is asked for once: where it can't be done, the fault is given back, nothing was changed, and the
    shop opens as it is.
    """
    folder = folder_of(environ)
    try:
        number = asked_for(folder)
        return None if number is None else restore(environ, number, today)
    except ValueError:
        return StoreError([Problem(_ASKED, 1, "", "this is no number of a copy; ask for it again on the page")])
    except StoreError as fault:
        return fault
    finally:
        withdraw(folder)
