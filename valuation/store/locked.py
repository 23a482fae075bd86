"""A file locked with a passphrase, and opened again. The locks are those of `cryptography`; the order is told here.

::

    8 bytes    b"valuati1": what it is, and in which form
    16 bytes   salt
    7 bytes    beginning of every nonce
    then pieces of 1 MiB, each 16 bytes longer than what is in it

The key comes from the passphrase by scrypt [1]_ (N 2^17, r 8, p 1: 128 MiB of memory for each guess). Each piece is
locked by AES-256-GCM [2]_. Its nonce is the beginning, four bytes that count the pieces from 0, and one byte that is 1
for the last piece only, as in the construction STREAM [3]_: a piece can't be changed, moved, left out or put at the
end without its being noticed. The first 31 bytes are bound to every piece.

References
----------
.. [1] RFC 7914. The cost is the one that the OWASP cheat sheet on storing passwords advises.
.. [2] NIST SP 800-38D.
.. [3] Hoang, Reyhanitabar, Rogaway, Vizár: Online authenticated encryption and its nonce-reuse misuse-resistance. 2015.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from valuation.disk import new_file, open_to_read
from valuation.errors import Problem, StoreError
from valuation.store.zip_format import MAGIC, MOST_PACKED, SHORTEST_PASSPHRASE

_SALT, _NONCE, _TAG = 16, 7, 16
_PIECE = 2**20
_MOST_PIECES = 2**32

TOO_SHORT = f"the passphrase is too short; take {SHORTEST_PASSPHRASE} letters or more, such as five words drawn by dice"
NOT_OPENED = "the passphrase is another, or the file was changed or cut off; nothing was taken in"


def check_passphrase(passphrase: str) -> None:
    """Refuse a passphrase that is too short to lock with."""
    if len(passphrase) < SHORTEST_PASSPHRASE:
        raise StoreError([Problem("passphrase", 0, "", TOO_SHORT)])


def lock(path: Path, to: Path, passphrase: str) -> None:
    """Write a locked copy of a file; `to` is there whole or not at all.

    Raises
    ------
    StoreError
        If the passphrase is too short.
    UserError
        If the disk refuses.
    """
    check_passphrase(passphrase)
    head = MAGIC + os.urandom(_SALT + _NONCE)
    cipher = AESGCM(_key(passphrase, head))
    with new_file(to) as unfinished, path.open("rb") as source, unfinished.open("xb") as target:
        target.write(head)
        for number, piece, last in _pieces(source, _PIECE):
            target.write(cipher.encrypt(_nonce(head, number, last=last), piece, head))


def unlock(path: Path, to: Path, passphrase: str) -> None:
    """Write what is in a locked file to another file.

    Raises
    ------
    StoreError
        If the passphrase is another, or the file isn't as it was made; there is no file `to` then.
    """
    try:
        with open_to_read(path, MOST_PACKED) as source, to.open("wb") as target:
            head = source.read(len(MAGIC) + _SALT + _NONCE)
            if not head.startswith(MAGIC) or len(head) < len(MAGIC) + _SALT + _NONCE:
                raise InvalidTag
            cipher = AESGCM(_key(passphrase, head))
            for number, piece, last in _pieces(source, _PIECE + _TAG):
                target.write(cipher.decrypt(_nonce(head, number, last=last), piece, head))
    except InvalidTag:
        to.unlink()
        raise StoreError([Problem(path.name, 0, "", NOT_OPENED)]) from None


def _key(passphrase: str, head: bytes) -> bytes:
    salt = head[len(MAGIC) : len(MAGIC) + _SALT]
    return Scrypt(salt=salt, length=32, n=2**17, r=8, p=1).derive(passphrase.encode("utf-8", "surrogatepass"))


def _nonce(head: bytes, number: int, *, last: bool) -> bytes:
    return head[-_NONCE:] + number.to_bytes(4, "big") + bytes([last])


def _pieces(file: BinaryIO, size: int) -> Iterator[tuple[int, bytes, bool]]:
    """Yield number, content, and whether it is the last one, of each piece of a file; at least one."""
    piece = file.read(size)
    for number in range(_MOST_PIECES):
        following = file.read(size)
        yield number, piece, not following
        if not following:
            return
        piece = following
    raise StoreError([Problem("export", 0, "", "it is too large to be locked")])
